"""The table of results says beside each decision what no column holds, and what is asked is named with its numbers."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

from linestudy.capability.whole_part.layout_study import DimensionResult
from linestudy.dossier.content.report.decided import (
    _dimension,
    _index_column,
    _of_the_record,
    requests,
    results,
)
from linestudy.dossier.content.sheet import sheets
from linestudy.dossier.evaluation import Evaluation
from linestudy.records.across.dimensions import OUTSIDE
from linestudy.verdict.rulings import APPROVAL, SUPPORTS, Ruling


def test_judgements_have_their_worst_rates_on_the_decision_sheet(evaluation: Evaluation) -> None:
    table = results(sheets(evaluation))
    told = next(line for line in table.below if "miss rate" in line)
    assert (
        "worst appraiser: effectiveness 90.0 %, miss 10.0 %, false alarm 1.7 %, kappa 0.89" in told
    )
    assert not any("worst appraiser" in line for line in table.below if line is not told)


def test_a_dimension_outside_is_asked_for_with_its_readings() -> None:
    one = DimensionResult(
        "31", "Slot", "mm", "caliper", 40.0, 39.9, 40.1, (39.955, 40.11), (), 1, OUTSIDE
    )
    assert _dimension(one) == "no. 31 Slot (39.955, 40.110 mm; allowed: 39.9 to 40.1 mm)"


def _with(name: str, *rulings: Ruling, index: str = "Ppk", value: str = "1.50") -> Any:
    return SimpleNamespace(
        name=name,
        verdict=SimpleNamespace(rulings=rulings, facts=SimpleNamespace(index=value)),
        index=index,
        Ppk=value,
    )


def test_an_objection_to_the_record_stands_once_and_whole() -> None:
    gap = Ruling("counter and clock", APPROVAL, "400 numbers are in no row.", None, "record")
    weaker = Ruling("criteria", APPROVAL, "Weaker than usual: index 1.00.", None, "criteria")
    good = Ruling("bins against log", SUPPORTS, "They agree.", None, "record")
    elsewhere = Ruling("index", APPROVAL, "Ppk = 1.5.", None, "index")
    copied = Ruling("gauge study as measured", APPROVAL, "Copies.", None, "record")
    asked = _of_the_record(
        (_with("A", gap, good, elsewhere), _with("B", gap, weaker), _with("C", copied, gap))
    )
    assert asked == [
        "A, B and C: 400 numbers are in no row.",
        "B: Weaker than usual: index 1.00.",
    ]


def test_what_is_asked_alike_is_asked_once_and_without_the_reason_of_the_table(
    evaluation: Evaluation,
) -> None:
    (asked,) = requests(evaluation, sheets(evaluation))
    assert len(set(asked.items)) == len(asked.items)
    approvals = [line for line in asked.items if "approval, or agreement" in line]
    assert approvals == [
        "Throat gap, Seam width and Seam pull force: approval, or agreement on what else is to be shown."
    ]


def test_the_index_of_a_machine_is_called_so_in_the_table() -> None:
    machine, process = _with("A", index="Pmk"), _with("B")
    assert _index_column((machine,)) == "Pmk"
    assert _index_column((process, machine)) == "Ppk, Pmk"
    assert _index_column((process, _with("C", index="Pmk", value="–"))) == "Ppk"


def test_a_position_says_which_of_its_two_indices_decides() -> None:
    import numpy as np

    from linestudy.capability import position_capability
    from linestudy.dossier.content.report.decided import by_the_ellipse
    from linestudy.results import Absent

    draw = np.random.default_rng(1)
    placed = position_capability(draw.normal(0, 0.02, 100), draw.normal(0, 0.01, 100), 0.2)
    told = by_the_ellipse(placed, _with("Position", value="1.17"))
    assert told.startswith("By the ellipse Ppk = ")
    assert told.endswith(
        "ppm outside: supplementary; Ppk = 1.17 of the distances from the true position decides."
    )
    none: Any = SimpleNamespace(
        verdict=SimpleNamespace(facts=SimpleNamespace(index=Absent("no run")))
    )
    assert by_the_ellipse(placed, none).endswith(": supplementary.")
