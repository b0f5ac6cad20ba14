"""What every method returns: a finding that can show, state, warn, be drawn and be recorded."""

from __future__ import annotations

import html
import textwrap
from abc import ABC, abstractmethod
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any, ClassVar

from linestudy.results.rounding import show
from linestudy.results.tables import Rows, numeric_table, plain, text_table, typeset

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from linestudy.results.picture import Picture

#: Width of a finding printed to a console, in characters, and the most lines of its table.
_WIDTH = 88
_MOST_LINES = 12


class Finding(ABC):
    """Base of all findings.

    A finding is a frozen dataclass: its numbers are attributes, with an
    :class:`~linestudy.results.Interval` where a number has one, nothing rounded. Printed, it is a few
    lines; at the end of a notebook's cell its table, its statement, its cautions and its picture.
    """

    #: Sentences the reader must know before leaning on the numbers.
    cautions: tuple[str, ...]

    #: Name of the method for headings, in the trade's terms.
    title: ClassVar[str] = "Finding"

    #: What draws its picture, ``"module:function"`` below ``linestudy.figures``; empty where there is none.
    picture: ClassVar[str] = ""

    def __init_subclass__(cls, **options: Any) -> None:
        super().__init_subclass__(**options)
        # Kept from the dataclass, whose own would print every array a finding holds.
        cls.__repr__ = Finding.__repr__  # type: ignore[method-assign]

    def _rows(self) -> Rows:
        """Return the lines of the table: quantities, or records that all have the same keys."""
        return [dict(row) for _, row in self.shown().iterrows()]

    def table(self) -> pd.DataFrame:
        """Return the numbers as a tidy table of numbers.

        Returns
        -------
        pandas.DataFrame
            With ``estimate, low, high, unit`` for each quantity, or a column for each number and
            for the ends of its interval.
        """
        return numeric_table(self._rows())

    def shown(self) -> pd.DataFrame:
        """Return the same table as text, rounded by the uncertainty of each number.

        Returns
        -------
        pandas.DataFrame
        """
        return text_table(self._rows())

    @property
    @abstractmethod
    def statement(self) -> str:
        """One or two plain sentences for the submission."""

    def _draw(self, ax: Axes | None = None, **options: Any) -> Picture | None:
        """Draw the picture, into `ax` where one is given."""
        if not self.picture:
            return None
        from importlib import import_module

        module, _, name = self.picture.partition(":")
        draw = getattr(import_module(f"linestudy.figures.{module}"), name)
        drawn: Picture = draw(self, ax=ax, **options)
        return drawn

    def plot(self, ax: Axes | None = None, **options: Any) -> Axes:
        """Draw the finding's picture into axes of your own.

        Parameters
        ----------
        ax : matplotlib.axes.Axes, optional
            Where to draw; a new figure when absent.
        **options
            What the picture can show besides, for example ``events=`` of a control chart.

        Returns
        -------
        matplotlib.axes.Axes

        Raises
        ------
        ValueError
            This finding has no picture.
        """
        figure = self._draw(ax, **options)
        if figure is None:
            raise ValueError(f"{type(self).__name__} draws no picture.")
        return ax if ax is not None else figure.axes[0]

    def figure(self, **options: Any) -> Picture | None:
        """Return the picture that answers this finding's question, or None where there is none.

        Parameters
        ----------
        **options
            As for :meth:`plot`.

        Returns
        -------
        matplotlib.figure.Figure or None
            It carries its own alternative text, made from the statement.
        """
        figure = self._draw(None, **options)
        if figure is not None:
            figure.alt_text = self.alt_text
        return figure

    def record(self) -> dict[str, Any]:
        """Return the content for results.json in full precision: every field, statement and cautions."""
        content = {f.name: plain(getattr(self, f.name)) for f in fields(self) if f.repr}  # type: ignore[arg-type]
        content["statement"] = self.statement
        content["cautions"] = list(self.cautions)
        return content

    @property
    def alt_text(self) -> str:
        """Text for those who cannot see the picture."""
        return typeset(f"{self.title}. {self.statement}")

    def __str__(self) -> str:
        lines = [self.title, *textwrap.wrap(_for_print(self.statement), _WIDTH)]
        table = self.shown()
        if len(table):
            lines += ["", *("  " + line for line in aligned(table.head(_MOST_LINES)))]
        if len(table) > _MOST_LINES:
            lines.append(f"  … {len(table) - _MOST_LINES} more lines in .table()")
        for caution in self.cautions:
            lines += textwrap.wrap(
                _for_print(caution), _WIDTH, initial_indent="Note: ", subsequent_indent="      "
            )
        return "\n".join(lines)

    def __repr__(self) -> str:
        return str(self)

    def _repr_pretty_(self, printer: Any, cycle: bool) -> None:
        printer.text("…" if cycle else str(self))

    def html(self, *, pictures: bool = True) -> str:
        """Return the finding for a notebook or a page.

        Parameters
        ----------
        pictures : bool
            Whether its picture is shown below the text.

        Returns
        -------
        str
        """
        cautions = "".join(f"<li>{html.escape(typeset(text))}</li>" for text in self.cautions)
        note = f"<p><b>Cautions</b></p><ul>{cautions}</ul>" if cautions else ""
        figure = self.figure() if pictures else None
        drawn = "" if figure is None else figure._repr_html_()
        return (
            f"<h4>{html.escape(self.title)}</h4>{table_html(self.shown())}"
            f"<p>{html.escape(typeset(self.statement))}</p>{note}{drawn}"
        )

    def _repr_html_(self) -> str:
        return self.html()


