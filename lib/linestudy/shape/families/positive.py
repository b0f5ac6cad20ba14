"""Families of positive values that begin at a bound: lognormal, gamma, Weibull."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from scipy import special

from linestudy.shape.families.family import (
    ANY,
    HALF_LOG_2PI,
    FamilyInScipy,
    log1p_less,
    moments,
    stirling,
)
from linestudy.shape.families.location_scale import normal_rows


def _log(x: Any) -> Any:
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.log(np.maximum(x, 0.0))


class Lognormal(FamilyInScipy):
    """The logarithm is normal. Coordinates: mean and logarithm of the SD of the logarithms."""

    name = "lognormal"
    names = ("log_mean", "log_sd")
    kinds, coordinate_kinds = "ln", "ln"
    limits = (ANY, ANY)
    from_bound = True
    in_scipy = "lognorm"

    def starts(self, x: Any, w: Any) -> list[Any]:
        if x[0] <= 0:
            return []
        mean, sd, _ = moments(np.log(x), w)
        return [np.array([mean, math.log(sd)])] if sd > 0 else []

    def closed_form(self, x: Any) -> Any:
        return normal_rows(np.log(x))

    def parameters(self, c: Any) -> Any:
        return np.array([c[0], np.exp(c[1])])

    def coordinates(self, p: Any) -> Any:
        return np.array([p[0], math.log(p[1])])

    def scipy_parameters(self, c: Any) -> tuple[float, ...]:
        return math.exp(c[1]), 0.0, math.exp(c[0])

    def _z(self, x: Any, c: Any) -> Any:
        return (_log(x) - c[0]) / np.exp(c[1])

    def logpdf(self, x: Any, c: Any) -> Any:
        value = -0.5 * self._z(x, c) ** 2 - _log(x) - c[1] - HALF_LOG_2PI
        return np.where(np.asarray(x) > 0, value, -np.inf)

    def score(self, x: Any, c: Any) -> list[Any]:
        z = self._z(x, c)
        return [z / np.exp(c[1]), z * z - 1]

    def cdf(self, x: Any, c: Any) -> Any:
        return special.ndtr(self._z(x, c))

    def sf(self, x: Any, c: Any) -> Any:
        return special.ndtr(-self._z(x, c))

    def ppf(self, q: Any, c: Any) -> Any:
        return np.exp(c[0] + np.exp(c[1]) * special.ndtri(q))


class Gamma(FamilyInScipy):
    """Pearson's type III from a known bound. Coordinates: logarithms of shape and mean.

    The mean is estimated independently of the shape; the scale is not.
    """

    name, in_scipy = "gamma", "gamma"
    names = ("shape", "scale")
    kinds, coordinate_kinds = "ns", "nl"
    limits = ((-9.0, 20.0), ANY)
    from_bound = True

    def starts(self, x: Any, w: Any) -> list[Any]:
        mean, sd, _ = moments(x, w)
        return [np.array([2 * math.log(mean / sd), math.log(mean)])]

    def parameters(self, c: Any) -> Any:
        return np.array([np.exp(c[0]), np.exp(c[1] - c[0])])

    def coordinates(self, p: Any) -> Any:
        return np.array([math.log(p[0]), math.log(p[0]) + math.log(p[1])])

    def scipy_parameters(self, c: Any) -> tuple[float, ...]:
        return math.exp(c[0]), 0.0, math.exp(c[1] - c[0])

    @staticmethod
    def _parts(x: Any, c: Any) -> tuple[Any, Any, Any]:
        """Compute the variable over its mean less one, the logarithm of the ratio, and the second less the first.

        Digits are kept at the mean, and at the bound where the ratio is nearly nothing.
        """
        y = x / np.exp(c[1]) - 1
        with np.errstate(divide="ignore", invalid="ignore"):
            log = np.where(y < -0.5, _log(x) - c[1], np.log1p(y))
            return y, log, np.where(y < -0.5, log - y, log1p_less(y))

    def logpdf(self, x: Any, c: Any) -> Any:
        a, (_, log, less) = np.exp(c[0]), self._parts(x, c)
        # Written from Stirling's formula: for a large shape nothing large is left to cancel.
        with np.errstate(invalid="ignore"):
            value = a * less - log + c[0] / 2 - HALF_LOG_2PI - stirling(a)[0] - c[1]
        return np.where(np.asarray(x) > 0, value, -np.inf)

    def score(self, x: Any, c: Any) -> list[Any]:
        a, (y, _, less) = np.exp(c[0]), self._parts(x, c)
        return [a * (less - stirling(a)[1]) + 0.5, a * y]

    def _variable(self, x: Any, c: Any) -> Any:
        return np.maximum(x, 0.0) / np.exp(c[1] - c[0])

    def cdf(self, x: Any, c: Any) -> Any:
        return special.gammainc(np.exp(c[0]), self._variable(x, c))

    def sf(self, x: Any, c: Any) -> Any:
        return special.gammaincc(np.exp(c[0]), self._variable(x, c))

    def ppf(self, q: Any, c: Any) -> Any:
        return np.exp(c[1] - c[0]) * special.gammaincinv(np.exp(c[0]), q)


class Weibull(FamilyInScipy):
    """The weakest of many, from a known bound. Coordinates: logarithms of shape and scale."""

    name, in_scipy = "Weibull", "weibull_min"
    limits = ((-6.0, 12.0), ANY)
    names = ("shape", "scale")
    kinds, coordinate_kinds = "ns", "nl"
    from_bound = True

    def parameters(self, c: Any) -> Any:
        return np.array([np.exp(c[0]), np.exp(c[1])])

    def coordinates(self, p: Any) -> Any:
        return np.log(np.asarray(p, dtype=float))

    def scipy_parameters(self, c: Any) -> tuple[float, ...]:
        return math.exp(c[0]), 0.0, math.exp(c[1])

    def starts(self, x: Any, w: Any) -> list[Any]:
        mean, sd, _ = moments(x, w)
        shape = (sd / mean) ** -1.086
        return [np.log(np.array([shape, mean / math.gamma(1 + 1 / shape)]))]

    def _y(self, x: Any, c: Any) -> Any:
        return (_log(x) - c[1]) * np.exp(c[0])

    def logpdf(self, x: Any, c: Any) -> Any:
        with np.errstate(invalid="ignore"):
            y = self._y(x, c)
            value = c[0] + y - _log(x) - np.exp(np.minimum(y, 700.0))
        return np.where(np.asarray(x) > 0, value, -np.inf)

    def score(self, x: Any, c: Any) -> list[Any]:
        y = self._y(x, c)
        w = np.exp(np.minimum(y, 700.0))
        return [1 + y * (1 - w), np.exp(c[0]) * (w - 1)]

    def cdf(self, x: Any, c: Any) -> Any:
        return -np.expm1(-np.exp(np.minimum(self._y(x, c), 700.0)))

    def sf(self, x: Any, c: Any) -> Any:
        return np.exp(-np.exp(np.minimum(self._y(x, c), 700.0)))

    def ppf(self, q: Any, c: Any) -> Any:
        with np.errstate(divide="ignore"):
            y = np.log(-np.log1p(-np.asarray(q, dtype=float)))
        return np.exp(c[1] + y * np.exp(-c[0]))
