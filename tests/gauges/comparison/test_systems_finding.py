"""What a comparison of measuring systems says: one sentence for each pair, spreads and pairs in one table."""

from __future__ import annotations

import pytest

from linestudy.gauges.comparison.systems_finding import (
    SystemComparison,
    SystemPair,
    SystemSpread,
)
from linestudy.results import Absent, Interval


def comparison(pairs: int, *, p: float | None = 0.2) -> SystemComparison:
    sd = Interval(0.01, 0.008, 0.014, 0.95, "m")
    spread = SystemSpread(10, 60, sd, sd.times(1.5), Interval(0.08, 0.06, 0.12, 0.95, "m"))
    ratio = Interval(1.1, 0.8, 1.4, 0.95, "m")
    bias = Interval(0.002, -0.001, 0.005, 0.95, "t")
    pair = SystemPair("left", "right", 10, bias, 0.1, bias, True, ratio, ratio, False)
    names = [f"system {number}" for number in range(3)]
    systems = dict.fromkeys(names, spread)
    return SystemComparison(systems, (pair,) * pairs, p, 0.05, 1.5, 0.2, "mm", ())


def test_the_sentence_names_result_interval_and_criterion() -> None:
    said = comparison(1).statement
    assert said.startswith("right against left: bias 0.002")
    assert "its 95 % interval within 5 % of the tolerance" in said
    assert "ratio of EV 1.10 (0.80 to 1.40), not shown to be equivalent" in said
    assert "are not seen to differ (p = 0.20)" in said
    assert "2 more pairs stand in the table" in comparison(5).statement


def test_the_table_holds_systems_then_pairs() -> None:
    table = comparison(2).shown()
    assert list(table["system"][:3]) == ["system 0", "system 1", "system 2"]
    assert list(table["system"][3:]) == ["right against left"] * 2
    assert "GRR (SD) (mm)" in table.columns


@pytest.mark.parametrize("reason", ["the two have 1 part in common; three are needed"])
def test_what_cannot_be_compared_is_said(reason: str) -> None:
    none = Absent(reason)
    pair = SystemPair("a", "b", 1, none, None, none, None, none, none, None)
    one = comparison(1)
    said = SystemComparison(one.systems, (pair,), None, 0.05, 1.5, None, "", ()).statement
    assert said == "b against a: cannot be compared."
