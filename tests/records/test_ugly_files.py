"""A corpus of small ugly files, each written here with its truth known.

Every file holds the same six widths; whatever its dress, reading must give back exactly
these, in this order, and account for every row.
"""

from __future__ import annotations

import gzip
import io
import itertools
import zipfile
from collections.abc import Callable
from dataclasses import dataclass

import pandas as pd
import pytest

from linestudy.records import read

TRUTH = [2.801, 2.799, 2.8, 2.803, 2.798, 2.805]
RUN = 'role = "run"\ncolumns = { width = "Width" }\norder = "Stroke"'


@dataclass(frozen=True)
class Ugly:
    """One file: its name, bytes, [[data]] keys, and rows that are no data by reason."""

    name: str
    content: bytes
    data: str = RUN
    set_aside: tuple[tuple[str, int], ...] = ()


def written(
    mark: str = ",",
    decimal: str = ".",
    end: str = "\n",
    above: str = "",
    units: str = "",
    below: str = "",
    suffix: str = "",
    quote: str = "",
) -> str:
    rows = [f"Stroke{mark}{quote}Width{quote}{mark}Note"]
    if units:
        rows.append(units)
    for number, value in enumerate(TRUTH, start=1):
        text = f"{value:.3f}".replace(".", decimal) + suffix
        rows.append(f"{number}{mark}{quote}{text}{quote}{mark}ok")
    text = above + "\n".join(rows) + "\n" + below
    return text.replace("\n", end)


def packed(name: str, text: str) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as bundle:
        bundle.writestr(name, text)
    return stream.getvalue()


def workbook(rows: list[list[object]], sheets: tuple[str, ...] = ("Data",), top: int = 1) -> bytes:
    import openpyxl

    book = openpyxl.Workbook()
    book.remove(book.active)
    for title in sheets:
        book.create_sheet(title)
    sheet = book[sheets[-1]]
    for i, row in enumerate(rows):
        for j, value in enumerate(row):
            sheet.cell(row=top + i, column=1 + j, value=value)
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def parquet(**columns: object) -> bytes:
    stream = io.BytesIO()
    pd.DataFrame(columns).to_parquet(stream, index=False)
    return stream.getvalue()


def comma(data: str = RUN) -> str:
    return data + '\ndecimal = ","'


