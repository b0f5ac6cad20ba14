"""Files as plants have them, each with its truth, read as they are proposed: what a header, a clock, a sheet may look like."""

from __future__ import annotations

import datetime
import io
import json
import zipfile
from pathlib import Path

import numpy as np
import openpyxl
import pandas as pd
import pytest
from proposals import TIMES, WIDTHS, delimited, draft_of, records_of, the_run, workbook

from linestudy.results import InputError

# -- a header whose cells run over several lines


@pytest.mark.parametrize("above", ["", "Report of the line\n\n", '"A title, on\ntwo lines";;\n'])
@pytest.mark.parametrize("mark", [";", "\t"])
def test_a_header_may_run_over_several_lines(tmp_path: Path, above: str, mark: str) -> None:
    rows = [["Part\nNo", "Width\n[µm]", "Note"]]
    rows += [[i + 1, round(w * 1000, 1), "a\nb" if i == 3 else ""] for i, w in enumerate(WIDTHS)]
    content = above.replace(";", mark).encode("utf-16") + delimited(rows, mark).decode().encode(
        "utf-16-le"
    )
    found = the_run(tmp_path, "export.txt", content)
    np.testing.assert_allclose(found["value"], WIDTHS, rtol=1e-12)
    np.testing.assert_array_equal(found["order"], np.arange(1, 41))


def test_a_name_over_two_lines_may_be_asked_for_either_way(tmp_path: Path) -> None:
    content = delimited([["No", "Width\nmm"], *([i, w] for i, w in enumerate(WIDTHS))])
    for name in ("Width\nmm", "Width mm"):
        found = the_run(tmp_path, "r.csv", content, columns={"width": name})
        np.testing.assert_array_equal(found["value"], WIDTHS)


def test_an_open_quote_in_a_preamble_takes_no_rows(tmp_path: Path) -> None:
    rows = "".join(f"{i};{w}\n" for i, w in enumerate(WIDTHS, start=1))
    found = the_run(tmp_path, "r.csv", f'5" strip, line 2;\nNo;Width\n{rows}'.encode())
    np.testing.assert_array_equal(found["value"], WIDTHS)


# -- units in a column of their own


def test_units_beside_their_numbers(tmp_path: Path) -> None:
    lines = [
        json.dumps(
            {
                "seq": i,
                "m": {"w": {"v": float(w) * 1000, "u": "µm"}, "t": {"v": 1.5 + i / 1e3, "u": "mm"}},
            }
        )
        for i, w in enumerate(WIDTHS)
    ]
    draft = draft_of(tmp_path, "cam.jsonl", "\n".join(lines).encode())
    said = draft.tables[0].said
    assert said.key("units") == {"m.w.v": "µm", "m.t.v": "mm"}
    assert not said.open
    found = records_of(tmp_path, draft).table("run", draft.items[0].id)
    np.testing.assert_allclose(found["value"], WIDTHS, rtol=1e-12)


# -- what stands between readings

EXPORT = [
    ["Stroke", "Width [mm]", "Coil"],
    *([i + 1, f"{w:.4f}", f"C{i // 15}"] for i, w in enumerate(WIDTHS)),
]


def text(rows: list[list[object]]) -> str:
    return delimited(rows, ";").decode()


def test_an_export_appended_to_another_with_page_breaks_and_a_footer(tmp_path: Path) -> None:
    head, body = text(EXPORT[:1]), text(EXPORT[1:]).splitlines(keepends=True)
    content = (
        "Report of line 4\nPrinted;03.09.2026\n\n"
        + head
        + "".join(body[:10])
        + "Page 1 of 3\n\x0c"
        + head
    )
    content += (
        "".join(body[10:20])
        + "\nReport of line 4\n\n"
        + head
        + "".join(body[20:])
        + "Seite 3\n*** End ***\n"
    )
    draft = draft_of(tmp_path, "run.csv", content.encode())
    records = records_of(tmp_path, draft)
    np.testing.assert_array_equal(records.table("run", "width")["value"], WIDTHS)
    aside = records.ledger.accounts[0].set_aside
    assert aside["row of names of the columns, repeated"] == 2
    assert aside["row of a remark or a page break"] == 4


def test_comments_among_rows_have_their_commas(tmp_path: Path) -> None:
    rows = (
        delimited([["shot", "width", "lane"], *([i, w, "AB"[i % 2]] for i, w in enumerate(WIDTHS))])
        .decode()
        .split("\n")
    )
    rows[5:5] = ["# lens wiped, focus set anew, by M, at 12:10, again", "# short"]
    found = the_run(tmp_path, "run.csv", "\n".join(["# camera 4, cleaned", *rows]).encode())
    np.testing.assert_array_equal(found["value"], WIDTHS)


def test_a_header_in_two_languages_with_units_below(tmp_path: Path) -> None:
    rows = [["Hub-Nr.", "Breite", "Station"], ["Stroke no.", "Width", "Lane"], ["", "µm", ""]]
    rows += [[i, round(w * 1000, 1), "LR"[i % 2]] for i, w in enumerate(WIDTHS)]
    found = the_run(tmp_path, "run.csv", delimited(rows, ";"))
    np.testing.assert_allclose(found["value"], WIDTHS, rtol=1e-12)
    assert set(found["station"]) == {"L", "R"}


