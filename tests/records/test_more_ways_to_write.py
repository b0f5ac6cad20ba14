"""One run in the ways that more programs write it: signs, encodings, containers, reports of measuring machines, records that lie across.

Every file is written here, and its truth is what was written.
"""

from __future__ import annotations

import bz2
import datetime
import decimal
import io
import json
import lzma
import zipfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import openpyxl
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from proposals import TIMES, WIDTHS, delimited, draft_of, records_of, the_run, workbook

from linestudy.results import InputError

COUNT = list(range(1, 41))
GAPS = (WIDTHS - 1.8).round(4)
HEAD = ["No", "Width"]
PLAIN = delimited([HEAD, *zip(COUNT, WIDTHS, strict=True)])  # type: ignore[list-item]


def _comma(number: float, digits: int = 4) -> str:
    return f"{number:.{digits}f}".replace(".", ",")


def _cells(*columns: object, head: list[str], mark: str = ",", encoding: str = "utf-8") -> bytes:
    return delimited([head, *zip(*columns, strict=True)], mark, encoding)  # type: ignore[call-overload]


def _each(write: Callable[[float], object], head: list[str] = HEAD, mark: str = ",") -> bytes:
    return _cells(COUNT, [write(w) for w in WIDTHS], head=head, mark=mark)


def _in_quotes_of_a_formula(quoted: bool) -> bytes:
    cell = '"=""{}"""' if quoted else '="{}"'
    rows = [f"{cell.format(n)},{cell.format(w)}" for n, w in zip(COUNT, WIDTHS, strict=True)]
    return "\n".join(["No,Width", *rows]).encode()


def _parquet(**columns: object) -> bytes:
    stream = io.BytesIO()
    pq.write_table(pa.table(columns), stream)
    return stream.getvalue()


def _feather() -> bytes:
    stream = io.BytesIO()
    pd.DataFrame({"no": COUNT, "width": WIDTHS}).to_feather(stream)
    return stream.getvalue()


def _packed(**members: bytes) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as bundle:
        for name, content in members.items():
            bundle.writestr(name.replace("__in__", "/").replace("__dot__", "."), content)
    return stream.getvalue()


_ARABIC = str.maketrans("0123456789.", "٠١٢٣٤٥٦٧٨٩٫")
_PERSIAN = str.maketrans("0123456789.", "۰۱۲۳۴۵۶۷۸۹٫")
_HALF = delimited([HEAD, *zip(COUNT[:20], WIDTHS[:20], strict=True)])  # type: ignore[list-item]
_OTHER_HALF = delimited([*zip(COUNT[20:], WIDTHS[20:], strict=True)])  # type: ignore[list-item]

