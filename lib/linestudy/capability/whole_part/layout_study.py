"""Dimensional results of a layout: every characteristic of the drawing, measured on one or a few parts, against its limits.

Each reading is held against the limits of its row, and nothing else is said: a few parts show no capability.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from linestudy.results import CannotJudge, Finding, counted
from linestudy.results.declared import Declaration
from linestudy.results.tables import Rows

#: What a row may be found to be, and how many of them are counted in words: one, several.
RESULTS = {
    "conforms": ("conforms", "conform"),
    "does not conform": ("does not conform", "do not conform"),
    "not measured": ("was not measured", "were not measured"),
    "no limits": ("has no limits", "have no limits"),
}


@dataclass(frozen=True, slots=True)
class DimensionResult:
    """One characteristic of the drawing.

    Attributes
    ----------
    number, name, unit, gauge : str
        As the sheet has them; empty where it does not say.
    nominal, lower, upper : float or None
        [unit of the row]
    values : tuple of float
        [unit of the row] Its readings.
    words : tuple of str
        Its judgements, where the row holds words.
    outside : int
        Readings beyond a limit.
    result : str
        ``"conforms"``, ``"does not conform"``, ``"not measured"`` or ``"no limits"``.
    """

    number: str
    name: str
    unit: str
    gauge: str
    nominal: float | None
    lower: float | None
    upper: float | None
    values: tuple[float, ...]
    words: tuple[str, ...]
    outside: int
    result: str


@dataclass(frozen=True)
class LayoutStudy(Finding):
    """Every dimension of a layout with what it was found to be.

    Attributes
    ----------
    conforming, nonconforming, not_measured, without_limits : int
        Dimensions of each kind.
    dimensions : tuple of DimensionResult
        In the order of the sheet.
    """

    conforming: int
    nonconforming: int
    not_measured: int
    without_limits: int
    dimensions: tuple[DimensionResult, ...]
    cautions: tuple[str, ...] = ()
    title: ClassVar[str] = "Dimensional results"

    @property
    def statement(self) -> str:
        numbers = (self.conforming, self.nonconforming, self.not_measured, self.without_limits)
        parts = [
            f"{number:,} {several if number != 1 else one}"
            for number, (one, several) in zip(numbers, RESULTS.values(), strict=True)
            if number
        ]
        return f"{counted(len(self.dimensions), 'dimension')} of the drawing: {', '.join(parts)}."

    def _rows(self) -> Rows:
        return [
            {
                "no.": one.number,
                "characteristic": one.name,
                "readings": len(one.values) + len(one.words),
                "outside": one.outside,
                "result": one.result,
            }
            for one in self.dimensions
        ]


LAYOUT = Declaration("layout", LayoutStudy, part="none", of_study=True)


def layout_results(dimensions: Iterable[Any]) -> LayoutStudy:
    """Count what the dimensions of a layout were found to be.

    Parameters
    ----------
    dimensions : iterable
        Objects with the attributes of :class:`DimensionResult`, as records read them.

    Returns
    -------
    LayoutStudy
        All of them, and how many conform.

    Raises
    ------
    CannotJudge
        There is none.

    See Also
    --------
    process_capability : What a run of parts shows beyond single readings.

    Notes
    -----
    Model: none; a reading on its limit conforms. Misleads where a reading lies nearer to its limit than its
    uncertainty: ISO 14253-1 then leaves open whether the part conforms.

    References
    ----------
    AIAG PPAP, 4th ed. (2006), 2.2.9 (dimensional results; from memory).

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> row = dict(number="2", name="Length", unit="mm", gauge="", nominal=5.0, lower=4.9, upper=5.1)
    >>> one = SimpleNamespace(**row, values=(5.2,), words=(), outside=1, result="does not conform")
    >>> layout_results([one]).statement
    '1 dimension of the drawing: 1 does not conform.'
    """
    names = DimensionResult.__dataclass_fields__
    found = tuple(
        DimensionResult(**{name: getattr(one, name) for name in names}) for one in dimensions
    )
    if not found:
        raise CannotJudge("The layout has no row.")
    results = [one.result for one in found]
    conforming, nonconforming, not_measured, without = (results.count(one) for one in RESULTS)
    return LayoutStudy(
        conforming=conforming,
        nonconforming=nonconforming,
        not_measured=not_measured,
        without_limits=without,
        dimensions=found,
    )