def test_a_first_row_without_a_reading_is_no_second_header(tmp_path: Path) -> None:
    for mark in ("NA", "no_read", "ERR"):
        rows = [
            ["Stroke", "Width", "Gap"],
            [1, mark, mark],
            *([i + 2, w, w / 2] for i, w in enumerate(WIDTHS)),
        ]
        draft = draft_of(tmp_path, f"{mark}.csv", delimited(rows))
        records = records_of(tmp_path, draft, missing=["", mark])
        assert "row of names of the columns, repeated" not in records.ledger.accounts[0].set_aside


# -- how numbers are written


def test_comma_and_point_in_one_column(tmp_path: Path) -> None:
    rows = [
        ["No", "Width"],
        *([i, f"{w:.4f}".replace(".", ".,"[i % 3 == 0])] for i, w in enumerate(WIDTHS)),
    ]
    draft = draft_of(tmp_path, "run.csv", delimited(rows, ";"))
    assert draft.tables[0].said.key("decimal") == "both"
    np.testing.assert_array_equal(
        records_of(tmp_path, draft).table("run", "width")["value"], WIDTHS
    )


def test_points_that_group_digits_beside_decimal_commas(tmp_path: Path) -> None:
    rows = [["Nr", "Breite [µm]", "Dicke [mm]"]]
    rows += [
        [i, f"{w[0] * 1000:,.0f}".replace(",", "."), f"{w[1] - 2:.4f}".replace(".", ",")]
        for i, w in enumerate(zip(WIDTHS, WIDTHS[::-1], strict=True))
    ]
    draft = draft_of(tmp_path, "run.csv", delimited(rows, ";"))
    assert draft.tables[0].said.readings[0].middle == pytest.approx(2800, abs=20)
    records = records_of(tmp_path, draft)
    np.testing.assert_allclose(
        records.table("run", "breite")["value"], (WIDTHS * 1000).round() / 1000, rtol=1e-12
    )
    np.testing.assert_allclose(
        records.table("run", "dicke")["value"], (WIDTHS[::-1] - 2).round(4), rtol=1e-12
    )


def test_large_counters_with_grouped_digits(tmp_path: Path) -> None:
    rows = [
        ["Shot counter", "Width"],
        *([f"{1_200_000 + 3 * i:,}", w] for i, w in enumerate(WIDTHS)),
    ]
    found = the_run(tmp_path, "run.csv", delimited(rows, ";"))
    np.testing.assert_array_equal(found["order"], 1_200_000 + 3 * np.arange(40))


def test_negative_numbers_in_parentheses(tmp_path: Path) -> None:
    offsets = (WIDTHS - 2.8).round(4)
    rows = [
        ["No", "Offset"],
        *([i, f"({-x:.4f})" if x < 0 else f"{x:.4f}"] for i, x in enumerate(offsets)),
    ]
    found = the_run(tmp_path, "run.csv", delimited(rows))
    np.testing.assert_array_equal(found["value"], offsets)


def test_a_doubtful_reading_in_parentheses_is_set_aside(tmp_path: Path) -> None:
    rows = [["No", "Width"], *([i, f"({w})" if i == 7 else w] for i, w in enumerate(WIDTHS))]
    records = records_of(tmp_path, draft_of(tmp_path, "run.csv", delimited(rows)))
    np.testing.assert_array_equal(records.table("run", "width")["value"], np.delete(WIDTHS, 7))


@pytest.mark.parametrize("apart", [True, False])
def test_days_as_a_workbook_counts_them(tmp_path: Path, apart: bool) -> None:
    days = [(t - datetime.datetime(1899, 12, 30)) / datetime.timedelta(days=1) for t in TIMES]
    cells = [[int(d), f"{d % 1:.8f}"] if apart else [f"{d:.8f}"] for d in days]
    head = ["Datum", "Uhrzeit"] if apart else ["Time"]
    rows = [
        ["Nr", *head, "Breite"],
        *([i, *own, w] for i, (own, w) in enumerate(zip(cells, WIDTHS, strict=True))),
    ]
    found = the_run(tmp_path, "run.csv", delimited(rows))
    assert (abs(found["time"] - pd.Series(TIMES)) < pd.Timedelta(milliseconds=2)).all()


def test_a_japanese_log_with_its_own_dates_and_signs(tmp_path: Path) -> None:
    rows = [["通番", "日付", "時刻", "幅[mm]", "判定"]]
    rows += [
        [i, f"{t:%Y年%m月%d日}", f"{t:%H時%M分%S秒}", w, "○×"[i % 9 == 0]]
        for i, (t, w) in enumerate(zip(TIMES, WIDTHS, strict=True))
    ]
    found = the_run(tmp_path, "run.csv", delimited(rows, "\t", "cp932"))
    assert found["time"].tolist() == TIMES
    np.testing.assert_array_equal(found["value"], WIDTHS)
    assert found["accepted"].sum() == 35


