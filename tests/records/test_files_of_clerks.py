"""Files as five clerks handed them in: other countries' clocks and words, protocols with a head, signs that judge, shares, counters that overflow.

Every file is written here, and its truth is what was written.
"""

from __future__ import annotations

import datetime
import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import openpyxl
import pytest
from proposals import TIMES, WIDTHS, delimited, draft_of, records_of, the_run, workbook

from linestudy.results import InputError

GAPS = np.round(1.2 + 0.003 * (np.arange(40) * 7 % 11), 4)
BAD = [i % 9 == 4 for i in range(40)]


def _comma(number: float, digits: int = 4) -> str:
    return f"{number:.{digits}f}".replace(".", ",")


def _lines(head: str, row: Callable[[int, datetime.datetime, float], str]) -> str:
    rows = [row(i, t, float(w)) for i, (t, w) in enumerate(zip(TIMES, WIDTHS, strict=True))]
    return "\n".join([head, *rows]) + "\n"


# -- clocks and words of other countries


@pytest.mark.parametrize(
    ("head", "clock", "words", "encoding"),
    [
        ("Poř. č.;Datum;Šířka;Výsledek", lambda t: f"{t.day}. {t.month}. {t.year} {t.hour}:{t:%M}", ("vyhovuje", "nevyhovuje"), "cp1250"),
        ("Sorszám;Időpont;Szélesség;Minősítés", lambda t: f"{t:%Y. %m. %d. %H:%M}", ("megfelelő", "nem megfelelő"), "cp1250"),
        ("Peça;Data/Hora;Largura;Resultado", lambda t: f"{t:%d/%m/%Y %Hh%M}", ("Aprovado", "Reprovado"), "cp1252"),
        ("Nr;Tid;Bredd;Godkänd", lambda t: f"{t:%Y-%m-%d kl. %H.%M}", ("Ja", "Nej"), "cp1252"),
        ("№;Дата;Ширина;Годен", lambda t: f"{t:%d.%m.%Y %H:%M}", ("да", "нет"), "cp1251"),
        ("N.º;Fecha y hora;Ancho;Conforme", lambda t: f"{t:%Y-%m-%d %H:%M}", ("Sí", "No"), "utf-8"),
        ("No;Time;Width;Result", lambda t: f"{t:%a %b %d %H:%M:%S} CET {t.year}", ("OK", "NG"), "utf-8"),
        ("No;Time;Width;Result", lambda t: f"{t:%Y-%j %H:%M:%S}", ("t", "f"), "utf-8"),
    ],
    ids=["Czech", "Hungarian", "Portuguese", "Swedish", "Russian", "Spanish", "with its zone", "days of the year"],
)  # fmt: skip
def test_clocks_and_words(
    tmp_path: Path,
    head: str,
    clock: Callable[[datetime.datetime], str],
    words: tuple[str, str],
    encoding: str,
) -> None:
    text = _lines(head, lambda i, t, w: f"{i + 1};{clock(t)};{_comma(w)};{words[BAD[i]]}")
    found = the_run(tmp_path, "run.csv", text.encode(encoding))
    assert found["time"].tolist() == TIMES
    assert found["accepted"].tolist() == [not bad for bad in BAD]
    np.testing.assert_array_equal(found["value"], WIDTHS)


def test_one_letter_for_half_a_day(tmp_path: Path) -> None:
    later = datetime.timedelta(days=13)
    text = _lines(
        "No,Time,Width",
        lambda i, t, w: f"{i + 1},{t + later:%m/%d/%Y %I:%M}{'a' if t.hour < 12 else 'p'},{w}",
    )
    found = the_run(tmp_path, "run.csv", text.encode())
    assert found["time"].tolist() == [t + later for t in TIMES]


def test_an_offset_is_told_and_counts_in_utc(tmp_path: Path) -> None:
    text = _lines("No,Time,Width", lambda i, t, w: f"{i + 1},{t:%Y-%m-%dT%H:%M:%S}+01:00,{w}")
    records = records_of(tmp_path, draft_of(tmp_path, "run.csv", text.encode()))
    found = records.table("run", "width")
    assert found is not None
    assert found["time"].iloc[0] == TIMES[0] - datetime.timedelta(hours=1)
    (said,) = (one for _, one in records.screening.seen if one.what == "clock with an offset")
    assert "count in UTC" in said.evidence


