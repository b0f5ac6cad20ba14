"""Sheets of the gauge studies: every name by its number, every reading in its row, every mean of its group."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import openpyxl
import pandas as pd
import pytest
from crossed_readings import crossed_readings

from linestudy.dossier.forms.book import Book
from linestudy.dossier.forms.gauge_sheets import _numbered, write
from linestudy.gauges import bias_study, grr_anova, judgement_agreement
from linestudy.results import Findings

ITEM = SimpleNamespace(
    id="w", name="Width", lower=0.0, upper=10.0, tolerance=10.0, bound=None, unit="mm"
)


def workbook(folder: Path, role: str, path: tuple[str, ...], finding: Any, table: Any) -> Any:
    """The workbook of one study."""
    findings = Findings()
    findings.add("w", path, finding)
    evaluation: Any = SimpleNamespace(
        study=SimpleNamespace(
            characteristics=(ITEM,),
            gauges=(SimpleNamespace(id="cam", name="Camera =1"),),
            characteristic=lambda key: ITEM,
        ),
        findings=findings,
        records=SimpleNamespace(
            table=lambda which, key, gauge="": table if which == role else None
        ),
    )
    with Book(folder / "book.xlsx", "T") as book:
        book.sheet("Results")
        write(book, evaluation)
    return openpyxl.load_workbook(folder / "book.xlsx")


def column(sheet: Any, title: str) -> list[Any]:
    """Cells below a head, down to the first empty one."""
    head = next(one for row in sheet.iter_rows() for one in row if one.value == title)
    cells = (sheet.cell(row, head.column).value for row in range(head.row + 1, sheet.max_row + 1))
    return list(iter(lambda: next(cells, None), None))


def test_names_are_numbered_as_people_count() -> None:
    names, numbers = _numbered(pd.Series(["10", "9", "b", "10", "*"]))
    assert names.index("9") < names.index("10")
    assert [names[number - 1] for number in numbers] == ["10", "9", "b", "10", "*"]


@pytest.mark.parametrize("missing", [0, 1])
def test_a_crossed_study_has_a_row_for_each_reading(tmp_path: Path, missing: int) -> None:
    data = crossed_readings(3).iloc[missing:].reset_index(drop=True)
    data["appraiser"] = data["appraiser"].map({0: "Ann*", 1: "Ben?", 2: "~Cy"})
    study = grr_anova(data, tolerance=10.0, draws=100)
    book = workbook(tmp_path, "crossed", ("gauges", "cam", "crossed"), study, data)
    sheet = book["Crossed studies"]
    assert sheet["A1"].value == "Width Camera =1 crossed"
    assert column(sheet, "reading") == pytest.approx(data["value"].tolist(), rel=1e-11)
    people = column(sheet, "appraiser")[: len(data)]
    assert people == [{"Ann*": 1, "Ben?": 2, "~Cy": 3}[who] for who in data["appraiser"]]
    # Balanced, means stand in a table of cells; else beside each reading.
    means = any(one.value == "mean of its cell" for row in sheet.iter_rows() for one in row)
    assert means == bool(missing)
    quantities = column(sheet, "quantity")
    assert ("GRR, SD" in quantities) != bool(missing)
    assert "sum of squares, repeatability" in quantities
    # A formula compares numbers: a name with a wild card would match others.
    formulas = [str(one.value) for row in sheet.iter_rows() for one in row if one.data_type == "f"]
    assert formulas
    assert not any("Ann" in formula or "Ben" in formula for formula in formulas)


def test_masters_have_their_errors(tmp_path: Path) -> None:
    size = np.repeat([4.0, 5.0], 6)
    read = size + np.tile([0.01, -0.01, 0.02], 4)
    table = pd.DataFrame({"reference": size, "value": read})
    study = bias_study(read, size, tolerance=10.0)
    book = workbook(tmp_path, "reference", ("gauges", "cam", "bias"), study, table)
    sheet = book["Masters"]
    assert column(sheet, "master") == size.tolist()
    errors = column(sheet, "error")
    assert errors == [f"=B{row}-A{row}" for row in range(3, 15)] or errors == [
        f"=B{row}-A{row}" for row in range(2, 14)
    ]
    names = column(sheet, "quantity")
    assert names[:2] == ["readings", "bias"]


@pytest.mark.parametrize("known", [True, False])
def test_judgements_are_ones_and_noughts(tmp_path: Path, known: bool) -> None:
    rows = [(p, who, t, p < 6) for p in range(10) for who in ("Ann", "Ben") for t in (1, 2)]
    table = pd.DataFrame(rows, columns=["part", "appraiser", "trial", "reference"])
    table["judgement"] = table["reference"] ^ (table.index % 17 == 0)
    if not known:
        table = table.drop(columns="reference")
    study = judgement_agreement(table)
    sheet = workbook(tmp_path, "attribute", ("attribute",), study, table)["Judgements"]
    assert column(sheet, "accepted") == table["judgement"].astype(int).tolist()
    told = {one.value for row in sheet.iter_rows() for one in row}
    assert ("Ann: effectiveness (share)" in told) is known
    assert ("always right" in told) is known
