"""How every result looks and speaks: intervals, findings, errors, tables, numbers as text."""

from linestudy.results.errors import CannotJudge, InputError, LinestudyError
from linestudy.results.finding import Finding, Unjudged
from linestudy.results.findings import Findings, Place, Shown, show_findings
from linestudy.results.interval import Absent, Interval
from linestudy.results.rounding import counted, decimals_for, show, show_in, show_ppm
from linestudy.results.tables import plain

__all__ = [
    "Absent",
    "CannotJudge",
    "Finding",
    "Findings",
    "InputError",
    "Interval",
    "LinestudyError",
    "Place",
    "Shown",
    "Unjudged",
    "counted",
    "decimals_for",
    "plain",
    "show",
    "show_findings",
    "show_in",
    "show_ppm",
]
