"""Exports of more plants in the ways they come: other scripts, clocks and marks, reports in blocks, heads over three rows, curves of pulls.

Every file is written here, and its truth is what was written.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path

import numpy as np
import openpyxl
import pytest
from proposals import TIMES, WIDTHS, delimited, draft_of, records_of, the_run, workbook

from linestudy import open_study
from linestudy.records import read

GAPS = np.round(1.0 + 0.003 * (np.arange(40) * 7 % 11), 4)
PEOPLE = ("Anna", "Bert")


def _comma(number: float, digits: int = 4) -> str:
    return f"{number:.{digits}f}".replace(".", ",")


def _digits(text: str, nought: int) -> str:
    return "".join(chr(nought + int(sign)) if sign.isdigit() else sign for sign in text)


def _lines(head: str, row: Callable[[int, datetime.datetime, float], str]) -> str:
    rows = [row(i, t, float(w)) for i, (t, w) in enumerate(zip(TIMES, WIDTHS, strict=True))]
    return "\n".join([head, *rows]) + "\n"


# -- other scripts


@pytest.mark.parametrize(
    "nought", [0x0966, 0x09E6, 0x0AE6, 0x0BE6, 0x0E50, 0x0ED0, 0x1040], ids=hex
)
def test_digits_of_more_scripts(tmp_path: Path, nought: int) -> None:
    text = _lines("No,Width", lambda i, t, w: _digits(f"{i + 1},{w:.4f}", nought))
    np.testing.assert_array_equal(the_run(tmp_path, "run.csv", text.encode())["value"], WIDTHS)


@pytest.mark.parametrize("marks", ["，", "；"])
def test_marks_of_an_eastern_keyboard_between_cells(tmp_path: Path, marks: str) -> None:
    text = _lines(
        marks.join(("序号", "采集时间", "宽度(mm)", "判定")),
        lambda i, t, w: marks.join(
            (
                _digits(str(i + 1), 0xFF10),
                f"{t.year}年{t.month}月{t.day}日{t:%H}时{t:%M}分",
                _digits(f"{w:.4f}", 0xFF10).replace(".", "．"),
                "不合格" if i % 9 == 4 else "合格",
            )
        ),
    )
    found = the_run(tmp_path, "数据.csv", text.encode("gb18030"))
    np.testing.assert_array_equal(found["value"], WIDTHS)
    assert found["time"].tolist() == TIMES
    assert (~found["accepted"]).sum() == 4


def test_a_full_width_comma_in_a_remark_divides_nothing(tmp_path: Path) -> None:
    text = _lines("No,Width,备注", lambda i, t, w: f"{i + 1},{w:.4f},正常，无异常")
    np.testing.assert_array_equal(the_run(tmp_path, "run.csv", text.encode())["value"], WIDTHS)


# -- clocks


@pytest.mark.parametrize(
    "write",
    [
        lambda t: f"令和{t.year - 2018}年{t.month}月{t.day}日 {t.hour}時{t.minute}分",
        lambda t: f"{t:%d/%m/}{t.year + 543} {t:%H:%M}",
        lambda t: f"{t.year}年{t.month}月{t.day}日{t.hour}時{t.minute}分{t.second}秒",
        lambda t: f"{t:%d.%m.%Y %H:%M} r.",
    ],
    ids=["years of a reign", "years of Thailand", "no blank before the hour", "Polish years"],
)
def test_more_calendars(tmp_path: Path, write: Callable[[datetime.datetime], str]) -> None:
    # From the fifteenth on, so that the day is no month.
    later = datetime.timedelta(days=12)
    text = _lines("No;Time;Width", lambda i, t, w: f"{i + 1};{write(t + later)};{_comma(w)}")
    found = the_run(tmp_path, "run.csv", text.encode())
    assert found["time"].tolist() == [t + later for t in TIMES]


def test_the_first_year_of_a_reign(tmp_path: Path) -> None:
    text = _lines(
        "No,日時,幅", lambda i, t, w: f"{i + 1},令和元年9月{1 + i // 20}日 12:{i % 20:02d},{w}"
    )
    assert the_run(tmp_path, "run.csv", text.encode())["time"].iloc[0].year == 2019


@pytest.mark.parametrize(
    "layout", ["%y-%m-%d %H:%M", "%y/%m/%d %H:%M", "%d.%m.%y %H:%M", "%m/%d/%y %H:%M", "%m-%d-%Y %H:%M", "%y.%m.%d %H:%M"]
)  # fmt: skip
def test_years_of_two_digits_wherever_they_stand(tmp_path: Path, layout: str) -> None:
    times = [datetime.datetime(2026, 8, 28, 6) + datetime.timedelta(hours=7 * i) for i in range(40)]
    rows: list[list[object]] = [["No", "Date", "Width"]]
    rows += [
        [i + 1, f"{t:{layout}}", w] for i, (t, w) in enumerate(zip(times, WIDTHS, strict=True))
    ]
    draft = draft_of(tmp_path, "run.csv", delimited(rows))
    assert not draft.tables[0].said.open
    found = records_of(tmp_path, draft).table("run", "width")
    assert found is not None
    assert found["time"].tolist() == times


def test_the_date_stands_in_a_row_above_its_hours(tmp_path: Path) -> None:
    lines, day = ["Time;No;Width"], None
    for i, (t, w) in enumerate(zip(TIMES, WIDTHS, strict=True)):
        if t.date() != day:
            day = t.date()
            lines.append(f"{t:%d.%m.%Y};;")
        lines.append(f"{t:%H:%M};{i + 1};{_comma(w)}")
    found = the_run(tmp_path, "run.csv", "\n".join(lines).encode())
    assert found["time"].tolist() == TIMES
    np.testing.assert_array_equal(found["value"], WIDTHS)


# -- marks of numbers


def test_points_that_group_the_digits_of_a_counter(tmp_path: Path) -> None:
    text = _lines(
        "Hub;Width", lambda i, t, w: f"{998 + i:,};{_comma(w)}".replace(",", ".", 1 if i > 1 else 0)
    )
    found = the_run(tmp_path, "run.csv", text.encode())
    assert found["order"].tolist() == list(range(998, 1038))


def test_per_cent_behind_decimal_commas(tmp_path: Path) -> None:
    text = _lines("No;Elongation", lambda i, t, w: f"{i + 1};{_comma(12 + i / 10, 1)} %")
    draft = draft_of(tmp_path, "run.csv", text.encode())
    assert draft.tables[0].said.key("decimal") == ","
    assert draft.items[0].unit == "%"


@pytest.mark.parametrize("shown", ["0%", "0.00%", "0.0%"])
def test_per_cent_of_a_workbook_are_read_as_shown(tmp_path: Path, shown: str) -> None:
    def change(book: openpyxl.Workbook) -> None:
        for row in range(2, 42):
            book.active.cell(row, 2).number_format = shown

    rows = [["No", "Elongation"], *([i + 1, float(w) / 10] for i, w in enumerate(WIDTHS))]
    draft = draft_of(tmp_path, "run.xlsx", workbook(rows, change))
    assert any("per cent" in each for each in draft.tables[0].said.remarks)
    # As the sheet shows it, and as its export to text would: 0.28 is 28 %.
    assert draft.items[0].unit == "%"
    draft.write(tmp_path / "study")
    found = read(open_study(tmp_path / "study")).table("run", "elongation")
    assert found is not None
    np.testing.assert_allclose(found["value"], WIDTHS * 10, rtol=1e-12)
    plain = draft_of(tmp_path, "plain.xlsx", workbook(rows))
    assert not any("per cent" in each for each in plain.tables[0].said.remarks)
    assert plain.items[0].unit != "%"


# -- quotes


def test_inch_signs_between_tabs_are_no_quotes(tmp_path: Path) -> None:
    notes = ['5" pin' if i % 7 == 3 else '"ok' if i % 11 == 5 else '"fine"' for i in range(40)]
    text = _lines(
        "No\tWidth\tNote\tGap", lambda i, t, w: f"{i + 1}\t{w:.4f}\t{notes[i]}\t{GAPS[i]:.4f}"
    )
    draft = draft_of(tmp_path, "run.tsv", text.encode())
    for item, truth in (("width", WIDTHS), ("gap", GAPS)):
        found = records_of(tmp_path, draft).table("run", item)
        assert found is not None
        np.testing.assert_array_equal(found["value"], truth)


def test_a_remark_over_two_lines_stays_in_its_quotes(tmp_path: Path) -> None:
    text = _lines("No;Width;Note", lambda i, t, w: f'{i + 1};{_comma(w)};"first\nsecond"')
    np.testing.assert_array_equal(the_run(tmp_path, "run.csv", text.encode())["value"], WIDTHS)


# -- reports in blocks


def test_a_record_of_names_and_values_with_rules_between(tmp_path: Path) -> None:
    text = "".join(
        f"Serial: {i + 1}\nDate: {t:%d.%m.%Y %H:%M}\nWidth: {w:.4f} mm\nResult: OK\n----------------\n"
        for i, (t, w) in enumerate(zip(TIMES, WIDTHS, strict=True))
    )
    found = the_run(tmp_path, "run.txt", text.encode())
    np.testing.assert_array_equal(found["value"], WIDTHS)
    assert found["time"].tolist() == TIMES


@pytest.mark.parametrize("anew", [True, False])
def test_the_head_of_the_report_comes_again(tmp_path: Path, anew: bool) -> None:
    text = ""
    for b in range(4):
        text += (
            f"Program;K2-THROAT;;\nStart;{TIMES[b * 10]:%d.%m.%Y %H:%M:%S};;\nNo;Width;Gap;Remark\n"
        )
        text += "".join(
            f"{(i % 10 if anew else i) + 1};{_comma(WIDTHS[i])};{_comma(GAPS[i])};\n"
            for i in range(b * 10, b * 10 + 10)
        )
    draft = draft_of(tmp_path, "run.csv", text.encode())
    assert [item.name for item in draft.items] == ["Width", "Gap"]
    found = records_of(tmp_path, draft).table("run", "width")
    assert found is not None
    np.testing.assert_array_equal(found["value"], WIDTHS)


def test_a_name_at_the_end_under_which_nothing_stands(tmp_path: Path) -> None:
    lines: list[str] = []
    for i, (w, g) in enumerate(zip(WIDTHS, GAPS, strict=True)):
        lines += [f"MEASUREMENT REPORT      Part no.: {i + 1:3d}     {TIMES[i]:%d-%b-%y %H:%M}", ""]
        lines += ["Feature      Nominal   Upper    Lower    Actual    Dev      Out", "-" * 60]
        lines += [f"Width         2.8000   0.0500  -0.0500   {w:7.4f}  {w - 2.8:7.4f}"]
        lines += [f"Gap           1.0000   0.1000  -0.1000   {g:7.4f}  {g - 1:7.4f}", ""]
    draft = draft_of(tmp_path, "cmm.txt", "\n".join(lines).encode())
    assert [(i.name, i.lower, i.upper) for i in draft.items] == [
        ("Width", 2.75, 2.85),
        ("Gap", 0.9, 1.1),
    ]
    found = records_of(tmp_path, draft).table("run", "width")
    assert found is not None
    np.testing.assert_array_equal(found["value"], WIDTHS)


def _pulls() -> str:
    forces = [round(60 + i * 7 % 11 / 3, 2) for i in range(20)]
    text = "Prüfprotokoll;;;\n\nNr;Fmax;Weg;Bruchart\n;N;mm;\n"
    text += "".join(
        f"{i + 1};{_comma(f, 2)};{_comma(0.8 + i * 3 % 7 / 50, 3)};Knopf\n"
        for i, f in enumerate(forces)
    )
    text += "\nSerie;Fmax;Weg;\nn = 20;N;mm;\nx;61,50;0,9;\ns;2,0;0,06;\n\nProbe 1;;;\nReckung;Kraft;;\nmm;N;;\n"
    return text + "".join(
        f"{_comma(j / 100, 3)};{_comma(forces[0] * j / 80, 2)};;\n" for j in range(80)
    )


def test_peaks_of_pulls_with_a_curve_below(tmp_path: Path) -> None:
    draft = draft_of(tmp_path, "pull.csv", _pulls().encode())
    peaks, curve = (table.said for table in draft.tables)
    assert peaks.rows == 20
    assert set(peaks.columns) == {"Fmax", "Weg"}
    assert not curve.columns
    assert any("points of a curve" in each for each in curve.open)


def test_evenly_rising_sizes_of_counted_parts_are_no_curve(tmp_path: Path) -> None:
    text = _lines("No,Width", lambda i, t, w: f"{i + 1},{2.8 + i / 1000:.4f}")
    assert len(the_run(tmp_path, "run.csv", text.encode())) == 40


# -- sheets


def _readings() -> np.ndarray:
    rng = np.random.default_rng(2)
    return (rng.normal(2.8, 0.01, 10)[:, None, None] + rng.normal(0, 0.002, (10, 2, 3))).round(4)


@pytest.mark.parametrize("name", ["sheet.xlsx", "sheet.csv"])
def test_characteristics_over_people_over_trials(tmp_path: Path, name: str) -> None:
    both = {"Width": _readings(), "Gap": (_readings() - 1.8).round(4)}
    heads: list[list[object]] = [[None], [None], ["Part"]]
    for what in both:
        for who in PEOPLE:
            heads[0] += [what if who == PEOPLE[0] else None, None, None]
            heads[1] += [who, None, None]
            heads[2] += [1, 2, 3]
    rows = [
        [p + 1, *(float(x) for each in both.values() for x in each[p].ravel())] for p in range(10)
    ]
    whole = [*heads, *rows]
    content = workbook(whole) if name.endswith("xlsx") else delimited(whole, ";")
    draft = draft_of(tmp_path, name, content)
    assert draft.tables[0].said.key("header_rows") == 3
    for item in draft.items:
        found = records_of(tmp_path, draft).table("crossed", item.id)
        assert found is not None
        order = found.sort_values(["part", "appraiser", "trial"], key=lambda c: c if c.name == "appraiser" else c.astype(int))  # fmt: skip
        np.testing.assert_array_equal(order["value"], both[item.name].ravel())


def test_people_and_trials_in_one_column_over_parts_side_by_side(tmp_path: Path) -> None:
    truth = _readings()
    rows: list[list[object]] = [["Width (mm)", *(f"Teil {p + 1}" for p in range(10))]]
    for k, who in enumerate(PEOPLE):
        rows += [[f"{who} / {t + 1}", *(_comma(x) for x in truth[:, k, t])] for t in range(3)]
    draft = draft_of(tmp_path, "sheet.csv", delimited(rows, ";"))
    found = records_of(tmp_path, draft).table("crossed", draft.items[0].id)
    assert found is not None
    one = found[(found["part"] == "Teil 3") & (found["appraiser"] == "Bert")]
    np.testing.assert_array_equal(one["value"], truth[2, 1])


def test_a_column_for_each_cavity_is_a_stream_for_each(tmp_path: Path) -> None:
    truth = np.random.default_rng(8).normal(2.8, 0.01, (40, 8)).round(4)
    rows: list[list[object]] = [["Shot", *(f"Cavity {k + 1}" for k in range(8))]]
    rows += [[i + 1, *each] for i, each in enumerate(truth.tolist())]
    draft = draft_of(tmp_path, "Width.csv", delimited(rows))
    assert draft.tables[0].said.key("across") == ["station"]
    found = records_of(tmp_path, draft).table("run", "width")
    assert found is not None
    np.testing.assert_array_equal(found[found["station"] == "3"]["value"], truth[:, 2])


@pytest.mark.parametrize("factor", [1, -1, 1000])
def test_the_difference_of_two_gauges_is_no_characteristic(tmp_path: Path, factor: int) -> None:
    other = (WIDTHS + 0.001 * (np.arange(40) % 3 - 1)).round(4)
    rows: list[list[object]] = [["Part", "Camera", "CMM", "Difference"]]
    rows += [[i + 1, a, b, round(factor * (a - b), 4)] for i, (a, b) in enumerate(zip(WIDTHS, other, strict=True))]  # fmt: skip
    (said,) = (table.said for table in draft_of(tmp_path, "both.csv", delimited(rows)).tables)
    assert (said.role, said.readings[0].source) == ("paired", ["Camera", "CMM"])


def test_one_master_over_days_is_a_study_over_time(tmp_path: Path) -> None:
    for hours, role in ((2, "drift"), (0.01, "reference")):
        rows: list[list[object]] = [["Master", "Time", "Soll", "Ist"]]
        for i in range(40):
            moment = TIMES[0] + datetime.timedelta(hours=hours * i)
            rows.append(
                ["E1", f"{moment:%d.%m.%Y %H:%M:%S}", "2,8000", _comma(2.8 + 0.0005 * (i % 3))]
            )
        draft = draft_of(tmp_path, f"{role}.csv", delimited(rows, ";"))
        assert draft.tables[0].said.role == role


@pytest.mark.parametrize("signs", [("O", "X"), ("☑", "☒"), ("✔", "✘"), ("〇", "×")])
def test_signs_of_more_judgements(tmp_path: Path, signs: tuple[str, str]) -> None:
    good = np.random.default_rng(3).random((30, 5)) < 0.7
    rows: list[list[object]] = [["Part", "Reference", "Anna 1", "Anna 2", "Bert 1", "Bert 2"]]
    rows += [[i + 1, *(signs[not g] for g in each)] for i, each in enumerate(good)]
    draft = draft_of(tmp_path, "judged.csv", delimited(rows, ";"))
    found = records_of(tmp_path, draft).table("attribute", draft.items[0].id)
    assert found is not None
    assert found["judgement"].sum() == good[:, 1:].sum()


@pytest.mark.parametrize(
    "rows",
    [
        [["Category", "Zone", "Description", "LSL", "USL"], ["Dimension", "A1", "Blade width", 2.75, 2.85], ["Dimension", "B2", "Throat gap", 0.58, 0.65]],
        [["Class", "Feature text", "Spec"], ["Product", "Blade width", "2.80 +/- 0.05"], ["Product", "Throat gap", "0.615 +/- 0.035"]],
        [["Gruppe", "Bezeichnung", "Ersteller", "UGW", "OGW"], ["Maß", "Blade width", "Meier", 2.75, 2.85], ["Maß", "Throat gap", "Meier", 0.58, 0.65]],
    ],
)  # fmt: skip
def test_a_class_is_no_name_of_a_characteristic(tmp_path: Path, rows: list[list[object]]) -> None:
    draft = draft_of(tmp_path, "list.csv", delimited(rows))
    assert [item.name for item in draft.items] == ["Blade width", "Throat gap"]
    assert [(item.lower, item.upper) for item in draft.items] == [(2.75, 2.85), (0.58, 0.65)]
