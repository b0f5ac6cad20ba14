"""Several tables of one text, side by side and below each other: each is read by its range of cells, with the lines of the file."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from proposals import WIDTHS, delimited, draft_of, records_of

from linestudy.results import InputError

COUNT = list(range(1, 41))
GAPS = (WIDTHS - 1.8).round(4)
HEAD = ["No", "Width"]
PLAIN = delimited([HEAD, *zip(COUNT, WIDTHS, strict=True)])  # type: ignore[list-item]


@pytest.mark.parametrize("other", ["Width", "Gap"])
def test_two_tables_side_by_side_in_a_text(tmp_path: Path, other: str) -> None:
    if other == "Width":
        beside = [[n + 20, w] for n, w in zip(COUNT[:20], WIDTHS[20:], strict=True)]
    else:
        beside = [[n, g] for n, g in zip(COUNT[:20], GAPS, strict=False)]
    rows: list[list[object]] = [["No", "Width", None, "No", other]]
    rows += [[n, w, None, *more] for n, w, more in zip(COUNT[:20], WIDTHS[:20], beside, strict=True)]  # fmt: skip
    draft = draft_of(tmp_path, "r.csv", delimited(rows))
    cells = [table.said.key("cells") for table in draft.tables]
    assert cells == ["A1:B22", "D1:E22"]
    records = records_of(tmp_path, draft)
    found = records.table("run", "width")
    assert found is not None
    np.testing.assert_array_equal(found["value"], WIDTHS if other == "Width" else WIDTHS[:20])
    if other == "Gap":
        np.testing.assert_array_equal(records.table("run", "gap")["value"], GAPS[:20])
    # Lines are those of the file.
    assert all(account.rows_used == 20 for account in records.ledger.accounts)


def test_two_tables_below_each_other_in_a_text(tmp_path: Path) -> None:
    rows: list[list[object]] = [HEAD, *map(list, zip(COUNT, WIDTHS, strict=True)), []]  # type: ignore[list-item]
    rows += [["No", "Gap"], *map(list, zip(COUNT, GAPS, strict=True))]
    draft = draft_of(tmp_path, "r.csv", delimited(rows))
    records = records_of(tmp_path, draft)
    for identity, truth in (("width", WIDTHS), ("gap", GAPS)):
        found = records.table("run", identity)
        assert found is not None
        np.testing.assert_array_equal(found["value"], truth)


def test_a_range_that_is_none_is_refused(tmp_path: Path) -> None:
    draft = draft_of(tmp_path, "r.csv", PLAIN)
    for cells, told in (("A1", "no range"), ("F3:G9", "has nothing in F3:G9")):
        with pytest.raises(InputError, match=told):
            records_of(tmp_path, draft, cells=cells)
