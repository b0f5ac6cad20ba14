"""Families of distributions: densities, starting values, and how parameters are kept in range.

Every family is fitted by maximum likelihood. Parameters are moved in a space without borders
(logarithms of scales and shapes), so that the search cannot leave what is allowed, and the
curvature there gives the uncertainty of anything computed from them. Families that begin at a
bound take the physical bound as given; families "with threshold" estimate where they begin, below
the smallest value, with a shape that starts smoothly (a likelihood without that rule has no
maximum). Densities are written out for speed and checked against SciPy's in the tests.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from scipy.special import gammaln, ndtr

from linestudy.shape.family import Family, Scipy, moments
from linestudy.shape.transformed import TRANSFORMED, centre_and_reach

_LOG_2PI = math.log(2 * math.pi)


def _location_scale(free: Any, _: float) -> Any:
    return np.array([free[0], math.exp(free[1])])


def _logs(free: Any, _: float) -> Any:
    return np.exp(free)


# --- families over the whole line ---------------------------------------------------------


def _normal_start(x: Any, w: Any) -> Any:
    mean, sd, _ = moments(x, w)
    return np.array([mean, math.log(sd)])


def _normal_logpdf(x: Any, p: Any) -> Any:
    return -0.5 * ((x - p[0]) / p[1]) ** 2 - math.log(p[1]) - 0.5 * _LOG_2PI


def _logistic_start(x: Any, w: Any) -> Any:
    mean, sd, _ = moments(x, w)
    return np.array([mean, math.log(sd * math.sqrt(3) / math.pi)])


def _logistic_logpdf(x: Any, p: Any) -> Any:
    z = np.abs((x - p[0]) / p[1])
    return -z - math.log(p[1]) - 2 * np.log1p(np.exp(-z))


def _extreme_start(x: Any, w: Any) -> Any:
    mean, sd, _ = moments(x, w)
    scale = sd * math.sqrt(6) / math.pi
    return np.array([mean - 0.5772156649 * scale, math.log(scale)])


def _extreme_logpdf(x: Any, p: Any) -> Any:
    z = (x - p[0]) / p[1]
    return -z - np.exp(np.minimum(-z, 700.0)) - math.log(p[1])


# --- families that begin at a bound -------------------------------------------------------


def _half_start(x: Any, w: Any) -> Any:
    return np.array([0.5 * math.log(float(w @ (x * x) / w.sum()))])


def _half_logpdf(x: Any, p: Any) -> Any:
    return 0.5 * math.log(2 / math.pi) - math.log(p[0]) - 0.5 * (x / p[0]) ** 2


def _rayleigh_start(x: Any, w: Any) -> Any:
    return np.array([0.5 * math.log(float(w @ (x * x) / w.sum()) / 2)])


def _rayleigh_logpdf(x: Any, p: Any) -> Any:
    with np.errstate(divide="ignore"):
        return np.log(x) - 2 * math.log(p[0]) - 0.5 * (x / p[0]) ** 2


class Folded:
    """The magnitude of a normal variable; SciPy's own takes a thousand times longer for quantiles."""

    def __init__(self, p: Any) -> None:
        self.mean, self.sd = (float(v) for v in p)

    def sf(self, x: Any) -> Any:
        """Share of parts beyond x, exact in the far tail."""
        x = np.maximum(np.asarray(x, dtype=float), 0.0)
        return ndtr((self.mean - x) / self.sd) + ndtr((-self.mean - x) / self.sd)

    def cdf(self, x: Any) -> Any:
        """Share of parts up to x."""
        x = np.maximum(np.asarray(x, dtype=float), 0.0)
        # The difference of the tails nearer to zero loses no digits.
        return ndtr((x - self.mean) / self.sd) - ndtr((-x - self.mean) / self.sd)

    def ppf(self, q: Any) -> Any:
        """Quantiles, by bisection over all at once, from the tail that is the smaller."""
        q = np.asarray(q, dtype=float)
        low, high = np.zeros(q.shape), np.full(q.shape, self.mean + 39 * self.sd)
        for _ in range(70):
            middle = (low + high) / 2
            below = np.where(q < 0.5, self.cdf(middle) < q, self.sf(middle) > 1 - q)
            low, high = np.where(below, middle, low), np.where(below, high, middle)
        return (low + high) / 2

    def logpdf(self, x: Any) -> Any:
        """Log density."""
        x = np.asarray(x, dtype=float)
        return np.where(x >= 0, _folded_logpdf(x, (self.mean, self.sd)), -np.inf)

    def rvs(self, size: Any, random_state: np.random.Generator) -> Any:
        """Random values."""
        return np.abs(random_state.normal(self.mean, self.sd, size))


