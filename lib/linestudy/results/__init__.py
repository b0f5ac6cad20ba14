"""How every result looks and speaks: intervals, findings, errors, tables, numbers as text.

Whatever a finding is written with comes from here.
"""

from linestudy.results.declared import Declaration
from linestudy.results.errors import CannotJudge, InputError, LinestudyError
from linestudy.results.finding import Finding, Unjudged
from linestudy.results.findings import Findings, Place, Shown, show_findings
from linestudy.results.interval import Absent, Interval
from linestudy.results.rounding import (
    counted,
    decimals_for,
    p_text,
    show,
    show_in,
    show_ppm,
    with_unit,
)
from linestudy.results.tables import Quantity, Rows, plain

__all__ = [
    "Absent",
    "CannotJudge",
    "Declaration",
    "Finding",
    "Findings",
    "InputError",
    "Interval",
    "LinestudyError",
    "Place",
    "Quantity",
    "Rows",
    "Shown",
    "Unjudged",
    "counted",
    "decimals_for",
    "p_text",
    "plain",
    "show",
    "show_findings",
    "show_in",
    "show_ppm",
    "with_unit",
]
