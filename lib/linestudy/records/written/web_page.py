"""Tables of a page: what a browser saves, and what many a program writes and calls a workbook or csv.

The rows of all its tables become lines of text with tabs between, one table below the other, so that everything that reads a
text reads a page too. A cell over several columns leaves blanks beside it; one over several rows is repeated in each of them,
unless it is a number with decimals: a reading is never taken twice. Where a cell tells its number beside what it shows, the number counts.
"""

from __future__ import annotations

import re
from html.parser import HTMLParser

from linestudy.records.written.encodings import encoding_of

_PAGE = re.compile(
    rb"\s*(?:\xef\xbb\xbf)?\s*(?:<\?xml[^>]{0,200}\?>\s*)?(?:<!--.{0,2000}?-->\s*)?<(?:!doctype\s+html|html|head|body|table)\b",
    re.IGNORECASE | re.DOTALL,
)
_CHARSET = re.compile(rb"charset\s*=\s*[\"']?([\w-]{3,20})", re.IGNORECASE)
#: Namespace of workbooks in XML.
SHEET_XML = "urn:schemas-microsoft-com:office:spreadsheet"
#: More columns or rows than a cell of any table spans.
_WIDEST = 1_000
_BREAKS = frozenset(["br", "p", "div"])


def is_web_page(raw: bytes) -> bool:
    """Check whether bytes are a web page.

    Parameters
    ----------
    raw : bytes

    Returns
    -------
    bool

    Examples
    --------
    >>> is_web_page(b"<html><body>"), is_web_page(b"Stroke;Width")
    (True, False)
    """
    return _PAGE.match(raw[:4_000]) is not None


def is_sheet_xml(raw: bytes) -> bool:
    """Check whether bytes are a workbook in XML.

    Parameters
    ----------
    raw : bytes

    Returns
    -------
    bool
    """
    head = raw[:4_000]
    if head[:2] in (b"\xff\xfe", b"\xfe\xff"):
        head = head.replace(b"\x00", b"")
    return SHEET_XML.encode() in head and re.search(rb"<(?:\w+:)?Workbook\b", head) is not None


def text_of_page(raw: bytes) -> str:
    """Give the tables of a page as lines with tabs between their cells.

    Parameters
    ----------
    raw : bytes

    Returns
    -------
    str
        Empty where it has no table with a cell.

    Examples
    --------
    >>> text_of_page(b"<table><tr><th>No<th>Width</tr><tr><td>1<td>2.80</table>")
    'No\\tWidth\\n1\\t2.80\\n'
    """
    named = _CHARSET.search(raw[:4_000])
    encoding = named[1].decode() if named and raw[:2] not in (b"\xff\xfe", b"\xfe\xff") else ""
    try:
        text = raw.decode(encoding or encoding_of(raw))
    except (LookupError, UnicodeDecodeError):
        text = raw.decode(encoding_of(raw), errors="replace")
    page = _Tables()
    page.feed(text)
    page.close()
    return "".join("\t".join(row) + "\n" for table in page.tables for row in _laid_out(table))


class _Tables(HTMLParser):
    """The rows of the innermost tables: a table that only lays out others has no cell of its own."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.tables: list[list[list[tuple[str, int, int]]]] = []
        self._open: list[list[list[tuple[str, int, int]]]] = []
        self._cell: list[str] | None = None
        self._spans: tuple[int, int] = (1, 1)
        self._number: str | None = None
        self._hidden = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Begin a table, a row or a cell."""
        said = {name: value or "" for name, value in attrs}
        if tag == "table":
            self._cell = None
            self._open.append([])
        elif tag in ("script", "style"):
            self._hidden += 1
        elif self._open and tag == "tr":
            self._end_cell()
            self._open[-1].append([])
        elif self._open and tag in ("td", "th"):
            self._end_cell()
            self._cell = []
            self._spans = (_span(said.get("colspan")), _span(said.get("rowspan")))
            self._number = said.get("x:num")
        elif tag in _BREAKS and self._cell is not None:
            self._cell.append(" ")

    def handle_endtag(self, tag: str) -> None:
        """End a table, a row or a cell."""
        if tag in ("script", "style"):
            self._hidden = max(0, self._hidden - 1)
        elif tag in ("td", "th", "tr"):
            self._end_cell()
        elif tag == "table" and self._open:
            self._end_cell()
            rows = [row for row in self._open.pop() if row]
            if rows:
                self.tables.append(rows)

    def handle_data(self, data: str) -> None:
        """Take what a cell says."""
        if self._cell is not None and not self._hidden:
            self._cell.append(data)

    def close(self) -> None:
        """End what the page left open."""
        super().close()
        while self._open:
            self.handle_endtag("table")

    def _end_cell(self) -> None:
        if self._cell is None or not self._open:
            return
        text = self._number or " ".join("".join(self._cell).split())
        if self._number == "" and re.fullmatch(r"[-+]?\d*,\d+", text):
            # What is shown is the number, with the comma of its country; beside it numbers are given with a point.
            text = text.replace(",", ".")
        if not self._open[-1]:
            self._open[-1].append([])
        self._open[-1][-1].append((text, *self._spans))
        self._cell = None


def _span(said: str | None) -> int:
    return min(max(int(said), 1), _WIDEST) if said and said.isdecimal() else 1


def _laid_out(table: list[list[tuple[str, int, int]]]) -> list[list[str]]:
    """Repeat each cell in every column and row that it spans."""
    rows: list[list[str]] = []
    over: dict[int, tuple[str, int]] = {}
    for cells in table:
        row: list[str] = []

        def above(row: list[str] = row) -> None:
            while len(row) in over:
                text, left = over.pop(len(row))
                if left > 1:
                    over[len(row)] = (text, left - 1)
                row.append(text)

        for text, wide, deep in cells:
            above()
            if deep > 1:
                repeated = "" if re.fullmatch(r"[-+]?\d*[.,]\d+\D{0,6}", text) else text
                for at in range(wide):
                    over[len(row) + at] = (repeated if at == 0 else "", deep - 1)
            row += [text, *[""] * (wide - 1)]
        above()
        rows.append(row)
    return rows
