"""Families that estimate where they begin: gamma, lognormal and Weibull with threshold.

The threshold lies below the smallest value, with a shape that starts smoothly (a likelihood without that
rule has no maximum). Each is written from its middle and its spread there, so that it passes smoothly
into its limit (normal; for Weibull the smallest extreme value) as the threshold moves away.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from scipy import special

from linestudy.shape.families.family import (
    ANY,
    HALF_LOG_2PI,
    FamilyInScipy,
    centre_and_reach,
    log1p_less,
    moments,
    stirling,
)

#: A value must lie so far inside, relative to the spread at the middle times the bend.
_INSIDE = 1e-3


class ThresholdGamma(FamilyInScipy):
    """Pearson's type III. Coordinates: mean, log SD, skewness (2 over the root of the shape)."""

    name = "gamma with threshold"
    names = ("threshold", "shape", "scale")
    kinds, coordinate_kinds = "pns", "pln"
    limits = (ANY, ANY, (0.003, 1.999))
    bend = 2
    in_scipy = "gamma"

    def starts(self, x: Any, w: Any) -> list[Any]:
        mean, sd, skew = moments(x, w)
        skew = min(max(skew, 0.05), 1.8)
        # The threshold, two standard deviations over the skewness below the mean, lies below all values.
        skew = min(skew, 2 * sd / ((mean - float(x[0])) + 0.05 * sd))
        return [np.array([mean, math.log(sd), skew])]

    def parameters(self, c: Any) -> Any:
        a, sd = 4 / c[2] ** 2, np.exp(c[1])
        return np.array([c[0] - sd * np.sqrt(a), a, sd / np.sqrt(a)])

    def coordinates(self, p: Any) -> Any:
        sd = p[2] * math.sqrt(p[1])
        return np.array([p[0] + p[1] * p[2], math.log(sd), 2 / math.sqrt(p[1])])

    def scipy_parameters(self, c: Any) -> tuple[float, ...]:
        threshold, shape, scale = self.parameters(c)
        return float(shape), float(threshold), float(scale)

    def inside(self, smallest: Any, largest: Any, c: Any) -> Any:
        # In units of the gamma variable itself.
        a = 4 / c[2] ** 2
        return a + np.sqrt(a) * (smallest - c[0]) / np.exp(c[1]) > _INSIDE

    def _y(self, x: Any, c: Any) -> Any:
        """Compute the gamma variable over its mean, less one."""
        return (x - c[0]) / np.exp(c[1]) * (c[2] / 2)

    def logpdf(self, x: Any, c: Any) -> Any:
        a, y = 4 / c[2] ** 2, self._y(x, c)
        # Written from Stirling's formula: for a large shape nothing large is left to cancel.
        with np.errstate(divide="ignore", invalid="ignore"):
            value = a * log1p_less(y) - np.log1p(y) - HALF_LOG_2PI - stirling(a)[0] - c[1]
        return np.where(y > -1, value, -np.inf)

    def score(self, x: Any, c: Any) -> list[Any]:
        b, sd = c[2], np.exp(c[1])
        a = 4 / b**2
        u = (x - c[0]) / sd
        y = np.maximum(u * b / 2, -1 + 1e-12)
        by_y = -(a * y + 1) / (1 + y)
        by_a = log1p_less(y) - stirling(a)[1]
        return [-by_y * b / (2 * sd), -by_y * y - 1, by_y * u / 2 - by_a * 2 * a / b]

    def _gamma(self, x: Any, c: Any) -> Any:
        return 4 / c[2] ** 2 * np.maximum(1 + self._y(x, c), 0.0)

    def cdf(self, x: Any, c: Any) -> Any:
        return special.gammainc(4 / c[2] ** 2, self._gamma(x, c))

    def sf(self, x: Any, c: Any) -> Any:
        return special.gammaincc(4 / c[2] ** 2, self._gamma(x, c))

    def ppf(self, q: Any, c: Any) -> Any:
        a = 4 / c[2] ** 2
        return c[0] + np.exp(c[1]) * (special.gammaincinv(a, q) - a) / np.sqrt(a)


class ThresholdLognormal(FamilyInScipy):
    """Coordinates: median, log slope there, logarithm of the SD of the logarithms."""

    name = "lognormal with threshold"
    names = ("threshold", "log_mean", "log_sd")
    # log_mean is a logarithm of the unit.
    kinds, coordinate_kinds = "pln", "pln"
    limits = (ANY, ANY, (-7.0, 1.5))
    bend = 2
    bend_in_logs = True
    in_scipy = "lognorm"

    def starts(self, x: Any, w: Any) -> list[Any]:
        low, middle, high = centre_and_reach(x, w)
        scale = max((high - low) / 2, 1e-6)
        e = math.log(max(high - middle, 1e-3) / max(middle - low, 1e-3))
        e = min(max(e, 0.02), 0.8)
        reach = scale / (middle - float(x[0]) + 0.02 * scale)
        return [np.array([middle, math.log(scale), math.log(min(e, 0.9 * reach))])]

    def parameters(self, c: Any) -> Any:
        e = np.exp(c[2])
        scale = np.exp(c[1]) / e
        return np.array([c[0] - scale, np.log(scale), e])

    def coordinates(self, p: Any) -> Any:
        e = p[2]
        return np.array([p[0] + math.exp(p[1]), p[1] + math.log(e), math.log(e)])

    def scipy_parameters(self, c: Any) -> tuple[float, ...]:
        threshold, log_mean, log_sd = self.parameters(c)
        return float(log_sd), float(threshold), math.exp(log_mean)

    def inside(self, smallest: Any, largest: Any, c: Any) -> Any:
        return 1 + np.exp(c[2]) * (smallest - c[0]) / np.exp(c[1]) > _INSIDE

    def _bent(self, x: Any, c: Any) -> tuple[Any, Any, Any, Any]:
        return _bent(x, c, np.exp(c[2]))

    def logpdf(self, x: Any, c: Any) -> Any:
        e, u, r, less = self._bent(x, c)
        with np.errstate(all="ignore"):
            value = -0.5 * (u + less / e) ** 2 - HALF_LOG_2PI - c[1] - np.log(r)
        return np.where(r > 0, value, -np.inf)

    def score(self, x: Any, c: Any) -> list[Any]:
        first, second, by_e = bent_score(*self._bent(x, c), np.exp(c[1]))
        return [first, second, by_e * np.exp(c[2])]

    def _z(self, x: Any, c: Any) -> Any:
        e, u, r, less = self._bent(x, c)
        with np.errstate(all="ignore"):
            return np.where(r > 0, u + less / e, -np.inf)

    def cdf(self, x: Any, c: Any) -> Any:
        return special.ndtr(self._z(x, c))

    def sf(self, x: Any, c: Any) -> Any:
        return special.ndtr(-self._z(x, c))

    def ppf(self, q: Any, c: Any) -> Any:
        e = np.exp(c[2])
        return c[0] + np.exp(c[1]) * np.expm1(e * special.ndtri(q)) / e


