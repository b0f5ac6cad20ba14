"""Files of every reader, damaged in numbered ways: each must be read, or refused in one line, and never anything else.

Seeds are the exports of five countries in every dress, the drawing's list, filled floor sheets and QIF results. Damage
is done to bytes (cut off, flipped, doubled), to text (cells swapped, emptied, full-width digits, quotes, other delimiters),
in workbooks to cells (words among numbers, numbers among words, merged cells, very long text), and in floor sheets to the
plan inside them (lists that are numbers, rows below nought, pages named twice), often with the code that fits it.
"""

from __future__ import annotations

import bz2
import hashlib
import io
import json
import random
import warnings
import zipfile
from collections.abc import Callable
from pathlib import Path
from xml.sax.saxutils import escape

import openpyxl
import pandas as pd
import xlwt
from exports import exports
from open_document import as_ods

from linestudy import open_study
from linestudy.intake import draft_study, unit_doubts
from linestudy.intake.preview import preview
from linestudy.intake.questions import ask_all
from linestudy.plan import write_floor_sheet
from linestudy.plan.floor_sheets import laid_out
from linestudy.records import read
from linestudy.records.formats.floor_sheet import CODE, PLAN
from linestudy.results import InputError
from linestudy.study.starter import start_study

#: What a cell may be made into.
ODD = (
    "", " ", "n.i.O.", "#DIV/0!", "1e400", "-", "２．８", "2,8,1", "=1+1", "0x1F", "NaN", "9" * 400, '"', ";", "\t",
    "\u202e", "2026-02-30", "Mittelwert", "ok\nok", "−2.8", "1'000.5", "<b>", "../../x",
)  # fmt: skip
QIF = """<?xml version="1.0"?><QIFDocument xmlns="http://qifstandards.org/xsd/qif3"><MeasurementsResults n="1">
<MeasurementResults id="9"><MeasuredCharacteristics><CharacteristicMeasurements n="1">
<LengthCharacteristicMeasurement id="1"><CharacteristicItemId>2</CharacteristicItemId><Value>2.8</Value>
</LengthCharacteristicMeasurement></CharacteristicMeasurements></MeasuredCharacteristics></MeasurementResults>
</MeasurementsResults></QIFDocument>"""


QIF_TOLERANCED = (
    """<?xml version="1.0"?><QIFDocument xmlns="http://qifstandards.org/xsd/qif3"><FileUnits><PrimaryUnits>
<LinearUnit><SIUnitName>meter</SIUnitName><UnitName>mm</UnitName><UnitConversion><Factor>0.001</Factor></UnitConversion></LinearUnit>
</PrimaryUnits></FileUnits><Characteristics><CharacteristicDefinitions n="1"><LengthCharacteristicDefinition id="3">
<Name>Width</Name><Tolerance><MaxValue>0.05</MaxValue><MinValue>-0.05</MinValue><DefinedAsLimit>false</DefinedAsLimit></Tolerance>
</LengthCharacteristicDefinition></CharacteristicDefinitions><CharacteristicNominals n="1"><LengthCharacteristicNominal id="4">
<CharacteristicDefinitionId>3</CharacteristicDefinitionId><TargetValue>2.8</TargetValue></LengthCharacteristicNominal>
</CharacteristicNominals><CharacteristicItems n="1"><LengthCharacteristicItem id="2"><Name>Width</Name>
<CharacteristicNominalId>4</CharacteristicNominalId></LengthCharacteristicItem></CharacteristicItems></Characteristics>
<MeasurementsResults n="1"><MeasurementResultsSet n="3">"""
    + "".join(
        f"""<MeasurementResults id="{9 + i}"><MeasuredCharacteristics><CharacteristicMeasurements n="1">
<LengthCharacteristicMeasurement id="{90 + i}"><CharacteristicItemId>2</CharacteristicItemId><Value>{2.8 + i / 1000}</Value>
</LengthCharacteristicMeasurement></CharacteristicMeasurements></MeasuredCharacteristics></MeasurementResults>"""
        for i in range(3)
    )
    + "</MeasurementResultsSet></MeasurementsResults></QIFDocument>"
)


