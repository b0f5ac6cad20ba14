"""Sheets of an OpenDocument workbook (ISO/IEC 26300, .ods), read element by element.

A cell says what it is (number, date, time of day, truth, text) beside how it is shown, and the former counts. Cells and rows
that repeat are written once with their number; empty ones are skipped, so that a sheet filled to its last row costs nothing.
"""

from __future__ import annotations

import datetime
import re
import zipfile
from typing import TYPE_CHECKING, Any

from linestudy.records.files import guarded_workbook
from linestudy.records.formats.sheet_marks import HeldSheets, Marks, Merged
from linestudy.results import InputError

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

    from linestudy.study.model import Data

_OFFICE, _TABLE, _TEXT, _STYLE = (
    f"{{urn:oasis:names:tc:opendocument:xmlns:{name}:1.0}}"
    for name in ("office", "table", "text", "style")
)
_CELLS = (f"{_TABLE}table-cell", f"{_TABLE}covered-table-cell")
_DURATION = re.compile(r"(-?)P(?:(\d+)D)?T(?:(\d+)H)?(?:(\d+)M)?(?:(\d+(?:\.\d+)?)S)?")
#: More cells than any hand filled, however few signs a file needs to repeat one.
_MOST_CELLS = 5_000_000


class OpenDocument(HeldSheets):
    """An OpenDocument workbook.

    Parameters
    ----------
    raw : bytes
        The file.
    data : linestudy.study.model.Data
        Names it, and says how much it may unpack to.

    Raises
    ------
    InputError
        It holds no sheet, or one with more cells than are read.
    """

    def __init__(self, raw: bytes, data: Data) -> None:
        from defusedxml.ElementTree import parse

        with (
            zipfile.ZipFile(guarded_workbook(raw, data)) as bundle,
            bundle.open("content.xml") as stream,
        ):
            root = parse(stream).getroot()
        hidden = {
            style.get(f"{_STYLE}name")
            for style in root.iter(f"{_STYLE}style")
            if any(each.get(f"{_TABLE}display") == "false" for each in style)
        }
        self._file = data.file
        self._sheets: dict[str, tuple[dict[int, list[Any]], Marks]] = {}
        sheets = root.find(f"{_OFFICE}body/{_OFFICE}spreadsheet")
        if sheets is None:
            raise InputError(
                data.file, "is an OpenDocument file without sheets", "give the file of its numbers"
            )
        for sheet in sheets.findall(f"{_TABLE}table"):
            out_of_sight = sheet.get(f"{_TABLE}style-name") in hidden
            self._sheets[sheet.get(f"{_TABLE}name", "")] = self._read(sheet, out_of_sight)
        self.names: list[str] = list(self._sheets)

    def _read(self, sheet: Element, out_of_sight: bool) -> tuple[dict[int, list[Any]], Marks]:
        rows: dict[int, list[Any]] = {}
        merged: list[Merged] = []
        unsaved: list[tuple[int, int]] = []
        percent: list[tuple[int, int]] = []
        hidden: set[int] = set()
        at = total = 0
        for row in sheet.iter(f"{_TABLE}table-row"):
            times = _count(row, "number-rows-repeated")
            cells, own = self._cells(row, at)
            if cells:
                total += len(cells) * times
                if total > _MOST_CELLS:
                    raise InputError(
                        self._file,
                        f"has more than {_MOST_CELLS:,} cells in a sheet",
                        "give the sheet of the readings alone",
                    )
                rows |= dict.fromkeys(range(at, at + times), cells)
                merged += own[0]
                unsaved += own[1]
                # A row of parts is there once; one that is repeated to the end of the sheet holds nothing.
                percent += [
                    (at + k, place) for k in range(min(times, _REPEATED)) for place in own[2]
                ]
                if row.get(f"{_TABLE}visibility", "visible") != "visible":
                    hidden |= set(range(at, at + times))
            at += times
        marks = Marks(
            tuple(merged), frozenset(hidden), _hidden_columns(sheet), tuple(unsaved), out_of_sight,
            percent=tuple(percent),
        )  # fmt: skip
        return rows, marks

    def _cells(
        self, row: Element, at: int
    ) -> tuple[list[Any], tuple[list[Merged], list[tuple[int, int]], list[int]]]:
        cells: list[Any] = []
        percent: list[int] = []
        merged: list[Merged] = []
        unsaved: list[tuple[int, int]] = []
        place = 0
        for cell in row:
            if cell.tag not in _CELLS:
                continue
            times = _count(cell, "number-columns-repeated")
            value = _value(cell)
            down, right = (
                _count(cell, "number-rows-spanned"),
                _count(cell, "number-columns-spanned"),
            )
            if down > 1:
                merged.append(((at, place), (at + down - 1, place + right - 1)))
            if value is None and cell.get(f"{_TABLE}formula"):
                unsaved.append((at, place))
            if value is not None:
                if place + times > _MOST_CELLS:
                    raise InputError(
                        self._file, "repeats a cell beyond the last column", "save it again"
                    )
                cells += [None] * (place - len(cells)) + [value] * times
                if cell.get(f"{_OFFICE}value-type") == "percentage":
                    percent += range(place, place + times)
            place += times
        return cells, (merged, unsaved, percent)


