"""The tools every sheet of the workbook is written with.

Text from files is written as text, whatever it begins with; each live formula is beside the
reported number and their difference.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterable, Mapping
from pathlib import Path
from types import TracebackType
from typing import Any

from linestudy.dossier.forms.live_formulas import Line
from linestudy.dossier.forms.printable_text import printable
from linestudy.dossier.forms.region import Region
from linestudy.results.finding import cell_text

_OPTIONS = {
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
    "nan_inf_to_errors": False,
}


#: Empty columns between two regions, and how large they are printed.
_BETWEEN, _SCALE = 1, 60


class Book:
    """A workbook being written: its formats, the names already taken, its sheets.

    Parameters
    ----------
    out : pathlib.Path
    title : str
    """

    def __init__(self, out: Path, title: str) -> None:
        import xlsxwriter

        self._book: Any = xlsxwriter.Workbook(str(out), _OPTIONS)
        # A fixed date: the same content gives the same bytes.
        created = datetime.datetime(2000, 1, 1)
        self._book.set_properties({"title": printable(title, 200), "created": created})
        self.bold = self._book.add_format(
            {"bold": True, "text_wrap": True, "valign": "top", "bottom": 1}
        )
        self.title = self._book.add_format({"bold": True, "font_size": 14})
        self.wrap = self._book.add_format({"text_wrap": True, "valign": "top"})
        self._link = self._book.add_format({"font_color": "#3b2f63", "underline": 1})
        self._formats: dict[str, Any] = {}
        self._taken: set[str] = set()
        #: Sheets of many studies, and the regions on them.
        self._topics: dict[str, tuple[Any, list[Region]]] = {}
        #: What the index lists: name, its sheet, what it holds, its first cell.
        self._named: list[tuple[str, str, str, str]] = []
        self._foot = printable(title, 80).replace("&", "&&")

    def __enter__(self) -> Book:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._set_up_for_print()
        self._book.close()

    def number_format(self, code: str) -> Any:
        """Return a cell format by its code, made once."""
        if code not in self._formats:
            self._formats[code] = self._book.add_format({"num_format": code, "valign": "top"})
        return self._formats[code]

    def index(self, sheet: Any, top: int) -> None:
        """Write the list of all that the workbook holds, each a link, with its sheet."""
        for column, title in enumerate(("contents", "sheet", "what it holds")):
            sheet.write_string(top, column, title, self.bold)
        for row, (name, there, what, first) in enumerate(self._named, start=top + 1):
            sheet.write_url(row, 0, f"internal:'{there}'!{first}", self._link, printable(name))
            sheet.write_string(row, 1, there)
            sheet.write_string(row, 2, printable(what))

    def listed(self, sheet: Any, what: str) -> None:
        """Put a sheet of its own into the index."""
        name = sheet.get_name()
        self._named.append((name, name, what, "A1"))

    def bars(self, sheet: Any, place: str, series: Iterable[Mapping[str, Any]], axis: str) -> None:
        """Draw a chart of bars beside a table, in the tones of the document."""
        chart = self._book.add_chart({"type": "bar"})
        for one in series:
            chart.add_series(dict(one))
        chart.set_y_axis({"reverse": True, "num_font": {"size": 9}})
        chart.set_x_axis(
            {"name": axis, "min": 0, "num_format": "0.00", "major_gridlines": {"visible": True}}
        )
        chart.set_legend({"position": "bottom"})
        chart.set_size({"width": 620, "height": 300})
        sheet.insert_chart(place, chart)

    def sheet(self, name: str) -> Any:
        """Add a sheet under a free name that the format allows, set up for printing."""
        kept = "".join(" " if c in "[]:*?/\\'" else c for c in printable(name)).strip() or "sheet"
        base = kept[:27]
        number, unique = 1, base
        while unique.lower() in self._taken or unique.lower() == "history":
            number += 1
            unique = f"{base} {number}"
        self._taken.add(unique.lower())
        sheet = self._book.add_worksheet(unique)
        sheet.set_landscape()
        sheet.set_paper(9)
        sheet.fit_to_pages(1, 0)
        sheet.repeat_rows(0)
        sheet.freeze_panes(1, 0)
        sheet.set_margins(left=0.5, right=0.5, top=0.6, bottom=0.6)
        sheet.set_header("&L&A&R&P of &N")
        sheet.set_footer(f"&L{self._foot}")
        return sheet

    def frame(self, sheet: Any, top: int, frame: Any) -> None:
        """Write a finding's table as text, its heads in bold."""
        for column, name in enumerate(frame.columns):
            sheet.write_string(top, column, str(name), self.bold)
        for row, values in enumerate(frame.itertuples(index=False), start=top + 1):
            for column, value in enumerate(values):
                sheet.write_string(row, column, printable(cell_text(value)), self.wrap)

    def columns(
        self, name: str, columns: Mapping[str, Iterable[Any]], topic: str = "", what: str = ""
    ) -> Region:
        """Write columns of numbers beside those of the same topic; data begin in row 2."""
        region = self._region(topic or name, name, what)
        region.set_column(0, len(columns) - 1, 16)
        for at, (title, values) in enumerate(columns.items()):
            region.write_string(0, at, printable(title), self.bold)
            for row, value in enumerate(values, start=1):
                # A difference of two readings has no more digits than they had.
                _number(region, row, at, float(f"{value:.12g}"))
        return region

    def _region(self, topic: str, name: str, what: str) -> Region:
        """Reserve the next free columns of a topic's sheet, under the name of what they hold."""
        if topic not in self._topics:
            sheet = self.sheet(topic)
            sheet.freeze_panes(2, 0)
            sheet.repeat_rows(0, 1)
            self._topics[topic] = (sheet, [])
        sheet, regions = self._topics[topic]
        left = regions[-1].left + regions[-1].columns + _BETWEEN if regions else 0
        region = Region(sheet, left)
        regions.append(region)
        sheet.write_string(0, left, printable(name), self.title)
        self._named.append((name, sheet.get_name(), what or name, cell(0, left)))
        return region

    def _set_up_for_print(self) -> None:
        """Set each region on a page of its own, as far down as its results reach."""
        for sheet, regions in self._topics.values():
            last = regions[-1].left + regions[-1].columns - 1
            sheet.fit_to_pages(0, 0)
            sheet.set_print_scale(_SCALE)
            sheet.print_area(0, 0, max(region.printed for region in regions) or 40, last)
            if len(regions) > 1:
                sheet.set_v_pagebreaks([region.left for region in regions[1:]])

    def formulas(
        self, sheet: Any, column: int, title: str, formula: str, values: Iterable[float]
    ) -> None:
        """Write one formula into each row of the data; ``{0}`` in it is the row's number."""
        sheet.write_string(0, column, title, self.bold)
        sheet.set_column(column, column, 16)
        for row, value in enumerate(values, start=1):
            sheet.write_formula(row, column, f"={formula.format(row + 1)}", None, float(value))

    def checks(self, sheet: Any, top: int, left: int, lines: Iterable[Line]) -> int:
        """Write lines of name, live formula, reported number and difference; return the row after the last."""
        for column, name in enumerate(("quantity", "recalculated", "reported", "difference")):
            sheet.write_string(top, left + column, name, self.bold)
        sheet.set_column(left, left, 30)
        sheet.set_column(left + 1, left + 3, 20)
        row = top + 1
        for name, formula, value in lines:
            sheet.write_string(row, left, printable(name))
            finite = math.isfinite(value)
            shown = self.number_format(format_of(name, value))
            sheet.write_formula(row, left + 1, formula, shown, value if finite else "")
            _number(sheet, row, left + 2, value, shown)
            live, kit = cell(row, left + 1), cell(row, left + 2)
            small = self.number_format("0.000000000000")
            sheet.write_formula(row, left + 3, f"={live}-{kit}", small, 0)
            row += 1
        sheet.print_down_to(max(row - 1, top))
        return row


