"""Dimensional results counted, and in results.json as they are in the report."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from odd_studies import write_lanes

from linestudy import evaluate
from linestudy.capability.whole_part.layout_study import RESULTS, LayoutStudy, layout_results
from linestudy.dossier.keys import schema
from linestudy.records.across.dimensions import (
    CONFORMS,
    NOT_JUDGED,
    NOT_MEASURED,
    OUTSIDE,
    Dimension,
)
from linestudy.results import CannotJudge


def _row(number: str, lower: float | None, upper: float | None, *values: float) -> Dimension:
    return Dimension(number, f"dimension {number}", "mm", "", None, lower, upper, values)


def test_every_kind_is_counted() -> None:
    assert tuple(RESULTS) == (CONFORMS, OUTSIDE, NOT_MEASURED, NOT_JUDGED)
    rows = [
        _row("1", 1.0, 2.0, 1.0, 2.0),
        _row("2", 1.0, 2.0, 0.999, 2.5),
        _row("3", None, 2.0),
        _row("4", None, None, 7.0),
        _row("5", 1.0, None, 1.5),
    ]
    found = layout_results(rows)
    counts = (found.conforming, found.nonconforming, found.not_measured, found.without_limits)
    assert counts == (2, 1, 1, 1)
    assert found.dimensions[1].outside == 2
    assert found.statement == (
        "5 dimensions of the drawing: 2 conform, 1 does not conform, 1 was not measured, 1 has no limits."
    )
    assert list(found.shown()["outside"]) == ["0", "2", "0", "0", "0"]
    with pytest.raises(CannotJudge, match="no row"):
        layout_results([])


@pytest.mark.proof
def test_results_json_holds_them(tmp_path: Path) -> None:
    evaluation = evaluate(write_lanes(tmp_path / "lanes", hits=60))
    found = evaluation.findings.get(None, "layout")
    assert isinstance(found, LayoutStudy)
    kept = json.loads(json.dumps(evaluation.results()["layout"]))
    assert (kept["conforming"], kept["nonconforming"], kept["not_measured"]) == (2, 1, 1)
    assert kept["dimensions"][1]["values"] == [0.3751, 0.3785]
    assert kept["dimensions"][1]["result"] == OUTSIDE
    assert "layout" in schema()["properties"]
