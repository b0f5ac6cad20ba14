"""Lists of characteristics as plants keep them: limits, deviations, plus/minus, in five languages."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from linestudy.records.infer.drawing import read_drawing
from linestudy.results import InputError

CASES = {
    "deviations": "No,Characteristic,Nominal,+Tol,-Tol,Unit,SC,Gauge\n1,Width,6.3,0.05,-0.05,mm,X,Camera\n",
    "minus without its sign": "No,Characteristic,Nominal,+Tol,-Tol,Unit,SC,Gauge\n1,Width,6.3,0.05,0.05,mm,X,Camera\n",
    "limits": "No,Name,Nominal,LSL,USL,Unit,SC,Gauge\n1,Width,6.3,6.25,6.35,mm,yes,Camera\n",
    "limits without a nominal": "No,Name,LSL,USL,Unit,SC,Gauge\n1,Width,6.25,6.35,mm,yes,Camera\n",
    "plus/minus": "Nr;Merkmal;Nennmaß;Toleranz;Einheit;BM;Prüfmittel\n1;Width;6,30;±0,05;mm;ja;Camera\n",
    "bare tolerance": "Nr;Merkmal;Nennmaß;Toleranz;Einheit;BM;Prüfmittel\n1;Width;6,30;0,05;mm;ja;Camera\n",
    "both signs": "Nr;Merkmal;Nennmaß;Toleranz;Einheit;BM;Prüfmittel\n1;Width;6,30;+0,05/-0,05;mm;ja;Camera\n",
    "French": "N°;Caractéristique;Nominal;Tolérance sup;Tolérance inf;Unité;SC;Moyen\n1;Width;6,3;0,05;-0,05;mm;oui;Camera\n",
    "Chinese": "序号,特性,公称值,上偏差,下偏差,单位,特殊特性,量具\n1,Width,6.3,0.05,-0.05,mm,是,Camera\n",
    "Japanese": "番号,項目,設計値,上限値,下限値,単位,重要度,測定器\n1,Width,6.3,6.35,6.25,mm,A,Camera\n",
}


@pytest.mark.parametrize("name", CASES)
def test_a_list(tmp_path: Path, name: str) -> None:
    (tmp_path / "f.csv").write_text(
        CASES[name] + CASES[name].split("\n")[1].replace("Width", "Gap") + "\n", encoding="utf-8"
    )
    first, second = read_drawing(tmp_path / "f.csv")
    assert (first.name, second.name) == ("Width", "Gap")
    assert (first.lower, first.upper) == (6.25, 6.35)
    assert first.nominal == (None if "without a nominal" in name else 6.3)
    assert (first.unit, first.special, first.gauge, first.line) == ("mm", True, "Camera", 2)


@pytest.mark.parametrize(
    ("tolerance", "limits"),
    [
        ("+0.1 0", (2.0, 2.1)),
        ("+0.1/-0.2", (1.8, 2.1)),
        ("-0.1 -0.3", (1.7, 1.9)),
        ("+0,1/+0,3", (2.1, 2.3)),
        ("", (None, None)),
        ("ISO 2768-m", (None, None)),
    ],
)
def test_tolerances_in_one_cell(
    tmp_path: Path, tolerance: str, limits: tuple[float, float]
) -> None:
    rows = f"Name;Nominal;Tolerance\nWidth;2.0;{tolerance}\nGap;3.0;0.1\n"
    (tmp_path / "f.csv").write_text(rows, encoding="utf-8")
    first = read_drawing(tmp_path / "f.csv")[0]
    assert (first.lower, first.upper) == limits


def test_a_list_among_the_sheets_of_a_workbook(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active.append(["Part", "A1", "A2"])
    book.active.append([1, 2.8, 2.9])
    sheet = book.create_sheet("Drawing")
    sheet.append(["Inspection plan"])
    sheet.append([])
    sheet.append(["No", "Name", "Nominal", "Min", "Max"])
    sheet.append([1, "Width", 6.3, 6.25, 6.35])
    sheet.append([2, "Reference length", 12, None, None])
    book.save(tmp_path / "f.xlsx")
    first, second = read_drawing(tmp_path / "f.xlsx")
    assert (first.lower, first.upper, first.line) == (6.25, 6.35, 4)
    assert (second.name, second.lower, second.upper) == ("Reference length", None, None)


def test_what_is_no_list(tmp_path: Path) -> None:
    (tmp_path / "f.csv").write_text("Part,W\n1,2.8\n2,2.9\n", encoding="utf-8")
    with pytest.raises(InputError, match="has no list of characteristics"):
        read_drawing(tmp_path / "f.csv")
    (tmp_path / "f.csv").write_text("Name,Nominal,LSL,USL\nW,2,3,1\nV,2,1,3\n", encoding="utf-8")
    with pytest.raises(InputError, match=r"line 2.*lower limit"):
        read_drawing(tmp_path / "f.csv")