def _folded_start(x: Any, w: Any) -> Any:
    mean, sd, _ = moments(x, w)
    second = mean**2 + sd**2
    # The larger the ratio of mean to root mean square, the less is folded.
    shift = mean if mean > 1.6 * sd else 0.6 * mean
    return np.array([shift, 0.5 * math.log(max(second - shift**2, 0.05 * second))])


def _folded_unpack(free: Any, _: float) -> Any:
    return np.array([abs(free[0]), math.exp(free[1])])


def _folded_logpdf(x: Any, p: Any) -> Any:
    value = -0.5 * ((x - p[0]) / p[1]) ** 2 - math.log(p[1]) - 0.5 * _LOG_2PI
    return value + np.log1p(np.exp(-2 * x * p[0] / p[1] ** 2))


def _lognormal_start(x: Any, w: Any) -> Any:
    if x.min() <= 0:
        return np.array([np.nan, np.nan])
    mean, sd, _ = moments(np.log(x), w)
    return np.array([mean, math.log(sd)])


def _lognormal_logpdf(x: Any, p: Any) -> Any:
    with np.errstate(divide="ignore", invalid="ignore"):
        logs = np.log(x)
        return -0.5 * ((logs - p[0]) / p[1]) ** 2 - logs - math.log(p[1]) - 0.5 * _LOG_2PI


def _gamma_start(x: Any, w: Any) -> Any:
    mean, sd, _ = moments(x, w)
    return np.log(np.array([(mean / sd) ** 2, sd**2 / mean]))


def _gamma_logpdf(x: Any, p: Any) -> Any:
    with np.errstate(divide="ignore", invalid="ignore"):
        return (p[0] - 1) * np.log(x) - x / p[1] - gammaln(p[0]) - p[0] * math.log(p[1])


def _weibull_start(x: Any, w: Any) -> Any:
    mean, sd, _ = moments(x, w)
    shape = (sd / mean) ** -1.086
    return np.log(np.array([shape, mean / math.gamma(1 + 1 / shape)]))


def _weibull_logpdf(x: Any, p: Any) -> Any:
    with np.errstate(divide="ignore", invalid="ignore"):
        z = x / p[1]
        return math.log(p[0] / p[1]) + (p[0] - 1) * np.log(z) - z ** p[0]


# --- families that estimate where they begin ----------------------------------------------


def _threshold_gamma_start(x: Any, w: Any) -> Any:
    mean, sd, skew = moments(x, w)
    skew = min(max(skew, 0.05), 1.8)
    # The threshold, two standard deviations over the skewness below the mean, lies below all values.
    skew = min(skew, 2 * sd / ((mean - float(x.min())) + 0.05 * sd))
    return np.array([mean, math.log(sd), math.log(max(4 / skew**2 - 1, 0.05))])


def threshold_gamma_unpack(free: Any, _: float) -> Any:
    """threshold, shape, scale from mean, log sd and log of the shape's excess over one."""
    shape = 1 + math.exp(min(max(free[2], -6.0), 13.0))
    sd = math.exp(free[1])
    return np.array([free[0] - sd * math.sqrt(shape), shape, sd / math.sqrt(shape)])


def _threshold_gamma_logpdf(x: Any, p: Any) -> Any:
    return _gamma_logpdf(x - p[0], p[1:])


