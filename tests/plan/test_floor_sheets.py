"""Floor sheets go out and come back: nothing is mapped, and what is filled in wrongly is told cell by cell."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import openpyxl
import pytest
from open_document import as_ods
from openpyxl.worksheet.worksheet import Worksheet

from linestudy import open_study, start_study
from linestudy.intake.drafting import draft_by_questions
from linestudy.plan import crossed_sheet, write_floor_sheet
from linestudy.plan.floor_sheets import laid_out
from linestudy.records import infer_data_table, read
from linestudy.records.formats.floor_sheet import HEADER, PLAN, read_floor_sheet
from linestudy.results import InputError
from linestudy.study.model import Data

ROLES = ["crossed", "attribute", "reference", "paired", "nested", "drift", "run", "machine"]
EXTRA = """
[[characteristic]]
id = "seam"
name = "Seam"
[[gauge]]
id = "cmm"
name = "CMM"
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    study = start_study(tmp_path / "study")
    with (study / "study.toml").open("a", encoding="utf-8") as file:
        file.write(EXTRA)
    return study


def filled(path: Path, words: tuple[str, ...] = ()) -> dict[tuple[str, str], list[object]]:
    """Fill every cell of a sheet as a person would; gives page and label with what was written."""
    rng = np.random.default_rng(3)
    book = openpyxl.load_workbook(path)
    truth: dict[tuple[str, str], list[object]] = {}
    for page in book.worksheets:
        if page.title == PLAN:
            continue
        page["B5"] = "2 March"
        if page["B4"].value is None:
            page["B4"] = "Anna"
        for row in range(HEADER + 2, page.max_row + 1):
            width = sum(page.cell(HEADER + 1, column).value is not None for column in range(3, 6))
            for column in range(3, 3 + width):
                value = (
                    words[int(rng.random() < 0.3)]
                    if words
                    else round(float(rng.normal(6.3, 0.01)), 4)
                )
                page.cell(row, column).value = value
                truth.setdefault((page.title, str(page.cell(row, 2).value)), []).append(value)
    book.save(path)
    return truth


def written(folder: Path, role: str, name: str = "sheet.xlsx") -> Path:
    gauges = {"paired": ("camera", "cmm"), "attribute": ()}.get(role, ("camera",))
    rows = laid_out(role, 12, people=("Anna", "Bert"), trials=2, masters=(6.25, 6.3))
    about = "seam" if role == "attribute" else "width"
    return write_floor_sheet(
        open_study(folder), role, about, rows, folder.parent / name, gauges=gauges
    )


@pytest.mark.parametrize("role", ROLES)
def test_each_role_goes_out_and_comes_back(folder: Path, role: str) -> None:
    path = written(folder, role)
    truth = filled(path, ("ok", "not ok") if role == "attribute" else ())
    told: list[str] = []
    draft_by_questions(folder, [path], lambda _: pytest.fail("asked"), told.append)
    records = read(open_study(folder))
    account = records.ledger.accounts[-1]
    assert (
        account.rows_read
        == account.rows_used
        == sum(1 for _ in truth) * (12 if role == "reference" else 1)
    )
    assert not [note for note in account.notes if note.startswith("page")]
    frame = records.sources[-1].frame
    if role == "attribute":
        assert frame["judgement"].sum() == sum(value == ["ok"] for value in truth.values())
        return
    columns = ["width␟first", "width␟second"] if role == "paired" else ["width"]
    expected = sorted(float(v) for values in truth.values() for v in values)
    assert sorted(frame[columns].to_numpy().ravel()) == pytest.approx(expected)
    if role == "crossed":
        one = frame[
            (frame["appraiser"] == "Anna") & (frame["trial"] == "2") & (frame["part"] == "7")
        ]
        assert one["width"].tolist() == truth[("Anna, trial 2", "7")]


def test_nobody_sees_what_was_read_before(folder: Path) -> None:
    book = openpyxl.load_workbook(written(folder, "crossed"))
    assert book[PLAN].sheet_state == "hidden"
    pages = [page for page in book.worksheets if page.title != PLAN]
    assert {page.title for page in pages} == {
        f"{who}, trial {n}" for who in ("Anna", "Bert") for n in (1, 2)
    }
    orders = [
        tuple(page.cell(row, 2).value for row in range(HEADER + 2, HEADER + 14)) for page in pages
    ]
    assert len(set(orders)) == 4
    assert all(sorted(order, key=int) == [str(i) for i in range(1, 13)] for order in orders)


def test_faults_are_told_cell_by_cell(folder: Path) -> None:
    path = written(folder, "crossed")
    filled(path)
    book = openpyxl.load_workbook(path)
    page = book["Anna, trial 1"]
    page["C8"] = "6,3o1"
    page["C9"] = None
    page["B10"] = "99"
    page["B5"] = None
    page["B2"] = "0000000000"
    del book["Bert, trial 2"]
    book.save(path)
    told = infer_data_table(path)
    for words in (
        'page "Anna, trial 1", cell C8 says "6,3o1", which is no number',
        'page "Anna, trial 1", cell C9 (value) is empty',
        'page "Anna, trial 1", cell B10 says "99" where the plan has',
        'page "Anna, trial 1", cell B5: date is not filled in',
        'page "Anna, trial 1", cell B2 says "0000000000" where the code of the plan',
        'the page "Bert, trial 2" is missing',
    ):
        assert words in told
    # What is sound is used all the same, and the rest counted.
    draft_by_questions(folder, [path], lambda _: "", lambda _: None)
    account = read(open_study(folder)).ledger.accounts[-1]
    assert account.rows_read == 48
    assert account.rows_used == 48 - 12 - 3
    assert any("C8" in note for note in account.notes)


