"""Lists of characteristics as plants keep them: limits, deviations, plus/minus, in five languages."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest
from proposals import delimited

from linestudy.intake import draft_study
from linestudy.records import infer_data_table
from linestudy.records.infer.drawings.drawing import read_drawing
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


def test_a_list_in_one_cell_each(tmp_path: Path) -> None:
    cells = {
        "Bohrung": ("Ø 8 H7", (8.0, None, None)),
        "Höhe": ("10 -0,1", (10.0, 9.9, 10.0)),
        "Flatness": (".003", (None, None, 0.003)),
        "Länge": ("3,25 ±0,05", (3.25, 3.2, 3.3)),
        "Grat": ("0.1 MAX.", (None, None, 0.1)),
        "Ebenheit": ("0,05", (None, None, 0.05)),
    }
    rows: list[list[object]] = [["Nr.", "Merkmal", "Maß", "Einheit"]]
    rows += [[i, name, cell, "MM"] for i, (name, (cell, _)) in enumerate(cells.items(), 1)]
    path = tmp_path / "Liste.csv"
    path.write_bytes(delimited(rows, ";", "cp1252"))
    draft = draft_study([path])
    said = {item.name: (item.nominal, item.lower, item.upper) for item in draft.items}
    assert said == {name: truth for name, (_, truth) in cells.items()}
    assert {item.unit for item in draft.items} == {"mm"}
    told = infer_data_table(path)
    assert "the fit H7 is not worked out" in told
    assert "the other is taken as 0" in told


def test_a_short_list_with_one_tolerance(tmp_path: Path) -> None:
    path = tmp_path / "Liste.csv"
    path.write_bytes(
        "Nr.;Merkmal;Maß\n1;Höhe;2,80 ±0,05\n2;Bohrung;Ø 8 H7\n3;Ebenheit;0,05\n".encode("cp1252")
    )
    said = {i.name: (i.nominal, i.lower, i.upper) for i in draft_study([path]).items}
    assert said == {
        "Höhe": (2.8, 2.75, 2.85),
        "Bohrung": (8.0, None, None),
        "Ebenheit": (None, None, 0.05),
    }


def test_tolerances_that_are_limits(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    rows: list[list[object]] = [
        ["Name", "Nominal", "Tol. inf.", "Tol. sup."],
        ["Width", 2.8, 2.75, 2.85],
        ["Gap", 1.0, -0.1, 0.2],
    ]
    path.write_bytes(delimited(rows))
    said = {i.name: (i.nominal, i.lower, i.upper) for i in draft_study([path]).items}
    assert said == {"Width": (2.8, 2.75, 2.85), "Gap": (1.0, 0.9, 1.2)}


def test_signs_and_words_within_a_list(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    rows: list[list[object]] = [
        ["Balloon", "Description", "Nominal", "Tol (+)", "Tol (-)"],
        ["1", "Radius", "R.010", ".003", ".003"],
        ["2", "Angle", "90°", "1°", "1°"],
    ]
    path.write_bytes(delimited(rows))
    said = {i.name: (i.nominal, i.lower, i.upper) for i in draft_study([path]).items}
    assert said == {"Radius": (0.01, 0.007, 0.013), "Angle": (90.0, 89.0, 91.0)}
    rows = [
        ["序号", "特性", "规格", "公差"],
        [1, "宽度", "2.80", "±0.05"],
        [2, "毛刺", "0.1", "MAX"],
    ]
    path.write_bytes(delimited(rows, ",", "gb18030"))
    said = {i.name: (i.nominal, i.lower, i.upper) for i in draft_study([path]).items}
    assert said == {"宽度": (2.8, 2.75, 2.85), "毛刺": (None, None, 0.1)}


def test_general_tolerances_and_zones_in_a_list(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    rows: list[list[object]] = [
        ["Pos", "Benennung", "Nennmaß", "oberes Abmaß", "unteres Abmaß"],
        [1, "Breite", "2,8", "+0,05", "-0,05"],
        [2, "Position", "0,2 (M) A B", "", ""],
        [3, "Länge", "25", "DIN ISO 2768-m", ""],
    ]
    path.write_bytes(delimited(rows, ";"))
    items = {item.name: item for item in draft_study([path]).items}
    assert (items["Position"].nominal, items["Position"].upper) == (None, 0.2)
    assert '"DIN ISO 2768-m" is not worked out' in items["Länge"].remark
