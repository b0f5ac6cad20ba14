"""How every result looks and speaks: intervals, findings, errors, tables, numbers as text."""

from linestudy.results.errors import CannotJudge, InputError, LinestudyError
from linestudy.results.finding import Finding, Unjudged
from linestudy.results.findings import Findings, Place
from linestudy.results.interval import Absent, Interval
from linestudy.results.plain_values import plain
from linestudy.results.rounding import counted, decimals_for, show, show_in, show_ppm
from linestudy.results.showing import Shown, show_findings

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