def _bent(x: Any, c: Any, e: Any) -> tuple[Any, Any, Any, Any]:
    """Compute bend, distance from the median in slopes, the logarithm's argument, and log less straight."""
    u = (x - c[0]) / np.exp(c[1])
    with np.errstate(all="ignore"):
        return e, u, 1 + e * u, log1p_less(e * u)


def bent_score(e: Any, u: Any, r: Any, less: Any, s: Any) -> list[Any]:
    """Compute slopes of the log density of a bent normal by median, log slope and bend."""
    with np.errstate(all="ignore"):
        r = np.maximum(r, 1e-12)
        z = u + less / e
        t = (z + e) / r
        by_e = z * (u * u / r + less / (e * e)) - u / r
    return [t / s, t * u - 1, by_e]


class ThresholdWeibull(FamilyInScipy):
    """Coordinates: the value at the characteristic life, log slope there, logit of one over the shape.

    ``x = m + s (w^k - 1) / k`` with w standard exponential; its shape is ``1 / k``, above one.
    """

    name = "Weibull with threshold"
    names = ("threshold", "shape", "scale")
    kinds, coordinate_kinds = "pns", "pln"
    limits = (ANY, ANY, (-6.0, 6.0))
    bend = 2
    bend_in_logs = True
    in_scipy = "weibull_min"

    def starts(self, x: Any, w: Any) -> list[Any]:
        low, middle, high = centre_and_reach(x, w)
        y = np.log(-np.log1p(-np.array([0.15866, 0.5, 0.84134])))

        def shaped(k: float) -> Any:
            t = np.expm1(k * y) / k
            scale = max((high - low) / (t[2] - t[0]), 1e-6)
            m = middle - scale * t[1]
            # The threshold must lie below the smallest value.
            m = min(m, float(x[0]) + scale / k - 0.02 * scale)
            return np.array([m, math.log(scale), math.log(k / (1 - k))])

        return self.likeliest(map(shaped, (0.05, 0.15, 0.3, 0.45, 0.6, 0.8)), x, w)

    def parameters(self, c: Any) -> Any:
        k = special.expit(c[2])
        scale = np.exp(c[1]) / k
        return np.array([c[0] - scale, 1 / k, scale])

    def coordinates(self, p: Any) -> Any:
        k = 1 / p[1]
        return np.array([p[0] + p[2], math.log(p[2] * k), float(special.logit(k))])

    def scipy_parameters(self, c: Any) -> tuple[float, ...]:
        threshold, shape, scale = self.parameters(c)
        return float(shape), float(threshold), float(scale)

    def inside(self, smallest: Any, largest: Any, c: Any) -> Any:
        return 1 + special.expit(c[2]) * (smallest - c[0]) / np.exp(c[1]) > _INSIDE

    def _y(self, x: Any, c: Any) -> Any:
        """Compute the logarithm of the standard exponential variable."""
        k = special.expit(c[2])
        with np.errstate(all="ignore"):
            return np.log1p(np.maximum(k * (x - c[0]) / np.exp(c[1]), -1.0)) / k

    def logpdf(self, x: Any, c: Any) -> Any:
        y = self._y(x, c)
        with np.errstate(all="ignore"):
            value = y * (1 - special.expit(c[2])) - np.exp(np.minimum(y, 700.0)) - c[1]
        return np.where(np.isfinite(y), value, -np.inf)

    def score(self, x: Any, c: Any) -> list[Any]:
        k, s = special.expit(c[2]), np.exp(c[1])
        u = (x - c[0]) / s
        r = np.maximum(1 + k * u, 1e-12)
        y = np.log1p(np.maximum(k * u, -1 + 1e-12)) / k
        t = 1 - np.exp(np.minimum(y, 700.0))
        by_k = t * (u / r - y) / k - u / r
        return [(k - t) / (s * r), (k - t) * u / r - 1, by_k * k * (1 - k)]

    def cdf(self, x: Any, c: Any) -> Any:
        return -np.expm1(-np.exp(np.minimum(self._y(x, c), 700.0)))

    def sf(self, x: Any, c: Any) -> Any:
        return np.exp(-np.exp(np.minimum(self._y(x, c), 700.0)))

    def ppf(self, q: Any, c: Any) -> Any:
        k = special.expit(c[2])
        with np.errstate(divide="ignore"):
            y = np.log(-np.log1p(-np.asarray(q, dtype=float)))
        return c[0] + np.exp(c[1]) * np.expm1(k * y) / k
