"""Put values into cells of a worksheet and leave every other byte of it as it is.

A library that reads a workbook and writes it again loses what it does not know: shapes, controls, charts. So only
the cells that are filled are replaced in the sheet's text, at the places that the parser names.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from xml.parsers import expat
from xml.sax.saxutils import escape, quoteattr

#: One tag, whatever its quoted attributes hold.
_TAG = re.compile(rb"<(?:[^<>\"']|\"[^\"]*\"|'[^']*')*>")
_SPANS = re.compile(rb"\s+spans=(?:\"[^\"]*\"|'[^']*')")
_REFERENCE = re.compile(r"\$?([A-Za-z]{1,3})\$?([1-9]\d{0,6})")


@dataclass
class _Cell:
    column: int
    start: int
    end: int = 0
    style: str = ""
    formula: bool = False


@dataclass
class _Row:
    number: int
    start: int
    inner: int = 0
    inner_end: int = 0
    end: int = 0
    cells: list[_Cell] = field(default_factory=list)


def position(reference: str) -> tuple[int, int]:
    """Return row and column of a cell such as ``"C5"``, counted from one.

    Parameters
    ----------
    reference : str

    Returns
    -------
    row, column : int

    Raises
    ------
    ValueError
        It names no cell.

    Examples
    --------
    >>> position("C5"), position("$AA$10")
    ((5, 3), (10, 27))
    """
    found = _REFERENCE.fullmatch(reference.strip())
    if found is None:
        raise ValueError(f'"{reference[:40]}" is no cell')
    column = 0
    for letter in found[1].upper():
        column = 26 * column + ord(letter) - 64
    if column > 16_384 or int(found[2]) > 1_048_576:
        raise ValueError(f'"{reference[:40]}" is no cell')
    return int(found[2]), column


def reference_of(row: int, column: int) -> str:
    """Return the name of a cell such as ``"C5"``.

    Parameters
    ----------
    row, column : int

    Returns
    -------
    str

    Examples
    --------
    >>> reference_of(10, 27)
    'AA10'
    """
    letters = ""
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(65 + rest) + letters
    return f"{letters}{row}"


class Worksheet:
    """A worksheet's text with the places of its rows and cells.

    Parameters
    ----------
    text : bytes
        The part of the workbook, in UTF-8.

    Raises
    ------
    ValueError
        It is no worksheet that can be filled.
    """

    def __init__(self, text: bytes) -> None:
        self._text = text
        self._rows: list[_Row] = []
        self._merged: list[tuple[int, int, int, int]] = []
        self._begin = self._inner = self._inner_end = self._end = -1
        self._prefix = ""
        self._read()
        if self._begin < 0:
            raise ValueError("has no cells")

    def _read(self) -> None:
        parser = expat.ParserCreate()
        parser.ordered_attributes = False
        open_: list[str] = []
        #: Where each open element without content ends; None for one with content.
        closed: list[int | None] = []

        def begin(name: str, attributes: dict[str, str]) -> None:
            at = parser.CurrentByteIndex
            after = self._after(at)
            closed.append(after if self._text[after - 2 : after] == b"/>" else None)
            prefix, _, local = name.rpartition(":")
            open_.append(local)
            if local == "sheetData":
                self._prefix = f"{prefix}:" if prefix else ""
                self._begin, self._inner = at, after
            elif local == "row" and open_[-2:-1] == ["sheetData"]:
                before = self._rows[-1].number if self._rows else 0
                self._rows.append(_Row(int(attributes.get("r", before + 1)), at, after))
            elif local == "c" and open_[-2:-1] == ["row"]:
                row = self._rows[-1]
                named = attributes.get("r")
                column = row.cells[-1].column + 1 if row.cells else 1
                column = position(named)[1] if named else column
                row.cells.append(_Cell(column, at, style=attributes.get("s", "")))
            elif local == "f" and open_[-2:-1] == ["c"]:
                self._rows[-1].cells[-1].formula = True
            elif local == "mergeCell":
                ends = attributes.get("ref", "").split(":")
                self._merged.append((*position(ends[0]), *position(ends[-1])))

        def end(name: str) -> None:
            here, local, stop = parser.CurrentByteIndex, open_.pop(), closed.pop()
            if stop is None:
                stop = self._after(here)
            if local == "sheetData":
                self._inner_end, self._end = min(here, stop), stop
            elif local == "row" and open_[-1:] == ["sheetData"]:
                self._rows[-1].inner_end, self._rows[-1].end = here, stop
            elif local == "c" and open_[-1:] == ["row"]:
                self._rows[-1].cells[-1].end = stop

        def refuse(*_: object) -> None:
            raise ValueError("declares a document type, which no workbook does")

        parser.StartElementHandler = begin
        parser.EndElementHandler = end
        parser.StartDoctypeDeclHandler = refuse
        try:
            parser.Parse(self._text, True)
        except expat.ExpatError as error:
            raise ValueError(f"cannot be read ({error})") from None

    def _after(self, at: int) -> int:
        found = _TAG.match(self._text, at)
        if found is None:
            raise ValueError("is not written in UTF-8")
        return found.end()

    def anchor(self, first: tuple[int, int], last: tuple[int, int]) -> tuple[int, int]:
        """Return the one cell that a range of merged cells stands for.

        Parameters
        ----------
        first, last : (int, int)

        Returns
        -------
        row, column : int

        Raises
        ------
        ValueError
            The range is more than one cell and not merged, or lies within merged cells.
        """
        for top, left, bottom, right in self._merged:
            if top <= first[0] <= bottom and left <= first[1] <= right:
                if first != (top, left) or last not in (first, (bottom, right)):
                    raise ValueError("lies within merged cells; name the first of them")
                return first
        if first != last:
            raise ValueError("is a range; name a single cell")
        return first

    def holds_formula(self, row: int, column: int) -> bool:
        """Check whether a cell holds a formula.

        Parameters
        ----------
        row, column : int

        Returns
        -------
        bool
        """
        return any(
            cell.formula and cell.column == column
            for one in self._rows
            if one.number == row
            for cell in one.cells
        )

    def style_of(self, row: int, column: int) -> int:
        """Return the number of a cell's style; 0, the ordinary one, where it has none.

        Parameters
        ----------
        row, column : int

        Returns
        -------
        int
        """
        for one in self._rows:
            for cell in one.cells:
                if (one.number, cell.column) == (row, column) and cell.style.isdigit():
                    return int(cell.style)
        return 0

    def filled(self, values: Mapping[tuple[int, int], str | float]) -> bytes:
        """Return the same worksheet with these values in its cells.

        Parameters
        ----------
        values : mapping of (int, int) to str or float
            By row and column.

        Returns
        -------
        bytes
        """
        by_row: dict[int, dict[int, str | float]] = {}
        for (row, column), value in sorted(values.items()):
            by_row.setdefault(row, {})[column] = value
        edits = [edit for row, cells in by_row.items() for edit in self._edits(row, cells)]
        if self._inner == self._end:
            # <sheetData/> has no inside yet.
            opened = self._text[self._begin : self._end].rstrip(b"/> \t\r\n") + b">"
            close = f"</{self._prefix}sheetData>".encode()
            inner = b"".join(new for *_, new in edits)
            return self._text[: self._begin] + opened + inner + close + self._text[self._end :]
        out, done = [], 0
        # Sorted by place alone: what goes to the same place keeps its order.
        for start, stop, new in sorted(edits, key=lambda edit: edit[:2]):
            out += [self._text[done:start], new]
            done = stop
        return b"".join([*out, self._text[done:]])

    def _edits(
        self, number: int, cells: Mapping[int, str | float]
    ) -> Iterator[tuple[int, int, bytes]]:
        row = next((one for one in self._rows if one.number == number), None)
        if row is None:
            inner = b"".join(self._cell(number, column, value) for column, value in cells.items())
            tag = f"{self._prefix}row"
            new = f'<{tag} r="{number}">'.encode() + inner + f"</{tag}>".encode()
            later = next((one for one in self._rows if one.number > number), None)
            at = later.start if later is not None else self._inner_end
            yield at, at, new
            return
        known = {cell.column: cell for cell in row.cells}
        if row.inner == row.end:
            inner = b"".join(self._cell(number, column, value) for column, value in cells.items())
            opened = self._text[row.start : row.end].rstrip(b"/> \t\r\n") + b">"
            close = f"</{self._prefix}row>".encode()
            yield row.start, row.end, _SPANS.sub(b"", opened) + inner + close
            return
        if not known.keys() >= cells.keys():
            # How far a row reaches is stated in its tag, and need not be.
            yield row.start, row.inner, _SPANS.sub(b"", self._text[row.start : row.inner])
        for column, value in cells.items():
            cell = known.get(column)
            if cell is not None:
                yield cell.start, cell.end, self._cell(number, column, value, cell.style)
                continue
            later_cell = next((one for one in row.cells if one.column > column), None)
            at = later_cell.start if later_cell is not None else row.inner_end
            yield at, at, self._cell(number, column, value)

    def _cell(self, row: int, column: int, value: str | float, style: str = "") -> bytes:
        """Write a cell that holds a number, or text that never is a formula."""
        p = self._prefix
        kept = f" s={quoteattr(style)}" if style else ""
        begin = f'<{p}c r="{reference_of(row, column)}"{kept}'
        if isinstance(value, str):
            text = f'<{p}is><{p}t xml:space="preserve">{escape(value)}</{p}t></{p}is>'
            return f'{begin} t="inlineStr">{text}</{p}c>'.encode()
        return f"{begin}><{p}v>{value!r}</{p}v></{p}c>".encode()
