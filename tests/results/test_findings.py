"""Places, attempts, nesting; seeded randomness; what a notebook shows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import pandas as pd
import pytest

from linestudy.numerics import generator
from linestudy.results import CannotJudge, Finding, Findings, Interval, Unjudged


@dataclass(frozen=True)
class Length(Finding):
    mean: Interval
    cautions: tuple[str, ...] = ()
    title: ClassVar[str] = "Length <of> part"

    def shown(self) -> pd.DataFrame:
        return pd.DataFrame({"mean (mm)": [self.mean.estimate], "note": ["<script>"]})

    @property
    def statement(self) -> str:
        return "The mean is known & small."


LENGTH = Length(Interval(1.0, 0.5, 1.5, 0.95, "example"), ("Few parts.",))


def test_record_holds_numbers_statement_and_cautions() -> None:
    record = LENGTH.record()
    assert record["mean"]["low"] == 0.5
    assert record["statement"] == LENGTH.statement
    assert record["cautions"] == ["Few parts."]


def test_html_escapes_text_from_files() -> None:
    shown = LENGTH._repr_html_()
    assert "<script>" not in shown
    assert "&lt;script&gt;" in shown
    assert "Few parts." in shown


def test_an_attempt_that_cannot_judge_leaves_the_reason() -> None:
    def fail() -> Finding:
        raise CannotJudge("Only one part was measured.")

    findings = Findings()
    findings.attempt("a", ("gauges", "camera", "crossed"), "Crossed study", fail)
    assert findings.nested("a")["gauges"]["camera"]["crossed"] == {
        "absent": "Only one part was measured.",
        "method": "Crossed study",
    }


def test_findings_below_one_another_are_merged() -> None:
    findings = Findings()
    findings.add("a", ("stability", "serial"), LENGTH)
    findings.add("a", ("stability",), LENGTH)
    tree = findings.nested("a")
    assert tree["stability"]["mean"] == tree["stability"]["serial"]["mean"]
    assert set(findings.of("a", "stability")) == {("stability",), ("stability", "serial")}
    assert findings.get("a", "shape") is None


def test_a_place_holds_one_finding() -> None:
    findings = Findings()
    findings.add(None, ("joint",), Unjudged("Joint", "No data."))
    with pytest.raises(KeyError, match="already"):
        findings.add(None, ("joint",), LENGTH)


def test_keys_that_would_be_recorded_twice_are_refused() -> None:
    findings = Findings()
    findings.add("a", ("stability",), LENGTH)
    findings.add("a", ("stability", "mean"), LENGTH)
    with pytest.raises(KeyError, match="recorded twice"):
        findings.nested("a")


def test_streams_depend_on_seed_and_purpose_only() -> None:
    first = generator(7, "crossed", "throat").random(3)
    assert (generator(7, "crossed", "throat").random(3) == first).all()
    assert (generator(7, "crossed", "blade").random(3) != first).any()
    assert (generator(8, "crossed", "throat").random(3) != first).any()
    # Joined names must not collide.
    assert (generator(7, "crossedthroat").random(3) != first).any()


def test_a_gauge_is_called_by_its_name_and_a_method_by_its_title() -> None:
    # What evaluates gauges declares all their findings.
    import linestudy.gauges.evaluation  # noqa: F401
    from linestudy.gauges import bias_study
    from linestudy.gauges.comparison.two_gauges import AGREEMENT
    from linestudy.results import show_findings

    findings = Findings()
    findings.add("a", ("gauges", "lm", "bias"), bias_study([1.0, 1.1, 0.9, 1.2], 1.0))
    findings.add("a", AGREEMENT.at(pair="lm~cmm"), Unjudged("Agreement of two gauges", "Why."))
    named = {"lm": "Laser <1>", "cmm": "CMM"}
    assert show_findings(findings, "a", names=named).labels == ("Laser <1>", "Laser <1> and CMM")
    assert show_findings(findings, "a", "gauges").labels == ("lm, bias",)
    shown = show_findings(findings, "a", "gauges", pictures=False, names=named)._repr_html_()
    assert "<b>Laser &lt;1&gt;</b>" in shown
    assert "lm, bias" not in shown


@dataclass(frozen=True)
class Slope(Finding):
    slope_per_thousand: Interval
    over: int | None = None
    counted: str = "strokes"
    cautions: tuple[str, ...] = ()
    title: ClassVar[str] = "Slope"

    @property
    def statement(self) -> str:
        return f"The slope is told over {self.over} {self.counted}."


def test_all_slopes_are_told_over_one_number_of_strokes() -> None:
    steep, flat = (Interval(x, x / 2, 2 * x, 0.95, "") for x in (0.01, 0.00001))
    findings = Findings()
    findings.add("a", ("one",), Slope(steep))
    findings.add("b", ("two",), Slope(steep, counted="readings"))
    findings.tell_over_one_number()
    assert findings.get("a", "one") == Slope(steep, over=1000)
    assert findings.get("b", "two") == Slope(steep, counted="readings")
    findings.add("c", ("three",), Slope(flat))
    findings.tell_over_one_number()
    assert findings.get("a", "one") == Slope(steep, over=100_000)
    assert findings.get("c", "three") == Slope(flat, over=100_000)