def seeds(folder: Path) -> list[tuple[str, bytes]]:
    """Give sound files: name and content."""
    found = [(item.name, item.content) for _, item in sorted(exports().items())]
    drawing = "No;Name;Nominal;+Tol;-Tol;Unit\n1;Width;2,8;0,1;-0,1;mm\n2;Burr;0;0,1;;mm\n"
    found += [("list.csv", drawing.encode()), ("part.qif", QIF.encode())]
    study = start_study(folder / "plan")
    for role in ("crossed", "drift", "reference"):
        rows = laid_out(role, 5, people=("A", "B"), trials=2, masters=(6.2, 6.3))
        file = folder / f"floor {role}.xlsx"
        write_floor_sheet(open_study(study), role, "width", rows, file, gauges=("camera",))
        found.append((file.name, file.read_bytes()))
    return found


def later_seeds(folder: Path) -> list[tuple[str, bytes]]:
    """Sound files of the readers that came later: OpenDocument, protocols, documents of columns, lines in quotes, words in times."""
    folder.mkdir(parents=True, exist_ok=True)
    book = openpyxl.Workbook()
    book.active.append(["Stroke", "Time", "Width [mm]", "Result", "Spec"])
    for row in _ROWS:
        book.active.append([*row, "2.80 ±0.05"])
    book.create_sheet("log").append(["Remarks", "none"])
    path = folder / "log.xlsx"
    book.save(path)
    protocol = "\n".join(
        f"\n  REPORT   Part No: {i:3d}   Date: {time[:10]}\n{'-' * 60}\n"
        f"{'Feature':<16}{'Nominal':>10}{'+Tol':>9}{'-Tol':>9}{'Actual':>12}\n{'-' * 60}\n"
        f"{'Width':<16}{2.8:>10.3f}{0.05:>9.3f}{-0.05:>9.3f}{width:>12.4f}"
        for i, time, width, _ in _ROWS
    )
    columns = {"stroke": [row[0] for row in _ROWS], "width": [row[2] for row in _ROWS]}
    lines = ["Stroke,Width", *(f"{row[0]},{row[2]}" for row in _ROWS)]
    words = ["Time;Width;OK?"] + [
        f"{i}. März 2026 10:{i:02d} p.m.;{str(width).replace('.', ',')};{'ja' if i % 7 else 'nein'}"
        for i, _, width, _ in _ROWS
    ]
    footer = [*lines, "", "USL,2.85", "LSL,2.75", "Mean,2.8"]
    across = ["Subgroup," + ",".join(map(str, range(1, 9)))]
    across += [f"x{i}," + ",".join(str(_ROWS[3 * i + j][2]) for j in range(8)) for i in range(1, 5)]
    texts = {
        "protocol.txt": protocol, "columns.json": json.dumps(columns), "lines.csv": "\n".join(f'"{line}"' for line in lines),
        "words.csv": "\n".join(words), "footer.csv": "\n".join(footer), "across.csv": "\n".join(across),
    }  # fmt: skip
    found = [(name, text.encode()) for name, text in texts.items()]
    return [*found, ("log.xlsx", path.read_bytes()), ("log.ods", as_ods(path))]


