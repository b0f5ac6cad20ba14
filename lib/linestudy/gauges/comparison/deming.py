"""Deming regression of one gauge on another, with its correction, for a known or an unknown ratio of errors.

Model: ``first = intercept + slope * true + error`` and ``second = true + another error``, normal, with a ratio of
their variances that the gauges' own studies give. Where it is not known, line, correction and test hold for
every ratio from 1:25 to 25:1: the interval reaches from the lowest end to the highest. Standard errors by
jackknife. Source: Linnet, *Clinical Chemistry* 39 (1993), 424-432; the range of ratios: common practice, no
source. Misleads where parts hardly differ in size, and where the error grows with size.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from linestudy.gauges.comparison.correction import Correction, correction_from, corrections
from linestudy.gauges.comparison.pairwise_slopes import bent_p
from linestudy.results import CannotJudge, Interval

#: Ratios of error variances that are allowed for where none is known.
_UNKNOWN = (1.0, 1 / 25, 25.0)


def lines_of(
    a: NDArray[np.float64],
    b: NDArray[np.float64],
    ratio: float | None,
    confidence: float,
    limits: dict[str, float | None],
    step: float | None,
    names: tuple[str, str],
    unit: str,
) -> tuple[dict[str, Interval], Correction, float]:
    """Fit the line of one gauge on another, for one ratio of error variances or for all of them together.

    Parameters
    ----------
    a, b : numpy.ndarray of float, shape (n,)
        Readings of the first and of the second gauge.
    ratio : float or None
        Variance of the first gauge's error over that of the second; None where it is not known.
    confidence : float
    limits : dict of str to float or None
        Readings of the first gauge at which the correction is given.
    step : float or None
        The first gauge's resolution.
    names : (str, str)
    unit : str

    Returns
    -------
    line : dict of str to Interval
        ``slope`` and ``intercept``, by jackknife.
    correction : Correction
    p : float
        Of the test that the slope is one.

    Raises
    ------
    CannotJudge
        Readings that are not correlated.
    """
    ratios = _UNKNOWN if ratio is None else (ratio,)
    fits = [_deming(a, b, one, confidence, limits) for one in ratios]
    line = {name: _hull([fit[0][name] for fit in fits]) for name in fits[0][0]}
    at = {place: _hull([fit[1][place] for fit in fits]) for place in fits[0][1]}
    slope, level, middle = fits[0][3]
    widening = _all_places(a.size - 2, confidence)
    made = correction_from(at, slope, level - slope * middle, widening, step, names, unit)
    return line, made, max(fit[2] for fit in fits)


def bent_beyond_errors(
    a: NDArray[np.float64], b: NDArray[np.float64], ratio: float | None
) -> float:
    """Test that one straight line will do, whatever the ratio of errors may be.

    Distances from Deming's line do not depend on where along it a part lies if that is counted by the mean of both readings
    weighted by their errors (normal errors; Fuller, *Measurement Error Models*, 1987, section 1.2.3). A wrong ratio tilts the line,
    and the cusum takes that for a bend.

    Parameters
    ----------
    a, b : numpy.ndarray of float, shape (n,)
        Readings of the first and of the second gauge.
    ratio : float or None
        As for `lines_of`.

    Returns
    -------
    float
        Largest p over the ratios; 1 where no line can be drawn.
    """
    found = []
    for one in _UNKNOWN if ratio is None else (ratio,):
        # The ratio is taken where it is used; a function made in a loop would see the last one.
        def about(
            x: NDArray[np.float64], y: NDArray[np.float64], one: float = one
        ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
            slope, _ = _slope(y, x, one)
            rest = y - slope * x
            # As many above as below, which the cusum's distribution takes for granted.
            return rest - np.median(rest), slope * y + one * x

        found.append(bent_p(b, a, about) if math.isfinite(_slope(a, b, one)[0]) else 1.0)
    return max(found)


def _all_places(df: int, confidence: float) -> float:
    """Return the half width of a band for a whole line over that for one place (Working and Hotelling)."""
    from scipy.special import fdtri, stdtrit

    return math.sqrt(2 * float(fdtri(2, df, confidence))) / float(stdtrit(df, (1 + confidence) / 2))


def _hull(intervals: list[Interval]) -> Interval:
    """Span several intervals, from the lowest end to the highest, about the first estimate."""
    first = intervals[0]
    if len(intervals) == 1:
        return first
    return Interval(
        first.estimate,
        min(one.low for one in intervals),
        max(one.high for one in intervals),
        first.confidence,
        f"{first.method}, error ratio unknown",
    )


def _slope(a: NDArray[np.float64], b: NDArray[np.float64], ratio: float) -> tuple[float, float]:
    saa, sbb = float(np.var(a)), float(np.var(b))
    sab = float(np.mean((a - a.mean()) * (b - b.mean())))
    if sab == 0:
        return float("nan"), float("nan")
    difference = saa - ratio * sbb
    slope = (difference + math.sqrt(difference**2 + 4 * ratio * sab**2)) / (2 * sab)
    return slope, float(a.mean() - slope * b.mean())


def _deming(
    a: NDArray[np.float64],
    b: NDArray[np.float64],
    ratio: float,
    confidence: float,
    limits: dict[str, float | None],
) -> tuple[dict[str, Interval], dict[str, Interval], float, tuple[float, float, float]]:
    """Fit the line by jackknife: its intervals, corrections by place, p of slope one, the line itself."""
    from scipy.special import stdtr, stdtrit

    n = a.size
    middle = float(b.mean())
    # Slope and level in the middle hardly depend on each other; slope and intercept do.
    whole = _slope(a, b, ratio)
    if not all(map(math.isfinite, whole)) or whole[0] == 0:
        raise CannotJudge(
            f"The two gauges' readings of {n} parts are not correlated; no line can be drawn."
        )
    keep = ~np.eye(n, dtype=bool)
    without = np.array([_slope(a[row], b[row], ratio) for row in keep])
    values = np.array([whole[0], whole[1], whole[1] + whole[0] * middle])
    each = np.column_stack([without, without[:, 1] + without[:, 0] * middle])
    pseudo = n * values - (n - 1) * each
    error = pseudo.std(axis=0, ddof=1) / math.sqrt(n)
    factor = float(stdtrit(n - 2, (1 + confidence) / 2))
    line = {
        name: Interval(
            float(values[i]),
            float(values[i] - factor * error[i]),
            float(values[i] + factor * error[i]),
            confidence,
            "jackknife",
        )
        for i, name in enumerate(("slope", "intercept"))
    }
    together = float(np.corrcoef(pseudo[:, 0], pseudo[:, 2])[0, 1]) if error.min() > 0 else 0.0
    places = {"middle": float(a.mean())} | {k: v for k, v in limits.items() if v is not None}
    slope, level = float(values[0]), float(values[2])
    at = corrections(
        slope,
        level,
        middle,
        (float(error[0]), float(error[2])),
        together,
        factor,
        places,
        confidence,
    )
    off = abs(slope - 1)
    p = float(2 * stdtr(n - 2, -off / float(error[0]))) if error[0] > 0 else float(off == 0)
    return line, at, p, (slope, level, middle)