#: Name of the file, and what it holds: forty widths in their order.
FILES: dict[str, tuple[str, bytes]] = {
    "digits of Arabic": ("r.csv", _cells([str(n).translate(_ARABIC) for n in COUNT], [str(w).translate(_ARABIC) for w in WIDTHS], head=["رقم", "العرض"], mark=";")),
    "digits of Persian": ("r.csv", _each(lambda w: str(w).translate(_PERSIAN), mark=";")),
    "a raised decimal point": ("r.csv", _each(lambda w: str(w).replace(".", "·"))),
    "powers of ten of Fortran": ("r.csv", _each(lambda w: f"{w:.4E}".replace("E", "D"))),
    "marks of direction": ("r.csv", _each(lambda w: f"\u202a{w}\u202c", ["\u200eNo", "\u200fWidth"])),
    "marks of direction in a workbook": ("r.xlsx", workbook([["\u200eNo", "\u200fWidth"], *([n, f"\u202a{w}\u202c"] for n, w in zip(COUNT, WIDTHS, strict=True))])),
    "a byte-order mark before a row": ("r.csv", b"\xef\xbb\xbf" + _HALF + b"\xef\xbb\xbf" + _OTHER_HALF),
    "formulas that keep text": ("r.csv", _in_quotes_of_a_formula(quoted=False)),
    "formulas that keep text, in quotes": ("r.csv", _in_quotes_of_a_formula(quoted=True)),
    "packed by bzip2": ("r.csv.bz2", bz2.compress(PLAIN)),
    "packed by xz": ("r.csv.xz", lzma.compress(PLAIN)),
    "packed on a Mac": ("r.zip", _packed(r__dot__csv=PLAIN, __MACOSX__in___r__dot__csv=b"\0\5\26\7")),
    "Feather": ("r.feather", _feather()),
    "text that is called a workbook": ("r.xlsx", PLAIN),
    "records within records": ("r.parquet", _parquet(no=COUNT, m=[{"width": float(w), "ok": True} for w in WIDTHS])),
    "decimals and categories": ("r.parquet", _parquet(no=COUNT, width=pa.array([decimal.Decimal(str(w)) for w in WIDTHS], pa.decimal128(9, 4)), lane=pa.array(["L", "R"] * 20).dictionary_encode())),
    "units in cells": ("r.csv", _each(lambda w: f"{_comma(w)} mm", ["Nr", "Breite"], ";")),
    "a day and an hour for a file of numbers": ("r.csv", _cells([_comma(46_268 + i / 288, 6) for i in range(40)], map(_comma, WIDTHS), head=["Datum", "Breite"], mark=";")),
    "grouped by typographic apostrophes": ("r.csv", _each(lambda w: f"{w * 1000:,.1f}".replace(",", "\u2019"), ["Nr", "Breite [µm]"], ";")),
    "written for people in Markdown": ("r.md", ("| No | Width |\n|---:|---:|\n" + "".join(f"| {n} | {w} |\n" for n, w in zip(COUNT, WIDTHS, strict=True))).encode()),
    "lines of YAML": ("r.yaml", "".join(f"- no: {n}\n  width: {w}\n" for n, w in zip(COUNT, WIDTHS, strict=True)).encode()),
    "an end of file of DOS": ("r.csv", PLAIN + b"\x1a"),
    "padded with zeros": ("r.csv", PLAIN + b"\0" * 512),
}  # fmt: skip


@pytest.mark.parametrize("kind", FILES)
def test_one_run_however_it_is_written(tmp_path: Path, kind: str) -> None:
    name, content = FILES[kind]
    found = the_run(tmp_path, name, content)
    # Tenths of a micrometre are the last digit that all of them hold.
    np.testing.assert_allclose(found["value"], WIDTHS, atol=1.1e-4 if "typographic" in kind else 0)


def _across(heads: list[object], width: int) -> bytes:
    return delimited([["Sample", *heads], *([k + 1, *WIDTHS[k::width]] for k in range(width))])


@pytest.mark.parametrize(
    "heads",
    [
        [f"0{day}.09.2026" for day in range(1, 9)],
        [f"2026-09-0{day}" for day in range(1, 9)],
        [f"{hour:02d}:00" for hour in range(6, 14)],
    ],
)
def test_a_column_for_each_day_or_hour(tmp_path: Path, heads: list[object]) -> None:
    found = the_run(tmp_path, "r.csv", _across(heads, 5))
    np.testing.assert_array_equal(found["value"], WIDTHS)


@pytest.mark.parametrize("limits", [False, True])
def test_a_column_for_each_part(tmp_path: Path, limits: bool) -> None:
    more = [["Nominal", "LSL", "USL"], [2.8, 2.75, 2.85], [1.0, 0.9, 1.1]] if limits else [[]] * 3
    serials = [f"SN{n:03d}" for n in COUNT]
    rows: list[list[object]] = [
        ["Feature" if limits else "Serial", *more[0], *serials],
        ["Width", *more[1], *WIDTHS],
        ["Gap", *more[2], *GAPS],
    ]
    draft = draft_of(tmp_path, "r.csv", delimited(rows))
    assert [table.said.role for table in draft.tables] == ["run"]
    assert [item.name for item in draft.items] == ["Width", "Gap"]
    if limits:
        assert [(item.lower, item.upper) for item in draft.items] == [(2.75, 2.85), (0.9, 1.1)]
    records = records_of(tmp_path, draft)
    for identity, truth in (("width", WIDTHS), ("gap", GAPS)):
        found = records.table("run", identity)
        assert found is not None
        np.testing.assert_array_equal(found["value"], truth)