# -- numbers


@pytest.mark.parametrize(
    "write",
    [
        lambda v: f"{v:,.2f}".replace(",", "\u2009").replace(".", ","),
        lambda v: f"{v:,.2f}".replace(",", "\u2019"),
        lambda v: f"{v:.2f}".replace(".", ",") + "+",
        lambda v: f"{v:.5E}".replace("E", "D"),
    ],
    ids=["thin blanks", "apostrophes", "plus behind", "Fortran"],
)
def test_marks_of_numbers(tmp_path: Path, write: Callable[[float], str]) -> None:
    forces = (1234 + WIDTHS * 10).round(2)
    text = _lines("No;Force", lambda i, t, w: f"{i + 1};{write(forces[i])}")
    np.testing.assert_allclose(the_run(tmp_path, "f.csv", text.encode())["value"], forces, 1e-9)


def test_digits_grouped_as_in_india(tmp_path: Path) -> None:
    loads = (123456 + WIDTHS * 100).round(2)
    text = _lines("No;Load", lambda i, t, w: f"{i + 1};1,23,{loads[i] - 123000:06.2f}")
    found = the_run(tmp_path, "run.csv", text.encode())
    np.testing.assert_allclose(found["value"], loads, rtol=1e-12)


def test_texts_with_comma_and_with_point_in_a_workbook(tmp_path: Path) -> None:
    texts = [f"{w:.4f} " if i % 2 else f"\u00a0{_comma(w)}" for i, w in enumerate(WIDTHS)]
    rows = [["No", "Width"], *([i + 1, each] for i, each in enumerate(texts))]
    found = the_run(tmp_path, "run.xlsx", workbook(rows))
    np.testing.assert_array_equal(found["value"], WIDTHS)


@pytest.mark.parametrize(
    ("head", "unit"), [("(1/1000 mm)", "µm"), ("[0.001 mm]", "µm"), ("[mil]", "mil")]
)
def test_thousandths_are_no_millimetres(tmp_path: Path, head: str, unit: str) -> None:
    text = _lines(f"No;Width {head}", lambda i, t, w: f"{i + 1};{w * 1000:.1f}")
    assert draft_of(tmp_path, "run.csv", text.encode()).items[0].unit == unit


def test_what_a_spreadsheet_made_a_date_of_is_said(tmp_path: Path) -> None:
    cells = [
        datetime.datetime(2026, 8, 2) if i % 9 == 4 else float(w) for i, w in enumerate(WIDTHS)
    ]
    rows = [["No", "Width"], *([i + 1, each] for i, each in enumerate(cells))]
    draft = draft_of(tmp_path, "run.xlsx", workbook(rows))
    with pytest.raises(InputError, match=r'column "Width".*has made a date of it'):
        records_of(tmp_path, draft)


def test_shares_of_an_old_workbook(tmp_path: Path) -> None:
    import io

    import xlwt

    old, stream = xlwt.Workbook(), io.BytesIO()
    sheet = old.add_sheet("A")
    for at, cell in enumerate(("No", "Fill")):
        sheet.write(0, at, cell)
    for i, w in enumerate(WIDTHS):
        sheet.write(i + 1, 0, i + 1)
        sheet.write(i + 1, 1, float(w) / 10, xlwt.easyxf(num_format_str="0.0%"))
    old.save(stream)
    draft = draft_of(tmp_path, "run.xls", stream.getvalue())
    assert draft.items[0].unit == "%"
    assert draft.tables[0].said.readings[0].middle == pytest.approx(10 * np.median(WIDTHS))


# -- counters


@pytest.mark.parametrize(("bits", "first"), [(16, 65_520), (16, 32_750), (32, 2**31 - 20)])
def test_a_counter_that_overflows(tmp_path: Path, bits: int, first: int) -> None:
    half, whole = 2 ** (bits - 1), 2**bits
    signed = first < half
    counts = [first + i for i in range(40)]
    shown = [(n + half) % whole - half if signed else n % whole for n in counts]
    text = _lines("Stroke,Width", lambda i, t, w: f"{shown[i]},{w}")
    found = the_run(tmp_path, "run.csv", text.encode())
    assert found["order"].tolist() == counts
    np.testing.assert_array_equal(found["value"], WIDTHS)


