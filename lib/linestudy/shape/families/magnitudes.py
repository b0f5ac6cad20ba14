"""Magnitudes of normal errors, which begin at a bound: half-normal, Rayleigh, folded normal."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from scipy import special

from linestudy.shape.families.family import (
    ANY,
    HALF_LOG_2PI,
    Family,
    FamilyInScipy,
    moments,
    quantiles,
)


class _OneScale(FamilyInScipy):
    """Coordinate: the logarithm of the scale; the maximum is a root mean square."""

    names = ("scale",)
    kinds, coordinate_kinds = "s", "l"
    limits = (ANY,)
    from_bound = True
    #: Squares of values over that of the scale.
    _squares = 1.0

    def parameters(self, c: Any) -> Any:
        return np.array([np.exp(c[0])])

    def coordinates(self, p: Any) -> Any:
        return np.array([math.log(p[0])])

    def starts(self, x: Any, w: Any) -> list[Any]:
        return [np.array([0.5 * math.log(float(w @ (x * x) / w.sum()) / self._squares)])]

    def closed_form(self, x: Any) -> Any:
        return 0.5 * np.log((x * x).mean(axis=1) / self._squares)[None]

    def scipy_parameters(self, c: Any) -> tuple[float, ...]:
        return 0.0, math.exp(c[0])

    def _z(self, x: Any, c: Any) -> Any:
        return np.maximum(x, 0.0) / np.exp(c[0])


class HalfNormal(_OneScale):
    """The magnitude of a normal error whose mean is nought."""

    name, in_scipy = "half-normal", "halfnorm"

    def logpdf(self, x: Any, c: Any) -> Any:
        value = math.log(2.0) - HALF_LOG_2PI - c[0] - 0.5 * self._z(x, c) ** 2
        return np.where(np.asarray(x) >= 0, value, -np.inf)

    def score(self, x: Any, c: Any) -> list[Any]:
        return [self._z(x, c) ** 2 - 1]

    def cdf(self, x: Any, c: Any) -> Any:
        return special.erf(self._z(x, c) / math.sqrt(2))

    def sf(self, x: Any, c: Any) -> Any:
        return 2 * special.ndtr(-self._z(x, c))

    def ppf(self, q: Any, c: Any) -> Any:
        return np.exp(c[0]) * special.ndtri((1 + np.asarray(q)) / 2)


class Rayleigh(_OneScale):
    """The distance from the origin of two normal errors of equal spread and mean nought."""

    name, in_scipy = "Rayleigh", "rayleigh"
    _squares = 2.0

    def logpdf(self, x: Any, c: Any) -> Any:
        with np.errstate(divide="ignore", invalid="ignore"):
            value = np.log(x) - 2 * c[0] - 0.5 * self._z(x, c) ** 2
        return np.where(np.asarray(x) > 0, value, -np.inf)

    def score(self, x: Any, c: Any) -> list[Any]:
        return [self._z(x, c) ** 2 - 2]

    def cdf(self, x: Any, c: Any) -> Any:
        return -np.expm1(-0.5 * self._z(x, c) ** 2)

    def sf(self, x: Any, c: Any) -> Any:
        return np.exp(-0.5 * self._z(x, c) ** 2)

    def ppf(self, q: Any, c: Any) -> Any:
        return np.exp(c[0]) * np.sqrt(-2 * np.log1p(-np.asarray(q, dtype=float)))


class FoldedNormal(Family):
    """The magnitude of one normal error.

    Its likelihood has a top with a positive mean only where the fourth moment about the bound is less than
    three squares of the second (Johnson, *Technometrics* 4 (1962), 249-256; found again by setting the fourth
    derivative to nought); elsewhere the best mean is nought, and the family is the half-normal one.
    """

    name = "folded normal"
    names = ("mean", "sd")
    kinds, coordinate_kinds = "ps", "pl"
    limits = ((0.0, math.inf), ANY)
    from_bound = True
    mirrored = 0

    def starts(self, x: Any, w: Any) -> list[Any]:
        total = w.sum()
        second = float(w @ (x * x) / total)
        if float(w @ x**4 / total) >= (3 - 1e-6) * second**2:
            return [np.array([0.0, 0.5 * math.log(second)])]
        mean, sd, _ = moments(x, w)
        # The larger the ratio of mean to root mean square, the less is folded.
        shift = mean if mean > 1.6 * sd else 0.6 * mean
        return [np.array([shift, 0.5 * math.log(max(second - shift**2, 0.05 * second))])]

    def edge_form(self, x: Any) -> tuple[Any, Any]:
        square = x * x
        second = square.mean(axis=1)
        at_nought = (square * square).mean(axis=1) >= 3 * second**2
        return at_nought, np.array([np.zeros(len(x)), 0.5 * np.log(second)])

    def degenerate(self, c: Any) -> str | None:
        return "its best mean is nought, which is the half-normal" if c[0] == 0 else None

    def in_range(self, c: Any) -> Any:
        out = np.array(c, dtype=float)
        out[0] = np.abs(out[0])  # its sign means nothing; keep one
        return out

    def parameters(self, c: Any) -> Any:
        return np.array([np.abs(c[0]), np.exp(c[1])])

    def coordinates(self, p: Any) -> Any:
        return np.array([p[0], math.log(p[1])])

    def logpdf(self, x: Any, c: Any) -> Any:
        s = np.exp(c[1])
        value = -0.5 * ((x - c[0]) / s) ** 2 - c[1] - HALF_LOG_2PI
        value = value + np.log1p(np.exp(-2 * np.abs(x * c[0]) / s**2))
        return np.where(np.asarray(x) >= 0, value, -np.inf)

    def score(self, x: Any, c: Any) -> list[Any]:
        s = np.exp(c[1])
        t = np.tanh(x * (c[0] / s**2))
        return [(x * t - c[0]) / s**2, (x * x + c[0] ** 2 - 2 * c[0] * x * t) / s**2 - 1]

    def cdf(self, x: Any, c: Any) -> Any:
        s, x = np.exp(c[1]), np.maximum(x, 0.0)
        return special.ndtr((x - c[0]) / s) - special.ndtr((-x - c[0]) / s)

    def sf(self, x: Any, c: Any) -> Any:
        s, x = np.exp(c[1]), np.maximum(x, 0.0)
        return special.ndtr((c[0] - x) / s) + special.ndtr((-c[0] - x) / s)

    def ppf(self, q: Any, c: Any) -> Any:
        mean, sd = abs(float(c[0])), float(np.exp(c[1]))
        q = np.asarray(q, dtype=float)
        # Above those of the half-normal and of the normal distribution, and below the mean plus the half-normal's.
        half = sd * np.minimum(special.ndtri((1 + q) / 2), 39.0)
        low = np.maximum(mean + sd * np.maximum(special.ndtri(q), -39.0), half)
        return quantiles(self, q, c, low, mean + half, sd)

    def rvs(self, size: Any, c: Any, rng: np.random.Generator) -> Any:
        return np.abs(rng.normal(c[0], math.exp(c[1]), size))