def format_of(name: str, value: float) -> str:
    """Choose a quantity's number format: counts, shares, indices, everything else by its size.

    Parameters
    ----------
    name : str
    value : float

    Returns
    -------
    str

    Examples
    --------
    >>> format_of("n", 31069.0), format_of("%GRR (% tolerance)", 0.066), format_of("Ppk", 1.4523)
    ('#,##0', '0.0%', '0.00')
    """
    if name.startswith("%") or "share" in name:
        return "0.0%"
    if name.split(" ")[0] in ("Pp", "Ppk", "Cp", "Cpk", "Pm", "Pmk", "Cg", "Cgk", "ndc"):
        return "0.00"
    if value == int(value) if math.isfinite(value) else False:
        return "#,##0"
    places = max(0, 4 - math.ceil(math.log10(abs(value)))) if math.isfinite(value) and value else 4
    return "0" if not places else "0." + "0" * min(places, 9)


def _number(sheet: Any, row: int, column: int, value: float, shown: Any = None) -> None:
    """Write a number, or "not determined" for one that is not finite, which a workbook does not know."""
    if math.isfinite(value):
        sheet.write_number(row, column, value, shown)
    else:
        sheet.write_string(row, column, "not determined")


def cell(row: int, column: int) -> str:
    """Return the name of a cell; row and column are counted from 0.

    Examples
    --------
    >>> cell(1, 2)
    'C2'
    """
    from xlsxwriter.utility import xl_rowcol_to_cell

    return str(xl_rowcol_to_cell(row, column))
