"""Whether readings end at a limit as no process ends there: parts beyond it were taken out.

Model: readings are counted in cells of possible readings, so that a step of the gauge leaves no cell that nothing can
fall into. Over the cells just inside the limit the logarithm of the density is a parabola, as that of any smooth
distribution is over so short a stretch. Three descriptions of these cells and of as many cells beyond, which are
empty, are held against each other by their likelihood:

*cut*: the parabola up to the limit, nothing beyond because parts were taken out;

*smooth*: the parabola through the limit, nothing beyond by chance;

*end*: the parabola times the root of the distance from the limit, as a distribution that ends there has (with any
power from a half on: triangular, beta, Weibull and gamma distributions).

A cut is recognised where it is better than both by far, where the parabola fits, and where the density has fallen
toward the limit: a uniform distribution and a magnitude from its bound do not fall before they end. One reading
beyond the limit and nothing was cut there. A limit at the bound, or at nought, where magnitudes begin, is no cut.

It misleads where a process ends at its limit by itself with a density that falls and does not vanish (a stop in the
tool), where parts were sorted on another reading than the one recorded, and where so few were taken out that chance
explains their absence: absence of the mark is no proof that nothing was sorted.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from linestudy.numerics.samples import mean_and_sd
from linestudy.results import arguments, data_arguments

#: Twice the logarithm of the likelihood ratio by which a cut must be better than a smooth density, which is beaten so
#: by chance in one study of ten thousand (chi-square, one degree of freedom), and than one that ends at the limit,
#: there and at the other limit of parts that were sorted at one.
_BETTER, _BETTER_THAN_END, _ONCE_SORTED = 15.1, 5.0, 0.0
#: By how much a cut at an end that is found in the readings must be better than a density that ends there: both ends, or one alone.
_BOTH_ENDS, _ONE_END = 4.0, 12.5
#: Level at which the parabola is rejected; a density this near to its greatest, by this many standard errors, has not fallen.
_FITS, _FALLEN, _SURELY = 0.01, 0.75, 2.33
#: Powers of the distance with which a density that ends at the limit vanishes.
_POWERS = (0.5, 1.0)
#: Window inside the limit and the coarsest step, in standard deviations; cells, at least, and how much finer they are
#: at the limit.
_WINDOW, _COARSE, _CELLS, _LEAST, _FINER = 0.9, 0.75, 10, 6, 10.0
#: Bend of the logarithm of a density, per square of the readings' standard deviation, and how far it scatters.
_BEND = (-0.7, 1.0)


def truncation_points(
    values: ArrayLike,
    lower: float | None = None,
    upper: float | None = None,
    *,
    bound: float | None = None,
) -> dict[str, float]:
    r"""Find the limits at which values look cut off.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        All readings in any unit, at least ten.
    lower, upper : float, optional
        Limits in the unit of the values.
    bound : float, optional
        Physical bound; a limit there is no cut, for nothing lies beyond it anyway.

    Returns
    -------
    dict of str to float
        ``lower`` and ``upper``, as far as values are cut there, with the p-value of so few values outside.

    Raises
    ------
    CannotJudge
        Fewer than ten values, or values that are missing.
    ValueError, TypeError
        Limits that are not in order, a table, or an array of other than one dimension.

    See Also
    --------
    truncated_capability : The process before sorting.

    Notes
    -----
    Counts in cells of possible readings on both sides of the limit are Poisson with mean

    .. math:: \mu_j = \exp(a + b j + c j^2)\, w_j.

    A cut has :math:`w_j = 1` inside and 0 beyond, a smooth density 1 everywhere, one that ends at the limit
    :math:`\sqrt{t_j}` inside, with t the distance from the limit, and 0 beyond. A cut is recognised where twice
    the logarithm of the likelihood ratio against either exceeds 15.1 and 5, the parabola is not rejected (chi-square,
    0.01), the density at the limit is at most three quarters of its greatest, and no reading lies beyond.
    Misleads where a process ends there by itself with a density that falls and does not vanish; does not see
    parts that were sorted on another reading than the recorded one. A limit at nought is taken for the bound
    of a magnitude.

    References
    ----------
    Efron & Tibshirani, *Annals of Statistics* 24 (1996), 2431-2461, for Poisson counts of a density's cells;
    common practice, no source, for the levels, whose error rates are measured in the proof.

    Examples
    --------
    >>> import numpy as np
    >>> x = np.random.default_rng(1).normal(0, 1, 9000)
    >>> sorted(truncation_points(x[np.abs(x) < 1.5], -1.5, 1.5)), truncation_points(x, -1.5, 1.5)
    (['lower', 'upper'], {})
    """
    x = np.sort(data_arguments.one_dimensional(values, least=10))
    lower, upper = arguments.limits(lower, upper, needed=False)
    _, sd = mean_and_sd(x)
    found: dict[str, float] = {}
    if not sd > 0:
        return found
    step = reading_step(x, sd)
    sides = {
        name: np.sort(outward * (limit - x)) / sd
        for name, limit, outward in (("lower", lower, -1.0), ("upper", upper, 1.0))
        if limit is not None and limit not in (bound, 0.0)
    }
    # A cut at one limit makes one at the other likely.
    for needed in (_BETTER_THAN_END, _ONCE_SORTED):
        for name, inside in sides.items():
            p = _cut(inside, step / sd, needed)
            if p is not None:
                found[name] = p
        if not found:
            break
    return dict(sorted(found.items()))


def sharp_ends(values: ArrayLike, *, bound: float | None = None) -> dict[str, float]:
    r"""Find ends of values that look cut off, wherever they lie: parts sorted at limits inside the tolerance.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        All readings in any unit, at least ten.
    bound : float, optional
        Physical bound; an end there, or at nought, is no cut.

    Returns
    -------
    dict of str to float
        ``lower`` and ``upper``, as far as values end sharply at the smallest and the largest, with the p-value that
        nothing lies beyond by chance.

    Raises
    ------
    CannotJudge
        Fewer than ten values, or values that are missing.
    ValueError, TypeError
        A table, or an array of other than one dimension.

    See Also
    --------
    truncation_points : Cuts at limits that are known.

    Notes
    -----
    The model of :func:`truncation_points` with the outermost reading in the place of the limit. Where both ends are cut
    twice the logarithm of the likelihood ratio against a density that vanishes there must exceed 4 at each, else 12.5 at
    one. Of 1,920 simulated samples of 1,000 to 10,000 triangular, beta and trapezoidal values three were taken for cut; of normal
    values sorted at 1.85 standard deviations a quarter of 1,000, a third of 2,000 and nine tenths of 10,000 were found.

    Examples
    --------
    >>> import numpy as np
    >>> x = np.random.default_rng(1).normal(0, 1, 9000)
    >>> sorted(sharp_ends(x[np.abs(x) < 1.8])), sharp_ends(x)
    (['lower', 'upper'], {})
    """
    x = np.sort(data_arguments.one_dimensional(values, least=10))
    _, sd = mean_and_sd(x)
    if not sd > 0:
        return {}
    step = reading_step(x, sd)
    near = max(step, 1e-3 * sd)
    found: dict[str, tuple[float, Any]] = {}
    for name, end in (("lower", x[0]), ("upper", x[-1])):
        if all(abs(end - known) > near for known in (0.0, bound) if known is not None):
            inside = np.sort(np.abs(x - end)) / sd
            p = _cut(inside, step / sd, _BOTH_ENDS)
            found |= {} if p is None else {name: (p, inside)}
    return {
        name: p
        for name, (p, inside) in found.items()
        if len(found) == 2 or _cut(inside, step / sd, _ONE_END) is not None
    }


def reading_step(x: Any, sd: float) -> float:
    """Find the step in which readings come; 0 where it is below a two-hundredth of a standard deviation.

    Parameters
    ----------
    x : numpy.ndarray of float, shape (n,)
        Readings, ascending.
    sd : float
        Their standard deviation.

    Returns
    -------
    float
        In the unit of the readings.
    """
    gaps = np.diff(x)
    gaps = gaps[gaps > 1e-7 * sd]
    if not gaps.size:
        return 0.0
    # The usual gap between neighbours: a few readings with more digits do not make the step finer.
    step = float(np.quantile(gaps, 0.25))
    return step if step >= sd / 200 and _on_steps(x, step, sd) else 0.0


def _on_steps(x: Any, step: float, sd: float) -> bool:
    """Check whether nearly all readings lie on whole steps from their median."""
    away = (x - x[x.size // 2]) / step
    return bool((np.abs(away - np.rint(away)) < 0.02 + 1e-6 * sd / step).mean() > 0.98)


def _cut(inside: Any, step: float, better: float) -> float | None:
    """Compute the p-value that nothing lies beyond by chance, where a cut is recognised; distances in standard deviations."""
    from scipy.special import chdtrc, xlogy

    if inside[0] < -1e-7 or step > _COARSE:
        return None
    # Few readings need a wider stretch to tell the parabola, many resolve what is no parabola over it.
    window = float(np.clip(_WINDOW * (30_000 / inside.size) ** 0.2, _WINDOW, 1.8 * _WINDOW))
    window = min(window, 0.8 * (inside[-1] - inside[0]))
    edges = (np.geomspace(1, 1 + _FINER, _CELLS + 1) - 1) / _FINER * window
    start = 0.0
    if step > 0:
        # A reading on the limit is accepted. Cells begin half a step before the first possible reading inside.
        start = inside[0] - np.floor(inside[0] / step + 1e-6) * step - step / 2
        edges = step * np.unique(np.rint(edges / step))
        if edges.size <= _LEAST:
            most = int((inside[-1] - inside[0]) / step) + 1
            edges = step * np.arange(min(_LEAST, most) + 1.0)
        if edges.size < 5:
            return None
    counts = np.histogram(inside - start, edges)[0].astype(float)
    if counts.sum() < 20:
        return None
    middle, width = (edges[1:] + edges[:-1]) / 2, np.log(np.diff(edges))
    cut, fitted, at_limit, error = _poisson(middle, counts, width)
    misfit = 2 * float((xlogy(counts, np.maximum(counts, 1e-300) / fitted) - counts + fitted).sum())
    if chdtrc(max(middle.size - 3, 1), misfit) < _FITS:
        return None
    ends = max(_poisson(middle, counts, width + power * np.log(middle))[0] for power in _POWERS)
    smooth, *_ = _poisson(
        np.concatenate([-middle[::-1], middle]),
        np.concatenate([np.zeros(middle.size), counts]),
        np.concatenate([width[::-1], width]),
    )
    if 2 * (cut - smooth) < _BETTER or 2 * (cut - ends) < better:
        return None
    greatest = _greatest_density(inside - start, edges)
    # At the limit itself, by the fit, with its error.
    if not at_limit + _SURELY * error < np.log(_FALLEN * greatest):
        return None
    return float(chdtrc(1, 2 * (cut - smooth)))


def _greatest_density(inside: Any, edges: Any) -> float:
    """Find the greatest density of the readings over stretches of a quarter of a standard deviation or a cell."""
    whole = int(np.argmax(edges >= min(0.25, edges[-1] / 3) - 1e-9))
    wide = float(edges[whole])
    at = np.floor(inside / wide + 1e-9).astype(int)
    return float(np.bincount(at[at >= 0]).max()) / wide


def _poisson(at: Any, counts: Any, offset: Any) -> tuple[float, Any, float, float]:
    """Compute the log-likelihood (less what is the same for all), means, and log density at the limit with its error.

    The logarithm of the density is a parabola over distance; its bend is known beforehand as far as any smooth
    density has one.
    """
    columns = np.column_stack([np.ones_like(at), at, at * at])
    beta = np.array([np.log(max(counts.sum(), 1.0) / np.exp(offset).sum()), 0.0, _BEND[0]])
    held = np.diag([0.0, 0.0, 1 / _BEND[1] ** 2])
    about = np.array([0.0, 0.0, _BEND[0]])

    def value(b: Any) -> tuple[float, Any]:
        eta = np.minimum(columns @ b + offset, 40.0)
        mean = np.exp(eta)
        return float(counts @ eta - mean.sum() - (b - about) @ held @ (b - about) / 2), mean

    best, mean = value(beta)
    for _ in range(60):
        slope = columns.T @ (counts - mean) - held @ (beta - about)
        bend = (columns.T * mean) @ columns + held + 1e-8 * np.eye(3)
        move = np.linalg.solve(bend, slope)
        for _ in range(30):
            new, means = value(beta + move)
            if new >= best:
                break
            move /= 2
        else:
            break
        gain, best, mean = new - best, new, means
        beta = beta + move
        if gain < 1e-10 * (1 + abs(best)):
            break
    covariance = np.linalg.inv((columns.T * mean) @ columns + held + 1e-8 * np.eye(3))
    return best, np.maximum(mean, 1e-300), float(beta[0]), float(np.sqrt(covariance[0, 0]))