# -- reports of measuring machines


def _protocol(kind: str) -> str:
    lines: list[str] = []
    for n, (width, gap) in enumerate(zip(WIDTHS, GAPS, strict=True), 1):
        if kind == "blocks in semicolons":
            lines += [f"Serial;{n}", "Merkmal;Istwert;Sollwert;OTol;UTol"]
            lines += [f"Breite;{_comma(width)};2,8000;0,05;-0,05", f"Spalt;{_comma(gap)};1,0000;0,1;-0,1", ""]  # fmt: skip
        elif kind == "a heading for each part":
            lines += [f"PART NUMBER : BC-12        SERIAL : {n}", "", "FEATURE        ACTUAL    NOMINAL   UPTOL   LOTOL    DEV", "-" * 55]  # fmt: skip
            lines += [f"Breite         {width:.4f}    2.8000    0.0500 -0.0500 {width - 2.8:8.4f}", f"Spalt          {gap:.4f}    1.0000    0.1000 -0.1000 {gap - 1:8.4f}", ""]  # fmt: skip
        else:
            lines += [f"# {n}", "DIM Breite = DISTANCE, MM", "AX NOMINAL +TOL -TOL MEAS DEV"]
            lines += [f"M 2.8000 0.0500 0.0500 {width:.4f} {width - 2.8:.4f}"]
    return "\n".join(lines)


@pytest.mark.parametrize(
    "kind", ["blocks in semicolons", "a heading for each part", "dimensions one by one"]
)
def test_reports_of_measuring_machines(tmp_path: Path, kind: str) -> None:
    draft = draft_of(tmp_path, "r.txt", _protocol(kind).encode())
    width = draft.items[0]
    # An upper deviation of +0.05 and a lower one of -0.05, whichever way their names begin.
    assert width.name.startswith("Breite")
    assert (width.lower, width.upper) == (2.75, 2.85)
    assert all("erial" not in item.name for item in draft.items)
    found = records_of(tmp_path, draft).table("run", width.id)
    assert found is not None
    np.testing.assert_array_equal(found["value"], WIDTHS)


# -- what stands above the names of the columns


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_limits_in_rows_above_the_names(tmp_path: Path, kind: str) -> None:
    rows: list[list[object]] = [
        ["Nominal", None, 2.8, 1.0], ["LSL", None, 2.75, 0.9], ["USL", None, 2.85, 1.1], ["No", "Lane", "Width", "Gap"],
        *([n, "LR"[n % 2], float(w), float(g)] for n, w, g in zip(COUNT, WIDTHS, GAPS, strict=True)),
    ]  # fmt: skip
    draft = draft_of(tmp_path, f"r.{kind}", workbook(rows) if kind == "xlsx" else delimited(rows))
    limits = [(item.nominal, item.lower, item.upper) for item in draft.items]
    assert limits == [(2.8, 2.75, 2.85), (1.0, 0.9, 1.1)]
    assert not draft.doubts()


def test_limits_in_a_head_of_keys_and_values(tmp_path: Path) -> None:
    head = b"[Header]\nMachine=Press 4\nLSL=2.75\nUSL=2.85\n\n[Data]\n"
    (item,) = draft_of(tmp_path, "r.csv", head + PLAIN).items
    assert (item.lower, item.upper) == (2.75, 2.85)


