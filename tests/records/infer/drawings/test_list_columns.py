"""Names and sizes of a list are found where no head says which column they are in."""

from __future__ import annotations

import pandas as pd
import pytest

from linestudy.records.infer.drawings.list_columns import name_column, size_column


def _frame(**columns: list[str]) -> pd.DataFrame:
    return pd.DataFrame(columns, dtype="string")


@pytest.mark.parametrize(
    "names", [["Blade width", "Throat gap", "Burr"], ["宽度", "间隙", "毛刺"], ["폭", "틈", "버"]]
)
def test_names_differ_where_classes_and_zones_do_not(names: list[str]) -> None:
    cells = _frame(kind=["Product"] * 3, zone=["A1", "B2", "C3"], what=names)
    assert name_column(cells, set()) == "what"
    assert name_column(cells, {"what"}) == "kind"
    assert name_column(cells[["zone"]].assign(zone=["1", "2", "3"]), set()) is None


def test_of_equals_the_first() -> None:
    cells = _frame(name=["Width", "Gap"], remark=["see sheet 2", "by camera"])
    assert name_column(cells, set()) == "name"


def test_the_only_numbers_beside_tolerances_are_sizes() -> None:
    cells = _frame(no=["1", "2"], size=["2,8", "1,0"], name=["Width", "Gap"], up=["0,05", "0,1"])
    assert size_column(cells, {"up"}) == "size"
    assert size_column(cells.assign(other=["3,1", "4,0"]), {"up"}) is None
