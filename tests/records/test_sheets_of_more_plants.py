"""Gauge sheets and logs in the ways more plants keep them; the truth of each is what was written."""

from __future__ import annotations

import itertools
from pathlib import Path

import numpy as np
import pytest
from proposals import TIMES, WIDTHS, delimited, draft_of, records_of, the_run, workbook

PEOPLE, PARTS, TRIALS = ("Anna", "Ben", "Cora"), 10, 3
_CHANCE = np.random.default_rng(5)
SIZES = np.round(2.8 + 0.012 * _CHANCE.standard_normal(PARTS), 3)
READ = {
    key: round(float(SIZES[key[0]] + 0.002 * _CHANCE.standard_normal()), 3)
    for key in itertools.product(range(PARTS), PEOPLE, range(TRIALS))
}
TRUTH = sorted((p + 1, a, value) for (p, a, _), value in READ.items())


def _is_the_study(folder: Path, name: str, content: bytes) -> None:
    draft = draft_of(folder, name, content)
    (item,) = draft.items
    assert [table.said.role for table in draft.tables] == ["crossed"]
    found = records_of(folder, draft).table("crossed", item.id)
    assert found is not None
    part = found["part"].str.extract(r"(\d+)", expand=False).astype(int)
    read = sorted(zip(part, found["appraiser"], found["value"], strict=True))
    assert read == TRUTH


#: Names of part, appraiser, trial and reading.
HEADS = {
    "cs": "Díl;Měřil;Měření;Šířka",
    "hu": "Alkatrész;Mérő személy;Mérés;Szélesség",
    "ro": "Piesa;Operator;Încercare;Lățime",
    "es": "Pieza;Inspector;Réplica;Ancho",
    "nl": "Onderdeel;Controleur;Herhaling;Breedte",
    "sv": "Detalj;Mätare;Omgång;Bredd",
    "vi": "Mẫu;Người đo;Lần đo;Chiều rộng",
    "tw": "樣品;量測者;次數;寬度",
    "sk": "Diel;Meral;Opakovanie;Šírka",
    # Nothing here knows these words; what stands in the columns tells.
    "trial in no language": "Part;Operator;Qwx;Width",
    "appraiser in no language": "Part;Qwx;Trial;Width",
}


@pytest.mark.parametrize("place", HEADS)
def test_gauge_sheets_of_more_languages(tmp_path: Path, place: str) -> None:
    rows: list[list[object]] = [list(HEADS[place].split(";"))]
    rows += [[p + 1, a, t + 1, f"{value:.3f}".replace(".", ",")] for (p, a, t), value in READ.items()]  # fmt: skip
    _is_the_study(tmp_path, "grr.csv", delimited(rows, ";"))


@pytest.mark.parametrize("numbered", [False, True])
@pytest.mark.parametrize("over", [False, True])
def test_the_printed_form_with_parts_across(tmp_path: Path, numbered: bool, over: bool) -> None:
    names = [str(p + 1) if over else f"Part {p + 1}" for p in range(PARTS)]
    rows: list[list[object]] = [["Data sheet"], []]
    if over:
        rows += [["Appraiser", "Trial", "Part", *[None] * 9, "Average"], [None, None, *map(int, names), None]]  # fmt: skip
    else:
        rows += [["Appraiser", "Trial", *names, "Average"]]
    for a in PEOPLE:
        sheet = np.array([[READ[p, a, t] for p in range(PARTS)] for t in range(TRIALS)])
        rows += [[None if t else a, t + 1, *sheet[t].tolist(), 2.8] for t in range(TRIALS)]
        rows += [[None, "Average", *sheet.mean(axis=0).tolist(), 2.8]]
        rows += [[None, "Range", *np.ptp(sheet, axis=0).tolist(), 0.002]]
    if numbered:
        at = 4 if over else 3
        rows = [[None, *row] for row in rows[:at]] + [[i, *row] for i, row in enumerate(rows[at:], 1)]  # fmt: skip
        rows[at - 2 if over else at - 1][0] = "#"
    _is_the_study(tmp_path, "grr.xlsx", workbook(rows))


def test_more_coils_than_specimens_of_each(tmp_path: Path) -> None:
    rows: list[list[object]] = [["Coil", "Specimen", "Pull force"]]
    rows += [[f"C{k}", j + 1, 40 + k + j / 10] for k in range(6) for j in range(5)]
    draft = draft_of(tmp_path, "pull.csv", delimited(rows))
    assert draft.tables[0].said.key("levels") == ["Coil"]


def test_good_and_bad_parts_by_date_and_shift(tmp_path: Path) -> None:
    rows: list[list[object]] = [["Datum", "Schicht", "Gutteile", "Ausschuss", "Nacharbeit"]]
    rows += [[f"{3 + i // 3:02}.09.2026", "FSN"[i % 3], 11_800 + i, 12, 3] for i in range(12)]
    rows = [rows[0], *rows[1:]]
    draft = draft_of(tmp_path, "bins.csv", delimited(rows, ";"))
    said = draft.tables[0].said
    assert (said.role, said.key("period")) == ("bins", ["Datum", "Schicht"])
    draft.new_item("Width")
    found = records_of(tmp_path, draft).table("bins")
    assert found is not None
    assert found["period"].tolist()[:2] == ["03.09.2026 / F", "03.09.2026 / S"]
    assert found["accepted"].tolist() == [11_800 + i for i in range(12)]


