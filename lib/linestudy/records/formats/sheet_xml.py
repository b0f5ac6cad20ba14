"""Workbooks written as one XML file, as spreadsheet programs of 2003 read and write them; many a line exports them still."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING, Any

from linestudy.records.formats.sheet_marks import HeldSheets, Marks, Merged
from linestudy.records.written.web_page import SHEET_XML
from linestudy.results import InputError

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

    from linestudy.study.model import Data

_SS = f"{{{SHEET_XML}}}"
_EXCEL = "{urn:schemas-microsoft-com:office:excel}"
#: More cells than any hand filled, however far an index leaps.
_MOST_ROWS, _MOST_COLUMNS = 1_048_576, 16_384


class SheetXml(HeldSheets):
    """A workbook in XML.

    Parameters
    ----------
    raw : bytes
        The file.
    data : linestudy.study.model.Data
        Names it.

    Raises
    ------
    InputError
        It holds no sheet.
    """

    def __init__(self, raw: bytes, data: Data) -> None:
        from defusedxml.ElementTree import fromstring

        root = fromstring(raw)
        self._file = data.file
        self._sheets = {
            sheet.get(f"{_SS}Name", ""): self._read(sheet)
            for sheet in root.findall(f"{_SS}Worksheet")
        }
        self.names: list[str] = list(self._sheets)
        if not self.names:
            raise InputError(
                data.file, "is a workbook without sheets", "give the file of its numbers"
            )

    def _read(self, sheet: Element) -> tuple[dict[int, list[Any]], Marks]:
        found: dict[int, list[Any]] = {}
        merged: list[Merged] = []
        hidden: list[int] = []
        at = -1
        for row in sheet.iterfind(f"{_SS}Table/{_SS}Row"):
            at = self._place(row, at + 2, _MOST_ROWS) - 1
            hidden += [at] if row.get(f"{_SS}Hidden") == "1" else []
            cells: list[Any] = []
            for cell in row.iterfind(f"{_SS}Cell"):
                column = self._place(cell, len(cells) + 1, _MOST_COLUMNS) - 1
                cells += [None] * (column - len(cells))
                cells.append(_value(cell.find(f"{_SS}Data")))
                beside, below = (
                    _whole(cell.get(f"{_SS}{name}")) for name in ("MergeAcross", "MergeDown")
                )
                cells += [None] * min(beside, _MOST_COLUMNS)
                if below:
                    merged.append(((at, column), (at + below, column + beside)))
            found[at] = cells
        out_of_sight = any(
            True for _ in sheet.iterfind(f"{_EXCEL}WorksheetOptions/{_EXCEL}Visible")
        )
        return found, Marks(tuple(merged), frozenset(hidden), hidden=out_of_sight)

    def _place(self, element: Element, usual: int, most: int) -> int:
        """Return the place of a row or cell, from 1: its own index, else the next one."""
        said = element.get(f"{_SS}Index")
        if said is None:
            return usual
        if not said.isdecimal() or not usual <= int(said) <= most:
            raise InputError(
                self._file, f'has a cell at the place "{said[:20]}"', "save it again as xlsx"
            )
        return int(said)


def _value(data: Element | None) -> Any:
    if data is None:
        return None
    text = "".join(data.itertext()).strip()
    kind = data.get(f"{_SS}Type")
    if kind == "DateTime":
        try:
            return datetime.datetime.fromisoformat(text)
        except ValueError:
            return text
    if kind == "Number":
        try:
            return float(text)
        except ValueError:
            return text
    return text == "1" if kind == "Boolean" else text


def _whole(said: str | None) -> int:
    return int(said) if said and said.isdecimal() else 0