# -- how rows are arranged


@pytest.mark.parametrize("as_json", [True, False])
def test_records_of_several_kinds(tmp_path: Path, as_json: bool) -> None:
    lines, rows = [], [["type", "shot", "width", "lamp"]]
    for i, w in enumerate(WIDTHS):
        lines.append(json.dumps({"type": "MEAS", "shot": i, "width": float(w)}))
        rows.append(["MEAS", i, w, ""])
        if i % 3 == 0:
            lines.append(json.dumps({"type": "STATE", "lamp": 71.5}))
            rows.append(["STATE", "", "", 71.5])
    content = "\n".join(lines).encode() if as_json else delimited(rows)
    draft = draft_of(tmp_path, "cam.jsonl" if as_json else "cam.csv", content)
    assert [item.name for item in draft.items] == ["width"]
    records = records_of(tmp_path, draft)
    np.testing.assert_array_equal(records.table("run", "width")["value"], WIDTHS)
    assert records.ledger.accounts[0].set_aside == {"row of another kind: type is not MEAS": 14}
    assert not records.ledger.large_shares()


def test_a_label_that_is_written_once(tmp_path: Path) -> None:
    rows = [
        ["Coil", "Strip", "Force"],
        *([f"C{i // 8}" if i % 8 == 0 else "", i % 8 + 1, w] for i, w in enumerate(WIDTHS)),
    ]
    draft = draft_of(tmp_path, "pull.csv", delimited(rows))
    assert draft.tables[0].said.key("fill_down") == ["Coil"]
    found = records_of(tmp_path, draft).table("nested", "force")
    assert found["Coil"].tolist() == [f"C{i // 8}" for i in range(40)]


@pytest.mark.parametrize("names", [("Anna", "Bela", "Cem"), ("Prüfer 1", "Prüfer 2", "Prüfer 3")])
def test_a_sheet_for_each_appraiser(tmp_path: Path, names: tuple[str, ...]) -> None:
    rng = np.random.default_rng(4)
    parts, readings = rng.normal(2.8, 0.012, 10), {}
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name in names:
        sheet = book.create_sheet(name)
        sheet.append(["Gauge K2"])
        sheet.append(["Part", 1, 2, 3])
        readings[name] = (parts[:, None] + rng.normal(0, 0.0015, (10, 3))).round(4)
        for p in range(10):
            sheet.append([p + 1, *readings[name][p].tolist()])
    stream = io.BytesIO()
    book.save(stream)
    draft = draft_of(tmp_path, "grr.xlsx", stream.getvalue())
    (table,) = draft.tables
    assert table.said.key("blocks") == "appraiser"
    found = records_of(tmp_path, draft).table("crossed", draft.items[0].id)
    for name in names:
        mine = found[found["appraiser"] == name.removeprefix("Prüfer ")]
        np.testing.assert_array_equal(mine["value"].to_numpy().reshape(10, 3), readings[name])


def test_a_name_that_stands_there_twice(tmp_path: Path) -> None:
    rows = [["n", "Width", "Width"], *([i, w, w + 1] for i, w in enumerate(WIDTHS))]
    draft = draft_of(tmp_path, "dup.csv", delimited(rows))
    assert any('"Width again"' in each for each in draft.tables[0].said.open)
    records = records_of(tmp_path, draft)
    np.testing.assert_array_equal(records.table("run", draft.items[0].id)["value"], WIDTHS)
    np.testing.assert_array_equal(records.table("run", draft.items[1].id)["value"], WIDTHS + 1)
    with pytest.raises(InputError, match='has the column "Width" twice'):
        records_of(tmp_path, draft, columns={draft.items[0].id: "Width"})


# -- files whose name says another kind


@pytest.mark.parametrize("name", ["run.xls", "run.csv", "run.txt"])
def test_what_a_file_is_called_does_not_decide_what_it_is(tmp_path: Path, name: str) -> None:
    rows = [["Shot", "Width"], *([i, float(w)] for i, w in enumerate(WIDTHS))]
    for content in (delimited(rows, "\t"), delimited(rows, "\t", "utf-16"), workbook(rows)):
        found = the_run(tmp_path, name, content)
        np.testing.assert_array_equal(found["value"], WIDTHS)


def test_web_pages_and_letters_are_refused_with_what_to_do(tmp_path: Path) -> None:
    for page in (
        b"MIME-Version: 1.0\nContent-Type: multipart/related\n",
        b"<?xml version='1.0'?><Log/>",
    ):
        with pytest.raises(
            InputError, match=r"run\.xls: is XML or a bundled page .*save it as \.xlsx"
        ):
            draft_of(tmp_path, "run.xls", page)
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as bundle:
        bundle.writestr("mimetype", "application/vnd.oasis.opendocument.text")
        bundle.writestr("content.xml", "<x/>")
    with pytest.raises(InputError, match="is an OpenDocument file that is no workbook"):
        draft_of(tmp_path, "run.ods", stream.getvalue())
