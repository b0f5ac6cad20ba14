"""Whether the spread within subgroups changes, and how: a step, a drift, by batch, or from subgroup to subgroup.

Model under test: parts within subgroups scatter alike throughout, whatever their shape and however neighbours
correlate. What is looked at is the logarithm of each subgroup's variance. Tests:

- blocks of two, five, ten and twenty-five subgroups (F) and the cumulated sum (Kolmogorov): steps, drifts, waves;
- batches, where named (F);
- all of them together: normal scores of the parts' distances from their subgroup's mean, between subgroups against
  within (F), against the same of subgroups drawn from the pooled parts, each drawn as an autoregression of the
  correlation seen inside subgroups. A heavy tail makes single parts lie far; a spread that changes from one subgroup to
  the next makes whole subgroups wide, which draws of single parts cannot mimic. From sums alone: the variance of the
  logarithms against that of normal parts and their kurtosis.

The p-values are put together by Cauchy's combination. Misleads where readings are rounded so much that most
subgroups do not vary at all.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from linestudy.numerics import generator
from linestudy.stability.model.combination import combined

STEP, DRIFT = "in a step", "by drifting"
OF_BATCHES, RANDOM = "from batch to batch", "from subgroup to subgroup"
#: Subgroups drawn for what chance gives, and sizes of blocks.
_DRAWN, _BLOCKS = 6000, (2, 5, 10, 25)


@dataclass(frozen=True)
class SpreadChange:
    """Whether and how the spread within subgroups changes.

    Attributes
    ----------
    p : float
        Of one spread throughout.
    size : float
        Standard deviation of the logarithm of the subgroups' standard deviations beyond chance.
    kind : str
        In words that follow "changes".
    """

    p: float
    size: float
    kind: str


@dataclass(frozen=True)
class Chance:
    """What the variances within subgroups would do, did all scatter alike.

    Attributes
    ----------
    variance, fourth : float
        Second and fourth moment of the logarithm of a subgroup's variance.
    p : float or None
        Of parts that scatter alike in every subgroup; None where only sums are known, which say it by `variance`.
    between : float
        Share of the variance of the scores of the parts' distances that lies between subgroups beyond chance.
    """

    variance: float
    fourth: float
    p: float | None = None
    between: float = 0.0


def chance_of_parts(rest: Any, groups: Any, sizes: Any, whole: Any = None) -> Chance:
    """Simulate from the parts how the spread within subgroups varies by chance.

    Parameters
    ----------
    rest : numpy.ndarray of float, shape (n,)
        Parts less their subgroup's mean.
    groups : numpy.ndarray of int, shape (n,)
    sizes : numpy.ndarray of int, shape (subgroups,)
    whole : numpy.ndarray of float, shape (n,), optional
        Parts less what moves their subgroups, whose own distribution subgroups are drawn from; without it `rest`
        scaled up, which is less skewed than the parts.

    Returns
    -------
    Chance
    """
    from scipy.special import fdtrc, ndtr

    size = int(np.median(sizes[sizes > 1]))
    rho = _inside(rest, groups, size)
    z = generator(None, "spread within subgroups").standard_normal((_DRAWN, size))
    for j in range(1, size):
        z[:, j] = rho * z[:, j - 1] + np.sqrt(1 - rho * rho) * z[:, j]
    scaled = rest / np.sqrt(np.maximum(1 - 1 / sizes[groups], 0.5))
    pool = np.sort(scaled if whole is None else whole)
    drawn = pool[(np.minimum(ndtr(z), 1 - 1e-12) * pool.size).astype(np.intp)]
    logs = _logarithms(drawn.var(axis=1, ddof=1))
    logs = logs - logs.mean()
    alone = (drawn - drawn.mean(axis=1, keepdims=True)).ravel()
    usual = _ratio(alone, np.repeat(np.arange(_DRAWN), size))
    k = int(groups.max()) + 1
    found = _ratio(scaled, groups) / usual
    more = max(found - 1, 0.0)
    p = float(fdtrc(k - 1, rest.size - k, found))
    return Chance(
        float((logs**2).mean()), float((logs**4).mean()), p, more / (more + rest.size / k)
    )


def _ratio(rest: Any, groups: Any) -> float:
    """Analyse by variance the normal scores of distances from the subgroup's mean: between over within."""
    from scipy.special import ndtri
    from scipy.stats import rankdata

    a = ndtri(rankdata(np.abs(rest)) / (rest.size + 1))
    a = a - a.mean()
    counts = np.bincount(groups).astype(float)
    level = np.bincount(groups, a) / counts
    inside = float(((a - level[groups]) ** 2).sum()) / (a.size - counts.size)
    between = float((counts * level**2).sum()) / (counts.size - 1)
    return float(between / max(inside, 1e-300))


