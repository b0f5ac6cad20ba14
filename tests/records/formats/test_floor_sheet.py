"""A floor sheet is known by the plan inside it; any other workbook is none."""

from __future__ import annotations

import dataclasses
import io

import openpyxl
import pytest

from linestudy.records.formats.floor_sheet import (
    MARK,
    PLAN,
    FloorPlan,
    is_floor_sheet,
    read_floor_sheet,
)
from linestudy.results import InputError
from linestudy.study.model import Data

DATA = Data(role="drift", file="f.xlsx", gauge="g", columns={"w": "value"})


def workbook(*cells: str) -> bytes:
    book = openpyxl.Workbook()
    page = book.create_sheet(PLAN)
    for row, text in enumerate(cells, 1):
        page.cell(row, 1, text)
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def test_it_is_known_by_its_plan() -> None:
    assert is_floor_sheet(workbook(MARK))
    stream = io.BytesIO()
    openpyxl.Workbook().save(stream)
    assert not is_floor_sheet(stream.getvalue())
    assert not is_floor_sheet(b"PK nothing")


def test_the_code_is_that_of_the_plan() -> None:
    rows = ({"page": "p", "row": 0, "reading": "1"},)
    plan = FloorPlan("drift", "w", "Width", "mm", ("Camera",), ("value",), (), ("reading",), rows)
    other = FloorPlan("drift", "w", "Width", "in", ("Camera",), ("value",), (), ("reading",), rows)
    assert plan.code != other.code
    filled = read_floor_sheet(workbook(MARK, plan.code, plan.text()), DATA)
    assert filled.plan == plan
    assert filled.faults == ['the page "p" is missing']


@pytest.mark.parametrize(
    "cells",
    [
        (MARK,),
        ("x", "y", "{}"),
        (MARK, "0", "{}"),
        (MARK, "0", "["),
        (MARK, "0", '{"rows": [1]}'),
        (MARK, "0", "[" * 9999),
        *((MARK, "0", text) for text in ("5", "0.5", '"plan"', "null", "true", "[]", "9" * 6000)),
        (MARK, "0", '{"role": 7, "rows": 5}'),
    ],
)
def test_a_plan_that_is_not_whole(cells: tuple[str, ...]) -> None:
    with pytest.raises(InputError, match="a plan that is not whole"):
        read_floor_sheet(workbook(*cells), DATA)


@pytest.mark.parametrize(
    "change",
    [
        {"tags": ()}, {"columns": ()}, {"columns": ("value", "value")}, {"tags": ("value",)}, {"gauges": ()}, {"words": ("ok",)},
        {"role": "paired"}, {"rows": ({"page": "p", "row": -1, "reading": "1"},)}, {"rows": ({"page": "p", "row": True, "reading": "1"},)},
        {"rows": ({"page": "p", "row": 10**9, "reading": "1"},)}, {"rows": ({"page": "p", "row": 0, "reading": None},)},
        {"rows": ({"page": 3, "row": 0, "reading": "1"},)}, {"rows": ({"page": "p", "row": 0, "reading": "1"},) * 2},
    ],
)  # fmt: skip
def test_a_plan_that_cannot_be_is_refused_though_its_code_fits(change: dict) -> None:
    rows = ({"page": "p", "row": 0, "reading": "1"},)
    plan = FloorPlan("drift", "w", "Width", "mm", ("Camera",), ("value",), (), ("reading",), rows)
    damaged = dataclasses.replace(plan, **change)
    with pytest.raises(InputError, match="a plan that is not whole; write the floor sheet again"):
        read_floor_sheet(workbook(MARK, damaged.code, damaged.text()), DATA)
