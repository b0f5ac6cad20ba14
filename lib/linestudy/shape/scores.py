"""Families as seen by many refits at once: coordinates, slopes of the likelihood, probabilities.

Samples are the rows of a matrix X (b, n), sorted; coordinates are P (k, b, 1), one column vector
per coordinate, so that everything broadcasts. The coordinates are the free parameters of
``transformed`` (median, log slope, bend …), in which a likelihood is nearly a parabola and a family
passes smoothly into its limit. `slopes` are derivatives of the log density by the coordinates;
the tests hold them against numerical ones.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy import special

from linestudy.shape.bent import (
    bent_cdf,
    bent_slopes,
    box_cox_cdf,
    box_cox_slopes,
    expit_back,
    expit_bend,
    inside_bent,
    inside_bounded,
    johnson_cdf,
    johnson_slopes,
    of_bent,
    of_johnson,
    of_lognormal,
    sinh_back,
    sinh_bend,
    to_bent,
    to_johnson,
    to_lognormal,
    yeo_cdf,
    yeo_slopes,
)
from linestudy.shape.transformed import LOG_E, TILT


@dataclass(frozen=True)
class Scored:
    """One family for many refits.

    Attributes
    ----------
    slopes : callable
        ``(X, P) -> list of k arrays (b, n)``.
    cdf : callable
        ``(X, P) -> (F, 1 - F)``, arrays (b, n).
    coordinates : callable
        ``(parameters) -> (k,)``.
    parameters : callable
        ``(P (k, b)) -> (b, k)`` as :class:`Fitted` names them.
    inside : callable
        ``(smallest, largest, P (k, b)) -> (b,)`` whether all values are possible.
    limits : tuple of (low, high)
        Where coordinates are kept.
    linear : bool
        Whether the third coordinate is the bend itself, nought in the limit, not its logarithm.
    """

    slopes: Callable[[Any, Any], list[Any]]
    cdf: Callable[[Any, Any], tuple[Any, Any]]
    coordinates: Callable[[Any], Any]
    parameters: Callable[[Any], Any]
    inside: Callable[[Any, Any, Any], Any]
    limits: tuple[tuple[float, float], ...]
    linear: bool = False


_ANY = (-np.inf, np.inf)


def _always(smallest: Any, _largest: Any, _p: Any) -> Any:
    return np.ones(len(smallest), dtype=bool)


# --- location and scale -----------------------------------------------------------------------


def _logistic_slopes(x: Any, p: Any) -> list[Any]:
    s = np.exp(p[1])
    u = (x - p[0]) / s
    t = np.tanh(u / 2)
    return [t / s, u * t - 1]


def _logistic_cdf(x: Any, p: Any) -> tuple[Any, Any]:
    u = (x - p[0]) / np.exp(p[1])
    return special.expit(u), special.expit(-u)


def _extreme_slopes(x: Any, p: Any) -> list[Any]:
    s = np.exp(p[1])
    u = (x - p[0]) / s
    t = 1 - np.exp(np.minimum(-u, 50.0))
    return [t / s, u * t - 1]


def _extreme_cdf(x: Any, p: Any) -> tuple[Any, Any]:
    w = np.exp(np.minimum((p[0] - x) / np.exp(p[1]), 50.0))
    return np.exp(-w), -np.expm1(-w)


def _folded_slopes(x: Any, p: Any) -> list[Any]:
    s = np.exp(p[1])
    t = np.tanh(x * (p[0] / s**2))
    return [(x * t - p[0]) / s**2, (x * x + p[0] ** 2 - 2 * p[0] * x * t) / s**2 - 1]


def _folded_cdf(x: Any, p: Any) -> tuple[Any, Any]:
    s = np.exp(p[1])
    a, b = (x - p[0]) / s, (x + p[0]) / s
    upper = special.ndtr(-a) + special.ndtr(-b)
    return 1 - upper, upper


# --- gamma and Weibull ------------------------------------------------------------------------


def _gamma_slopes(x: Any, p: Any) -> list[Any]:
    a, s = np.exp(p[0]), np.exp(p[1])
    u = x / s
    return [a * (np.log(u) - special.psi(a)), u - a]


def _gamma_cdf(x: Any, p: Any) -> tuple[Any, Any]:
    return _gamma_shares(np.exp(p[0]), x / np.exp(p[1]))


def _gamma_shares(a: Any, g: Any) -> tuple[Any, Any]:
    lower = special.gammainc(a, g)
    return lower, np.maximum(1 - lower, 1e-17)


def _weibull_slopes(x: Any, p: Any) -> list[Any]:
    c = np.exp(p[0])
    y = (np.log(x) - p[1]) * c
    w = np.exp(np.minimum(y, 50.0))
    return [1 + y * (1 - w), c * (w - 1)]


def _weibull_cdf(x: Any, p: Any) -> tuple[Any, Any]:
    w = np.exp(np.minimum((np.log(x) - p[1]) * np.exp(p[0]), 50.0))
    return -np.expm1(-w), np.exp(-w)


def _shifted_gamma_slopes(x: Any, p: Any) -> list[Any]:
    a, s = 4 / p[2] ** 2, np.exp(p[1])
    root = 2 / p[2]
    u = (x - p[0]) / s
    g = np.maximum(a + root * u, 1e-12)
    t = (a - 1) / g - 1
    by_a = np.log(g) - special.psi(a) + t * (1 + u / (2 * root)) + 1 / (2 * a)
    return [-t * root / s, -t * root * u - 1, by_a * (-2 * a / p[2])]


def _shifted_gamma_cdf(x: Any, p: Any) -> tuple[Any, Any]:
    a = 4 / p[2] ** 2
    return _gamma_shares(a, np.maximum(a + np.sqrt(a) * (x - p[0]) / np.exp(p[1]), 1e-300))


def _shifted_weibull_slopes(x: Any, p: Any) -> list[Any]:
    k, s = special.expit(p[2]), np.exp(p[1])
    u = (x - p[0]) / s
    r = np.maximum(1 + k * u, 1e-12)
    y = np.log(r) / k
    t = 1 - np.exp(np.minimum(y, 50.0))
    by_k = t * (u / r - y) / k - u / r
    return [(k - t) / (s * r), (k - t) * u / r - 1, by_k * k * (1 - k)]


def _shifted_weibull_cdf(x: Any, p: Any) -> tuple[Any, Any]:
    k = special.expit(p[2])
    r = np.maximum(1 + k * (x - p[0]) / np.exp(p[1]), 1e-300)
    w = np.exp(np.minimum(np.log(r) / k, 50.0))
    return -np.expm1(-w), np.exp(-w)


# --- two components ---------------------------------------------------------------------------


def _mixture_slopes(x: Any, p: Any) -> list[Any]:
    s1, s2 = np.exp(p[2]), np.exp(p[4])
    u1, u2 = (x - p[1]) / s1, (x - p[3]) / s2
    first = special.expit(p[0] - p[2] + p[4] + 0.5 * (u2 * u2 - u1 * u1))
    second = 1 - first
    return [
        first - special.expit(p[0]),
        first * u1 / s1,
        first * (u1 * u1 - 1),
        second * u2 / s2,
        second * (u2 * u2 - 1),
    ]


def _mixture_cdf(x: Any, p: Any) -> tuple[Any, Any]:
    share = special.expit(p[0])
    u1, u2 = (x - p[1]) / np.exp(p[2]), (x - p[3]) / np.exp(p[4])
    lower = share * special.ndtr(u1) + (1 - share) * special.ndtr(u2)
    upper = share * special.ndtr(-u1) + (1 - share) * special.ndtr(-u2)
    return lower, upper


# --- coordinates to and from what Fitted names ------------------------------------------------


def _location_scale(p: Any) -> Any:
    return np.stack([p[0], np.exp(p[1])], axis=1)


def _inside_gamma(smallest: Any, _: Any, p: Any) -> Any:
    a = 4 / p[2] ** 2
    return a + np.sqrt(a) * (smallest - p[0]) / np.exp(p[1]) > 1e-3


def _inside_weibull(smallest: Any, _: Any, p: Any) -> Any:
    return 1 + special.expit(p[2]) * (smallest - p[0]) / np.exp(p[1]) > 1e-3


def _to_gamma(p: Any) -> Any:
    a, sd = 4 / p[2] ** 2, np.exp(p[1])
    return np.stack([p[0] - sd * np.sqrt(a), a, sd / np.sqrt(a)], axis=1)


def _of_gamma(q: Any) -> Any:
    sd = q[2] * math.sqrt(q[1])
    return np.array([q[0] + q[1] * q[2], math.log(sd), 2 / math.sqrt(q[1])])


def _to_weibull(p: Any) -> Any:
    k = special.expit(p[2])
    scale = np.exp(p[1]) / k
    return np.stack([p[0] - scale, 1 / k, scale], axis=1)


def _of_weibull(q: Any) -> Any:
    k = 1 / q[1]
    return np.array([q[0] + q[2], math.log(q[2] * k), float(special.logit(k))])


def _of_mixture(q: Any) -> Any:
    return np.array([special.logit(q[0]), q[1], math.log(q[2]), q[3], math.log(q[4])])


def _to_mixture(p: Any) -> Any:
    return np.stack([special.expit(p[0]), p[1], np.exp(p[2]), p[3], np.exp(p[4])], axis=1)


def _log_scale(q: Any) -> Any:
    return np.array([q[0], math.log(q[1])])


_JOHNSON_LIMITS = (_ANY, _ANY, LOG_E, (-TILT, TILT))
SCORED: dict[str, Scored] = {
    "logistic": Scored(
        _logistic_slopes, _logistic_cdf, _log_scale, _location_scale, _always, (_ANY, _ANY)
    ),
    "largest extreme value": Scored(
        _extreme_slopes, _extreme_cdf, _log_scale, _location_scale, _always, (_ANY, _ANY)
    ),
    "folded normal": Scored(
        _folded_slopes, _folded_cdf, _log_scale, _location_scale, _always, ((0.0, np.inf), _ANY)
    ),
    "gamma": Scored(
        _gamma_slopes,
        _gamma_cdf,
        np.log,
        lambda p: np.exp(p).T,
        _always,
        ((-9.0, 20.0), _ANY),
    ),
    "Weibull": Scored(
        _weibull_slopes, _weibull_cdf, np.log, lambda p: np.exp(p).T, _always, ((-6.0, 12.0), _ANY)
    ),
    "gamma with threshold": Scored(
        _shifted_gamma_slopes,
        _shifted_gamma_cdf,
        _of_gamma,
        _to_gamma,
        _inside_gamma,
        (_ANY, _ANY, (0.003, 1.999)),
        linear=True,
    ),
    "Weibull with threshold": Scored(
        _shifted_weibull_slopes,
        _shifted_weibull_cdf,
        _of_weibull,
        _to_weibull,
        _inside_weibull,
        (_ANY, _ANY, (-6.0, 6.0)),
    ),
    "lognormal with threshold": Scored(
        lambda x, p: bent_slopes(x, p, False),
        lambda x, p: bent_cdf(x, p, False),
        of_lognormal,
        to_lognormal,
        inside_bent(False),
        (_ANY, _ANY, (-7.0, 1.5)),
    ),
    "Johnson S_L": Scored(
        lambda x, p: bent_slopes(x, p, True),
        lambda x, p: bent_cdf(x, p, True),
        of_bent,
        to_bent,
        inside_bent(True),
        (_ANY, _ANY, (-3.0, 3.0)),
        linear=True,
    ),
    "Johnson S_U": Scored(
        johnson_slopes(sinh_bend, sinh_back),
        johnson_cdf(sinh_bend, sinh_back),
        of_johnson(sinh_bend),
        to_johnson(sinh_bend),
        _always,
        _JOHNSON_LIMITS,
    ),
    "Johnson S_B": Scored(
        johnson_slopes(expit_bend, expit_back),
        johnson_cdf(expit_bend, expit_back),
        of_johnson(expit_bend),
        to_johnson(expit_bend),
        inside_bounded,
        _JOHNSON_LIMITS,
    ),
    "Box-Cox normal": Scored(
        box_cox_slopes,
        box_cox_cdf,
        lambda q: np.array([math.log(q[0]), math.log(q[1]), q[2]]),
        lambda p: np.stack([np.exp(p[0]), np.exp(p[1]), p[2]], axis=1),
        _always,
        (_ANY, (-12.0, 5.0), (-200.0, 200.0)),
    ),
    "Yeo-Johnson normal": Scored(
        yeo_slopes,
        yeo_cdf,
        lambda q: np.array([q[0], math.log(q[1]), math.atanh(min(max(q[2] - 1, -0.999), 0.999))]),
        lambda p: np.stack([p[0], np.exp(p[1]), 1 + np.tanh(p[2])], axis=1),
        _always,
        (_ANY, _ANY, (-4.0, 4.0)),
    ),
    "normal mixture": Scored(
        _mixture_slopes,
        _mixture_cdf,
        _of_mixture,
        _to_mixture,
        _always,
        ((-3.9, 3.9), _ANY, (-2.3, np.inf), _ANY, (-2.3, np.inf)),
    ),
}
