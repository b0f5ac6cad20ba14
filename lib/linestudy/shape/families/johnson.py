"""Johnson's systems (*Biometrika* 36 (1949)), written from the median m and the slope s there.

``x = m + s (h(e z + v) - h(v)) / (e h'(v))`` with z standard normal and h = exp (S_L, to either side), sinh
(S_U, no bound) or the logistic function (S_B, two bounds). In Johnson's letters ``delta = 1 / e`` and
``gamma = -v / e``. As the bend e falls to nought each becomes the normal distribution.

Misleads: S_B with few values runs to a bound at the smallest or largest of them; its shape is kept moderate.
Four parameters describe nearly anything, so their outer quantiles are poorly known; the intervals show it.
"""

from __future__ import annotations

import math
from abc import abstractmethod
from typing import Any

import numpy as np
from scipy import special

from linestudy.shape.families.family import (
    ANY,
    HALF_LOG_2PI,
    Family,
    centre_and_reach,
    log1p_less,
)
from linestudy.shape.families.threshold import bent_score

#: Shapes are kept where the families differ from their limits, and S_B from two spikes.
_LOG_E = (math.log(0.02), math.log(2.0))
_TILT = 6.0
#: A bend so small makes S_L the normal distribution for any purpose.
_STRAIGHT = 1e-3


class JohnsonL(Family):
    """``delta log((x - xi) / lambda)`` is standard normal; a negative lambda is skewed to the left.

    Coordinates: median, log slope there, signed bend.
    """

    name = "Johnson S_L"
    names = ("xi", "lambda", "delta")
    kinds, coordinate_kinds = "psn", "pln"
    limits = (ANY, ANY, (-3.0, 3.0))
    bend = 2

    def starts(self, x: Any, w: Any) -> list[Any]:
        low, middle, high = centre_and_reach(x, w)
        # (high - middle) / (middle - low) is exp(e) for an S_L distribution.
        e = math.log(max(high - middle, 1e-3) / max(middle - low, 1e-3))
        e = math.copysign(min(max(abs(e), 0.02), 0.5), e)
        scale = max((high - low) / 2, 1e-6)
        # The end must lie outside the values, or the search begins where nothing is possible.
        reach = scale / max((middle - float(x[0])) if e > 0 else (float(x[-1]) - middle), 1e-6)
        return [np.array([middle, math.log(scale), math.copysign(min(abs(e), 0.8 * reach), e)])]

    def degenerate(self, c: Any) -> str | None:
        return "it is straight, which is the normal" if abs(float(c[2])) < _STRAIGHT else None

    @staticmethod
    def _e(c: Any) -> Any:
        return np.where(c[2] == 0, 1e-30, c[2])

    def parameters(self, c: Any) -> Any:
        e = np.where(np.abs(c[2]) < 1e-4, np.copysign(1e-4, c[2]), c[2])
        scale = np.exp(c[1]) / e
        return np.array([c[0] - scale, scale, 1 / np.abs(e)])

    def coordinates(self, p: Any) -> Any:
        e = math.copysign(1 / p[2], p[1])
        return np.array([p[0] + p[1], math.log(p[1] * e), e])

    def inside(self, smallest: Any, largest: Any, c: Any) -> Any:
        slope = c[2] / np.exp(c[1])
        return (1 + slope * (smallest - c[0]) > 2e-3) & (1 + slope * (largest - c[0]) > 2e-3)

    def _bent(self, x: Any, c: Any) -> tuple[Any, Any, Any, Any]:
        e = self._e(c)
        u = (x - c[0]) / np.exp(c[1])
        with np.errstate(all="ignore"):
            return e, u, 1 + e * u, log1p_less(e * u)

    def _z(self, x: Any, c: Any) -> Any:
        e, u, r, less = self._bent(x, c)
        with np.errstate(all="ignore"):
            return np.where(r > 0, u + less / e, -np.inf * np.sign(e))

    def logpdf(self, x: Any, c: Any) -> Any:
        e, u, r, less = self._bent(x, c)
        with np.errstate(all="ignore"):
            value = -0.5 * (u + less / e) ** 2 - HALF_LOG_2PI - c[1] - np.log(r)
        return np.where(r > 0, value, -np.inf)

    def score(self, x: Any, c: Any) -> list[Any]:
        return bent_score(*self._bent(x, c), np.exp(c[1]))

    def cdf(self, x: Any, c: Any) -> Any:
        return special.ndtr(self._z(x, c))

    def sf(self, x: Any, c: Any) -> Any:
        return special.ndtr(-self._z(x, c))

    def ppf(self, q: Any, c: Any) -> Any:
        e = self._e(c)
        return c[0] + np.exp(c[1]) * np.expm1(e * special.ndtri(q)) / e