def test_one_name_over_two_lanes(tmp_path: Path) -> None:
    def merge(book: openpyxl.Workbook) -> None:
        book.active.merge_cells("B1:C1")

    rows: list[list[object]] = [["No", "Width", None], [None, "L", "R"]]
    rows += [[n, float(a), float(b)] for n, a, b in zip(COUNT[:20], WIDTHS[::2], WIDTHS[1::2], strict=True)]  # fmt: skip
    draft = draft_of(tmp_path, "r.xlsx", workbook(rows, merge))
    assert [item.name for item in draft.items] == ["Width L", "Width R"]


# -- rows that are no parts, columns that are no sizes


def test_totals_of_each_group_are_no_parts(tmp_path: Path) -> None:
    rows: list[list[object]] = [["Station", "Width"]]
    for station, half in (("L", WIDTHS[:20]), ("R", WIDTHS[20:])):
        rows += [[station, w] for w in half] + [[f"Total {station}", half.mean().round(4)]]
    found = the_run(tmp_path, "r.csv", delimited([*rows, ["Grand total", 2.8]]))
    np.testing.assert_array_equal(found["value"], WIDTHS)


def test_means_of_each_part_are_no_trials(tmp_path: Path) -> None:
    people = ("Anna", "Ben", "Cora")
    read = np.random.default_rng(3).normal(2.8, 0.002, (10, 3, 3)).round(3)
    read += np.arange(10)[:, None, None] / 100
    rows: list[list[object]] = [["Part", "Trial", *people]]
    for part, own in enumerate(read.round(3)):
        rows += [[None if t else part + 1, t + 1, *own[t].tolist()] for t in range(3)]
        rows += [[None, "x̄", *own.mean(axis=0).round(4).tolist()]]
    draft = draft_of(tmp_path, "grr.xlsx", workbook(rows))
    found = records_of(tmp_path, draft).table("crossed", draft.items[0].id)
    assert found is not None
    np.testing.assert_array_equal(np.sort(found["value"]), np.sort(read.round(3), axis=None))


