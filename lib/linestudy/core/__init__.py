"""What every room shares: intervals, findings, errors, seeded randomness, rounding."""

from linestudy.core.errors import CannotJudge, InputError, LinestudyError
from linestudy.core.finding import Finding, Unjudged
from linestudy.core.findings import Findings, Place
from linestudy.core.interval import Absent, Interval
from linestudy.core.plain import plain
from linestudy.core.randomness import DEFAULT_SEED, generator
from linestudy.core.rounding import counted, decimals_for, show, show_ppm
from linestudy.core.showing import Shown, show_findings

__all__ = [
    "DEFAULT_SEED",
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
    "generator",
    "plain",
    "show",
    "show_findings",
    "show_ppm",
]