# -- heads, features, units row by row


def _head(mark: str) -> str:
    pairs = (
        ("Part Number", "4711-A"), ("Characteristic", "Width"), ("Units", "mm"), ("Nominal", "2.8000"), ("USL", "2.8500"), ("LSL", "2.7500"),
    )  # fmt: skip
    return "".join(f"{name}{mark}{value}\n" for name, value in pairs) + "\n"


@pytest.mark.parametrize("name", ["dump.txt", "dump.csv"])
def test_a_dump_with_its_head(tmp_path: Path, name: str) -> None:
    samples = WIDTHS.reshape(8, 5)
    text = _head("     : " if name.endswith("txt") else ",")
    between = "  " if name.endswith("txt") else ","
    text += (
        between.join(("Sub", "X1    ", "X2    ", "X3    ", "X4    ", "X5    ", "Xbar  ", "R"))
        + "\n"
    )
    for k, row in enumerate(samples):
        cells = [
            f"{k + 1:<3}",
            *(f"{w:.4f}" for w in row),
            f"{row.mean():.4f}",
            f"{np.ptp(row):.4f}",
        ]
        text += between.join(cells) + "\n"
    draft = draft_of(tmp_path, name, text.encode())
    (item,) = draft.items
    assert (item.name, item.unit, item.nominal, item.lower, item.upper) == (
        "Width",
        "mm",
        2.8,
        2.75,
        2.85,
    )
    found = records_of(tmp_path, draft).table("run", item.id)
    assert found is not None
    np.testing.assert_array_equal(found["value"], WIDTHS)


def test_a_protocol_with_one_date_and_units_behind_its_features(tmp_path: Path) -> None:
    text = ""
    for i, (w, g) in enumerate(zip(WIDTHS, GAPS, strict=True)):
        text += f"\n PART NAME : FORK   SER NUMBER : {i + 1}\n DATE=March 02, 2026  TIME=06:{i:02d}:00\n"
        for feature, nominal, tol, value in (("LOC1", 2.8, 0.05, w), ("LOC2", 1.2, 0.1, g)):
            text += f"DIM {feature}= LOCATION OF CIRCLE C{feature[-1]} UNITS=MM\n"
            text += "AX    NOMINAL     +TOL      -TOL      MEAS\n"
            text += f"D      {nominal:.4f}   {tol:.4f}   {-tol:.4f}   {value:7.4f}\n"
    draft = draft_of(tmp_path, "cmm.txt", text.encode())
    assert [(i.name, i.unit, i.upper) for i in draft.items] == [
        ("LOC1 D", "mm", 2.85),
        ("LOC2 D", "mm", 1.3),
    ]
    found = records_of(tmp_path, draft).table("run", "loc1_d")
    assert found is not None
    assert found["time"].iloc[39] == datetime.datetime(2026, 3, 2, 6, 39)
    np.testing.assert_array_equal(found["value"], WIDTHS)


def test_a_feature_and_its_axis_are_one_characteristic(tmp_path: Path) -> None:
    rows: list[list[object]] = [["Serial", "Feature", "Axis", "Nominal", "Measured"]]
    for i, (w, g) in enumerate(zip(WIDTHS, GAPS, strict=True)):
        rows += [[i + 1, "CIR1", "D", 2.8, w], [i + 1, "CIR1", "X", 1.2, g]]
    draft = draft_of(tmp_path, "cmm.csv", delimited(rows))
    assert draft.tables[0].said.key("long")["characteristic"] == ["Feature", "Axis"]
    for item, truth in (("cir1_d", WIDTHS), ("cir1_x", GAPS)):
        found = records_of(tmp_path, draft).table("run", item)
        assert found is not None
        np.testing.assert_array_equal(found["value"], truth)


def test_rows_in_two_units_are_read_in_one(tmp_path: Path) -> None:
    rows: list[list[object]] = [["Part", "Feature", "Value", "Unit"]]
    rows += [
        [i + 1, "Width", round(w * 1000, 1), "µm"] if i % 5 == 2 else [i + 1, "Width", w, "mm"]
        for i, w in enumerate(WIDTHS.tolist())
    ]
    draft = draft_of(tmp_path, "long.csv", delimited(rows))
    assert not any("Unit" in each or "units" in each for each in draft.tables[0].said.open)
    found = records_of(tmp_path, draft).table("run", "width")
    assert found is not None
    np.testing.assert_allclose(found["value"], WIDTHS, atol=1e-9)