def chance_of_sums(size: float, excess_kurtosis: float = 0.0) -> Chance:
    """Do the same where only sums were kept: from normal parts and their kurtosis."""
    from scipy.special import chdtri

    free = max(size - 1, 1.0)
    logs = _logarithms(chdtri(free, (np.arange(_DRAWN) + 0.5) / _DRAWN) / free)
    logs = logs - logs.mean()
    variance, fourth = float((logs**2).mean()), float((logs**4).mean())
    # Kurtosis widens the distribution of a variance: 2 / (n - 1) becomes 2 / (n - 1) + kurtosis / n.
    more = 1 + max(excess_kurtosis, 0.0) / size / (2 / free)
    return Chance(variance * more, fourth * more**2)


def without_steps(y: Any) -> Any:
    """Spread readings evenly over the step that they are given in, where it is not small.

    Parameters
    ----------
    y : numpy.ndarray of float, shape (n,)

    Returns
    -------
    numpy.ndarray of float, shape (n,)
        A subgroup whose readings are all the same then has the spread that the step hides.
    """
    there = np.unique(y)
    step = float(np.diff(there).min()) if there.size > 1 else 0.0
    if there.size > y.size / 2 or step < float(y.std()) / 20:
        return y
    return y + step * (generator(None, "steps of readings").random(y.size) - 0.5)


def _inside(rest: Any, groups: Any, size: int) -> float:
    """Estimate the correlation of neighbours inside subgroups, by successive differences against the spread within."""
    if size < 3:
        return 0.0
    same = groups[1:] == groups[:-1]
    within = float((rest**2).sum()) / max(rest.size - int(groups.max()) - 1, 1)
    if within <= 0 or not same.any():
        return 0.0
    seen = float(((rest[1:] - rest[:-1])[same] ** 2).mean()) / 2 / within
    rhos = np.linspace(0.0, 0.98, 50)
    lags = np.arange(1, size)
    inflation = 1 + 2 * ((1 - lags / size) * rhos[:, None] ** lags).sum(axis=1)
    expected = (1 - rhos) * (size - 1) / (size - inflation)
    return float(np.interp(-seen, -expected, rhos))


#: Part of the mean variance that is added to each before its logarithm: a subgroup of five rounded parts may
#: not vary at all, and how far below the others it lies says nothing.
_ADDED = 0.25


def _logarithms(variances: Any) -> Any:
    return np.log(variances + _ADDED * variances.mean())


