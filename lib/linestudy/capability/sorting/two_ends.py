"""Whether a few hundred readings are those of parts sorted at two limits inside the tolerance, by their whole shape.

Where an end alone holds too few readings to tell (:func:`~linestudy.capability.sorting.recognition.sharp_ends` needs some
thousands), all readings together do: a normal process of which both ends were taken out has a shape that no process leaves by
itself. Counts in about fifty cells are described by

*cut*: a normal distribution between the smallest and the largest reading;

*natural*: normal; a sum of two uniform ones (triangular to trapezoidal); beta that vanishes at its ends at least as the
root of the distance; uniform with normal errors (wear, many stations); generalised normal; a mixture of two normal ones; and
Johnson S_B.

Parts are taken for sorted where the first is better than the best of the others by :data:`BETTER` and leaves
at either end between a sixteenth and three quarters of its greatest density: a uniform distribution is no cut normal one, and a cut
further out changes an index little.

It misleads where a process ends at two stops with a density that falls toward them and does not vanish. Parts sorted by another
reading with an error of a tenth of a standard deviation are not seen.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from linestudy.numerics.samples import mean_and_sd

#: Twice the logarithm of the likelihood ratio by which a cut must be better than every natural shape.
BETTER = 12.0
#: Density at either end, as a share of the greatest.
_ENDS = (0.06, 0.75)
#: Readings between which this is looked at, cells, and the coarsest step in standard deviations.
_LEAST, _MOST, _CELLS, _COARSE = 300, 10_000, 48, 0.3
#: Kurtosis must lie below a normal one's by this many standard errors.
_SHORT = 2.5

Shares = Callable[[Any, Any], Any]


def cut_at_both_ends(values: Any, step: float = 0.0) -> float | None:
    r"""Find out whether readings are a normal process's whose both ends were taken out.

    Parameters
    ----------
    values : numpy.ndarray of float, shape (n,)
        All readings in any unit.
    step : float
        Step in which they come; nought where they have none.

    Returns
    -------
    float or None
        p-value that a whole normal process has no reading beyond; None where they are not taken for sorted.

    Notes
    -----
    .. math:: 2\,(\ell_\text{cut} - \max \ell_\text{natural}) > 12,

    with the likelihoods of counts in cells at their maxima. Of 2,000 simulated samples of 500 and 1,000 readings of 25 natural shapes two
    were taken for sorted, and none of 1,320 records of 22 processes; of normal values sorted at 1.85 standard deviations 67 % of
    1,000 and 98 % of 2,000 were found (100 runs each).

    References
    ----------
    Cohen, *Truncated and Censored Samples* (1991), ch. 2, for the truncated normal distribution; common practice, no source,
    for the levels, whose error rates are measured.

    Examples
    --------
    >>> import numpy as np
    >>> x = np.random.default_rng(1).normal(0, 1, 2500)
    >>> cut_at_both_ends(x) is None, cut_at_both_ends(x[np.abs(x) < 1.7]) < 0.001
    (True, True)
    """
    from scipy.special import chdtrc
    from scipy.stats import kurtosistest

    x = np.asarray(values, dtype=float)
    middle, sd = mean_and_sd(x)
    if not _LEAST <= x.size <= _MOST or not sd > 0 or step > _COARSE * sd:
        return None
    if kurtosistest(x).statistic > -_SHORT:
        return None
    edges, counts = _cells((x - middle) / sd, step / sd)
    low, high = float(edges[0]), float(edges[-1])
    cut, at = _best(_truncated, edges, counts, [(0.0, 0.3)])
    top = _normal(min(max(at[0], low), high), at)
    ends = [_normal(end, at) / top for end in (low, high)]
    if min(ends) < _ENDS[0] or max(ends) > _ENDS[1]:
        return None
    whole, _ = _best(_whole, edges, counts, [(0.0, 0.0)])
    for shares, starts in _natural(low, high):
        if 2 * (cut - _best(shares, edges, counts, starts)[0]) < BETTER:
            return None
    return float(chdtrc(2, 2 * (cut - whole))) if 2 * (cut - whole) > BETTER else None


def _cells(x: Any, step: float) -> tuple[Any, Any]:
    """Count in cells of whole steps from half a step below the smallest reading to as much above the largest."""
    reach = max(step, float(np.ptp(x)) / x.size) / 2
    low, high = float(x.min()) - reach, float(x.max()) + reach
    if step > 0:
        wide = step * max(1, round((high - low) / step / _CELLS))
        edges = low + wide * np.arange(int(np.ceil((high - low) / wide - 1e-6)) + 1)
        edges[-1] = high
    else:
        edges = np.linspace(low, high, _CELLS + 1)
    return edges, np.histogram(x, edges)[0].astype(float)


def _best(shares: Shares, edges: Any, counts: Any, starts: list[Any]) -> tuple[float, Any]:
    """Find the greatest log-likelihood of the counts, and where it is; closely where few parameters make it cheap."""
    from scipy.optimize import minimize

    def less(q: Any) -> float:
        p = np.diff(shares(edges, q))
        return -float(counts @ np.log(np.maximum(p, 1e-12)))

    # What is recorded must not depend on the last bit of a machine; what is compared alone need not be so close.
    near = 1e-9 if len(starts[0]) == 2 else 1e-2
    options: Any = {"maxfev": 400, "xatol": near, "fatol": near}
    found = [minimize(less, start, method="Nelder-Mead", options=options) for start in starts]
    best = min(found, key=lambda one: float(one.fun))
    return -float(best.fun), best.x


def _natural(low: float, high: float) -> list[tuple[Shares, list[Any]]]:
    """List shapes of unsorted processes, the nearest first, with the starting values of their fits."""
    half, middle = (high - low) / 2, (high + low) / 2
    return [
        (_two_uniform, [(middle, np.log(0.55 * half), np.log(0.5 * half)), (middle, np.log(0.85 * half), np.log(0.2 * half))]),
        (_beta, [(-3, -3, -1.5, -1.5), (-1, -1, 0, 0), (0, 0, 1, 1)]),
        (_uniform_with_errors, [(0.0, 0.5, -1.0)]),
        (_generalised_normal, [(0.0, 0.5, 1.0)]),
        (_two_normal, [(-0.7, 0.7, -0.4, 0.0)]),
        (_johnson, [(-3, -3, 0, 0)]),
    ]  # fmt: skip


def _normal(x: float, q: Any) -> float:
    return float(np.exp(-(((x - q[0]) / np.exp(q[1])) ** 2) / 2))


def _whole(x: Any, q: Any) -> Any:
    from scipy.special import ndtr

    return ndtr((x - q[0]) / np.exp(q[1]))


def _truncated(x: Any, q: Any) -> Any:
    below = _whole(x, q)
    return (below - below[0]) / max(float(below[-1] - below[0]), 1e-300)


def _two_uniform(x: Any, q: Any) -> Any:
    wide, other = np.exp(q[1]), np.exp(q[2])
    corners = ((wide + other, 1), (wide - other, -1), (other - wide, -1), (-wide - other, 1))
    above = sum(sign * np.maximum(x - q[0] + corner, 0.0) ** 2 / 2 for corner, sign in corners)
    return above / (4 * wide * other)


def _beta(x: Any, q: Any) -> Any:
    from scipy.special import betainc

    low, high = x[0] - np.exp(q[0]), x[-1] + np.exp(q[1])
    return betainc(1.5 + np.exp(q[2]), 1.5 + np.exp(q[3]), (x - low) / (high - low))


def _uniform_with_errors(x: Any, q: Any) -> Any:
    from scipy.special import ndtr

    half, sd = np.exp(q[1]), np.exp(q[2])

    def integral(z: Any) -> Any:
        return z * ndtr(z) + np.exp(-z * z / 2) / np.sqrt(2 * np.pi)

    away = x - q[0]
    return sd * (integral((away + half) / sd) - integral((away - half) / sd)) / (2 * half)


def _generalised_normal(x: Any, q: Any) -> Any:
    from scipy.special import gammainc

    power, away = np.exp(q[2]), (x - q[0]) / np.exp(q[1])
    return 0.5 + np.sign(away) * gammainc(1 / power, np.abs(away) ** power) / 2


def _two_normal(x: Any, q: Any) -> Any:
    from scipy.special import expit, ndtr

    share, sd = expit(q[3]), np.exp(q[2])
    return share * ndtr((x - q[0]) / sd) + (1 - share) * ndtr((x - q[1]) / sd)


def _johnson(x: Any, q: Any) -> Any:
    from scipy.special import ndtr

    low, high = x[0] - np.exp(q[0]), x[-1] + np.exp(q[1])
    part = np.clip((x - low) / (high - low), 1e-12, 1 - 1e-12)
    return ndtr(q[2] + np.exp(q[3]) * np.log(part / (1 - part)))
