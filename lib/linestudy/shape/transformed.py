"""Families that are a smooth change of a normal (or exponential) variable.

All of them are written from the median m and the slope s there, so that each passes smoothly into
a simpler family and a search never runs off along a flat likelihood:

- Johnson's systems (Johnson, *Biometrika* 36 (1949)): ``x = m + s (h(e z + v) - h(v)) / (e h'(v))``
  with z standard normal and h = exp (S_L, to either side), sinh (S_U, no bound) or the logistic
  function (S_B, two bounds). In Johnson's letters ``delta = 1 / e`` and ``gamma = -v / e``.
- Weibull with threshold: ``x = m + s (w^k - 1) / k``, w standard exponential, shape ``1 / k``.
- Box-Cox normal (Box & Cox, *JRSS B* 26 (1964)): ``((x / m)^power - 1) / power`` is normal, mean 0,
  cut off where the transform ends. The likelihood is that of the values themselves (it holds the
  Jacobian), so its AIC may be compared with any other family's.
- Yeo-Johnson normal (*Biometrika* 87 (2000)): the transform of ``(x - m) / s`` is standard normal.
  The published transform, of raw values, changes with unit and zero; taken from the median in
  units of the spread it does not. Powers from 0 to 2, between which its ends are not finite.

Misleads: S_B with few values runs to a bound at the smallest or largest of them, where the
likelihood grows without limit; the search is local and keeps its shape moderate. Four parameters
describe nearly anything, so their outer quantiles are poorly known; the intervals show it.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from linestudy.shape.family import Family, Scipy

_HALF_LOG_2PI = 0.9189385332046727
#: Shapes are kept where the families differ from their limits, and S_B from two spikes.
LOG_E = (math.log(0.02), math.log(2.0))
TILT = 6.0


def centre_and_reach(x: Any, w: Any) -> tuple[float, float, float]:
    """Weighted median, and the quantiles one normal standard deviation below and above it."""
    below = (np.cumsum(w) - w / 2) / w.sum()
    low, middle, high = np.interp([0.15866, 0.5, 0.84134], below, x)
    return float(low), float(middle), float(high)


class _FromNormal:
    """A distribution given by z(x), a growing function whose values are standard normal.

    `low` and `high` are what z may be: where a transform ends, the normal is cut and the rest
    scaled up.
    """

    low, high = -math.inf, math.inf

    def z(self, x: Any) -> Any:
        raise TypeError  # each family says

    def x(self, z: Any) -> Any:
        raise TypeError

    def log_slope(self, x: Any) -> Any:
        raise TypeError

    @property
    def _share(self) -> tuple[float, float]:
        from scipy.special import ndtr

        return float(ndtr(self.low)), float(ndtr(self.high) - ndtr(self.low))

    def cdf(self, x: Any) -> Any:
        """Share of parts up to x."""
        from scipy.special import ndtr

        below, share = self._share
        return np.clip((ndtr(self.z(x)) - below) / share, 0.0, 1.0)

    def sf(self, x: Any) -> Any:
        """Share of parts beyond x, exact in the far tail."""
        from scipy.special import ndtr

        _, share = self._share
        return np.clip((ndtr(-self.z(x)) - ndtr(-self.high)) / share, 0.0, 1.0)

    def ppf(self, q: Any) -> Any:
        """Quantiles."""
        from scipy.special import ndtri

        below, share = self._share
        return self.x(ndtri(below + share * np.asarray(q, dtype=float)))

    def logpdf(self, x: Any) -> Any:
        """Log density."""
        with np.errstate(all="ignore"):
            z = self.z(x)
            value = -0.5 * z * z - _HALF_LOG_2PI + self.log_slope(x) - math.log(self._share[1])
        return np.where(np.isfinite(z), value, -np.inf)

    def rvs(self, size: Any, random_state: np.random.Generator) -> Any:
        """Random values."""
        return self.ppf(random_state.random(size))


class JohnsonL(_FromNormal):
    """``delta log((x - xi) / lambda)`` is standard normal; a negative lambda is skewed to the left."""

    def __init__(self, p: Any) -> None:
        self.xi, self.scale, self.delta = (float(v) for v in p)
        self.sign = math.copysign(1.0, self.scale)

    def z(self, x: Any) -> Any:
        with np.errstate(all="ignore"):
            ratio = np.maximum((np.asarray(x, dtype=float) - self.xi) / self.scale, 0.0)
            return self.sign * self.delta * np.log(ratio)

    def x(self, z: Any) -> Any:
        return self.xi + self.scale * np.exp(self.sign * np.asarray(z) / self.delta)

    def log_slope(self, x: Any) -> Any:
        return math.log(self.delta) - np.log(np.abs(np.asarray(x) - self.xi))


class BoxCox(_FromNormal):
    """``((x / median)^power - 1) / (power spread)`` is standard normal, cut where it ends."""

    def __init__(self, p: Any) -> None:
        self.median, self.spread, self.power = (float(v) for v in p)
        end = 1 / (abs(self.power) * self.spread) if self.power else math.inf
        self.low = -end if self.power > 0 else -math.inf
        self.high = end if self.power < 0 else math.inf

    def z(self, x: Any) -> Any:
        with np.errstate(all="ignore"):
            y = np.log(np.maximum(np.asarray(x, dtype=float), 0.0) / self.median)
            if abs(self.power) < 1e-9:
                return y / self.spread
            return np.expm1(self.power * y) / (self.power * self.spread)

    def x(self, z: Any) -> Any:
        z = np.asarray(z, dtype=float)
        with np.errstate(all="ignore"):
            if abs(self.power) < 1e-9:
                return self.median * np.exp(self.spread * z)
            inner = np.maximum(self.power * self.spread * z, -1.0)
            return self.median * np.exp(np.log1p(inner) / self.power)

    def log_slope(self, x: Any) -> Any:
        y = np.log(np.asarray(x, dtype=float) / self.median)
        return (self.power - 1) * y - math.log(self.spread * self.median)


class YeoJohnson(_FromNormal):
    """The Yeo-Johnson transform of ``(x - median) / scale`` is standard normal."""

    def __init__(self, p: Any) -> None:
        self.median, self.scale, self.power = (float(v) for v in p)

    def z(self, x: Any) -> Any:
        u = (np.asarray(x, dtype=float) - self.median) / self.scale
        power = np.where(u >= 0, self.power, 2 - self.power)
        logs = np.log1p(np.abs(u))
        flat = np.abs(power) < 1e-9
        safe = np.where(flat, 1.0, power)
        return np.sign(u) * np.where(flat, logs, np.expm1(safe * logs) / safe)

    def x(self, z: Any) -> Any:
        z = np.asarray(z, dtype=float)
        power = np.where(z >= 0, self.power, 2 - self.power)
        flat = np.abs(power) < 1e-9
        safe = np.where(flat, 1.0, power)
        with np.errstate(over="ignore"):
            logs = np.where(flat, np.abs(z), np.log1p(safe * np.abs(z)) / safe)
            return self.median + self.scale * np.sign(z) * np.expm1(logs)

    def log_slope(self, x: Any) -> Any:
        u = (np.asarray(x, dtype=float) - self.median) / self.scale
        return (self.power - 1) * np.sign(u) * np.log1p(np.abs(u)) - math.log(self.scale)


# --- Johnson's systems: median, slope, size and tilt of the bend ------------------------------


def _tilted(free: Any) -> tuple[float, float, float, float]:
    e = math.exp(min(max(free[2], LOG_E[0]), LOG_E[1]))
    return free[0], math.exp(free[1]), e, min(max(free[3], -TILT), TILT)


def unbounded_unpack(free: Any, _: float) -> Any:
    """gamma, delta, xi, lambda of S_U from median, log slope, log e and tilt."""
    m, s, e, v = _tilted(free)
    scale = s / (e * math.cosh(v))
    return np.array([-v / e, 1 / e, m - scale * math.sinh(v), scale])


def bounded_unpack(free: Any, _: float) -> Any:
    """gamma, delta, xi, lambda of S_B from median, log slope, log e and tilt."""
    m, s, e, v = _tilted(free)
    share = 1 / (1 + math.exp(-v))
    scale = s / (e * share * (1 - share))
    return np.array([-v / e, 1 / e, m - scale * share, scale])


def lognormal_unpack(free: Any, _: float) -> Any:
    """xi, lambda, delta of S_L from median, log slope and signed bend."""
    e = free[2] if abs(free[2]) > 1e-4 else math.copysign(1e-4, free[2])
    scale = math.exp(free[1]) / e
    return np.array([free[0] - scale, scale, 1 / abs(e)])


def _unbounded_logpdf(x: Any, p: Any) -> Any:
    r = (x - p[2]) / p[3]
    z = p[0] + p[1] * np.arcsinh(r)
    return -0.5 * z * z - _HALF_LOG_2PI + math.log(p[1] / p[3]) - 0.5 * np.log1p(r * r)


def _bounded_logpdf(x: Any, p: Any) -> Any:
    with np.errstate(all="ignore"):
        r = (x - p[2]) / p[3]
        z = p[0] + p[1] * np.log(r / (1 - r))
        value = -0.5 * z * z - _HALF_LOG_2PI + math.log(p[1] / p[3]) - np.log(r * (1 - r))
    return np.where((r > 0) & (r < 1), value, -np.inf)


def _johnson_start(logpdf: Any, unpack: Any, bend: Any, steps: tuple[float, ...]) -> Any:
    """The best of a small grid of shapes, median and spread being those of the values."""

    def start(x: Any, w: Any) -> Any:
        low, middle, high = centre_and_reach(x, w)
        best, found = -math.inf, np.array([np.nan] * 4)
        for e in steps:
            for v in (-2.0, -0.8, 0.0, 0.8, 2.0):
                reach = (bend(v + e) - bend(v - e)) / e
                slope = (bend(v + 1e-4) - bend(v - 1e-4)) / 2e-4
                s = max((high - low) * slope / reach, 1e-6)
                free = np.array([middle, math.log(s), math.log(e), v])
                value = float(w @ logpdf(x, unpack(free, 0.0)))
                if math.isfinite(value) and value > best:
                    best, found = value, free
        return found

    return start


def _lognormal_start(x: Any, w: Any) -> Any:
    low, middle, high = centre_and_reach(x, w)
    # (high - middle) / (middle - low) is exp(e) for an S_L distribution.
    e = math.log(max(high - middle, 1e-3) / max(middle - low, 1e-3))
    e = math.copysign(min(max(abs(e), 0.02), 0.5), e)
    s = max((high - low) / 2, 1e-6)
    # The end must lie outside the values, or the search begins where nothing is possible.
    reach = s / ((middle - float(x[0])) if e > 0 else (float(x[-1]) - middle))
    return np.array([middle, math.log(s), math.copysign(min(abs(e), 0.8 * reach), e)])


# --- Weibull with threshold, and the two power transforms -------------------------------------


def threshold_weibull_unpack(free: Any, _: float) -> Any:
    """threshold, shape, scale from location, log slope and logit of one over the shape."""
    k = 1 / (1 + math.exp(-min(max(free[2], -6.0), 30.0)))
    scale = math.exp(free[1]) / k
    return np.array([free[0] - scale, 1 / k, scale])


def _threshold_weibull_logpdf(x: Any, p: Any) -> Any:
    with np.errstate(all="ignore"):
        r = (x - p[0]) / p[2]
        value = math.log(p[1] / p[2]) + (p[1] - 1) * np.log(r) - r ** p[1]
    return np.where(r > 0, value, -np.inf)


def _threshold_weibull_start(x: Any, w: Any) -> Any:
    low, middle, high = centre_and_reach(x, w)
    best, found = -math.inf, np.array([np.nan] * 3)
    y = np.log(-np.log1p(-np.array([0.15866, 0.5, 0.84134])))
    for k in (0.05, 0.15, 0.3, 0.45, 0.6, 0.8):
        t = np.expm1(k * y) / k
        s = max((high - low) / (t[2] - t[0]), 1e-6)
        m = middle - s * t[1]
        # The threshold must lie below the smallest value.
        m = min(m, float(x[0]) + s / k - 0.02 * s)
        free = np.array([m, math.log(s), math.log(k / (1 - k))])
        value = float(w @ _threshold_weibull_logpdf(x, threshold_weibull_unpack(free, 0.0)))
        if math.isfinite(value) and value > best:
            best, found = value, free
    return found


def _box_cox_start(x: Any, w: Any) -> Any:
    if x[0] <= 0:
        return np.full(3, np.nan)
    low, middle, high = (math.log(v) for v in centre_and_reach(x, w))
    s = max((high - low) / 2, 1e-6)
    # Over two spreads the logarithm bends by power * spread.
    power = -math.log(max(high - middle, 1e-3 * s) / max(middle - low, 1e-3 * s)) / s
    return np.array([middle, math.log(s), min(max(power, -1.0), 2.0)])


def box_cox_unpack(free: Any, _: float) -> Any:
    """median, relative sd, power from their logarithms and the power itself."""
    # The transform ends at least one standard deviation from the median: a normal cut nearer is
    # another family.
    spread = min(math.exp(min(free[1], 5.0)), 1 / max(abs(free[2]), 1e-6))
    return np.array([math.exp(free[0]), spread, free[2]])


def _yeo_johnson_start(x: Any, w: Any) -> Any:
    low, middle, high = centre_and_reach(x, w)
    return np.array([middle, math.log(max((high - low) / 2, 1e-6)), 0.0])


def yeo_johnson_unpack(free: Any, _: float) -> Any:
    """median, scale, power from median, log scale and a free number."""
    return np.array([free[0], math.exp(free[1]), 1 + math.tanh(free[2])])


def _expit(v: float) -> float:
    return 1 / (1 + math.exp(-v))


TRANSFORMED = (
    Family(
        "Weibull with threshold",
        ("threshold", "shape", "scale"),
        False,
        _threshold_weibull_logpdf,
        _threshold_weibull_start,
        threshold_weibull_unpack,
        lambda p: Scipy("weibull_min", p[1], p[0], p[2]),
        "pns",
        "pln",
    ),
    Family(
        "Johnson S_L",
        ("xi", "lambda", "delta"),
        False,
        lambda x, p: JohnsonL(p).logpdf(x),
        _lognormal_start,
        lognormal_unpack,
        JohnsonL,
        "psn",
        "pln",
    ),
    Family(
        "Johnson S_U",
        ("gamma", "delta", "xi", "lambda"),
        False,
        _unbounded_logpdf,
        _johnson_start(_unbounded_logpdf, unbounded_unpack, math.sinh, (0.15, 0.5, 0.9)),
        unbounded_unpack,
        lambda p: Scipy("johnsonsu", p[0], p[1], p[2], p[3]),
        "nnps",
        "plnn",
    ),
    Family(
        "Johnson S_B",
        ("gamma", "delta", "xi", "lambda"),
        False,
        _bounded_logpdf,
        _johnson_start(_bounded_logpdf, bounded_unpack, _expit, (0.15, 0.4, 0.8, 1.2)),
        bounded_unpack,
        lambda p: Scipy("johnsonsb", p[0], p[1], p[2], p[3]),
        "nnps",
        "plnn",
    ),
    Family(
        "Box-Cox normal",
        ("median", "relative_sd", "power"),
        True,
        lambda x, p: BoxCox(p).logpdf(x),
        _box_cox_start,
        box_cox_unpack,
        BoxCox,
        "snn",
        "lnn",
    ),
    Family(
        "Yeo-Johnson normal",
        ("median", "scale", "power"),
        False,
        lambda x, p: YeoJohnson(p).logpdf(x),
        _yeo_johnson_start,
        yeo_johnson_unpack,
        YeoJohnson,
        "psn",
        "pln",
    ),
)
