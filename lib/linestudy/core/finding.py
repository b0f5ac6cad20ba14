"""What every method returns: a finding that can show, state, warn and be recorded."""

from __future__ import annotations

import html
from abc import ABC, abstractmethod
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any, ClassVar

from linestudy.core.plain import plain
from linestudy.core.rounding import show

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure


class Finding(ABC):
    """Base of all findings.

    A finding is a frozen dataclass: its numbers are attributes, with an
    :class:`~linestudy.core.Interval` where a number has one, nothing rounded.
    """

    #: Sentences the reader must know before leaning on the numbers.
    cautions: tuple[str, ...]

    #: Name of the method for headings, in the trade's terms.
    title: ClassVar[str] = "Finding"

    @abstractmethod
    def table(self) -> pd.DataFrame:
        """The numbers as a tidy table; column names carry units."""

    @property
    @abstractmethod
    def statement(self) -> str:
        """One or two plain sentences that could stand in the submission."""

    def figure(self) -> Figure | None:
        """The picture that answers this finding's question, or None where there is none."""
        return None

    def record(self) -> dict[str, Any]:
        """Full-precision content for results.json: every field, statement and cautions."""
        content = {f.name: plain(getattr(self, f.name)) for f in fields(self) if f.repr}  # type: ignore[arg-type]
        content["statement"] = self.statement
        content["cautions"] = list(self.cautions)
        return content

    @property
    def alt_text(self) -> str:
        """Text for those who cannot see the picture."""
        return f"{self.title}. {self.statement}"

    def _repr_html_(self) -> str:
        cautions = "".join(f"<li>{html.escape(text)}</li>" for text in self.cautions)
        note = f"<p><b>Cautions</b></p><ul>{cautions}</ul>" if cautions else ""
        return (
            f"<h4>{html.escape(self.title)}</h4>{table_html(self.table())}"
            f"<p>{html.escape(self.statement)}</p>{note}"
        )


@dataclass(frozen=True)
class Unjudged(Finding):
    """Stands where a method could not say anything.

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

    def table(self) -> pd.DataFrame:
        import pandas as pd

        return pd.DataFrame({"method": [self.method], "cannot be judged because": [self.reason]})

    @property
    def statement(self) -> str:
        return f"{self.method}: cannot be judged. {self.reason}"

    def record(self) -> dict[str, Any]:
        return {"absent": self.reason, "method": self.method}


def table_html(table: pd.DataFrame) -> str:
    """A table without inline colours, so that light and dark themes both read well."""
    head = "".join(f'<th style="text-align:left">{html.escape(str(c))}</th>' for c in table.columns)
    rows = []
    for row in table.itertuples(index=False):
        cells = "".join(_cell_html(value) for value in row)
        rows.append(f"<tr>{cells}</tr>")
    return f"<table><thead><tr>{head}</tr></thead><tbody>{''.join(rows)}</tbody></table>"


def _cell_html(value: Any) -> str:
    number = isinstance(value, int | float) and not isinstance(value, bool)
    align = "right" if number else "left"
    return f'<td style="text-align:{align}">{html.escape(cell_text(value))}</td>'


def cell_text(value: Any) -> str:
    """One cell of a finding's table as a reader sees it; a missing number is left blank."""
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