def newest_seeds(folder: Path) -> list[tuple[str, bytes]]:
    """Sound files of pages, workbooks in XML, values behind their names, weeks of ISO 8601, tables side by side, records that lie across, packed and binary tables."""
    folder.mkdir(parents=True, exist_ok=True)
    cells = [["Stroke", "Time", "Width [mm]", "Result"], *map(list, _ROWS)]
    page = "".join(
        "<tr>" + "".join(f"<td>{escape(str(c))}</td>" for c in row) + "</tr>\n" for row in cells
    )
    book = "".join(
        "<Row>" + "".join(f'<Cell><Data ss:Type="{"Number" if isinstance(c, float) else "String"}">{escape(str(c))}</Data></Cell>' for c in row) + "</Row>\n"
        for row in cells
    )  # fmt: skip
    xmlns = "urn:schemas-microsoft-com:office:spreadsheet"
    named = "\n".join(f"{t},{i:03d} INFO part={i} width={w} mm result={v}" for i, t, w, v in _ROWS)
    weeks = "\n".join(
        [
            "Week;Width",
            *(
                f"2026-W{10 + i // 7:02d}-{1 + i % 7};{str(w).replace('.', ',')}"
                for i, _, w, _ in _ROWS
            ),
        ]
    )
    days = ["Sample," + ",".join(f"{d:02d}.09.2026" for d in range(1, 8))]
    days += [f"{k + 1}," + ",".join(str(row[2]) for row in _ROWS[k::4]) for k in range(4)]
    above = [
        "LSL,,2.75",
        "USL,,2.85",
        "Stroke,Result,Width",
        *(f"{i},{v},{w}" for i, _, w, v in _ROWS),
    ]
    report = "\n".join(
        f"Serial;{i}\nMerkmal;Istwert;Sollwert;OTol;UTol\nBreite;{w};2.8;0.05;-0.05\n"
        for i, _, w, _ in _ROWS
    )
    inches = ["No,Width", *(f'{i},"{2 * (i % 6) + 1}/64"""' for i, *_ in _ROWS)]
    formulas = ["No,Width", *(f'="{i}",="{w}"' for i, _, w, _ in _ROWS)]
    texts = {
        "page.htm": f"<html><body><table>{page}</table></body></html>", "page.xls": f"<table>{page}</table>",
        "book.xls": f'<?xml version="1.0"?><Workbook xmlns="{xmlns}" xmlns:ss="{xmlns}"><Worksheet ss:Name="log"><Table>{book}</Table></Worksheet></Workbook>',
        "named.log": named, "weeks.csv": weeks, "days.csv": "\n".join(days), "above.csv": "\n".join(above), "report.txt": report,
        "inches.csv": "\n".join(inches), "formulas.csv": "\n".join(formulas),
    }  # fmt: skip
    found = [(name, text.encode()) for name, text in texts.items()]
    dos = "\n".join(["Stück;Höhe", *(f"{i};{w}" for i, _, w, _ in _ROWS)]).encode("cp850")
    side = openpyxl.Workbook()
    for row in cells:
        side.active.append([*row[:1], row[2], None, *row[:1], row[2]])
    side.save(folder / "side.xlsx")
    table = pd.DataFrame(_ROWS, columns=["stroke", "time", "width", "result"])
    table.to_feather(folder / "log.feather")
    table.assign(m=[{"width": w} for w in table["width"]]).to_parquet(folder / "log.parquet")
    packed = bz2.compress("\n".join(above).encode())
    found += [("dos.csv", dos), ("above.csv.bz2", packed)]
    return found + [(path.name, path.read_bytes()) for path in sorted(folder.iterdir())]


def recent_seeds(folder: Path) -> list[tuple[str, bytes]]:
    """Sound files of heads over three rows, reigns, digits of ten scripts, blocks below each other, signs that judge, names that come twice, nested JSON, the old xls and QIF with tolerances."""
    folder.mkdir(parents=True, exist_ok=True)
    widths = [row[2] for row in _ROWS]
    three: list[list[object]] = [
        ["", "Width", "", "", "", "Gap", "", "", ""], ["", "Anna", "", "Bert", "", "Anna", "", "Bert", ""],
        ["Part", 1, 2, 1, 2, 1, 2, 1, 2],
    ]  # fmt: skip
    three += [
        [p + 1, *widths[2 * p : 2 * p + 4], *(round(w - 1.8, 4) for w in widths[2 * p : 2 * p + 4])]
        for p in range(10)
    ]
    reign = [
        "No,日時,幅(mm),判定",
        *(f"{i},令和8年3月{i}日 6時{i:02d}分,{w},{'不合格' if v == 'NG' else '合格'}" for i, _, w, v in _ROWS),
    ]  # fmt: skip
    scripts = (0x0660, 0x06F0, 0x0966, 0x09E6, 0x0AE6, 0x0BE6, 0x0E50, 0x0ED0, 0x1040, 0xFF10)
    digits = [
        "No;Width",
        *("".join(chr(scripts[i % 10] + int(sign)) if sign.isdigit() else sign for sign in f"{i};{w}") for i, _, w, _ in _ROWS),
    ]  # fmt: skip
    blocks = []
    for who in ("Anna", "Bert", "Carl"):
        blocks += [f"Appraiser: {who};;;", "Part;1;2;3"]
        blocks += [f"{p + 1};" + ";".join(map(str, widths[2 * p : 2 * p + 3])) for p in range(8)]
        blocks.append("")
    signs = ["Part;Reference;A1;A2;B1;B2"]
    signs += [f"{i};" + ";".join("+-"[(i * k) % 7 == 3] for k in range(1, 6)) for i, *_ in _ROWS]
    twice = ["No,Width,Result,Width", *(f"{i},{w},{v},{w + 0.001:.4f}" for i, _, w, v in _ROWS)]
    nested = [
        json.dumps({"part": i, "time": t, "measurements": {"width": {"value": w, "unit": "mm"}}, "ok": v == "OK"})
        for i, t, w, v in _ROWS
    ]  # fmt: skip
    head = "Part Number : 4711\nCharacteristic : Width\nUnits : mm\nNominal : 2.8\nUSL : 2.85\nLSL : 2.75\n\n"
    head += "Sub  Date      Time   X1      X2      X3      Xbar\n"
    head += "".join(
        f"{k + 1:<5}03/{k + 13}/26  06:{k:02d}  " + "  ".join(f"{w:.4f}" for w in widths[3 * k : 3 * k + 3])
        + f"  {sum(widths[3 * k : 3 * k + 3]) / 3:.4f}\n"
        for k in range(8)
    )  # fmt: skip
    texts = {
        "three.csv": "\n".join(";".join(map(str, row)) for row in three), "reign.csv": "\n".join(reign),
        "digits.csv": "\n".join(digits), "blocks.csv": "\n".join(blocks), "signs.csv": "\n".join(signs),
        "twice.csv": "\n".join(twice), "nested.jsonl": "\n".join(nested), "head.txt": head, "part.qif": QIF_TOLERANCED,
    }  # fmt: skip
    found = [(name, text.encode()) for name, text in texts.items()]
    book = openpyxl.Workbook()
    for each in three:
        book.active.append([cell if cell != "" else None for cell in each])
    for first in (2, 6):
        book.active.merge_cells(start_row=1, end_row=1, start_column=first, end_column=first + 3)
    book.save(folder / "three.xlsx")
    old = xlwt.Workbook()
    for name, rows in (
        ("log", [["No", "Width [mm]"], *([i, w] for i, _, w, _ in _ROWS)]),
        ("grr", three),
    ):
        sheet = old.add_sheet(name)
        for r, row in enumerate(rows):
            for k, cell in enumerate(row):
                sheet.write(r, k, cell)
    old.save(str(folder / "old.xls"))
    return found + [(path.name, path.read_bytes()) for path in sorted(folder.iterdir())]


