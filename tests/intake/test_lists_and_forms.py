"""Lists of a drawing, first samples and printed gauge forms as plants fill them in, each with its truth."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest
from proposals import WIDTHS, delimited, draft_of, records_of

from linestudy.intake import draft_study
from linestudy.intake.draft import Draft
from linestudy.records.across.dimensions import limits_around
from linestudy.results import InputError

RNG = np.random.default_rng(24)
FIRST = (np.array([[2.8], [6.4]]) + RNG.normal(0, 0.004, (2, 5))).round(4)


def limits(draft: Draft) -> dict[str, tuple[Any, ...]]:
    return {item.name: (item.nominal, item.lower, item.upper, item.unit) for item in draft.items}


def test_a_list_with_signs_and_texts(tmp_path: Path) -> None:
    rows = [
        ["Pos.", "Merkmal", "Nennmaß / Toleranz", "Einheit", "Bes. Merkmal", "Prüfmittel"],
        [1, "Höhe", "2,80 ± 0,05", "mm", "◊", "Kamera K2"],
        [2, "Ø Bohrung", "Ø1,20 +0,02/-0,01", "mm", "", "Kamera K2"],
        [3, "Position", "⌖ Ø0,1 Ⓜ A B", "mm", "SC", "KMM"],
        [4, "Auszugskraft", "≥ 40", "N", "CC", "Zugprüfer"],
        [5, "Radius", "R0,3 (Hilfsmaß)", "mm", "", ""],
    ]
    found = limits(draft_of(tmp_path, "zeichnung.csv", delimited(rows, ";")))
    assert found == {
        "Höhe": (2.8, 2.75, 2.85, "mm"),
        "Ø Bohrung": (1.2, 1.19, 1.22, "mm"),
        "Position": (None, None, 0.1, "mm"),
        "Auszugskraft": (None, 40.0, None, "N"),
        "Radius": (0.3, None, None, "mm"),
    }


def test_a_list_without_units_takes_those_of_the_readings(tmp_path: Path) -> None:
    rows = [
        ["Balloon", "Description", "Spec", "GD&T"],
        ["1", "Height", ".110 +/- .002", ""],
        ["2", "True position", "", "⌖ Ø.004 M A B"],
        ["3", "Pull force", "9 LBF MIN", ""],
    ]
    (tmp_path / "list.csv").write_bytes(delimited(rows))
    run = [["Shot", "Height (in)"], *([i, round(w / 25.4, 5)] for i, w in enumerate(WIDTHS))]
    (tmp_path / "run.csv").write_bytes(delimited(run))
    draft = draft_study([tmp_path / "list.csv", tmp_path / "run.csv"])
    assert limits(draft)["Height"] == (0.11, 0.108, 0.112, "in")
    asked = {question.key: question.default for question in draft.questions()}
    assert asked["item:true_position:unit"] == "in"
    assert limits(draft)["Pull force"] == (None, 9.0, None, "lbf")


HEADS = {
    "deviations": (["No", "Characteristic", "Nominal", "+Tol", "-Tol", "Unit"], [0.1, -0.05, "mm"]),
    "no sign": (
        ["No", "Characteristic", "Nominal", "Upper tol", "Lower tol", "Unit"],
        [0.1, 0.05, "mm"],
    ),
    "German": (["Nr", "Merkmal", "Sollwert", "OT", "UT", "Einheit"], [0.1, -0.05, "mm"]),
    "text": (["Pos.", "Merkmal", "Nennmaß", "Toleranz", "Einheit"], ["+0.1/-0.05", "mm"]),
}


@pytest.mark.parametrize("kind", HEADS)
@pytest.mark.parametrize(
    "parts", [["Actual 1", "Actual 2"], ["1", "2", "3", "4", "5"], ["Istwert"]]
)
def test_first_samples_beside_their_limits(tmp_path: Path, kind: str, parts: list[str]) -> None:
    head, deviations = HEADS[kind]
    rows: list[list[object]] = [[*head, *parts, "Mittelwert", "Status"]]
    for at, (name, nominal) in enumerate((("Höhe", 2.8), ("Breite", 6.4))):
        rows.append(
            [at + 1, name, nominal, *deviations, *FIRST[at][: len(parts)].tolist(), 2.8, "OK"]
        )
    draft = draft_of(tmp_path, "empb.csv", delimited(rows, ";"))
    assert [item[1:3] for item in limits(draft).values()] == [(2.75, 2.9), (6.35, 6.5)]
    table = records_of(tmp_path, draft).table("layout")
    for at, dimension in enumerate(table["dimension"]):
        assert dimension.values == tuple(FIRST[at][: len(parts)])
        assert (dimension.lower, dimension.upper) == [(2.75, 2.9), (6.35, 6.5)][at]


def test_limits_that_hold_their_nominal_stay(tmp_path: Path) -> None:
    assert limits_around(2.8, 2.7, 2.9) == (2.7, 2.9)
    assert limits_around(None, -0.1, 0.1) == limits_around(0.0, -0.1, 0.1) == (-0.1, 0.1)
    assert limits_around(2.8, None, 0.1) == (None, 2.9)
    assert limits_around(10.0, 10.1, 10.2) == (10.1, 10.2)


def test_the_same_limits_in_every_row_make_no_list(tmp_path: Path) -> None:
    rows = [
        ["Serial", "Width", "LSL", "USL"],
        *([f"P{i}", w, 2.75, 2.85] for i, w in enumerate(WIDTHS)),
    ]
    assert draft_of(tmp_path, "run.csv", delimited(rows)).tables[0].said.role == "run"


def test_readings_below_each_other_bring_their_limits(tmp_path: Path) -> None:
    rows: list[list[object]] = [
        ["Part", "Feature", "Nominal", "+Tol", "-Tol", "Actual", "Deviation"]
    ]
    for i, width in enumerate(WIDTHS):
        rows += [
            [i, "Ø2.8 Pos 1", 2.8, 0.05, -0.05, width, ""],
            [i, "Pitch", 1.27, 0.05, -0.05, 1.28, ""],
        ]
    draft = draft_of(tmp_path, "cmm.csv", delimited(rows))
    assert limits(draft) == {
        "Ø2.8 Pos 1": (2.8, 2.75, 2.85, None),
        "Pitch": (1.27, 1.22, 1.32, None),
    }
    found = records_of(tmp_path, draft).table("run", draft.items[0].id)
    np.testing.assert_array_equal(found["value"], WIDTHS)


@pytest.mark.parametrize("named", [True, False])
def test_a_printed_gauge_form_with_averages_and_ranges(tmp_path: Path, named: bool) -> None:
    parts = RNG.normal(2.8, 0.01, (10, 1, 1))
    readings = (parts + RNG.normal(0, 0.002, (10, 3, 3))).round(4)
    book = openpyxl.Workbook()
    page = book.active
    page["A1"], page["D3"] = "Gauge data sheet", "Specification: 2.80 ± 0.05 mm"
    page["A6"], page["C6"] = "Appraiser / Trial", "Part"
    if named:
        page["A7"], page["B7"] = "Appraiser", "Trial"
    for part in range(10):
        page.cell(7, 3 + part, part + 1)
    page.cell(7, 13, "Average")
    row = 8
    for who, name in enumerate("ABC"):
        own = readings[:, who]
        lines = [
            [name if trial == 0 else None, trial + 1, *own[:, trial].tolist()] for trial in range(3)
        ]
        lines += [["Average", None, *own.mean(axis=1)], ["Range", None, *np.ptp(own, axis=1)]]
        for line in lines:
            for at, cell in enumerate([*line, float(np.mean(line[2:]))], start=1):
                page.cell(row, at, cell)
            row += 1
    page.cell(row, 1, "Part average")
    for part in range(10):
        page.cell(row, 3 + part, float(readings[part].mean()))
    page.cell(row + 2, 1, "Signature:")
    book.save(tmp_path / "grr.xlsx")
    draft = draft_of(tmp_path, "grr.xlsx", (tmp_path / "grr.xlsx").read_bytes())
    assert draft.tables[0].said.role == "crossed"
    found = records_of(tmp_path, draft).table("crossed", draft.items[0].id)
    assert len(found) == 90
    for part, who, trial, value in found[["part", "appraiser", "trial", "value"]].itertuples(
        index=False
    ):
        assert value == readings[int(part) - 1, "ABC".index(who), int(trial) - 1]


def test_trials_that_are_counted_in_words(tmp_path: Path) -> None:
    readings = RNG.normal(2.8, 0.01, (10, 2, 2)).round(4)
    rows: list[list[object]] = [
        ["Gauge study", "", "", "", ""],
        ["Part", "Operator A", "", "Operator B", ""],
        ["", "1st trial", "2nd trial", "1st trial", "2nd trial"],
    ]
    rows += [[part + 1, *readings[part].ravel()] for part in range(10)]
    rows += [
        ["Total", 28, 28, 28, 28],
        ["R-bar", 0.002, "", 0.002, ""],
        ["UCL R", 0.007, "", "", ""],
    ]
    draft = draft_of(tmp_path, "grr.csv", delimited(rows))
    found = records_of(tmp_path, draft).table("crossed", draft.items[0].id)
    np.testing.assert_array_equal(found["value"], readings.ravel())


def test_a_file_without_readings_says_what_to_give(tmp_path: Path) -> None:
    rows = [["Line", "Remark"], ["four", "all well"], ["five", "stopped"]]
    draft = draft_of(tmp_path, "notes.csv", delimited(rows))
    with pytest.raises(
        InputError,
        match=r'notes\.csv: no column of readings.*texts such as "four" in "Line".*: put readings',
    ):
        draft.write(tmp_path / "study")
