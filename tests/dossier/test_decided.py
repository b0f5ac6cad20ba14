"""The table of results says beside each decision what no column holds, and what is asked is named with its numbers."""

from __future__ import annotations

from linestudy.capability.whole_part.layout_study import DimensionResult
from linestudy.dossier.content.report.decided import _dimension, results
from linestudy.dossier.content.sheet import sheets
from linestudy.dossier.evaluation import Evaluation
from linestudy.records.across.dimensions import OUTSIDE


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