_ROWS = [
    (i, f"2026-03-02 06:{i:02d}:00", round(2.8 + ((7 * i) % 11 - 5) / 400, 4), "NG" if i % 9 == 4 else "OK")
    for i in range(1, 29)
]  # fmt: skip


def damaged(name: str, content: bytes, chance: random.Random) -> bytes:
    """Damage a file in a way its kind allows."""
    ways: list[Callable[[bytes, random.Random], bytes]] = [_bytes]
    of_text = not content.startswith((b"PK", b"\xd0\xcf"))
    if name.endswith((".csv", ".txt", ".tsv", ".jsonl", ".qif", ".htm", ".log")) or (
        name.endswith(".xls") and of_text
    ):
        ways += [_text, _text, _text]
    if name.endswith(".json"):
        ways += [_text, _text]
    if name.endswith(".ods"):
        ways += [_document, _document, _document]
    if name.endswith(".xlsx"):
        ways += [_cells, _cells, _cells]
    if name.startswith("floor"):
        ways += [_plan, _plan, _plan, _plan]
    return chance.choice(ways)(content, chance)


def _bytes(content: bytes, chance: random.Random) -> bytes:
    what = bytearray(content)
    way = chance.randrange(4)
    if way == 0:
        return bytes(what[: chance.randrange(len(what))])
    if way == 1:
        return bytes(what + what)
    for _ in range(chance.choice((1, 5, 50))):
        what[chance.randrange(len(what))] = chance.randrange(256)
    return (
        bytes(what) if way == 2 else bytes(reversed(what)) if chance.random() < 0.1 else bytes(what)
    )


def _text(content: bytes, chance: random.Random) -> bytes:
    encoding = "utf-16" if content[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8"
    lines = content.decode(encoding, errors="replace").split("\n")
    for _ in range(chance.choice((1, 3, 12))):
        at = chance.randrange(len(lines))
        mark = next((m for m in ("\t", ";", ",", ":") if m in lines[at]), " ")
        cells = lines[at].split(mark)
        way = chance.randrange(6)
        if way < 3:
            cells[chance.randrange(len(cells))] = chance.choice(ODD)
        elif way == 3:
            chance.shuffle(cells)
        elif way == 4:
            cells = cells * chance.choice((0, 2, 30))
        lines[at] = mark.join(cells)
        if way == 5:
            lines.insert(at, lines[chance.randrange(len(lines))])
    return "\n".join(lines).encode(encoding, errors="replace")


def _cells(content: bytes, chance: random.Random) -> bytes:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        book = openpyxl.load_workbook(io.BytesIO(content))
    for _ in range(chance.choice((1, 4, 20))):
        page = chance.choice(book.worksheets)
        row, column = (chance.randint(1, most + 1) for most in (page.max_row, page.max_column))
        if chance.random() < 0.1:
            page.merge_cells(
                start_row=row, end_row=row + 1, start_column=column, end_column=column + 1
            )
            continue
        try:
            page.cell(row, column).value = chance.choice((*ODD, 7, -1e308, True, None))
        except (AttributeError, ValueError, openpyxl.utils.exceptions.IllegalCharacterError):
            continue  # Merged, or no cell may hold it.
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def _document(content: bytes, chance: random.Random) -> bytes:
    """Cells of an OpenDocument file, its marks of repetition among them."""
    stream = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(content)) as old,
        zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        text = old.read("content.xml").decode()
        for _ in range(chance.choice((1, 4, 20))):
            cells = [at for at in range(len(text)) if text.startswith("<table:table-cell", at)]
            at = chance.choice(cells) + len("<table:table-cell")
            odd = chance.choice(
                ('table:number-columns-repeated="9999999"', 'table:number-rows-spanned="-1"', 'office:value="x"',
                 f'office:string-value="{escape(chance.choice(ODD), {chr(34): "&quot;"})}"', "<", "")
            )  # fmt: skip
            text = f"{text[:at]} {odd}{text[at:]}" if odd else text[:at] + text[at + 40 :]
        new.writestr("content.xml", text)
    return stream.getvalue()


