"""Power transforms that make a normal: Box-Cox and Yeo-Johnson.

- Box-Cox normal (Box & Cox, *JRSS B* 26 (1964)): ``((x / m)^power - 1) / power`` is normal, mean 0, cut off
  where the transform ends. The likelihood is that of the values themselves (it holds the Jacobian), so
  its AIC may be compared with any other family's.
- Yeo-Johnson normal (*Biometrika* 87 (2000)): the transform of ``(x - m) / s`` is standard normal. The
  published transform, of raw values, changes with unit and zero; taken from the median in units of the
  spread it does not. Powers from 0 to 2, between which its ends are not finite.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from scipy import special

from linestudy.shape.families.family import ANY, HALF_LOG_2PI, Family, centre_and_reach


class BoxCox(Family):
    """Coordinates: logarithms of median and relative SD, power."""

    name = "Box-Cox normal"
    names = ("median", "relative_sd", "power")
    kinds, coordinate_kinds = "snn", "lnn"
    limits = (ANY, (-12.0, 5.0), (-200.0, 200.0))
    from_bound = True

    def starts(self, x: Any, w: Any) -> list[Any]:
        if x[0] <= 0:
            return []
        low, middle, high = (math.log(v) for v in centre_and_reach(x, w))
        scale = max((high - low) / 2, 1e-6)
        # Over two spreads the logarithm bends by power * spread.
        power = (
            -math.log(max(high - middle, 1e-3 * scale) / max(middle - low, 1e-3 * scale)) / scale
        )
        power = min(max(power, -1.0), 2.0)
        return [np.array([middle, math.log(scale), power])]

    def degenerate(self, c: Any) -> str | None:
        # A normal cut nearer than one standard deviation from the median is another family.
        cut = abs(float(c[2])) * math.exp(float(c[1]))
        return "its transform ends within one standard deviation of the median" if cut > 1 else None

    def parameters(self, c: Any) -> Any:
        return np.array([np.exp(c[0]), np.exp(c[1]), c[2]])

    def coordinates(self, p: Any) -> Any:
        return np.array([math.log(p[0]), math.log(p[1]), p[2]])

    @staticmethod
    def _cut(c: Any) -> tuple[Any, Any, Any]:
        """Return where the normal is cut, its share, and the derivative of the log share by the cut."""
        cut = 1 / np.maximum(np.abs(c[2]) * np.exp(c[1]), 1e-6)
        share = special.ndtr(cut)
        return cut, share, np.exp(-0.5 * cut * cut - HALF_LOG_2PI) / share

    @staticmethod
    def _t(x: Any, c: Any) -> tuple[Any, Any, Any]:
        power = np.where(np.abs(c[2]) < 1e-9, 1e-9, c[2])
        with np.errstate(divide="ignore", invalid="ignore"):
            y = np.log(np.maximum(x, 0.0)) - c[0]
            return power, y, np.expm1(np.clip(power * y, -700, 300)) / power

    def logpdf(self, x: Any, c: Any) -> Any:
        _, y, t = self._t(x, c)
        z = t / np.exp(c[1])
        with np.errstate(invalid="ignore"):
            value = -0.5 * z * z - HALF_LOG_2PI + (c[2] - 1) * y - c[1] - c[0]
        return np.where(np.asarray(x) > 0, value - np.log(self._cut(c)[1]), -np.inf)

    def score(self, x: Any, c: Any) -> list[Any]:
        s = np.exp(c[1])
        power, y, t = self._t(x, c)
        z = t / s
        cut, _, slope = self._cut(c)
        grown = 1 + power * t
        by_power = -z * (y * grown - t) / (power * s) + y
        # The share that is not cut falls with spread and with power.
        return [
            z * grown / s - power,
            z * z - 1 + slope * cut,
            by_power + slope * cut / power,
        ]

    def _ends(self, c: Any) -> tuple[Any, Any]:
        """Return the share of the uncut normal below its cut, and above it."""
        gone = special.ndtr(-self._cut(c)[0])
        return np.where(c[2] > 0, gone, 0.0), np.where(c[2] > 0, 0.0, gone)

    def cdf(self, x: Any, c: Any) -> Any:
        low, _ = self._ends(c)
        z = self._t(x, c)[2] / np.exp(c[1])
        return np.clip((special.ndtr(z) - low) / self._cut(c)[1], 0.0, 1.0)

    def sf(self, x: Any, c: Any) -> Any:
        _, high = self._ends(c)
        z = self._t(x, c)[2] / np.exp(c[1])
        return np.clip((special.ndtr(-z) - high) / self._cut(c)[1], 0.0, 1.0)

    def ppf(self, q: Any, c: Any) -> Any:
        low, high = self._ends(c)
        q, share = np.asarray(q, dtype=float), self._cut(c)[1]
        # From the tail that is the smaller, so that neither loses digits.
        z = np.where(
            q < 0.5, special.ndtri(low + share * q), -special.ndtri(high + share * (1 - q))
        )
        power = np.where(np.abs(c[2]) < 1e-9, 1e-9, c[2])
        with np.errstate(divide="ignore"):
            y = np.log1p(np.maximum(power * np.exp(c[1]) * z, -1.0)) / power
        return np.exp(c[0] + y)


class YeoJohnson(Family):
    """Coordinates: median, log scale, hyperbolic arctangent of the power less one."""

    name = "Yeo-Johnson normal"
    names = ("median", "scale", "power")
    kinds, coordinate_kinds = "psn", "pln"
    limits = (ANY, ANY, (-4.0, 4.0))

    def starts(self, x: Any, w: Any) -> list[Any]:
        low, middle, high = centre_and_reach(x, w)
        return [np.array([middle, math.log(max((high - low) / 2, 1e-6)), 0.0])]

    def parameters(self, c: Any) -> Any:
        return np.array([c[0], np.exp(c[1]), 1 + np.tanh(c[2])])

    def coordinates(self, p: Any) -> Any:
        return np.array([p[0], math.log(p[1]), math.atanh(min(max(p[2] - 1, -0.9999), 0.9999))])

    def _parts(self, x: Any, c: Any) -> tuple[Any, ...]:
        """Compute the distance from the median, the power on its side, log of one plus its size, and the transform."""
        u = (x - c[0]) / np.exp(c[1])
        power = 1 + np.tanh(c[2])
        own = np.maximum(np.where(u >= 0, power, 2 - power), 1e-9)
        logs = np.log1p(np.abs(u))
        return u, power, own, logs, np.expm1(np.minimum(own * logs, 700.0)) / own

    def logpdf(self, x: Any, c: Any) -> Any:
        u, power, _, logs, size = self._parts(x, c)
        return -0.5 * size * size - HALF_LOG_2PI + (power - 1) * np.sign(u) * logs - c[1]

    def score(self, x: Any, c: Any) -> list[Any]:
        u, power, own, logs, size = self._parts(x, c)
        sign, grown, one = np.sign(u), 1 + own * size, 1 + np.abs(u)
        by_u = -sign * size * grown / one + (power - 1) / one
        by_own = -size * (grown * logs - size) / own
        by_power = sign * (by_own + logs)
        return [-by_u / np.exp(c[1]), -by_u * u - 1, by_power * (1 - np.tanh(c[2]) ** 2)]

    def _z(self, x: Any, c: Any) -> Any:
        parts = self._parts(x, c)
        return np.sign(parts[0]) * parts[4]

    def cdf(self, x: Any, c: Any) -> Any:
        return special.ndtr(self._z(x, c))

    def sf(self, x: Any, c: Any) -> Any:
        return special.ndtr(-self._z(x, c))

    def ppf(self, q: Any, c: Any) -> Any:
        z = special.ndtri(q)
        power = 1 + np.tanh(c[2])
        own = np.maximum(np.where(z >= 0, power, 2 - power), 1e-9)
        return c[0] + np.exp(c[1]) * np.sign(z) * np.expm1(np.log1p(own * np.abs(z)) / own)