@pytest.mark.parametrize(("gap", "more"), [(1, 20), (2, 15), (1, 3)])
def test_two_tables_side_by_side_in_a_sheet(tmp_path: Path, gap: int, more: int) -> None:
    rows: list[list[object]] = [["Report"], [], ["No", "Width", *[None] * gap, "No", "Gap"]]
    for i in range(20):
        rows.append([i + 1, WIDTHS[i], *[None] * gap, *([i + 1, WIDTHS[i] - 1] if i < more else [])])  # fmt: skip
    draft = draft_of(tmp_path, "two.xlsx", workbook(rows))
    records = records_of(tmp_path, draft)
    for item, truth in (("width", WIDTHS[:20]), ("gap", WIDTHS[:more] - 1)):
        found = records.table("run", item)
        assert found is not None
        np.testing.assert_allclose(found["value"], truth)


def test_a_table_that_goes_on_beside_itself(tmp_path: Path) -> None:
    rows: list[list[object]] = [["No", "Width", None, "No", "Width"]]
    rows += [[i + 1, WIDTHS[i], None, i + 21, WIDTHS[i + 20]] for i in range(20)]
    draft = draft_of(tmp_path, "two.xlsx", workbook(rows))
    found = records_of(tmp_path, draft).table("run", "width")
    assert found is not None
    np.testing.assert_array_equal(found["value"], WIDTHS)


def test_two_tables_below_each_other_without_titles(tmp_path: Path) -> None:
    rows: list[list[object]] = [["No", "Width"], *([i + 1, WIDTHS[i]] for i in range(20)), []]
    rows += [["No", "Gap", "Note"], *([i + 1, WIDTHS[i] - 1, "x"] for i in range(20))]
    draft = draft_of(tmp_path, "two.xlsx", workbook(rows))
    records = records_of(tmp_path, draft)
    for item, truth in (("width", WIDTHS[:20]), ("gap", WIDTHS[:20] - 1)):
        found = records.table("run", item)
        assert found is not None
        np.testing.assert_allclose(found["value"], truth)


def _changing(first: str, second: str) -> bytes:
    cells = {"No": "{i}", "Temp": "23", "Width": "{w}", "Result": "OK"}
    lines = []
    for begin, names in ((0, first), (20, second)):
        lines.append(names)
        for i in range(begin, begin + 20):
            row = [cells[name].format(i=i, w=WIDTHS[i]) for name in names.split(";")]
            lines.append(";".join(row))
    return "\n".join(lines).encode()


@pytest.mark.parametrize(
    ("first", "second"),
    [("No;Temp;Width", "No;Width"), ("No;Width;Result", "No;Temp;Width;Result")],
)
def test_a_column_less_or_more_from_a_row_on(tmp_path: Path, first: str, second: str) -> None:
    draft = draft_of(tmp_path, "run.csv", _changing(first, second))
    assert len(draft.tables) == 2
    found = records_of(tmp_path, draft).table("run", "width")
    assert found is not None
    np.testing.assert_array_equal(found["value"], WIDTHS)


@pytest.mark.parametrize("layout", ["%Y-%m-%d %H:%M:%S,250", "%d-%b-%y %I.%M.%S.000000 %p", "%d. September %Y %H:%M Uhr"])  # fmt: skip
def test_more_clocks(tmp_path: Path, layout: str) -> None:
    rows: list[list[object]] = [["No", "TS", "Width"]]
    rows += [[i + 1, f"{t:{layout}}", w] for i, (t, w) in enumerate(zip(TIMES, WIDTHS, strict=True))]  # fmt: skip
    found = the_run(tmp_path, "run.csv", delimited(rows, ";"))
    assert [each.replace(microsecond=0) for each in found["time"]] == TIMES


def test_days_of_a_week(tmp_path: Path) -> None:
    rows: list[list[object]] = [["No", "Date", "Width"]]
    rows += [[i + 1, f"2026-W31-{1 + i // 10}", w] for i, w in enumerate(WIDTHS)]
    found = the_run(tmp_path, "run.csv", delimited(rows))
    assert found["time"].iloc[[0, 39]].dt.strftime("%Y-%m-%d").tolist() == ["2026-07-27", "2026-07-30"]  # fmt: skip


@pytest.mark.parametrize(("head", "name", "unit"), [
    ("Width_in", "Width", "in"), ("GAP_MM", "GAP", "mm"), ("Ширина, мм", "Ширина", "mm"), ("Width_mm", "Width", "mm"), ("Check_in_no", "Check_in_no", None),
])  # fmt: skip
def test_units_behind_names(tmp_path: Path, head: str, name: str, unit: str | None) -> None:
    rows: list[list[object]] = [["Stroke", head], *([i + 1, w] for i, w in enumerate(WIDTHS))]
    (item,) = draft_of(tmp_path, "run.csv", delimited(rows)).items
    assert (item.name, item.unit) == (name, unit)
