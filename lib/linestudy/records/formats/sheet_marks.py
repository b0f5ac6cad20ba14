"""What a sheet holds beside its values: merged, struck and coloured cells, hidden rows and columns, formulas without values.

Readers of values do not tell any of it, so it is taken from the XML of the sheet (of the old kind, from what xlrd keeps).
"""

from __future__ import annotations

import re
import zipfile
from dataclasses import dataclass, field, replace
from typing import IO, TYPE_CHECKING, Any, Protocol

from linestudy.results import InputError, counted

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from linestudy.study.model import Data

#: Rows and columns of two corners, counted from nought.
Merged = tuple[tuple[int, int], tuple[int, int]]
_RANGE = re.compile(r"\$?([A-Z]{1,3})\$?(\d{1,7}):\$?([A-Z]{1,3})\$?(\d{1,7})", re.IGNORECASE)
_CELL = re.compile(r"([A-Z]{1,3})(\d{1,7})")
#: A row taken down to no height is hidden too.
_ROW = re.compile(rb"<(?:\w+:)?row\b([^>]*)>")
_COLUMN = re.compile(rb"<(?:\w+:)?col\b([^>]*)>")
_MERGE = re.compile(rb'<(?:\w+:)?mergeCell [^>]*?ref="([A-Z0-9:]{1,20})"')
_FORMULA = re.compile(
    rb'<(?:\w+:)?c\b[^>]*?\br="([A-Z]{1,3}\d{1,7})"[^>]*>\s*<(?:\w+:)?f\b(?:[^>]*/>|[^>]*>[^<]*</(?:\w+:)?f>)'
    rb"\s*(?:<(?:\w+:)?v\s*/>|<(?:\w+:)?v>\s*</(?:\w+:)?v>)?\s*</(?:\w+:)?c>"
)
#: Formulas that a program wrote without working them out, with a nought where their value belongs.
_NOUGHT = re.compile(
    rb'<(?:\w+:)?c\b[^>]*?\br="([A-Z]{1,3}\d{1,7})"[^>]*>\s*<(?:\w+:)?f\b[^>]*>[^<]*</(?:\w+:)?f>'
    rb"\s*<(?:\w+:)?v>0</(?:\w+:)?v>\s*</(?:\w+:)?c>"
)
_ANY_FORMULA = re.compile(rb"<(?:\w+:)?f\b")
#: By which a workbook says that its formulas are still to be worked out; one that was opened and saved does not.
_TO_BE_WORKED_OUT = re.compile(rb'<(?:\w+:)?calcPr\b[^>]*\bfullCalcOnLoad="(?:1|true)"')
#: Most columns that one mark of a hidden column may span.
_WIDEST = 16_384


@dataclass(frozen=True)
class Marks:
    """Marks of a sheet, counted from nought.

    Attributes
    ----------
    merged : tuple
        Merged ranges.
    rows, columns : frozenset of int
        Hidden ones.
    unsaved : tuple of (int, int)
        Cells, by row and column, with a formula and no value.
    hidden : bool
        Whether the sheet itself is.
    struck, coloured, percent : tuple of (int, int)
        Cells, by row and column, that are struck through, that have a background, and that are shown in per cent.
    """

    merged: tuple[Merged, ...] = ()
    rows: frozenset[int] = frozenset()
    columns: frozenset[int] = frozenset()
    unsaved: tuple[tuple[int, int], ...] = ()
    hidden: bool = False
    struck: tuple[tuple[int, int], ...] = ()
    coloured: tuple[tuple[int, int], ...] = ()
    percent: tuple[tuple[int, int], ...] = ()


class HeldSheets:
    """A workbook whose sheets were read as a whole: rows that hold something, by their number, and marks."""

    _sheets: dict[str, tuple[dict[int, list[Any]], Marks]]

    def rows(self, name: str) -> Iterator[Sequence[Any]]:
        """Yield the rows of a sheet, each as long as its cells go."""
        rows, _ = self._sheets[name]
        for at in range(max(rows, default=-1) + 1):
            yield rows.get(at, [])

    def marks(self, name: str) -> Marks:
        """Return the marks of a sheet: what is merged and hidden."""
        return self._sheets[name][1]