def _sorted_by_part(page: Worksheet) -> None:
    rows = [
        [page.cell(row, column).value for column in (2, 3)]
        for row in range(HEADER + 2, HEADER + 14)
    ]
    for at, row in enumerate(sorted(rows, key=lambda each: int(each[0]))):
        page.cell(HEADER + 2 + at, 2).value, page.cell(HEADER + 2 + at, 3).value = row


def _with_units(page: Worksheet) -> None:
    for row in range(HEADER + 2, HEADER + 14):
        cell = page.cell(row, 3)
        cell.value = f"{cell.value} mm" if row % 2 else f"{1000 * cell.value:.1f} µm"


def _more_than_planned(page: Worksheet) -> None:
    page["D8"], page[f"B{HEADER + 14}"], page[f"C{HEADER + 14}"] = 6.3, "13", 6.31
    page.parent.copy_worksheet(page).title = "Anna, trial 3"


def _renamed(page: Worksheet) -> None:
    page.title = "first"


def _shifted(page: Worksheet) -> None:
    page.insert_rows(1)
    page.insert_cols(1)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (_sorted_by_part, ["another order than the plan has, and are read by their labels"]),
        (_with_units, []),
        (_more_than_planned, ['D8 says "6.3", for which', 'C20 says "6.31", for which', '"Anna, trial 3" is not in the plan']),
        (_renamed, ['"Anna, trial 1" was renamed to "first"']),
        (_shifted, ["were inserted or taken out"]),
    ],
)  # fmt: skip
def test_what_people_do_to_a_sheet_is_read_and_told(
    folder: Path, change: Callable[[Worksheet], None], said: list[str]
) -> None:
    path = written(folder, "crossed")
    truth = filled(path)
    book = openpyxl.load_workbook(path)
    change(book["Anna, trial 1"])
    book.save(path)
    _comes_back(path, truth, said)


def _comes_back(path: Path, truth: dict[tuple[str, str], list[object]], said: list[str]) -> None:
    sheet = Data(role="run", file=path.name, columns={"width": "value"})
    found = read_floor_sheet(path.read_bytes(), sheet, path.suffix)
    readings = {
        (f"{row.appraiser}, trial {row.trial}", row.part): float(row.value)
        for row in found.table.itertuples()
    }
    assert readings == pytest.approx({place: values[0] for place, values in truth.items()})
    assert all(any(each in fault for fault in found.faults) for each in said)
    assert bool(found.faults) == bool(said)


def test_a_sheet_that_another_program_saved_as_ods(folder: Path) -> None:
    path = written(folder, "crossed")
    truth = filled(path)
    path.with_suffix(".ods").write_bytes(as_ods(path))
    _comes_back(path.with_suffix(".ods"), truth, [])


def test_a_page_saved_as_text_left_its_plan_behind(folder: Path) -> None:
    path = written(folder, "crossed")
    filled(path)
    rows = openpyxl.load_workbook(path)["Anna, trial 1"].iter_rows(values_only=True)
    lines = [",".join("" if cell is None else str(cell) for cell in row) for row in rows]
    path.with_suffix(".csv").write_text("\n".join(lines), encoding="utf-8")
    with pytest.raises(InputError, match="plan that stayed behind"):
        infer_data_table(path.with_suffix(".csv"))


def test_a_comma_typed_as_text_is_a_decimal_mark(folder: Path) -> None:
    path = written(folder, "drift")
    filled(path)
    book = openpyxl.load_workbook(path)
    book["drift"]["C8"] = "6,3015"
    book.save(path)
    draft_by_questions(folder, [path], lambda _: "", lambda _: None)
    assert read(open_study(folder)).table("drift", "width")["value"].iloc[0] == 6.3015


def test_a_plan_that_was_changed_is_refused(folder: Path) -> None:
    path = written(folder, "drift")
    book = openpyxl.load_workbook(path)
    cell = book[PLAN]["A3"]
    cell.value = cell.value.replace('"drift"', '"run"', 1)
    book.save(path)
    with pytest.raises(InputError, match="a plan that is not whole"):
        infer_data_table(path)


def test_what_cannot_be_written(folder: Path) -> None:
    study, rows = open_study(folder), crossed_sheet()
    path = folder.parent / "f.xlsx"
    with pytest.raises(ValueError, match="takes 1 gauges"):
        write_floor_sheet(study, "crossed", "width", rows, path)
    with pytest.raises(ValueError, match=r"ends in \.xlsx or \.pdf"):
        write_floor_sheet(
            study, "crossed", "width", rows, path.with_suffix(".csv"), gauges=("camera",)
        )
    with pytest.raises(InputError, match="no gauge 'kamera'"):
        write_floor_sheet(study, "crossed", "width", rows, path, gauges=("kamera",))
    with pytest.raises(ValueError, match='needs the column "reading"'):
        write_floor_sheet(study, "drift", "width", rows, path, gauges=("camera",))
    write_floor_sheet(study, "crossed", "width", rows, path, gauges=("camera",))
    with pytest.raises(FileExistsError):
        write_floor_sheet(study, "crossed", "width", rows, path, gauges=("camera",))