#: What stands in a plan where something else belongs.
_WRONG = (
    None, True, False, -1, 0, 3, 10**9, 1.5, "", "x", "part", "order", "value", [], [1], ["x"], ["part", "part"], {}, {"x": 1},
    "judgement", "9" * 300, "=1+1", "../x", "mm", "furlong", ["a", "b", "c"],
)  # fmt: skip


def _plan(content: bytes, chance: random.Random) -> bytes:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        book = openpyxl.load_workbook(io.BytesIO(content))
    page = book[PLAN]
    plan = json.loads("".join(str(row[0]) for row in page.iter_rows(min_row=3, values_only=True)))
    for _ in range(chance.choice((1, 1, 2, 5))):
        way = chance.randrange(6)
        key = chance.choice(list(plan))
        rows = plan.get("rows")
        if way == 0:
            plan[key] = chance.choice(_WRONG)
        elif way == 1:
            del plan[key]
        elif way == 2:
            plan[chance.choice((key, "more"))] = chance.choice(_WRONG)
        elif isinstance(rows, list) and rows and isinstance(rows[0], dict):
            row = chance.choice([each for each in rows if isinstance(each, dict)])
            if way == 3 and row:
                row[chance.choice(list(row))] = chance.choice(_WRONG)
            elif way == 4 and row:
                del row[chance.choice(list(row))]
            else:
                rows.insert(chance.randrange(len(rows)), chance.choice((row, dict(row), "x", None)))
        if not plan:
            break
    text = json.dumps(plan, ensure_ascii=False, sort_keys=True)
    page.delete_rows(3, page.max_row)
    for at in range(0, len(text), 30_000):
        page.cell(
            3 + at // 30_000, 1, f"'{text}" if text.startswith("=") else text[at : at + 30_000]
        )
    if chance.random() < 0.7:
        code = hashlib.sha256(text.encode()).hexdigest()[:10].upper()
        page.cell(2, 1, code)
        for each in book.worksheets:
            if each.title != PLAN:
                each.cell(CODE[0] + 1, CODE[1] + 1, code)
    if chance.random() < 0.1:
        book.create_sheet(PLAN + " again" if chance.random() < 0.5 else "linestudy  plan")
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def taken(index: int, folder: Path, sound: list[tuple[str, bytes]]) -> str:
    """Take one damaged file all the way: described, shown, drafted, written, read.

    Parameters
    ----------
    index : int
        Number of the file; the same file on every machine.
    folder : pathlib.Path
        New.
    sound : list of (str, bytes)
        From :func:`seeds`.

    Returns
    -------
    str
        ``"read"`` or ``"refused"``; anything else raises.
    """
    chance = random.Random(index)
    name, content = chance.choice(sound)
    folder.mkdir()
    file = folder / name
    file.write_bytes(damaged(name, content, chance))
    try:
        draft = draft_study([file])
        for table in draft.tables:
            preview(table)
        ask_all(draft, lambda _: "", lambda _: None, defaults=True)
        if not draft.items:
            return "refused"
        draft.write(folder / "study")
        records = read(open_study(folder / "study"))
    except InputError as refusal:
        if "\n" in str(refusal).strip():
            raise AssertionError(f"{index}: more than one line: {refusal}") from None
        return "refused"
    for account in records.ledger.accounts:
        assert account.rows_read == account.rows_used + sum(account.set_aside.values()), index
    unit_doubts(records)
    return "read"
