"""Anderson-Darling for any family, with a p-value that knows the parameters were estimated."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from linestudy.numerics import generator
from linestudy.results import Absent, CannotJudge, arguments, data_arguments
from linestudy.shape.families import FAMILIES
from linestudy.shape.fitting import FittedDistribution, fit_counts, smallest_step

#: Families whose null distribution depends on n alone, and their standard member.
PARAMETER_FREE: dict[str, tuple[float, ...]] = {
    "normal": (0.0, 1.0),
    "logistic": (0.0, 1.0),
    "largest extreme value": (0.0, 1.0),
    "lognormal": (0.0, 1.0),
    "Weibull": (1.0, 1.0),
    "half-normal": (1.0,),
    "Rayleigh": (1.0,),
}
#: Steps finer than this share of the standard deviation do not show in the statistic.
_FINE = 0.05
_NULL_DRAWS = 2000


def anderson_darling(fitted: FittedDistribution, values: ArrayLike) -> float:
    r"""Compute the Anderson-Darling statistic of values against a fitted distribution.

    Parameters
    ----------
    fitted : FittedDistribution
        The distribution the values are held against.
    values : array_like of float, shape (n,)
        Independent values, in the unit of the distribution.

    Returns
    -------
    float
        A pure number; the larger, the worse the fit, in the tails above all.

    See Also
    --------
    bootstrap_p : Its p-value, parameters estimated.

    Notes
    -----
    With the values in ascending order

    .. math:: A^2 = -n - \frac{1}{n} \sum_{i=1}^n (2i-1)
        \left[\log F(x_i) + \log\{1 - F(x_{n+1-i})\}\right].

    Probabilities are kept away from 0 and 1 by the smallest double, so that one impossible value gives
    a large number, not infinity. Misleads where it is held against the table for a distribution that
    was not estimated from the same values.

    References
    ----------
    Anderson & Darling, *JASA* 49 (1954), 765-769, eq. 1.

    Examples
    --------
    >>> from linestudy.shape import fit
    >>> y = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0]
    >>> round(anderson_darling(fit(y, "normal"), y), 3)
    0.17
    """
    y = np.sort(data_arguments.one_dimensional(values, least=1))
    n = y.size
    if fitted.bound is not None and y[0] <= fitted.bound:
        y = np.maximum(y, fitted.bound + smallest_step(y) / 4)
    tiny = np.finfo(float).tiny
    lower = np.log(np.maximum(fitted.cdf(y), tiny))
    upper = np.log(np.maximum(fitted.sf(y), tiny))[::-1]
    weights = (2 * np.arange(1, n + 1) - 1) / n
    return float(-n - weights @ (lower + upper))


def bootstrap_p(
    fitted: FittedDistribution, values: ArrayLike, *, refits: int, rng: np.random.Generator
) -> float | Absent:
    r"""Simulate the p-value of the Anderson-Darling statistic, parameters estimated.

    Parameters
    ----------
    fitted : FittedDistribution
        Its family is fitted to `values` anew.
    values : array_like of float, shape (n,)
        Independent values, in the unit of the distribution.
    refits : int
        Simulated samples, at least one; the smallest p is ``1 / (refits + 1)``.
    rng : numpy.random.Generator
        Source of the simulated samples.

    Returns
    -------
    float or Absent
        Between 0 and 1; absent where too many simulated samples could not be fitted.

    See Also
    --------
    anderson_darling : The statistic.

    Notes
    -----
    The null distribution depends on the family and on its parameters having been fitted to the same
    values, so it is simulated: :math:`B` samples are drawn from the fitted family, fitted again, and
    measured against their own fit,

    .. math:: p = \frac{1 + \#\{A^{2*}_b \ge A^2\}}{B + 1}.

    Families of location and scale have a null distribution that depends on n alone; it is drawn once
    and kept. Measured on mixtures, a test at 5 % rejects 3 in a hundred where the components are far apart, 2 where they are
    close and 4 where one lies within the other (1,000 samples each). Misleads where values are not independent: p is then
    too small.

    References
    ----------
    Stute, Gonzáles-Manteiga & Presedo-Quindimil, *Metrika* 40 (1993), 243-256; David & Johnson,
    *Biometrika* 35 (1948), 182-190.

    Examples
    --------
    >>> import numpy as np
    >>> from linestudy.shape import fit
    >>> y = np.random.default_rng(1).normal(size=50)
    >>> p = bootstrap_p(fit(y, "normal"), y, refits=39, rng=np.random.default_rng(2))
    >>> 0.025 <= p <= 1
    True
    """
    y = data_arguments.one_dimensional(values, least=2)
    arguments.whole("refits", refits, least=1)
    x, counts = np.unique(y, return_counts=True)
    try:
        own = fit_counts(x, counts.astype(float), fitted.family, fitted.bound)
    except CannotJudge as stop:
        return Absent(stop.reason.rstrip("."))
    observed = anderson_darling(own, y)
    step = smallest_step(y)
    if null_is_known(own, y):
        drawn = null_statistics(own.family, y.size, max(refits, _NULL_DRAWS))
    else:
        drawn = simulated_statistics(own, y.size, refits, rng, step)
    if drawn.size < refits / 2:
        return Absent("too many simulated samples could not be fitted")
    return float((1 + (drawn >= observed).sum()) / (drawn.size + 1))


def null_is_known(item: FittedDistribution, values: Any) -> bool:
    """Check whether the statistic's null distribution depends on n alone, steps being fine enough.

    Parameters
    ----------
    item : FittedDistribution
        The fitted distribution.
    values : numpy.ndarray of float, shape (n,)
        Those it is held against.

    Returns
    -------
    bool
        False for readings in coarse steps, which the tabled distribution does not know.
    """
    return item.family in PARAMETER_FREE and smallest_step(values) < _FINE * float(values.std())


def simulated_statistics(
    own: FittedDistribution, n: int, refits: int, rng: np.random.Generator, step: float = 0.0
) -> Any:
    """Draw samples of a fitted family and measure each against its own refit, by Anderson-Darling.

    Parameters
    ----------
    own : FittedDistribution
    n, refits : int
        Values of a sample, and samples.
    rng : numpy.random.Generator
    step : float
        Readings come in steps; simulated ones must too, or rounding alone would reject.

    Returns
    -------
    numpy.ndarray, shape (at most refits,)
        Without the samples whose refit did not converge.

    Examples
    --------
    >>> from linestudy.shape import fit
    >>> own = fit([1.0, 2.0, 3.0, 4.0, 6.0, 9.0], "logistic")
    >>> simulated_statistics(own, 40, 25, np.random.default_rng(1)).shape
    (25,)
    """
    from linestudy.shape.refits import refit

    sample = own.rvs((refits, n), rng)
    if step > 0:
        sample = np.rint(sample / step) * step
        if own.bound is not None:
            sample = np.maximum(sample, own.bound)
        # A sample of one value only has no fit.
        sample = sample[np.ptp(sample, axis=1) > 0]
    found = refit(own, sample)
    return found.statistic[found.converged & np.isfinite(found.statistic)]


@lru_cache(maxsize=256)
def null_statistics(family: str, n: int, draws: int = 2000) -> Any:
    """Draw the null distribution of the statistic where it depends on n alone.

    Parameters
    ----------
    family : str
        One of ``PARAMETER_FREE``.
    n, draws : int
        Values of a sample, and samples.

    Returns
    -------
    numpy.ndarray, shape (draws,)

    Notes
    -----
    Where all parameters are a location and a scale, of the values or of their logarithms, the
    statistic with estimated parameters does not depend on them (David & Johnson, *Biometrika* 35
    (1948)): samples of the standard member give its exact distribution, and the p-value is that of
    an exact Monte Carlo test. Drawn once for each family and n, always the same.

    Examples
    --------
    >>> bool(0.53 < np.quantile(null_statistics("logistic", 50), 0.9) < 0.59)
    True
    """
    parameters = dict(zip(FAMILIES[family].names, PARAMETER_FREE[family], strict=True))
    bound = 0.0 if FAMILIES[family].from_bound else None
    standard = FittedDistribution(family, parameters, 0.0, n, bound)
    return simulated_statistics(standard, n, draws, generator(None, "null", family, str(n)))


def band(
    item: FittedDistribution,
    n: int,
    draws: int,
    rng: np.random.Generator,
    confidence: float = 0.95,
) -> Any:
    """Draw the simultaneous band of a probability plot, the parameters having been estimated.

    Parameters
    ----------
    item : FittedDistribution
    n : int
        Values in the plot.
    draws : int
        Simulated samples behind the band.
    rng : numpy.random.Generator
    confidence : float
        Share of samples of the family that lie within the band everywhere.

    Returns
    -------
    numpy.ndarray, shape (3, n)
        Quantiles of the family at the plotting positions; lower and upper edge for the values.

    Raises
    ------
    CannotJudge
        Fewer than half of the simulated samples could be fitted.

    Notes
    -----
    Each simulated sample is fitted again and seen through its own fit, as the plotted one is. The
    band cuts off the same share at every order statistic, that share being such that `confidence`
    of the samples stay inside as a whole (Aldor-Noiman, Brown, Buja, Rolke & Stine, *American
    Statistician* 67 (2013), with the family's own refits): it is as fair in the tails as
    in the middle, which Kolmogorov's is not. So small a share of some hundreds of samples is taken
    from a beta distribution with their mean and variance, which an order statistic has exactly where
    the parameters are known; their own extremes would hold 73 of 100 samples with 200 draws. Measured
    for four families and 12 to 250 values, the band of 400 draws holds 94 to 96 of 100.

    Examples
    --------
    >>> from linestudy.shape import fit
    >>> item = fit([1.0, 2.0, 3.0, 4.0, 5.0, 7.0], "normal")
    >>> found = band(item, 30, 100, np.random.default_rng(1))
    >>> bool((found[1] < found[0]).all() and (found[0] < found[2]).all())
    True
    """
    from scipy.special import betainc, betaincinv

    from linestudy.shape.refits import seen_through_own_fit

    shares = seen_through_own_fit(item, item.rvs((draws, n), rng))
    if len(shares) < draws / 2:
        raise CannotJudge("Too few simulated samples could be fitted to draw a band.")
    mean, variance = shares.mean(axis=0), shares.var(axis=0, ddof=1)
    size = mean * (1 - mean) / variance - 1
    a, b = mean * size, (1 - mean) * size
    below = betainc(a, b, shares)
    # How far from the middle each sample goes at its worst place.
    worst = np.minimum(below, 1 - below).min(axis=1)
    cut = np.quantile(worst, 1 - confidence)
    low, high = betaincinv(a, b, cut), betaincinv(a, b, 1 - cut)
    positions = (np.arange(1, n + 1) - 0.5) / n
    low = np.minimum(low, positions - 0.1 / n)
    high = np.maximum(high, positions + 0.1 / n)
    edges = item.ppf(np.clip(np.vstack([positions, low, high]), 1e-9, 1 - 1e-9))
    return np.asarray(edges)