def _count(element: Element, name: str) -> int:
    number = element.get(f"{_TABLE}{name}", "1")
    return max(int(number), 1) if number.isdigit() else 1


def _hidden_columns(sheet: Element) -> frozenset[int]:
    at, hidden = 0, set()
    for column in sheet.iter(f"{_TABLE}table-column"):
        times = _count(column, "number-columns-repeated")
        if column.get(f"{_TABLE}visibility", "visible") != "visible":
            hidden |= set(range(at, min(at + times, _WIDEST)))
        at += times
    return frozenset(hidden)


#: Most rows that one mark of repetition makes of a row in per cent.
_REPEATED = 10_000
#: Columns of the largest sheet there is.
_WIDEST = 16_384


def _value(cell: Element) -> Any:
    """Return a cell's value: number, date, time of day, truth value or text; None where it is empty."""
    kind = cell.get(f"{_OFFICE}value-type")
    if kind in ("float", "percentage", "currency"):
        return float(cell.get(f"{_OFFICE}value", "nan"))
    if kind == "date":
        return datetime.datetime.fromisoformat(cell.get(f"{_OFFICE}date-value", ""))
    if kind == "time":
        return _time(cell.get(f"{_OFFICE}time-value", ""))
    if kind == "boolean":
        return cell.get(f"{_OFFICE}boolean-value") == "true"
    shown = "\n".join(_text(each) for each in cell if each.tag == f"{_TEXT}p")
    return cell.get(f"{_OFFICE}string-value") or shown or None


def _time(written: str) -> Any:
    found = _DURATION.fullmatch(written)
    if found is None:
        return written or None
    days, hours, minutes = (int(each or 0) for each in found.groups()[1:4])
    whole = datetime.timedelta(
        days=days, hours=hours, minutes=minutes, seconds=float(found[5] or 0)
    )
    if found[1] or whole >= datetime.timedelta(days=1):
        return str(whole)
    return (datetime.datetime.min + whole).time()


def _text(paragraph: Element) -> str:
    """Read a paragraph's text, blanks and tabs included, remarks on the cell excluded."""
    parts = [paragraph.text or ""]
    for each in paragraph:
        if each.tag == f"{_TEXT}s":
            number = each.get(f"{_TEXT}c", "1")
            parts.append(" " * (int(number) if number.isdigit() else 1))
        elif each.tag == f"{_TEXT}tab":
            parts.append("\t")
        elif each.tag == f"{_TEXT}line-break":
            parts.append("\n")
        elif each.tag != f"{_OFFICE}annotation":
            parts.append(_text(each))
        parts.append(each.tail or "")
    return "".join(parts)