def test_limits_beside_each_value_of_a_document(tmp_path: Path) -> None:
    parts = [
        {"part": i + 1, "features": [
            {"name": "width", "actual": float(w), "lsl": 2.75, "usl": 2.85}, {"name": "gap", "actual": float(g), "lsl": 1.1, "usl": 1.3},
        ]} for i, (w, g) in enumerate(zip(WIDTHS, GAPS, strict=True))
    ]  # fmt: skip
    draft = draft_of(tmp_path, "run.json", json.dumps({"results": parts}).encode())
    assert [(i.name, i.lower, i.upper) for i in draft.items] == [
        ("width", 2.75, 2.85),
        ("gap", 1.1, 1.3),
    ]


def test_limits_below_the_signature_are_no_table(tmp_path: Path) -> None:
    def change(book: openpyxl.Workbook) -> None:
        sheet = book.active
        for place, value in (("A44", "Freigabe:"), ("A45", "UGW"), ("B45", 2.75), ("A46", "OGW"), ("B46", 2.85), ("A47", "x quer"), ("B47", 2.8)):  # fmt: skip
            sheet[place] = value

    rows = [["Nr", "Breite"], *([i + 1, float(w)] for i, w in enumerate(WIDTHS))]
    draft = draft_of(tmp_path, "run.xlsx", workbook(rows, change))
    assert [item.name for item in draft.items] == ["Breite"]


def test_the_answer_of_a_data_base(tmp_path: Path) -> None:
    rule = "+----+--------+------+\n"
    text = rule + "| id | width  | ok   |\n" + rule
    text += "".join(
        f"| {i + 1:<2} | {w:.4f} | {'ft'[not BAD[i]]:<4} |\n" for i, w in enumerate(WIDTHS)
    )
    text += rule + "40 rows in set (0.01 sec)\n"
    draft = draft_of(tmp_path, "run.txt", text.encode())
    assert draft.tables[0].said.open == ()
    found = records_of(tmp_path, draft).table("run", "width")
    assert found is not None
    assert found["accepted"].sum() == 40 - sum(BAD)


# -- signs that judge


@pytest.mark.parametrize("minus", ["-", "−", "–"])
def test_plus_and_minus_judge(tmp_path: Path, minus: str) -> None:
    good = np.random.default_rng(3).random((30, 5)) < 0.7
    rows: list[list[object]] = [["Part", "Reference", "A1", "A2", "B1", "B2"]]
    rows += [[i + 1, *(("+", minus)[not g] for g in each)] for i, each in enumerate(good)]
    draft = draft_of(tmp_path, "judged.csv", delimited(rows, ";"))
    assert any("+ is taken for accepted" in each for each in draft.tables[0].said.open)
    found = records_of(tmp_path, draft).table("attribute", draft.items[0].id)
    assert found is not None
    assert found["judgement"].sum() == good[:, 1:].sum()


def test_plus_and_minus_of_a_verdict_and_of_a_direction(tmp_path: Path) -> None:
    text = _lines("No;Width;Verdict", lambda i, t, w: f"{i + 1};{_comma(w)};{'+-'[BAD[i]]}")
    assert the_run(tmp_path, "run.csv", text.encode())["accepted"].tolist() == [not b for b in BAD]
    text = text.replace("Verdict", "Direction")
    draft = draft_of(tmp_path, "other.csv", text.encode())
    assert draft.tables[0].said.key("verdict") is None


def test_parts_called_by_strip_and_piece(tmp_path: Path) -> None:
    rows: list[list[object]] = [["Teil", "Prüfer", "Wdh", "Wert"]]
    rows += [
        [f"{1 + p // 5}.{p % 5 + 1}", "AB"[o], k + 1, _comma(WIDTHS[(6 * p + 3 * o + k) % 40])]
        for p in range(10) for o in range(2) for k in range(3)
    ]  # fmt: skip
    draft = draft_of(tmp_path, "grr.csv", delimited(rows, ";"))
    assert draft.tables[0].said.role == "crossed"
    found = records_of(tmp_path, draft).table("crossed", draft.items[0].id)
    assert found is not None
    assert found["part"].nunique() == 10


