"""Nominals and limits above, below and beside the readings, and what looks like them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from proposals import WIDTHS, delimited, draft_of, records_of, workbook

from linestudy.records.across.specs import spec_of
from linestudy.records.rows.limits import limits_in_pairs

ROWS: list[list[object]] = [[i + 1, f"{width:.4f}"] for i, width in enumerate(WIDTHS)]
HEAD: list[object] = ["Stroke", "Width"]
LIMITS = {
    "below": [HEAD, *ROWS, ["", ""], ["Nominal", "2.80"], ["USL", "2.85"], ["LSL", "2.75"], ["Cpk", "1.66"]],
    "above": [["Part", "Clip"], ["USL", "2.85"], ["LSL", "2.75"], ["Nominal", "2.8"], ["", ""], HEAD, *ROWS],
    "as a text above": [["Part", "Clip"], ["Tolerance", "2.80 \u00b10.05"], HEAD, *ROWS],
    "in a column of texts": [[*HEAD, "Spec"], *[[*row, "2,80 +0,05/-0,05"] for row in ROWS]],
    "beside": [[*HEAD, "", "USL", "2.85"], [*ROWS[0], "", "LSL", "2.75"], [*ROWS[1], "", "Nominal", "2.8"], *ROWS[2:]],
}  # fmt: skip


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
@pytest.mark.parametrize("where", LIMITS)
def test_limits_around_the_readings(tmp_path: Path, where: str, kind: str) -> None:
    rows = LIMITS[where]
    if kind == "xlsx":
        rows = [[float(cell) if str(cell).replace(".", "").isdigit() else cell or None for cell in row] for row in rows]  # fmt: skip
    content = delimited(rows, ";") if kind == "csv" else workbook(rows)
    draft = draft_of(tmp_path, f"log.{kind}", content)
    (item,) = draft.items
    assert (item.name, item.nominal, item.lower, item.upper) == ("Width", 2.8, 2.75, 2.85)
    table = records_of(tmp_path, draft).table("run", item.id)
    assert table is not None
    assert np.allclose(table["value"], WIDTHS)


def test_extremes_of_the_readings_are_no_limits(tmp_path: Path) -> None:
    below = [["Max", "2.83"], ["Min", "2.77"], ["Mittel", "2.80"], ["StdAbw", "0.01"]]
    (item,) = draft_of(tmp_path, "log.csv", delimited([HEAD, *ROWS, *below], ";")).items
    assert (item.lower, item.upper) == (None, None)
    assert limits_in_pairs([["Maximum", "2.83", "Minimum", "2.77"]]) == {}


def test_limits_that_contradict_each_other_are_none() -> None:
    assert limits_in_pairs([["USL: 2.85", "LSL = 2.75"]]) == {"upper": 2.85, "lower": 2.75}
    assert limits_in_pairs([["USL", "2.85"], ["USL", "2.9"]]) == {}


@pytest.mark.parametrize(
    ("text", "lower", "upper"),
    [("2.80 mm \u00b1 50 \u00b5m", 2.75, 2.85), ("2.80 \u00b1 5 %", 2.66, 2.94), ("50 % \u00b1 2 %", 48, 52)],
)  # fmt: skip
def test_tolerances_in_another_unit_than_the_nominal(text: str, lower: float, upper: float) -> None:
    spec = spec_of(text)
    assert spec is not None
    assert (spec.lower, spec.upper) == pytest.approx((lower, upper))
