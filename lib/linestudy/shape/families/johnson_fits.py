"""Johnson distributions without maximum likelihood: by four quantiles, and by four moments."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from linestudy.results import CannotJudge, arguments, data_arguments
from linestudy.shape.families import FAMILIES
from linestudy.shape.fitting import FittedDistribution


def johnson_by_quantiles(values: ArrayLike, *, z: float = 0.524) -> FittedDistribution:
    r"""Fit a Johnson distribution through four quantiles.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        Independent values in any unit, at least twenty.
    z : float
        Normal deviate of the inner quantiles, above 0; the outer ones lie at three times it.

    Returns
    -------
    FittedDistribution
        Of family ``Johnson S_U``, ``Johnson S_B`` or ``Johnson S_L``.

    Raises
    ------
    CannotJudge
        Fewer than twenty values, or quantiles that coincide.
    ValueError, TypeError
        An array of other than one dimension; a table; z that is not positive.

    See Also
    --------
    johnson_by_moments : The other way without likelihood.
    fit : By maximum likelihood, which is preferred.

    Notes
    -----
    With :math:`m = x(3z) - x(z)`, :math:`n = x(-z) - x(-3z)`, :math:`p = x(z) - x(-z)`, the ratio

    .. math:: m n / p^2

    is above one for S_U, below for S_B, one for S_L. Within two percent of one S_L is taken (the paper
    leaves the width open). Misleads with fewer than some hundred values: it rests on two values in
    each tail.

    References
    ----------
    Slifker & Shapiro, *Technometrics* 22 (1980), 239-246.

    Examples
    --------
    >>> import numpy as np
    >>> y = np.sinh(np.random.default_rng(1).normal(size=4000))
    >>> johnson_by_quantiles(y).family
    'Johnson S_U'
    """
    from scipy.special import ndtr

    z = arguments.number("z", z, above=0)
    y = np.sort(data_arguments.one_dimensional(values, least=20))
    shares = ndtr(np.array([-3 * z, -z, z, 3 * z]))
    # Plotting positions (i - 1/2) / n, as in the paper.
    x = np.interp(shares, (np.arange(1, y.size + 1) - 0.5) / y.size, y)
    m, n, p = float(x[3] - x[2]), float(x[1] - x[0]), float(x[2] - x[1])
    if min(m, n, p) <= 0:
        raise CannotJudge(
            "Quantiles coincide, so no Johnson distribution can be drawn through them."
        )
    middle = (x[2] + x[1]) / 2
    ratio = m * n / p**2
    a, b = m / p, n / p
    if abs(ratio - 1) <= 0.02 and abs(a - 1) > 1e-6:
        # Skewed to the left, it is the mirror image of one skewed to the right.
        side, long = (1.0, a) if a > 1 else (-1.0, b)
        delta = 2 * z / math.log(long)
        gamma = delta * math.log((long - 1) / (p * math.sqrt(long)))
        xi = side * middle - p / 2 * (long + 1) / (long - 1)
        return _as_fitted("Johnson S_L", (side * xi, side * math.exp(-gamma / delta), delta), y)
    if ratio > 1:
        delta = 2 * z / math.acosh((a + b) / 2)
        gamma = delta * math.asinh((b - a) / (2 * math.sqrt(ratio - 1)))
        scale = 2 * p * math.sqrt(ratio - 1) / ((a + b - 2) * math.sqrt(a + b + 2))
        xi = middle + p * (b - a) / (2 * (a + b - 2))
        return _as_fitted("Johnson S_U", (gamma, delta, xi, scale), y)
    c, d = p / m, p / n
    inner = math.sqrt((1 + c) * (1 + d))
    delta = z / math.acosh(inner / 2)
    gamma = delta * math.asinh((d - c) * math.sqrt(inner**2 - 4) / (2 * (c * d - 1)))
    scale = p * math.sqrt((inner**2 - 2) ** 2 - 4) / (c * d - 1)
    xi = middle - scale / 2 + p * (d - c) / (2 * (c * d - 1))
    return _as_fitted("Johnson S_B", (gamma, delta, xi, scale), y)


def johnson_by_moments(values: ArrayLike) -> FittedDistribution:
    r"""Fit the Johnson distribution with the mean, SD, skewness and kurtosis of the values.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        Independent values in any unit, at least twenty.

    Returns
    -------
    FittedDistribution
        Of family ``Johnson S_U`` or ``Johnson S_B``, whichever holds the pair of skewness and
        kurtosis; the two meet in S_L.

    Raises
    ------
    CannotJudge
        Fewer than twenty values, all equal, or moments that no member reaches.
    ValueError, TypeError
        An array of other than one dimension; a table.

    See Also
    --------
    johnson_by_quantiles : The other way without likelihood.
    fit : By maximum likelihood, which is preferred.

    Notes
    -----
    The border between the systems is the lognormal's line: with w the root of

    .. math:: (w - 1)(w + 2)^2 = \text{skewness}^2

    its kurtosis is :math:`w^4 + 2w^3 + 3w^2 - 3` (Johnson 1949). Moments are made by Gauss-Hermite
    quadrature and matched by a root search. Misleads with fewer than some hundred values: it rests on
    fourth powers.

    References
    ----------
    Hill, Hill & Holder, *Applied Statistics* 25 (1976), 180-189 (algorithm AS 99, the idea); Johnson,
    *Biometrika* 36 (1949), 149-176.

    Examples
    --------
    >>> import numpy as np
    >>> y = np.sinh(np.random.default_rng(1).normal(size=4000) / 2)
    >>> johnson_by_moments(y).family
    'Johnson S_U'
    """
    from scipy.optimize import root

    y = data_arguments.one_dimensional(values, least=20)
    mean, sd = float(y.mean()), float(y.std())
    if sd == 0:
        raise CannotJudge("All values are the same, so they have no distribution to fit.")
    u = (y - mean) / sd
    skew, kurtosis = float((u**3).mean()), float((u**4).mean())
    border = _lognormal_kurtosis(skew)
    unbounded = kurtosis > border
    family = "Johnson S_U" if unbounded else "Johnson S_B"
    bend = np.sinh if unbounded else _expit
    nodes, weights = np.polynomial.hermite_e.hermegauss(80)
    weights = weights / weights.sum()

    def moments_of(e: float, v: float) -> tuple[float, float, float, float]:
        h = bend(e * nodes + v)
        centre = float(weights @ h)
        d = h - centre
        second = float(weights @ d**2)
        return (
            centre,
            math.sqrt(second),
            float(weights @ d**3) / second**1.5,
            float(weights @ d**4) / second**2,
        )

    def miss(point: Any) -> list[float]:
        e, v = math.exp(min(max(point[0], -4.0), 0.8)), min(max(point[1], -5.0), 5.0)
        _, _, s, k = moments_of(e, v)
        return [s - skew, math.log(max(k - 1, 1e-9) / max(kurtosis - 1, 1e-9))]

    for size in (0.5, 0.25, 1.0, 0.1):
        for tilt in (0.0, 1.0, 2.5):
            start = [math.log(size), math.copysign(tilt, skew if unbounded else -skew)]
            found = root(miss, start, method="hybr")
            if max(abs(v) for v in miss(found.x)) < 1e-6:
                e = math.exp(min(max(found.x[0], -4.0), 0.8))
                v = min(max(found.x[1], -5.0), 5.0)
                centre, spread, _, _ = moments_of(e, v)
                scale = sd / spread
                return _as_fitted(family, (-v / e, 1 / e, mean - scale * centre, scale), y)
    raise CannotJudge("No Johnson distribution of a moderate shape has these four moments.")


def _expit(v: Any) -> Any:
    return 1 / (1 + np.exp(-v))


def _lognormal_kurtosis(skew: float) -> float:
    from scipy.optimize import brentq

    if abs(skew) < 1e-9:
        return 3.0
    w = brentq(lambda w: (w - 1) * (w + 2) ** 2 - skew**2, 1.0, 2.0 + skew**2)
    return float(w**4 + 2 * w**3 + 3 * w**2 - 3)


def _as_fitted(family: str, parameters: tuple[float, ...], y: Any) -> FittedDistribution:
    named = dict(zip(FAMILIES[family].names, map(float, parameters), strict=True))
    bare = FittedDistribution(family, named, 0.0, int(y.size))
    loglik = float(np.sum(bare.logpdf(y)))
    return FittedDistribution(family, named, loglik, int(y.size))