@pytest.mark.parametrize(
    "heads",
    [
        ("Wzorzec", "Wartość odniesienia", "Szerokość"),
        ("Master", "Certified value", "Width"),
        ("Normal", "Reference", "Breite"),
    ],
)
@pytest.mark.parametrize("turned", [False, True])
def test_numbers_of_masters_are_not_their_values(
    tmp_path: Path, heads: tuple[str, str, str], turned: bool
) -> None:
    values = (2.75, 2.8, 2.85)
    rows: list[list[object]] = [[heads[0], *((heads[1:])[:: -1 if turned else 1])]]
    for k in range(30):
        known, read = values[k // 10], round(values[k // 10] + 0.0005 * (k * 7 % 5 - 2), 4)
        rows.append([k // 10 + 1, *((known, read)[:: -1 if turned else 1])])
    draft = draft_of(tmp_path, "masters.csv", delimited(rows, ";"))
    said = draft.tables[0].said
    assert (said.role, said.key("reference"), said.key("part")) == ("reference", heads[1], heads[0])
    found = records_of(tmp_path, draft).table("reference", draft.items[0].id)
    assert found is not None
    assert sorted(found["reference"].unique()) == list(values)
    assert found["value"].nunique() > 3


def test_a_known_value_is_no_reading_of_a_run(tmp_path: Path) -> None:
    text = _lines(
        "No;Width;Reference value", lambda i, t, w: f"{i + 1};{w};{w + 0.0001 * (i % 3):.4f}"
    )
    said = draft_of(tmp_path, "run.csv", text.encode()).tables[0].said
    assert "Reference value" not in said.columns.values()


@pytest.mark.parametrize(
    "heads",
    [
        ("Emne", "Operatør", "Gentagelse", "Måling"), ("Kappale", "Mittaaja", "Toisto", "Mittaus"), ("Kos", "Merilec", "Ponovitev", "Meritev"),
        ("Δείγμα", "Χειριστής", "Επανάληψη", "Τιμή"), ("Eredeti", "Neve", "Sor", "Szám"),
    ],
    ids=["Danish", "Finnish", "Slovene", "Greek", "names nobody knows"],
)  # fmt: skip
def test_a_crossed_study_in_more_languages_and_by_its_design(
    tmp_path: Path, heads: tuple[str, ...]
) -> None:
    rows: list[list[object]] = [list(heads)]
    rows += [
        [p + 1, who, k + 1, _comma(WIDTHS[(6 * p + 3 * o + k) % 40])]
        for p in range(10) for o, who in enumerate(("Anna", "Bert")) for k in range(3)
    ]  # fmt: skip
    said = draft_of(tmp_path, "grr.csv", delimited(rows, ";")).tables[0].said
    assert said.role == "crossed"
    assert [said.key(key) for key in ("part", "appraiser", "trial")] == list(heads[:3])
    # One row less is no design.
    said = draft_of(tmp_path, "run.csv", delimited(rows[:-1], ";")).tables[0].said
    assert said.role == "crossed" or heads[0] == "Eredeti"


def test_one_czech_word_is_enough(tmp_path: Path) -> None:
    text = "Etalon;Hodnota etalonu;Naměřeno\n" + "".join(
        f"N{i // 10};{2.75 + i // 10 / 20:.2f};{2.75 + i // 10 / 20 + i % 3 / 1000:.4f}\n"
        for i in range(30)
    )
    said = draft_of(tmp_path, "m.csv", text.encode("cp1250")).tables[0].said
    assert (said.role, list(said.columns.values())) == ("reference", ["Naměřeno"])


def test_digits_of_a_japanese_keyboard_are_no_letters_of_dos(tmp_path: Path) -> None:
    wide = {ord(str(i)): 0xFF10 + i for i in range(10)} | {ord("."): 0xFF0E}
    text = _lines("Nr,コイル 1", lambda i, t, w: f"{i + 1},{f'{w:.4f}'.translate(wide)}")
    draft = draft_of(tmp_path, "f.csv", text.encode("cp932"))
    assert draft.tables[0].said.key("encoding") == "cp932"
    text = _lines("Série;Höhe", lambda i, t, w: f"{i + 1};{_comma(w)}")
    draft = draft_of(tmp_path, "g.csv", text.encode("cp850"))
    assert draft.tables[0].said.key("encoding") == "cp850"