@dataclass(frozen=True)
class SheetNotes:
    """What a reader of a sheet's values does not see.

    Attributes
    ----------
    rows : frozenset of int
        Rows of the sheet that are hidden.
    columns : tuple of str
        Names of hidden columns.
    sheet : str
        Its name, where the sheet itself is hidden.
    unsaved : dict of str to int
        Column → formulas in it whose values were never saved.
    struck, coloured, percent : dict of str to tuple of int
        Column → rows of the sheet in which its cell is struck through, has a background, or is shown in per cent.
    """

    rows: frozenset[int] = frozenset()
    columns: tuple[str, ...] = ()
    sheet: str = ""
    unsaved: dict[str, int] = field(default_factory=dict)
    struck: dict[str, tuple[int, ...]] = field(default_factory=dict)
    coloured: dict[str, tuple[int, ...]] = field(default_factory=dict)
    percent: dict[str, tuple[int, ...]] = field(default_factory=dict)

    def note_on_percent(self) -> str:
        """Say which columns are shown in per cent, and how they are read; empty where none is."""
        if not self.percent:
            return ""
        listed = ", ".join(f'"{name}"' for name in self.percent)
        return f"{listed}: shown in per cent in the workbook, which keeps 12 % as 0.12, and read as shown"

    def note_on_formulas(self) -> str:
        """Say which columns hold formulas without values, and what to do; empty where none does."""
        if not self.unsaved:
            return ""
        listed = ", ".join(
            f'"{name}" ({counted(n, "formula")})' for name, n in self.unsaved.items()
        )
        return f"{listed} without saved values; open and save the workbook in a spreadsheet program, and give that file"


class _Sheet(Protocol):
    @property
    def name(self) -> str: ...
    @property
    def first(self) -> int: ...
    @property
    def rows(self) -> list[list[str]]: ...
    @property
    def marks(self) -> Marks: ...


def notes_of(sheet: _Sheet, begin: int, body: range, names: list[str]) -> SheetNotes:
    """Note what a table of a sheet has beside its values, such as hidden rows and marks.

    Parameters
    ----------
    sheet : SheetRows
    begin : int
        First row of the block, counted within the sheet.
    body : range
        Rows of the table below its names, counted within the block.
    names : list of str
        Of its columns.

    Returns
    -------
    SheetNotes
    """
    marks = sheet.marks
    unsaved: dict[str, int] = {}
    for row, at in marks.unsaved:
        if row - begin in body and at < len(names):
            unsaved[names[at]] = unsaved.get(names[at], 0) + 1

    def filled(cells: tuple[tuple[int, int], ...]) -> dict[str, tuple[int, ...]]:
        found: dict[str, list[int]] = {}
        for row, at in cells:
            inside = row - begin in body and at < min(len(names), len(sheet.rows[row]))
            if inside and sheet.rows[row][at]:
                found.setdefault(names[at], []).append(sheet.first + row)
        return {name: tuple(rows) for name, rows in found.items()}

    return SheetNotes(
        frozenset(sheet.first + row for row in marks.rows if row - begin in body),
        tuple(names[at] for at in sorted(marks.columns) if at < len(names)),
        sheet.name if marks.hidden else "",
        unsaved,
        filled(marks.struck),
        filled(marks.coloured),
        filled(marks.percent),
    )


