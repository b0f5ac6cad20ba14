"""Capability of the parts themselves, with the variance of the gauge taken out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from linestudy.numerics.arrays import FloatArray
from linestudy.numerics.randomness import normal_draws
from linestudy.results import CannotJudge, Finding, Interval, arguments, show
from linestudy.results.declared import Declaration
from linestudy.results.rounding import as_given
from linestudy.results.tables import Quantity, Rows
from linestudy.running.deprecation import old_keywords, renamed
from linestudy.shape.fitting import FittedDistribution
from linestudy.shape.parameter_draws import draw_parameters
from linestudy.shape.profile import contour_of_counts, is_quadratic

_QUANTILES = (0.00135, 0.5, 0.99865)
#: Share of draws without anything left for the parts from which on no index is given.
_LOST = 0.025

#: Draws of the gauge that share one draw of the process, where its quantiles are dear to compute.
_SHARED = 4

Truth = tuple[tuple[float, float, float], float, float]


@dataclass(frozen=True)
class GaugeRemoved(Finding):
    """Index of the parts, without the gauge.

    Attributes
    ----------
    Ppk : Interval
        Performance index of the parts.
    with_gauge : float
        Ppk of the readings, by the same quantiles.
    share_of_parts : Interval
        Variance of the parts over that of the readings.
    bias : float
        [unit of the values] Taken from the readings; 0 where none was seen.
    unit : str
        Unit of the values.
    """

    Ppk: Interval
    with_gauge: float
    share_of_parts: Interval
    bias: float
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Capability without the gauge"

    @property
    def statement(self) -> str:
        text = (
            f"Ppk corrected for measurement variation is {show(self.Ppk)}; of the readings it is "
            f"{self.with_gauge:.2f}. Measurement contributes {1 - self.share_of_parts.estimate:.1%} of the "
            "observed variance"
        )
        if self.bias:
            unit = f" {self.unit}" if self.unit else ""
            return f"{text}, and its bias of {as_given(self.bias, digits=3)}{unit} is taken off."
        return f"{text}."

    def _rows(self) -> Rows:
        return [
            Quantity("Ppk of the parts", self.Ppk),
            Quantity("Ppk of the readings", self.with_gauge),
            Quantity("variance of the parts over that of the readings", self.share_of_parts, "%"),
            Quantity("bias taken off", self.bias, self.unit),
        ]


GAUGE_REMOVED = Declaration(
    "capability.gauge_removed",
    GaugeRemoved,
    "Without the gauge",
    part="characteristic",
    question="fit",
    order=30,
    brief=True,
)


@old_keywords(
    renamed("draws", "truths", since="0.3.0", removal="0.4.0"),
)
def gauge_removed(
    quantiles: Sequence[float],
    sd: float,
    gauge_sd: float,
    *,
    lower: float | None,
    upper: float | None,
    truths: Sequence[Truth],
    bias: float = 0.0,
    confidence: float = 0.95,
    unit: str = "",
) -> GaugeRemoved:
    r"""Take the variance of the gauge out of an index.

    Parameters
    ----------
    quantiles : (float, float, float)
        Of the readings' distribution, at 0.135, 50 and 99.865 %.
    sd : float
        Standard deviation of that distribution.
    gauge_sd : float
        Standard deviation of the gauge's error, all in one unit.
    lower, upper : float or None
        Tolerance limits in the same unit; at least one.
    truths : sequence of (quantiles, sd, gauge_sd)
        Equally likely truths, at least a hundred.
    bias : float
        Reading less true value, on average.
    confidence : float
        Of the two-sided intervals, between 0 and 1.
    unit : str
        Unit of the values, for texts.

    Returns
    -------
    GaugeRemoved
        Ppk of the parts beside that of the readings.

    Raises
    ------
    CannotJudge
        The data do not exclude that all spread is the gauge's.
    ValueError, TypeError
        No limit, limits that are not in order, or an argument outside its range.

    See Also
    --------
    process_capability : The index of the readings, on which the verdict rests.

    Notes
    -----
    Model: a reading is the part plus the gauge's bias plus a normal error that does not depend on the
    part, so the variance of the readings is that of the parts plus the gauge's. Quantiles of the parts are
    those of the readings drawn towards the median by the square root of what share of the variance
    the parts hold,

    .. math:: x_q' = x_{0.5} + (x_q - x_{0.5}) \sqrt{1 - \sigma_g^2 / \sigma^2},

    exact for a normal process, shape-keeping otherwise. The gauge's variance carries its own interval
    into the index by drawing: the process from the uncertainty of its fitted parameters, the gauge from
    chi-square with the degrees of freedom of its study (generalized pivots). Where in more than one draw
    of forty nothing is left for the parts, no index is given. Misleads where the gauge study was made
    under better conditions than the run (too little is taken out) and where gauge and process vary
    together. It never replaces the index of the readings: the customer buys parts that were measured
    with this gauge.

    References
    ----------
    Burdick, Borror & Montgomery, *Design and Analysis of Gauge R&R Studies* (2005), appendix B.

    Examples
    --------
    >>> q = (-3.0, 0.0, 3.0)
    >>> found = gauge_removed(q, 1.0, 0.6, lower=-4.0, upper=4.0, truths=[(q, 1.0, 0.6)] * 100)
    >>> print(found.statement)
    Ppk corrected for measurement variation is 1.6667 (1.6667 to 1.6667); of the readings it is 1.33. Measurement
    contributes 36.0% of the observed variance.
    """
    lower, upper = arguments.limits(lower, upper)
    arguments.number("sd", sd, above=0)
    arguments.number("gauge_sd", gauge_sd, least=0)
    arguments.share("confidence", confidence)
    best = _index(quantiles, sd, gauge_sd, lower, upper, bias)
    if not len(truths):
        raise ValueError("truths is empty; at least a hundred are needed.")
    drawn = [_index(q, s, g, lower, upper, bias) for q, s, g in truths]
    kept = [row for row in drawn if row is not None]
    if best is None or len(kept) < (1 - _LOST) * len(drawn):
        raise CannotJudge(
            "The gauge's spread is so near to that of the readings that all of it may be the gauge's; taking "
            "it out is not admissible."
        )
    rows = np.array(kept)
    tails = ((1 - confidence) / 2, (1 + confidence) / 2)
    ends = np.quantile(rows, tails, axis=0)

    def interval(column: int) -> Interval:
        value = best[column]
        low, high = (float(end) for end in ends[:, column])
        return Interval(value, min(low, value), max(high, value), confidence, "generalized pivot")

    whole = _index(quantiles, sd, 0.0, lower, upper, 0.0)
    assert whole is not None
    notes = (
        "This is an addition to the index of the readings, on which the verdict rests; it is right only as far "
        "as the gauge study saw the gauge as it is in the run.",
    )
    return GaugeRemoved(interval(0), whole[0], interval(1), bias, unit, notes)


def _index(
    quantiles: Sequence[float],
    sd: float,
    gauge_sd: float,
    lower: float | None,
    upper: float | None,
    bias: float,
) -> tuple[float, float] | None:
    share = 1 - (gauge_sd / sd) ** 2
    if share <= 0:
        return None
    shrink = share**0.5
    low, middle, high = quantiles
    centre = middle - bias
    sides = []
    if upper is not None:
        sides.append((upper - centre) / (shrink * (high - middle)))
    if lower is not None:
        sides.append((centre - lower) / (shrink * (middle - low)))
    return min(sides), share


def truths(
    fitted: FittedDistribution,
    moments: Any,
    n_eff: float | None,
    sizes: Any,
    rng: np.random.Generator,
    shifts: Any = 0.0,
    *,
    counts: tuple[FloatArray, FloatArray] | None = None,
) -> list[Truth]:
    """Draw process and gauge for :func:`gauge_removed`.

    Parameters
    ----------
    fitted : FittedDistribution
        With the covariance of its coordinates.
    moments : callable
        Mean and standard deviation of a fitted distribution.
    n_eff : float or None
        Effective sample size of the values behind the distribution.
    sizes : numpy.ndarray of float, shape (draws,)
        Drawn standard deviations of the gauge.
    rng : numpy.random.Generator
        Source of the draws.
    shifts : array_like of float, shape (draws,) or scalar
        Drawn displacements of the whole process, where its mean is known less well than its spread.
    counts : (numpy.ndarray, numpy.ndarray), optional
        Distinct values the distribution was fitted to and how often each occurs: where their
        likelihood is not quadratic, draws come from the likelihood itself.

    Returns
    -------
    list of (quantiles, sd, gauge_sd)
    """
    widen = max(fitted.n / n_eff, 1.0) if n_eff else 1.0
    covariance = widen * np.asarray(fitted.covariance)
    free = np.asarray(fitted.free, dtype=float)

    def numbers(point: Any) -> Any:
        one = fitted.with_free(point)
        return np.append(one.ppf(_QUANTILES), moments(one)[1])

    if counts is not None and not _is_quadratic(fitted, counts, n_eff):
        points = draw_parameters(fitted, *counts, len(sizes) // _SHARED, rng, n_eff=n_eff)
        rows = np.array([numbers(point) for point in points])
        drawn = np.tile(rows, (_SHARED, 1))
        drawn = np.concatenate([drawn, rows[: len(sizes) - len(drawn)]])
        return _as_truths(drawn, sizes, shifts)
    # Quantiles move linearly within the uncertainty of the parameters; a mixture's are dear to compute.
    best = numbers(free)
    steps = np.sqrt(np.diag(covariance))
    slopes = np.array(
        [
            (numbers(free + step * axis) - numbers(free - step * axis)) / (2 * step or 1.0)
            for step, axis in zip(steps, np.eye(free.size), strict=True)
        ]
    )
    moves = normal_draws(covariance, len(sizes), rng) @ slopes
    return _as_truths(best + moves, sizes, shifts)


def _is_quadratic(
    fitted: FittedDistribution, counts: tuple[FloatArray, FloatArray], n_eff: float | None
) -> bool:
    effective = max(min(n_eff or fitted.n, fitted.n), 4.0)
    return is_quadratic(contour_of_counts(fitted, *counts, effective, 0.95))


def _as_truths(drawn: FloatArray, sizes: FloatArray, shifts: Any) -> list[Truth]:
    drawn[:, :3] += np.reshape(shifts, (-1, 1))
    return [
        ((float(row[0]), float(row[1]), float(row[2])), max(float(row[3]), 1e-300), float(size))
        for row, size in zip(drawn, sizes, strict=True)
    ]
