"""Decimal and thousands marks of study.toml are for text: what a format holds as a number keeps its value.

A plant whose csv has decimal commas says so for its other files too; 2.801 must never become 2801.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Any

import openpyxl
import pandas as pd
import pytest

from linestudy.records import read

NUMBERS = [2.801, 1250.5, 2.0, 1e-05, 123456.789]
#: What study.toml may say of marks.
MARKS = {
    "points": "",
    "commas": 'decimal = ","\n',
    "commas and points": 'decimal = ","\nthousands = "."\n',
    "points and commas": 'thousands = ","\n',
    # Right for counts written 1.250; a decimal mark is then the same sign.
    "points of thousands alone": 'thousands = "."\n',
}
#: The same five as a text with these marks would have them; None where it cannot.
TEXTS = {
    "points": ["2.801", "1250.5", "2.0", "0.00001", "123456.789"],
    "commas": ["2,801", "1250,5", "2,0", "0,00001", "123456,789"],
    "commas and points": ["2,801", "1.250,5", "2,0", "0,00001", "123.456,789"],
    "points and commas": ["2.801", "1,250.5", "2.0", "0.00001", "123,456.789"],
    "points of thousands alone": None,
}


def workbook(table: pd.DataFrame) -> bytes:
    book, stream = openpyxl.Workbook(), io.BytesIO()
    for row in [list(table), *table.astype(object).to_numpy().tolist()]:
        book.active.append(row)
    book.save(stream)
    return stream.getvalue()


def parquet(table: pd.DataFrame) -> bytes:
    stream = io.BytesIO()
    table.to_parquet(stream, index=False)
    return stream.getvalue()


def document(table: pd.DataFrame) -> bytes:
    measured = "".join(
        f"<MeasurementResults><SerialNumber>{part}</SerialNumber><CharacteristicMeasurements><M>"
        f"<Value>{value}</Value></M></CharacteristicMeasurements></MeasurementResults>"
        for part, value in table[["S", "W"]].itertuples(index=False)
    )
    return f"<QIFDocument>{measured}</QIFDocument>".encode()


FORMATS: dict[str, Callable[[pd.DataFrame], bytes]] = {
    "f.xlsx": workbook,
    "f.parquet": parquet,
    "f.qif": document,
}
RUN = 'role = "run"\norder = "S"\ncolumns = { width = "W", gap = "G" }\n'
#: Numbers that are read as text first, whatever holds them.
CROSSED = 'role = "crossed"\npart = "S"\nappraiser = "P"\ncolumns = { width = "W", gap = "G" }\n'
RESULTS = 'role = "run"\norder = "part"\ncolumns = { width = "actual" }\n'


@pytest.mark.parametrize("marks", MARKS)
@pytest.mark.parametrize("role", ["run", "crossed"])
@pytest.mark.parametrize("file", FORMATS)
def test_a_number_keeps_its_value(
    file: str, role: str, marks: str, make_study: Callable[..., Any]
) -> None:
    texts = TEXTS[marks] or ["2", "1.250", "3", "4", "123.456"]
    table = pd.DataFrame({"S": range(1, 6), "P": "anna", "W": NUMBERS, "G": texts})
    said = RESULTS if file == "f.qif" else RUN if role == "run" else CROSSED
    study = make_study(file, FORMATS[file](table), said + MARKS[marks])
    role = "run" if file == "f.qif" else role
    records = read(study)
    assert records.table(role, "width")["value"].tolist() == NUMBERS
    if file != "f.qif":
        wanted = NUMBERS if TEXTS[marks] else [2.0, 1250.0, 3.0, 4.0, 123456.0]
        assert records.table(role, "gap")["value"].tolist() == wanted


@pytest.mark.parametrize(
    ("marks", "sentinel", "cells"),
    [
        ('decimal = ","\n', "9999,0", ["9999,0", "9999", "9999,000"]),
        ('decimal = ","\n', "9999.0", ["9999,0", "9999", "9999,000"]),
        ('decimal = ","\nthousands = "."\n', "9.999,0", ["9.999,00", "9999", "9999,0"]),
        ('thousands = ","\n', "9,999", ["9,999", "9999.0", "9,999.00"]),
        ("", "-9.99", ["-9.99", "-9.990", "-999e-2"]),
    ],
)
def test_a_sentinel_is_one_however_it_is_written(
    marks: str, sentinel: str, cells: list[str], make_study: Callable[..., Any]
) -> None:
    # In the csv as text, and as a number in a workbook.
    said = RUN + marks + f'missing = ["", "{sentinel}"]\n'
    rows = "\n".join(f"{i};{cell};1" for i, cell in enumerate(cells, start=1))
    text = f"S;W;G\n{rows}\n9;2;1\n"
    number = -9.99 if sentinel == "-9.99" else 9999.0
    book = workbook(pd.DataFrame({"S": [1, 9], "W": [number, 2.0], "G": [1, 1]}))
    for name, content in (("f.csv", text), ("f.xlsx", book)):
        table = read(make_study(name, content, said)).table("run", "width")
        assert table["value"].tolist() == [2.0]