def marks_of_xml(stream: IO[bytes], name: str) -> Marks:
    """Read the marks of a sheet of an xlsx file.

    Parameters
    ----------
    stream : file object
        The workbook.
    name : str
        Of the sheet.

    Returns
    -------
    Marks
    """
    from defusedxml.ElementTree import fromstring

    with zipfile.ZipFile(stream) as bundle:
        parts = bundle.read("xl/workbook.xml")
        book = fromstring(parts)
        links = fromstring(bundle.read("xl/_rels/workbook.xml.rels"))
        targets = {link.get("Id"): str(link.get("Target")) for link in links}
        for sheet in book.iter():
            if not str(sheet.tag).endswith("}sheet") or sheet.get("name") != name:
                continue
            key = next((v for k, v in sheet.attrib.items() if k.endswith("}id")), None)
            target = targets.get(key, "").lstrip("/")
            content = bundle.read(target if target.startswith("xl/") else f"xl/{target}")
            hidden = sheet.get("state", "visible") != "visible"
            found = _of_content(content, hidden, _TO_BE_WORKED_OUT.search(parts) is not None)
            styles = "xl/styles.xml"
            struck, coloured, percent = _odd_styles(
                bundle.read(styles) if styles in bundle.namelist() else b""
            )
            return replace(
                found,
                struck=_cells_of(content, struck),
                coloured=_cells_of(content, coloured),
                percent=_cells_of(content, percent),
            )
    return Marks()


def _odd_styles(styles: bytes) -> tuple[frozenset[int], frozenset[int], frozenset[int]]:
    """Find the cell styles that are struck through, those with a background of one colour, and those in per cent."""
    from defusedxml.ElementTree import fromstring

    if not styles or len(styles) > _MOST_STYLES:
        return frozenset(), frozenset(), frozenset()
    parts = {str(part.tag).rpartition("}")[2]: part for part in fromstring(styles)}
    fonts = [
        any(
            str(each.tag).endswith("}strike") and each.get("val", "1") not in ("0", "false")
            for each in font
        )
        for font in parts.get("fonts", ())
    ]
    fills = [
        any(
            str(each.tag).endswith("}patternFill") and each.get("patternType") == "solid"
            for each in fill
        )
        for fill in parts.get("fills", ())
    ]
    # 9 and 10 are the formats 0% and 0.00% of every workbook.
    in_percent = {"9", "10"} | {
        str(each.get("numFmtId"))
        for each in parts.get("numFmts", ())
        if "%" in re.sub(r'"[^"]*"', "", each.get("formatCode", ""))
    }
    struck: set[int] = set()
    coloured: set[int] = set()
    percent: set[int] = set()
    for at, style in enumerate(parts.get("cellXfs", ())):
        if style.get("numFmtId") in in_percent:
            percent.add(at)
        for key, which, into in (("fontId", fonts, struck), ("fillId", fills, coloured)):
            number = style.get(key, "")
            if number.isdigit() and int(number) < len(which) and which[int(number)]:
                into.add(at)
    return frozenset(struck), frozenset(coloured), frozenset(percent)


#: More of styles than any hand made.
_MOST_STYLES = 4_000_000


def _cells_of(content: bytes, styles: frozenset[int]) -> tuple[tuple[int, int], ...]:
    if not styles:
        return ()
    wanted = b"|".join(str(style).encode() for style in sorted(styles))
    cells = re.findall(
        rb'<(?:\w+:)?c\b(?=[^>]*\bs="(?:%s)")[^>]*?\br="([A-Z]{1,3}\d{1,7})"' % wanted, content
    )
    return tuple(_place(ref.decode()) for ref in cells)


def _of_content(content: bytes, hidden: bool, to_be_worked_out: bool) -> Marks:
    unsaved = _FORMULA.findall(content)
    if to_be_worked_out:
        noughts = _NOUGHT.findall(content)
        every = len(_ANY_FORMULA.findall(content))
        unsaved += noughts if noughts and len(noughts) + len(unsaved) == every else []
    merged = (corners(ref.decode()) for ref in _MERGE.findall(content))
    return Marks(
        tuple(each for each in merged if each is not None),
        frozenset(_hidden_rows(content)),
        frozenset(_hidden_columns(content)),
        tuple(_place(ref.decode()) for ref in unsaved),
        hidden,
    )