def _threshold_lognormal_start(x: Any, w: Any) -> Any:
    low, middle, high = centre_and_reach(x, w)
    s = max((high - low) / 2, 1e-6)
    e = math.log(max(high - middle, 1e-3) / max(middle - low, 1e-3))
    e = min(max(e, 0.02), 0.8)
    reach = s / (middle - float(x.min()) + 0.02 * s)
    return np.array([middle, math.log(s), math.log(min(e, 0.9 * reach))])


def threshold_lognormal_unpack(free: Any, _: float) -> Any:
    """threshold, log mean, log sd from median, log slope and log of the log sd."""
    e = math.exp(min(max(free[2], -7.0), 1.5))
    scale = math.exp(free[1]) / e
    return np.array([free[0] - scale, math.log(scale), e])


def _threshold_lognormal_logpdf(x: Any, p: Any) -> Any:
    return _lognormal_logpdf(x - p[0], p[1:])


#: All families with a plain likelihood; the mixture has a module of its own.
FAMILIES: dict[str, Family] = {
    item.name: item
    for item in (
        *TRANSFORMED,
        Family(
            "normal",
            ("mean", "sd"),
            False,
            _normal_logpdf,
            _normal_start,
            _location_scale,
            lambda p: Scipy("norm", p[0], p[1]),
            "ps",
            "pl",
            exact=True,
        ),
        Family(
            "logistic",
            ("location", "scale"),
            False,
            _logistic_logpdf,
            _logistic_start,
            _location_scale,
            lambda p: Scipy("logistic", p[0], p[1]),
            "ps",
            "pl",
        ),
        Family(
            "largest extreme value",
            ("location", "scale"),
            False,
            _extreme_logpdf,
            _extreme_start,
            _location_scale,
            lambda p: Scipy("gumbel_r", p[0], p[1]),
            "ps",
            "pl",
        ),
        Family(
            "half-normal",
            ("scale",),
            True,
            _half_logpdf,
            _half_start,
            _logs,
            lambda p: Scipy("halfnorm", 0, p[0]),
            "s",
            "l",
            exact=True,
        ),
        Family(
            "Rayleigh",
            ("scale",),
            True,
            _rayleigh_logpdf,
            _rayleigh_start,
            _logs,
            lambda p: Scipy("rayleigh", 0, p[0]),
            "s",
            "l",
            exact=True,
        ),
        Family(
            "folded normal",
            ("mean", "sd"),
            True,
            _folded_logpdf,
            _folded_start,
            _folded_unpack,
            Folded,
            "ps",
            "pl",
        ),
        Family(
            "lognormal",
            ("log_mean", "log_sd"),
            True,
            _lognormal_logpdf,
            _lognormal_start,
            _location_scale,
            lambda p: Scipy("lognorm", p[1], 0, math.exp(p[0])),
            "ln",
            "ln",
            exact=True,
        ),
        Family(
            "gamma",
            ("shape", "scale"),
            True,
            _gamma_logpdf,
            _gamma_start,
            _logs,
            lambda p: Scipy("gamma", p[0], 0, p[1]),
            "ns",
            "nl",
        ),
        Family(
            "Weibull",
            ("shape", "scale"),
            True,
            _weibull_logpdf,
            _weibull_start,
            _logs,
            lambda p: Scipy("weibull_min", p[0], 0, p[1]),
            "ns",
            "nl",
        ),
        Family(
            "gamma with threshold",
            ("threshold", "shape", "scale"),
            False,
            _threshold_gamma_logpdf,
            _threshold_gamma_start,
            threshold_gamma_unpack,
            lambda p: Scipy("gamma", p[1], p[0], p[2]),
            "pns",
            "pln",
        ),
        Family(
            "lognormal with threshold",
            ("threshold", "log_mean", "log_sd"),
            False,
            _threshold_lognormal_logpdf,
            _threshold_lognormal_start,
            threshold_lognormal_unpack,
            lambda p: Scipy("lognorm", p[2], p[0], math.exp(p[1])),
            "pln",
            "pln",
        ),
    )
}
MIXTURE = "normal mixture"
#: Every name that study.toml may give under "family".
NAMES = (*FAMILIES, MIXTURE)