def test_a_merged_number_of_the_subgroup_is_no_size(tmp_path: Path) -> None:
    def merge(book: openpyxl.Workbook) -> None:
        for row in range(2, 42, 4):
            book.active.merge_cells(f"A{row}:A{row + 3}")

    rows: list[list[object]] = [["Subgroup", "Width"]]
    rows += [[None if i % 4 else i // 4 + 1, float(w)] for i, w in enumerate(WIDTHS)]
    draft = draft_of(tmp_path, "r.xlsx", workbook(rows, merge))
    assert [item.name for item in draft.items] == ["Width"]
    assert draft.tables[0].said.key("subgroup") == "Subgroup"
    np.testing.assert_array_equal(
        records_of(tmp_path, draft).table("run", "width")["value"], WIDTHS
    )


def test_numbers_of_parts_are_no_size(tmp_path: Path) -> None:
    rows = [["Serial", "Test", "Width"], *([n // 2, 1 + n % 2, w] for n, w in zip(COUNT, WIDTHS, strict=True))]  # fmt: skip
    draft = draft_of(tmp_path, "r.csv", delimited(rows))
    assert "Serial" not in [item.name for item in draft.items]
    assert any('"Serial"' in told for told in draft.doubts())


def test_parts_of_a_second_count_no_parts(tmp_path: Path) -> None:
    clock = [f"{t:%Y-%m-%d %H:%M:%S}" for t in TIMES]
    rest = [(i * 37) % 1000 for i in range(40)]
    found = the_run(tmp_path, "r.csv", _cells(clock, rest, WIDTHS, head=["Time", "ms", "Width"]))
    np.testing.assert_array_equal(found["value"], WIDTHS)
    assert found["time"].tolist() == TIMES


def test_two_parts_of_a_stroke_with_the_verdict_of_the_line_are_a_run(tmp_path: Path) -> None:
    lanes = ["LR"[i % 2] for i in range(40)]
    good = ["n.i.O." if i % 9 == 4 else "i.O." for i in range(40)]
    shots = [100 + i // 2 for i in range(40)]
    head = ["Hub-Nr.", "Spur", "Höhe", "Ergebnis"]
    found = the_run(tmp_path, "r.csv", _cells(shots, lanes, map(_comma, WIDTHS), good, head=head, mark=";"))  # fmt: skip
    np.testing.assert_array_equal(found["value"], WIDTHS)
    assert (~found["accepted"]).sum() == 4


def test_two_parts_of_a_stroke_beside_their_coil_are_a_run(tmp_path: Path) -> None:
    rows = [["ショット", "キャビティ", "コイル", "高さ [mm]"]]
    rows += [[6448 + i // 2, "LR"[i % 2], f"C{1 + i // 15}", w] for i, w in enumerate(WIDTHS)]  # type: ignore[list-item]
    found = the_run(tmp_path, "r.csv", delimited(rows))  # type: ignore[arg-type]
    np.testing.assert_array_equal(found["value"], WIDTHS)


# -- verdicts


@pytest.mark.parametrize(
    ("name", "good", "bad"),
    [
        ("Result", "OK", ["NOK-width", "NOK-burr"]), ("Result", "PASS", ["FAIL (width)"]), ("Gutteil", "WAHR", ["FALSCH"]),
    ],
)  # fmt: skip
def test_rejections_with_their_reason(tmp_path: Path, name: str, good: str, bad: list[str]) -> None:
    said = [bad[i % len(bad)] if i % 9 == 4 else good for i in range(40)]
    draft = draft_of(tmp_path, "r.csv", _cells(COUNT, WIDTHS, said, head=["No", "Width", name]))
    assert not draft.doubts()
    found = records_of(tmp_path, draft).table("run", "width")
    assert found is not None
    assert (~found["accepted"]).sum() == 4


# -- marks of no reading, fractions, encodings


@pytest.mark.parametrize("mark", ["32767", "-32768", "65535", "-9999.0", "0.0000", "99.9999"])
def test_numbers_that_stand_for_no_reading(tmp_path: Path, mark: str) -> None:
    cells = [mark if i % 9 == 3 else w for i, w in enumerate(WIDTHS)]
    draft = draft_of(tmp_path, "r.csv", _cells(COUNT, cells, head=HEAD))
    assert draft.tables[0].said.key("missing") == [mark]
    found = records_of(tmp_path, draft).table("run", "width")
    assert found is not None
    np.testing.assert_array_equal(found["value"], np.delete(WIDTHS, np.s_[3::9]))


@pytest.mark.parametrize(
    ("write", "head"),
    [("{}\"", "Width"), ("{}", "Width [in]"), ("1-{}\"", "Width"), ("1 {}", "Width [in]")],
)  # fmt: skip
def test_fractions_of_an_inch(tmp_path: Path, write: str, head: str) -> None:
    cells = [write.format(each) for each in ("7/64", "15/128", "1/8", "9/64", "11/64") * 8]
    found = the_run(tmp_path, "r.csv", _cells(COUNT, cells, head=["No", head]))
    truth = np.array([7 / 64, 15 / 128, 1 / 8, 9 / 64, 11 / 64] * 8) + ("1" in write)
    np.testing.assert_allclose(found["value"], 25.4 * truth, rtol=1e-12)


def test_readings_below_a_number_say_what_to_do(tmp_path: Path) -> None:
    cells = ["<0.01" if i == 9 else f"{w - 2.7:.4f}" for i, w in enumerate(WIDTHS)]
    (told,) = draft_of(tmp_path, "r.csv", _cells(COUNT, cells, head=["No", "Burr"])).doubts()
    assert "1 cell" in told
    assert "no fair sample" in told


@pytest.mark.parametrize(
    ("encoding", "head", "name"),
    [
        ("cp850", ["Stück-Nr", "Höhe"], "Höhe"), ("cp437", ["Stück-Nr", "Länge [mm]"], "Länge"),
        ("koi8-r", ["Номер хода", "Ширина"], "Ширина"),
    ],
)  # fmt: skip
def test_code_pages_before_windows(
    tmp_path: Path, encoding: str, head: list[str], name: str
) -> None:
    content = _cells(COUNT, map(_comma, WIDTHS), head=head, mark=";", encoding=encoding)
    assert [item.name for item in draft_of(tmp_path, "r.csv", content).items] == [name]


@pytest.mark.parametrize("text", ["Größe „A“ – 5 °C", "série d’été", "naïve”x", "Šířka", "Ширина"])
def test_code_pages_of_windows_stay_what_they_are(tmp_path: Path, text: str) -> None:
    page = "cp1251" if text == "Ширина" else "cp1250" if text == "Šířka" else "cp1252"
    content = _cells(COUNT, WIDTHS, head=["No", text], encoding=page)
    assert [item.name for item in draft_of(tmp_path, "r.csv", content).items] == [text]


# -- refused in a sentence


def _tar() -> bytes:
    import tarfile

    stream = io.BytesIO()
    with tarfile.open(fileobj=stream, mode="w:gz") as bundle:
        member = tarfile.TarInfo("a.csv")
        member.size = len(PLAIN)
        bundle.addfile(member, io.BytesIO(PLAIN))
    return stream.getvalue()


@pytest.mark.parametrize(
    ("name", "content", "told"),
    [
        ("a.tar.gz", _tar(), "is a tar archive"),
        ("l.parquet", _parquet(no=COUNT[:8], width=WIDTHS.reshape(8, 5).tolist()), "several values in each cell"),
        ("z.zip", _packed(a__dot__csv=PLAIN, b__dot__csv=PLAIN), "zip with 2 files"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_says_what_to_do(
    tmp_path: Path, name: str, content: bytes, told: str
) -> None:
    with pytest.raises(InputError, match=told):
        draft_of(tmp_path, name, content)


def test_days_in_offsets_over_the_end_of_summer_time(tmp_path: Path) -> None:
    import zoneinfo

    begin = datetime.datetime(2026, 10, 25, tzinfo=datetime.UTC)
    moments = [begin + datetime.timedelta(minutes=5 * i) for i in range(40)]
    here = [t.astimezone(zoneinfo.ZoneInfo("Europe/Berlin")).isoformat() for t in moments]
    found = the_run(tmp_path, "r.csv", _cells(here, WIDTHS, head=["Time", "Width"]))
    assert found["time"].tolist() == [t.replace(tzinfo=None) for t in moments]


def test_measurements_as_a_list_within_each_part(tmp_path: Path) -> None:
    parts = [
        {"serial": n, "measurements": [{"name": "Width", "value": float(w), "unit": "mm"}, {"name": "Gap", "value": float(g), "unit": "mm"}]}
        for n, w, g in zip(COUNT, WIDTHS, GAPS, strict=True)
    ]  # fmt: skip
    draft = draft_of(tmp_path, "r.json", json.dumps({"parts": parts}).encode())
    width = next(item for item in draft.items if item.name == "Width")
    found = records_of(tmp_path, draft).table("run", width.id)
    assert found is not None
    np.testing.assert_array_equal(found["value"], WIDTHS)


def test_a_mean_below_a_header_of_two_rows_is_in_the_part_that_is_read(tmp_path: Path) -> None:
    read = (np.random.default_rng(6).normal(2.8, 0.002, (10, 4)) + np.arange(10)[:, None] / 100).round(3)  # fmt: skip
    rows: list[list[object]] = [["Width, in mm"], [], [None, "Anna", None, "Ben", None]]
    rows += [["Part", 1, 2, 1, 2], *([i + 1, *own] for i, own in enumerate(read.tolist()))]
    rows += [["Mean", *read.mean(axis=0).round(4).tolist()]]
    draft = draft_of(tmp_path, "grr.xlsx", workbook(rows))
    (account,) = records_of(tmp_path, draft).ledger.accounts
    assert account.rows_used == 10
    assert account.set_aside == {"row of totals at the end of the file": 1}