def _hidden_rows(content: bytes) -> Iterator[int]:
    if b"hidden=" not in content and b'ht="0"' not in content:
        return
    for attributes in _ROW.findall(content):
        if _is_hidden(attributes) or re.search(rb'\bht="0(?:\.0*)?"', attributes):
            number = re.search(rb'\br="(\d{1,7})"', attributes)
            if number:
                yield int(number[1]) - 1


def _hidden_columns(content: bytes) -> Iterator[int]:
    for attributes in _COLUMN.findall(content):
        if _is_hidden(attributes) or re.search(rb'\bwidth="0(?:\.0*)?"', attributes):
            ends = [re.search(rb'\b%s="(\d{1,5})"' % key, attributes) for key in (b"min", b"max")]
            if ends[0] and ends[1]:
                yield from range(int(ends[0][1]) - 1, min(int(ends[1][1]), _WIDEST))


def _is_hidden(attributes: bytes) -> bool:
    return re.search(rb'\bhidden="(?:1|true)"', attributes) is not None


def marks_of_xls(book: Any, name: str) -> Marks:
    """Read the marks of a sheet that xlrd has opened with its formats.

    Parameters
    ----------
    book : xlrd.Book
    name : str

    Returns
    -------
    Marks
        Without formulas: the old kind always saved their values.
    """
    sheet = book.sheet_by_name(name)
    merged = [
        ((top, left), (bottom - 1, right - 1)) for top, bottom, left, right in sheet.merged_cells
    ]
    rows = {at for at, info in sheet.rowinfo_map.items() if info.hidden or info.height == 0}
    columns = {at for at, info in sheet.colinfo_map.items() if info.hidden or info.width == 0}
    percent = tuple(
        (at, place)
        for at in range(sheet.nrows)
        for place, cell in enumerate(sheet.row(at))
        if cell.ctype == 2 and _is_percent(book, cell.xf_index)
    )
    return Marks(
        tuple(merged),
        frozenset(rows),
        frozenset(columns),
        (),
        bool(sheet.visibility),
        percent=percent,
    )


def _is_percent(book: Any, style: int | None) -> bool:
    """Check whether a cell style of an xls workbook shows numbers in per cent."""
    if style is None or not 0 <= style < len(book.xf_list):
        return False
    shown = book.format_map.get(book.xf_list[style].format_key)
    return shown is not None and "%" in re.sub(r'"[^"]*"', "", shown.format_str)


def corners(text: str) -> Merged | None:
    """Find the corners of a range, counted from nought.

    Parameters
    ----------
    text : str
        As ``B3:H400``.

    Returns
    -------
    ((int, int), (int, int)) or None
        Row and column of both; None where it is no range.

    Examples
    --------
    >>> corners("B3:H400")
    ((2, 1), (399, 7))
    """
    found = _RANGE.fullmatch(text.strip())
    if found is None:
        return None
    rows = sorted((int(found[2]) - 1, int(found[4]) - 1))
    columns = sorted((_number(found[1]) - 1, _number(found[3]) - 1))
    return (rows[0], columns[0]), (rows[1], columns[1])


def _place(text: str) -> tuple[int, int]:
    found = _CELL.fullmatch(text)
    assert found is not None
    return int(found[2]) - 1, _number(found[1]) - 1


def _number(letters: str) -> int:
    number = 0
    for letter in letters.upper():
        number = 26 * number + ord(letter) - ord("A") + 1
    return number


#: Rows and columns of the largest sheet there is.
_LAST = (1_048_575, 16_383)


def bounds(data: Data) -> tuple[int, int, int, int]:
    """Give the rows and columns to read, counted from nought: top, left, bottom, right.

    Parameters
    ----------
    data : linestudy.study.model.Data
        Its ``cells``; everything where it names none.

    Returns
    -------
    tuple of int

    Raises
    ------
    InputError
        ``cells`` is no range.
    """
    if data.cells is None:
        return 0, 0, *_LAST
    found = corners(data.cells)
    if found is None:
        raise InputError(
            data.file, f'"{data.cells[:40]}" is no range of cells', 'write cells = "B3:H400"'
        )
    return *found[0], *found[1]