def corpus() -> dict[str, Ugly]:
    found: dict[str, Ugly] = {}
    names = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
    ends = {"\n": "lf", "\r\n": "crlf", "\r": "cr"}
    for (mark, word), (end, name) in itertools.product(names.items(), ends.items()):
        content = written(mark, end=end).encode()
        found[f"{word}, {name}"] = Ugly("f.csv", content)
    for mark in (";", "\t", "|"):
        found[f"decimal comma, {names[mark]}"] = Ugly("f.csv", written(mark, ",").encode(), comma())
    found["decimal comma in quotes, comma"] = Ugly(
        "f.csv", written(",", ",", quote='"').encode(), comma()
    )
    for encoding in ("utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"):
        for mark in (",", ";", "\t"):
            text = written(mark, above="# Maß µm\n" if mark == "\t" else "")
            found[f"{encoding}, {names[mark]}"] = Ugly("f.csv", text.encode(encoding))
    found["cp1252"] = Ugly("f.csv", written(above="Gerät µ\n").encode("cp1252"))
    found["cp1252 declared"] = Ugly(
        "f.csv", written(above="Gerät µ\n").encode("cp1252"), RUN + '\nencoding = "cp1252"'
    )
    found["latin-1 bytes outside cp1252"] = Ugly(
        "f.csv", written(above="Ger\x81t\n").encode("latin-1")
    )
    for above in ("Machine;A\nDate;today\n\n", "one line\n", "\n\n", 'Program;"x;y"\n'):
        found[f"above: {above!r}"] = Ugly("f.csv", written(";", above=above).encode())
    found["header_row stated"] = Ugly(
        "f.csv", written(";", above="a\nb\n").encode(), RUN + "\nheader_row = 3"
    )
    for units in (",mm,", ",[mm],", "-,(mm),-"):
        found[f"units row {units!r}"] = Ugly(
            "f.csv", written(units=units).encode(), RUN, (("row of units below the header", 1),)
        )
    found["description row skipped"] = Ugly(
        "f.csv",
        written(units="no,width of the blade,text").encode(),
        RUN + "\nskip_rows_after_header = 1",
        (("row below the header, skipped on purpose", 1),),
    )
    total = "row of totals at the end of the file"
    for below, count in (
        ("Total,16.806,\n", 1),
        ("Mean,2.801,\nMin,2.798,\nMax,2.805,\n", 3),
        ("\nSumme,16.806,\n", 1),
    ):
        reasons = [(total, count)] + ([("blank row", 1)] if below.startswith("\n") else [])
        found[f"below: {below!r}"] = Ugly(
            "f.csv", written(below=below).encode(), RUN, tuple(reasons)
        )
    found["blank lines at the end"] = Ugly("f.csv", written(below="\n\n\n").encode())
    found["blank line between"] = Ugly(
        "f.csv",
        written().replace("3,2.800", ",,\n3,2.800").encode(),
        RUN,
        (("blank row", 1),),
    )
    found["quoted line break"] = Ugly(
        "f.csv", written().replace(",ok", ',"ok\nreally"', 2).encode()
    )
    found["quoted header"] = Ugly("f.csv", written(quote='"').encode())
    found["spaces round cells"] = Ugly("f.csv", written().replace(",", " , ").encode())
    found["mixed line ends"] = Ugly("f.csv", written().replace("\n", "\r\n", 3).encode())
    for suffix in (" mm", "mm", "\u00a0mm"):
        found[f"unit in the cell {suffix!r}"] = Ugly("f.csv", written(suffix=suffix).encode())
    found["unit in the cell, decimal comma"] = Ugly(
        "f.csv", written(";", ",", suffix=" mm").encode(), comma()
    )
    micro = "Stroke,Width\n" + "".join(f"{i},{v * 1000:.0f}\n" for i, v in enumerate(TRUTH, 1))
    found["µm declared"] = Ugly("f.csv", micro.encode(), RUN + '\nunit = "µm"')
    found["µm in the cell"] = Ugly(
        "f.csv", micro.replace("0\n", "0 µm\n").encode(), RUN + '\nunit = "µm"'
    )
    found["µm in the row of units"] = Ugly(
        "f.csv",
        micro.replace("Width\n", "Width\n,µm\n").encode(),
        RUN,
        (("row of units below the header", 1),),
    )
    inch = "Stroke,Width\n" + "".join(f"{i},{v / 25.4!r}\n" for i, v in enumerate(TRUTH, 1))
    found["inch declared"] = Ugly("f.csv", inch.encode(), RUN + '\nunit = "inch"')
    grouped = "Stroke;Width\n" + "".join(
        f"{i};{int(v)}.{round(v * 1000) % 1000:03d},0\n" for i, v in enumerate(TRUTH, 1)
    )
    found["thousands point, decimal comma, µm"] = Ugly(
        "f.csv", grouped.encode(), comma(RUN) + '\nthousands = "."\nunit = "µm"'
    )
    for mark, sign in (("'", "'"), (" ", " "), (" ", "\u202f"), (",", ",")):
        text = "Stroke;Width\n" + "".join(
            f"{i};{int(v)}{sign}{round(v * 1000) % 1000:03d}.0\n" for i, v in enumerate(TRUTH, 1)
        )
        found[f"thousands {sign!r}"] = Ugly(
            "f.csv", text.encode(), RUN + f'\nthousands = "{mark}"\nunit = "µm"'
        )
    plain = written()
    found["gz"] = Ugly("f.csv.gz", gzip.compress(plain.encode()))
    found["gz of utf-16"] = Ugly("f.csv.gz", gzip.compress(plain.encode("utf-16")))
    found["zip"] = Ugly("f.zip", packed("inner.csv", plain))
    found["zip of tsv in a folder"] = Ugly("f.zip", packed("a/b/inner.tsv", written("\t")))
    found["tsv"] = Ugly("f.tsv", written("\t").encode())
    strokes = list(range(1, 7))
    found["parquet"] = Ugly("f.parquet", parquet(Stroke=strokes, Width=TRUTH))
    found["parquet of text"] = Ugly(
        "f.parquet", parquet(Stroke=[str(s) for s in strokes], Width=[str(v) for v in TRUTH])
    )
    rows: list[list[object]] = [["Stroke", "Width"], *map(list, zip(strokes, TRUTH, strict=True))]
    found["xlsx"] = Ugly("f.xlsx", workbook(rows))
    found["xlsx, header lower down"] = Ugly("f.xlsx", workbook([["Machine"], [], *rows]))
    found["xlsx sheet by name"] = Ugly(
        "f.xlsx", workbook(rows, ("Cover", "Readings")), RUN + '\nsheet = "Readings"'
    )
    found["xlsx range"] = Ugly(
        "f.xlsx",
        workbook([*rows, [], ["Stroke", "remark"], [99, "x"]], top=3),
        RUN + '\ncells = "A3:B9"',
    )
    found["xlsx with totals"] = Ugly(
        "f.xlsx", workbook([*rows, ["Total", 16.806]]), RUN, ((total, 1),)
    )
    long = "Stroke,Feature,Actual\n" + "".join(
        f"{i},width,{v}\n{i},gap,0.6\n" for i, v in enumerate(TRUTH, 1)
    )
    found["long"] = Ugly(
        "f.csv",
        long.encode(),
        'role = "run"\norder = "Stroke"\nlong = { characteristic = "Feature", value = "Actual" }',
    )
    found["long, other features too"] = Ugly(
        "f.csv",
        (long + "7,colour,1\n").encode(),
        'role = "run"\norder = "Stroke"\nlong = { characteristic = "Feature", value = "Actual" }',
        (("characteristic not in study.toml", 1),),
    )
    shuffled = plain.split("\n")
    shuffled[1:7] = [shuffled[i] for i in (4, 1, 6, 3, 2, 5)]
    found["rows out of order"] = Ugly("f.csv", "\n".join(shuffled).encode())
    found["repeated rows"] = Ugly(
        "f.csv",
        (plain + "5,2.798,ok\n6,2.805,ok\n").encode(),
        RUN,
        (("repeated row: same order number, same content", 2),),
    )
    found["order number used again"] = Ugly(
        "f.csv",
        (plain + "6,2.777,ok\n").encode(),
        RUN,
        (("order number used again with other content", 1),),
    )
    found["sentinels"] = Ugly(
        "f.csv",
        (plain + "7,9999,\n8,NA,\n9,,\n").encode(),
        RUN + '\nmissing = ["", "NA", "9999"]',
        (("no usable value in the row", 3),),
    )
    found["sentinel written longer"] = Ugly(
        "f.csv",
        (plain + "7,9999.000,\n").encode(),
        RUN + '\nmissing = ["9999"]',
        (("no usable value in the row", 1),),
    )
    return found