def spread_change(squares: Any, sizes: Any, chance: Chance, labels: Any = None) -> SpreadChange:
    """Test whether the spread within subgroups changes, and name how.

    Parameters
    ----------
    squares, sizes : numpy.ndarray, shape (subgroups,)
        Sum of squares within each subgroup, and its parts; in order.
    chance : Chance
        From :func:`chance_of_parts` or :func:`chance_of_sums`.
    labels : numpy.ndarray of int, shape (subgroups,), optional
        Batch of each.

    Returns
    -------
    SpreadChange

    Examples
    --------
    >>> rng = np.random.default_rng(2)
    >>> squares = rng.chisquare(4, 60) * np.repeat([1.0, 9.0], 30)
    >>> spread_change(squares, np.full(60, 5), chance_of_sums(5)).kind
    'in a step'
    """
    from scipy.special import fdtrc, kolmogorov, ndtr, psi

    many = sizes > 1
    free = sizes[many] - 1.0
    # The mean logarithm of a chi-square over its degrees of freedom depends on them.
    logs = _logarithms(squares[many] / free) - (psi(free / 2) - np.log(free / 2))
    batch = None if labels is None else np.asarray(labels)[many]
    k, variance = logs.size, float(logs.var(ddof=1))
    if variance == 0:
        return SpreadChange(1.0, 0.0, "")
    z = (logs - logs.mean()) / variance**0.5
    # On the logarithm: a variance of few subgroups is skewed.
    error = (max(chance.fourth / chance.variance**2 - 1, 0.5) / k) ** 0.5
    by_sums = float(ndtr((np.log(chance.variance) - np.log(variance)) / error))
    tests = {"all": by_sums if chance.p is None else chance.p}
    excess = [variance - chance.variance]
    codes = [np.minimum(np.arange(k) // m, k // m - 1) for m in _BLOCKS if k // m >= 4]
    if batch is not None and not (batch < 0).any() and 2 <= np.unique(batch).size <= k / 3:
        codes.append(np.unique(batch, return_inverse=True)[1])
    for at, code in enumerate(codes):
        counts = np.bincount(code).astype(float)
        level = np.bincount(code, z) / counts
        inside = float(((z - level[code]) ** 2).sum()) / (k - counts.size)
        between = float((counts * level**2).sum()) / (counts.size - 1)
        if not inside > 1e-12:
            # Subgroups side by side are the same ones twice: they say nothing of what lies between blocks.
            continue
        tests[f"blocks {at}"] = float(fdtrc(counts.size - 1, k - counts.size, between / inside))
        excess.append(variance * (between - inside) / float(counts.mean()))
    path = float(np.abs(np.cumsum(z)).max()) / k**0.5
    tests["cumulated"] = float(kolmogorov(path))
    # What is added before the logarithm shrinks it: about a fifth of its scale.
    size = max(max(excess), 0.0) ** 0.5 / 2 * (1 + _ADDED)
    size = max(size, chance.between**0.5)
    # Half of the weight is on the test of all subgroups, the only one that sees a spread which changes from each to the next.
    whole = tests.pop("all")
    return SpreadChange(
        combined([whole] * len(tests) + list(tests.values())), size, _kind(z, batch)
    )


def _kind(z: Any, batch: Any) -> str:
    """Choose by Schwarz's criterion on the logarithms: constant but for chance, a line, one to three steps, batches."""
    from linestudy.stability.model.level_patterns import best_steps

    k = z.size
    u = np.linspace(-1.0, 1.0, k)

    def bic(rest: float, parameters: float) -> float:
        return float(k * np.log(max(rest, 1e-12) / k) + parameters * np.log(k))

    total = float((z**2).sum())
    found = [(bic(total, 1), RANDOM)]
    for degree in (1, 2):
        design = np.vander(u, degree + 1)
        rest = z - design @ np.linalg.lstsq(design, z, rcond=None)[0]
        found.append((bic(float((rest**2).sum()), 2 * degree + 1), DRIFT))
    found += [(bic(rest, 4 * len(cuts) + 1), STEP) for cuts, rest in best_steps(z, 3)]
    if batch is not None and 2 <= np.unique(batch).size <= k / 3:
        code = np.unique(batch, return_inverse=True)[1]
        level = np.bincount(code, z) / np.bincount(code)
        found.append((bic(float(((z - level[code]) ** 2).sum()), level.size), OF_BATCHES))
    return min(found)[1]
