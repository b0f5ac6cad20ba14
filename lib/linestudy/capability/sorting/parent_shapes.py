"""What a process may be before its parts were sorted: families of two parameters along a third, each in its widest form.

Each family gives the share of parts below and above any value, and the quantiles of the index, for many settings of
its parameters at once; values are in standard deviations from their mean. *a* and *b* are location and logarithm of
the scale (of the logarithm of the distance from the bound, for a magnitude); *bend* is the shape that is followed.
Symmetric families reach from uniform over normal to Laplace and Student's t, skewed ones to either side, and two
stations and a share of outliers stand for mixtures. No list of families is complete; what none of them describes is
said to be so.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy import special as sp

from linestudy.tails.candidate import QUANTILES

_OUTER = np.array(QUANTILES)
_Shares = tuple[Any, Any]


@dataclass(frozen=True)
class Process:
    """One family before sorting.

    Attributes
    ----------
    name : str
    shares : callable
        ``(z, bend) -> (below, above)`` of the family with location 0 and scale 1, arrays broadcast.
    unit : callable
        ``bend -> quantiles``, shape (m, 3), of the same.
    shapes : tuple of float or None
        Between which values of bend the family is followed; None where it has no shape.
    bound : float or None
        Where a magnitude begins: the family is then that of the logarithm of the distance.
    at : float
        The shape where none is followed.
    folded : bool
        Folded at its bound.
    """

    name: str
    shares: Callable[[Any, Any], _Shares]
    unit: Callable[[Any], Any]
    shapes: tuple[float, float] | None = None
    bound: float | None = None
    at: float = 0.0
    folded: bool = False

    @property
    def parameters(self) -> int:
        """Free parameters."""
        return 2 + (self.shapes is not None)

    def beyond(self, x: Any, a: Any, b: Any, bend: Any) -> _Shares:
        """Compute shares below and above each value, shape (settings, values)."""
        a, scale, bend = a[:, None], np.exp(np.clip(b, -50, 50))[:, None], bend[:, None]
        with np.errstate(all="ignore"):
            if self.folded:
                away = np.maximum(x - self._bound, 0.0)
                near, far = (away - np.abs(a)) / scale, (-away - np.abs(a)) / scale
                low, high = self.shares(near, bend), self.shares(far, bend)
                below, above = low[0] - high[0], low[1] + high[0]
            elif self.bound is not None:
                away = np.log(np.maximum(x - self._bound, 1e-300))
                below, above = self.shares((away - a) / scale, bend)
            else:
                below, above = self.shares((x - a) / scale, bend)
        return below, above

    def named(self, a: float, b: float, bend: float, mean: float, sd: float) -> dict[str, float]:
        """Return parameters in the unit of the values, by name."""
        scale = float(np.exp(b))
        if self.bound is not None and not self.folded:
            begin = mean + sd * self.bound
            found = {"bound": begin, "log_location": a + float(np.log(sd)), "log_scale": scale}
        elif self.name == "normal":
            return {"mean": mean + sd * a, "sd": sd * scale}
        else:
            found = {"location": sd * abs(a) if self.folded else mean + sd * a, "scale": sd * scale}
        return found if self.shapes is None else {**found, "shape": bend}

    @property
    def _bound(self) -> float:
        return 0.0 if self.bound is None else self.bound

    def quantiles(self, a: Any, b: Any, bend: Any) -> Any:
        """Compute x0.135, x50 and x99.865, shape (settings, 3)."""
        if self.folded:
            return self._by_halving(a, b, bend)
        q = a[:, None] + np.exp(b)[:, None] * self.unit(bend)
        return q if self.bound is None else self._bound + np.exp(np.minimum(q, 50.0))

    def _by_halving(self, a: Any, b: Any, bend: Any) -> Any:
        low = np.zeros((a.size, 3))
        high = (np.abs(a) + 60 * np.exp(b))[:, None] * np.ones(3)
        for _ in range(48):
            middle = (low + high) / 2
            below = np.stack(
                [self.beyond(self._bound + middle[:, [i]], a, b, bend)[0][:, 0] for i in range(3)],
                axis=1,
            )
            low, high = (
                np.where(below < _OUTER, middle, low),
                np.where(below < _OUTER, high, middle),
            )
        return self._bound + (low + high) / 2


def _normal(z: Any, bend: Any) -> _Shares:
    return sp.ndtr(z), sp.ndtr(-z)


def _normal_unit(bend: Any) -> Any:
    return np.broadcast_to(sp.ndtri(_OUTER), (bend.size, 3))


def _logistic(z: Any, bend: Any) -> _Shares:
    return sp.expit(z), sp.expit(-z)


def _logistic_unit(bend: Any) -> Any:
    return np.broadcast_to(sp.logit(_OUTER), (bend.size, 3))


def _student(z: Any, bend: Any) -> _Shares:
    df = 1 / np.maximum(bend, 1e-6)
    return sp.stdtr(df, z), sp.stdtr(df, -z)


def _student_unit(bend: Any) -> Any:
    return sp.stdtrit(1 / np.maximum(bend, 1e-6)[:, None], _OUTER)


def _power(z: Any, bend: Any) -> _Shares:
    """Return both tails of the exponential power family: Laplace at 1, normal at 1/2, uniform toward 0."""
    tail = 0.5 * sp.gammaincc(bend, np.abs(z) ** (1 / bend))
    return np.where(z < 0, tail, 1 - tail), np.where(z < 0, 1 - tail, tail)


def _power_unit(bend: Any) -> Any:
    outer = sp.gammainccinv(bend, 2 * _OUTER[0]) ** bend
    return outer[:, None] * np.array([-1.0, 0.0, 1.0])


def _bent(bend: Any, z: Any) -> Any:
    """Compute the standard normal value of a shifted lognormal value: log(1 + bend z) / bend."""
    flat = np.abs(bend) < 1e-4
    safe = np.where(flat, 1.0, bend)
    inner = 1 + safe * z
    bent = np.where(inner > 0, np.log(np.maximum(inner, 1e-300)) / safe, -np.sign(safe) * np.inf)
    return np.where(flat, z - bend * z * z / 2, bent)


def _lognormal(z: Any, bend: Any) -> _Shares:
    u = _bent(bend, z)
    return sp.ndtr(u), sp.ndtr(-u)


def _unbent(bend: Any, u: Any) -> Any:
    safe = np.where(np.abs(bend) < 1e-4, 1.0, bend)
    return np.where(np.abs(bend) < 1e-4, u + bend * u * u / 2, np.expm1(safe * u) / safe)


def _lognormal_unit(bend: Any) -> Any:
    return _unbent(bend[:, None], sp.ndtri(_OUTER)[None, :])


#: A shape nearer to nought than this is that of the limit: normal for a gamma, lognormal for a generalised gamma.
_FLAT = 0.02


def _gamma(z: Any, bend: Any) -> _Shares:
    """Return both tails of a gamma of mean 0, variance 1 and skewness `bend`; the normal at 0."""
    k = 4 / np.maximum(np.abs(bend), _FLAT) ** 2
    t = np.maximum(k + np.where(bend < 0, -1.0, 1.0) * z * np.sqrt(k), 0.0)
    below, above = sp.gammainc(k, t), sp.gammaincc(k, t)
    below, above = np.where(bend < 0, above, below), np.where(bend < 0, below, above)
    flat = np.abs(bend) < _FLAT
    return np.where(flat, sp.ndtr(z), below), np.where(flat, sp.ndtr(-z), above)


def _gamma_unit(bend: Any) -> Any:
    k = 4 / np.maximum(np.abs(bend), _FLAT)[:, None] ** 2
    right = (sp.gammaincinv(k, _OUTER) - k) / np.sqrt(k)
    left = -(sp.gammainccinv(k, _OUTER) - k) / np.sqrt(k)
    bent = np.where(bend[:, None] < 0, left, right)
    return np.where(np.abs(bend[:, None]) < _FLAT, sp.ndtri(_OUTER), bent)


def _weibull(z: Any, bend: Any) -> _Shares:
    """Return both tails of a Weibull above a threshold, the inverse exponent followed; Gumbel (minimum) at 0."""
    e = np.exp(np.minimum(_bent(bend, z), 50.0))
    return -np.expm1(-e), np.exp(-e)


def _weibull_unit(bend: Any) -> Any:
    return _unbent(bend[:, None], np.log(-np.log1p(-_OUTER))[None, :])


def _mirrored(shares: Callable[[Any, Any], _Shares]) -> Callable[[Any, Any], _Shares]:
    def turned(z: Any, bend: Any) -> _Shares:
        below, above = shares(-z, bend)
        return above, below

    return turned


def _log_gamma(z: Any, bend: Any) -> _Shares:
    """Return both tails of a log generalised gamma variable (Prentice): lognormal at 0, Weibull at 1."""
    size = np.maximum(np.abs(bend), _FLAT)
    k = 1 / size**2
    t = k * np.exp(np.minimum(np.where(bend < 0, -1.0, 1.0) * size * z, 50.0))
    below, above = sp.gammainc(k, t), sp.gammaincc(k, t)
    below, above = np.where(bend < 0, above, below), np.where(bend < 0, below, above)
    flat = np.abs(bend) < _FLAT
    return np.where(flat, sp.ndtr(z), below), np.where(flat, sp.ndtr(-z), above)


def _log_gamma_unit(bend: Any) -> Any:
    size = np.maximum(np.abs(bend), _FLAT)[:, None]
    k = 1 / size**2
    right = np.log(sp.gammaincinv(k, _OUTER) / k) / size
    left = -np.log(sp.gammainccinv(k, _OUTER) / k) / size
    bent = np.where(bend[:, None] < 0, left, right)
    return np.where(np.abs(bend[:, None]) < _FLAT, sp.ndtri(_OUTER), bent)


def _beta(z: Any, bend: Any) -> _Shares:
    """Return both tails of a symmetric beta on -1 to 1, the inverse exponent followed: uniform at 1."""
    a = 1 / np.maximum(bend, 1e-3)
    half = 0.5 * (1 + np.clip(z, -1.0, 1.0))
    return sp.betainc(a, a, half), sp.betainc(a, a, 1 - half)


def _beta_unit(bend: Any) -> Any:
    a = 1 / np.maximum(bend, 1e-3)
    outer = 1 - 2 * sp.betaincinv(a, a, _OUTER[0])
    return outer[:, None] * np.array([-1.0, 0.0, 1.0])


def _wald_right(z: Any, size: Any) -> _Shares:
    """Return both tails of an inverse Gaussian of mean 0, variance 1 and skewness `size`."""
    mean = 3 / size
    x = np.maximum(mean + z, 1e-12)
    root = np.sqrt(mean**3 / x)
    far = np.exp(2 * mean**2 + sp.log_ndtr(-root * (x / mean + 1)))
    return sp.ndtr(root * (x / mean - 1)) + far, np.maximum(
        sp.ndtr(-root * (x / mean - 1)) - far, 0.0
    )


#: Skewness below which an inverse Gaussian is the normal.
_NEARLY_NORMAL = 0.1


def _wald(z: Any, bend: Any) -> _Shares:
    """Return both tails of an inverse Gaussian of skewness `bend`, to either side; the normal at 0."""
    below, above = _wald_right(np.where(bend < 0, -z, z), np.maximum(np.abs(bend), _NEARLY_NORMAL))
    below, above = np.where(bend < 0, above, below), np.where(bend < 0, below, above)
    flat = np.abs(bend) < _NEARLY_NORMAL
    return np.where(flat, sp.ndtr(z), below), np.where(flat, sp.ndtr(-z), above)


def _wald_unit(bend: Any) -> Any:
    low, high = np.full((bend.size, 3), -30.0), np.full((bend.size, 3), 30.0)
    for _ in range(50):
        middle = (low + high) / 2
        under = _wald(middle, bend[:, None])[0] < _OUTER
        low, high = np.where(under, middle, low), np.where(under, high, middle)
    return (low + high) / 2


#: Spread of the wider part among outliers.
_WIDE = 4.0


def _outliers(z: Any, bend: Any) -> _Shares:
    share = np.exp(bend)
    below = (1 - share) * sp.ndtr(z) + share * sp.ndtr(z / _WIDE)
    return below, (1 - share) * sp.ndtr(-z) + share * sp.ndtr(-z / _WIDE)


def _stations(z: Any, bend: Any) -> _Shares:
    below = (sp.ndtr(z - bend) + sp.ndtr(z + bend)) / 2
    return below, (sp.ndtr(bend - z) + sp.ndtr(-bend - z)) / 2


def _halved(shares: Callable[[Any, Any], _Shares]) -> Callable[[Any], Any]:
    """Find quantiles of a symmetric family by halving."""

    def unit(bend: Any) -> Any:
        low, high = np.zeros(bend.size), np.full(bend.size, 20.0)
        for _ in range(50):
            middle = (low + high) / 2
            far = shares(middle, bend)[1] > 1 - QUANTILES[2]
            low, high = np.where(far, middle, low), np.where(far, high, middle)
        return ((low + high) / 2)[:, None] * np.array([-1.0, 0.0, 1.0])

    return unit


def processes(bound: float | None = None) -> dict[str, Process]:
    """List all families by name; from a bound on also those that begin there.

    Parameters
    ----------
    bound : float, optional
        In the scaled unit.

    Returns
    -------
    dict of str to Process
    """
    found = [
        Process("normal", _normal, _normal_unit),
        Process("logistic", _logistic, _logistic_unit),
        Process("Student's t", _student, _student_unit, (0.0, 0.45)),
        Process("exponential power", _power, _power_unit, (0.12, 1.1)),
        Process("beta", _beta, _beta_unit, (0.02, 1.3)),
        Process("inverse Gaussian with threshold", _wald, _wald_unit, (-2.0, 2.0)),
        Process("gamma with threshold", _gamma, _gamma_unit, (-2.0, 2.0)),
        Process("lognormal with threshold", _lognormal, _lognormal_unit, (-0.9, 0.9)),
        Process("Weibull with threshold", _weibull, _weibull_unit, (0.0, 1.0)),
        Process(
            "Weibull to the left",
            _mirrored(_weibull),
            lambda bend: -_weibull_unit(bend)[:, ::-1],
            (0.0, 1.0),
        ),
        Process(
            "largest extreme value", _mirrored(_weibull), lambda bend: -_weibull_unit(bend)[:, ::-1]
        ),
        Process("normal with outliers", _outliers, _halved(_outliers), (-7.0, -1.2)),
        Process("two stations", _stations, _halved(_stations), (0.0, 2.5)),
    ]
    if bound is not None:
        found += [
            Process("generalised gamma", _log_gamma, _log_gamma_unit, (-0.8, 2.2), bound),
            Process("lognormal", _log_gamma, _log_gamma_unit, None, bound, 0.0),
            Process("Weibull", _log_gamma, _log_gamma_unit, None, bound, 1.0),
            Process("folded t", _student, _student_unit, (0.0, 0.45), bound, folded=True),
            Process("folded normal", _normal, _normal_unit, None, bound, folded=True),
        ]
    return {item.name: item for item in found}