CORPUS = corpus()


def test_the_corpus_is_as_large_as_promised() -> None:
    assert len(CORPUS) >= 60


@pytest.mark.parametrize("name", CORPUS)
def test_truth_comes_back(name: str, make_study: Callable) -> None:
    ugly = CORPUS[name]
    records = read(make_study(ugly.name, ugly.content, ugly.data))
    table = records.table("run", "width")
    assert table["order"].tolist() == [1, 2, 3, 4, 5, 6]
    assert table["value"].tolist() == pytest.approx(TRUTH, abs=1e-12)
    account = records.sources[0].account
    assert account.set_aside == dict(ugly.set_aside)
    assert account.rows_read == account.rows_used + sum(account.set_aside.values())


@pytest.mark.parametrize("name", CORPUS)
def test_a_proposal_is_toml_and_shows_evidence(name: str, make_study: Callable) -> None:
    import tomllib

    from linestudy.records import infer_data_table

    ugly = CORPUS[name]
    study = make_study(ugly.name, ugly.content, ugly.data)
    text = infer_data_table(study.folder / ugly.name)
    block = tomllib.loads(text)["data"][0]
    assert block["file"] == f"data/{ugly.name}"
    assert block["role"] == "run"
    assert any(name in str(block) for name in ("Width", "Actual"))