@dataclass(frozen=True)
class Unjudged(Finding):
    """Takes the place of a finding where a method has no result.

    Attributes
    ----------
    method : str
        Which method was tried, in the trade's terms.
    reason : str
        One sentence for the submission.
    """

    method: str
    reason: str
    cautions: tuple[str, ...] = ()
    title: ClassVar[str] = "Cannot be judged"

    def _rows(self) -> Rows:
        return [{"method": self.method, "cannot be judged because": self.reason}]

    @property
    def statement(self) -> str:
        return f"{self.method}: cannot be judged. {self.reason}"

    def record(self) -> dict[str, Any]:
        return {"absent": self.reason, "method": self.method}


def _for_print(text: str) -> str:
    """Typeset a sentence like the document, but with a hyphen as minus, which every console has."""
    return typeset(text, space=" ", minus="-")


def aligned(table: pd.DataFrame) -> list[str]:
    """Lay out a table of text as lines, each column left-aligned under its name."""
    cells = [[str(name) for name in table.columns]]
    cells += [
        [_for_print(cell_text(value)) for value in row] for row in table.itertuples(index=False)
    ]
    widths = [max(len(row[k]) for row in cells) for k in range(len(cells[0]))]
    return [
        "  ".join(text.ljust(width) for text, width in zip(row, widths, strict=True)).rstrip()
        for row in cells
    ]


def table_html(table: pd.DataFrame) -> str:
    """Write a table as HTML without inline colours, so that light and dark themes both read well."""
    head = "".join(f'<th style="text-align:left">{html.escape(str(c))}</th>' for c in table.columns)
    rows = []
    for row in table.itertuples(index=False):
        cells = "".join(_cell_html(value) for value in row)
        rows.append(f"<tr>{cells}</tr>")
    return f"<table><thead><tr>{head}</tr></thead><tbody>{''.join(rows)}</tbody></table>"


def _cell_html(value: Any) -> str:
    number = isinstance(value, int | float) and not isinstance(value, bool)
    align = "right" if number else "left"
    return f'<td style="text-align:{align}">{html.escape(typeset(cell_text(value)))}</td>'


def cell_text(value: Any) -> str:
    """Write one cell of a finding's table as a reader sees it; a missing number is left blank."""
    if hasattr(value, "item"):
        value = value.item()
    if (
        value is None
        or type(value).__name__ in ("NAType", "NaTType")
        or (isinstance(value, float) and value != value)
    ):
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return show(value) if not isinstance(value, str) else value