class _FourParameters(Family):
    """Coordinates: median, log slope there, logarithm of the bend, tilt."""

    names = ("gamma", "delta", "xi", "lambda")
    kinds, coordinate_kinds = "nnps", "plnn"
    limits = (ANY, ANY, _LOG_E, (-_TILT, _TILT))
    bend = 2
    bend_in_logs = True
    _grid: tuple[float, ...]

    @staticmethod
    @abstractmethod
    def _h(v: Any) -> tuple[Any, Any, Any]:
        """Compute the transformation, its slope and its second derivative."""

    @staticmethod
    @abstractmethod
    def _back(r: Any) -> tuple[Any, Any, Any]:
        """Invert the transformation at r: the place, the slope there, and the slope's logarithmic derivative."""

    def starts(self, x: Any, w: Any) -> list[Any]:
        """Select the best of a small grid of shapes with the median and spread of the values."""
        low, middle, high = centre_and_reach(x, w)

        def shaped(e: float, v: float) -> Any:
            reach = float(self._h(v + e)[0] - self._h(v - e)[0]) / e
            scale = max((high - low) * float(self._h(v)[1]) / reach, 1e-6)
            return np.array([middle, math.log(scale), math.log(e), v])

        tilts = (0.0, -0.8, 0.8, -2.0, 2.0)
        return self.likeliest((shaped(e, v) for e in self._grid for v in tilts), x, w)

    def parameters(self, c: Any) -> Any:
        h, a, _ = self._h(c[3])
        e = np.exp(c[2])
        scale = np.exp(c[1]) / (e * a)
        return np.array([-c[3] / e, 1 / e, c[0] - scale * h, scale])

    def coordinates(self, p: Any) -> Any:
        e = 1 / p[1]
        v = -p[0] * e
        h, a, _ = self._h(v)
        return np.array([p[2] + p[3] * h, math.log(p[3] * e * a), math.log(e), v])

    def _r(self, x: Any, c: Any) -> Any:
        h, a, _ = self._h(c[3])
        return h + np.exp(c[2]) * a * (x - c[0]) / np.exp(c[1])

    def _z(self, x: Any, c: Any) -> Any:
        return (self._back(self._r(x, c))[0] - c[3]) / np.exp(c[2])

    def logpdf(self, x: Any, c: Any) -> Any:
        y, d, _ = self._back(self._r(x, c))
        with np.errstate(all="ignore"):
            z = (y - c[3]) / np.exp(c[2])
            value = -0.5 * z * z - HALF_LOG_2PI + np.log(self._h(c[3])[1]) - np.log(d) - c[1]
        return np.where(np.isfinite(z), value, -np.inf)

    def score(self, x: Any, c: Any) -> list[Any]:
        h, a, b = self._h(c[3])
        e, s = np.exp(c[2]), np.exp(c[1])
        w = (x - c[0]) / s
        with np.errstate(all="ignore"):
            y, d, g = self._back(h + e * a * w)
            z = (y - c[3]) / e
            by_y = -(z / e + g)
            # y changes by m, log s, log e and v as follows.
            bent = by_y * (e * a) * w / d
            by_v = by_y * (a + e * b * w) / d + z / e + b / a
            return [by_y * (-e * a / s) / d, -bent - 1, bent + z * z, by_v]

    def cdf(self, x: Any, c: Any) -> Any:
        return special.ndtr(self._z(x, c))

    def sf(self, x: Any, c: Any) -> Any:
        return special.ndtr(-self._z(x, c))

    def ppf(self, q: Any, c: Any) -> Any:
        h, a, _ = self._h(c[3])
        e = np.exp(c[2])
        return c[0] + np.exp(c[1]) * (self._h(e * special.ndtri(q) + c[3])[0] - h) / (e * a)


class JohnsonU(_FourParameters):
    """Without bounds, with tails longer than the normal's."""

    name = "Johnson S_U"
    _grid = (0.15, 0.5, 0.9)

    @staticmethod
    def _h(v: Any) -> tuple[Any, Any, Any]:
        return np.sinh(v), np.cosh(v), np.sinh(v)

    @staticmethod
    def _back(r: Any) -> tuple[Any, Any, Any]:
        d = np.sqrt(1 + r * r)
        return np.arcsinh(r), d, r / d


class JohnsonB(_FourParameters):
    """Between two bounds."""

    name = "Johnson S_B"
    _grid = (0.15, 0.4, 0.8, 1.2)

    @staticmethod
    def _h(v: Any) -> tuple[Any, Any, Any]:
        h = special.expit(v)
        a = h * (1 - h)
        return h, a, a * (1 - 2 * h)

    @staticmethod
    def _back(r: Any) -> tuple[Any, Any, Any]:
        r = np.clip(r, 0.0, 1.0)
        return special.logit(r), r * (1 - r), 1 - 2 * r

    def inside(self, smallest: Any, largest: Any, c: Any) -> Any:
        return (self._r(smallest, c) > 1e-4) & (self._r(largest, c) < 1 - 1e-4)
