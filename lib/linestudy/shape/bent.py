"""Slopes and probabilities of the changes of a normal, for many refits at once; see ``scores``."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from scipy import special


def normal_shares(z: Any) -> tuple[Any, Any]:
    return special.ndtr(z), special.ndtr(-z)


def _bent(x: Any, p: Any, signed: bool) -> tuple[Any, Any, Any, Any]:
    e = np.where(np.abs(p[2]) < 1e-4, 1e-4, p[2]) if signed else np.exp(p[2])
    s = np.exp(p[1])
    u = (x - p[0]) / s
    return e, s, u, np.maximum(1 + e * u, 1e-12)


def bent_slopes(x: Any, p: Any, signed: bool) -> list[Any]:
    e, s, u, r = _bent(x, p, signed)
    z = np.log(r) / e
    t = (z + e) / r
    by_e = -z * (u / r - z) / e - u / r
    return [t / s, t * u - 1, by_e if signed else by_e * e]


def bent_cdf(x: Any, p: Any, signed: bool) -> tuple[Any, Any]:
    e, _, _, r = _bent(x, p, signed)
    return normal_shares(np.log(r) / e)


def sinh_bend(p: Any) -> tuple[Any, Any, Any]:
    return np.sinh(p[3]), np.cosh(p[3]), np.sinh(p[3])


def sinh_back(r: Any) -> tuple[Any, Any, Any]:
    d2 = 1 + r * r
    d = np.sqrt(d2)
    return np.arcsinh(r), d, r / d


def expit_bend(p: Any) -> tuple[Any, Any, Any]:
    h = special.expit(p[3])
    a = h * (1 - h)
    return h, a, a * (1 - 2 * h)


def expit_back(r: Any) -> tuple[Any, Any, Any]:
    r = np.clip(r, 1e-12, 1 - 1e-12)
    return np.log(r / (1 - r)), r * (1 - r), 1 - 2 * r


def johnson_slopes(bend: Any, back: Any) -> Any:
    def slopes(x: Any, p: Any) -> list[Any]:
        h, a, b = bend(p)
        e, s = np.exp(p[2]), np.exp(p[1])
        w = (x - p[0]) / s
        y, d, g = back(h + e * a * w)
        z = (y - p[3]) / e
        by_y = -(z / e + g)
        # y changes by m, log s, log e and v as follows.
        m = by_y * (-e * a / s) / d
        bent = by_y * (e * a) * w / d
        return [m, -bent - 1, bent + z * z, by_y * (a + e * b * w) / d + z / e + b / a]

    return slopes


def johnson_cdf(bend: Any, back: Any) -> Any:
    def cdf(x: Any, p: Any) -> tuple[Any, Any]:
        h, a, _ = bend(p)
        e = np.exp(p[2])
        y, _, _ = back(h + e * a * (x - p[0]) / np.exp(p[1]))
        return normal_shares((y - p[3]) / e)

    return cdf


def _box_cox_cut(p: Any) -> tuple[Any, Any, Any]:
    """Where the normal is cut, its share, and the derivative of the log share by the cut."""
    cut = 1 / np.maximum(np.abs(p[2]) * np.exp(p[1]), 1e-6)
    share = special.ndtr(cut)
    return cut, share, np.exp(-0.5 * cut * cut) / 2.5066282746310002 / share


def _box_cox_z(x: Any, p: Any) -> tuple[Any, Any, Any]:
    power = np.where(np.abs(p[2]) < 1e-6, 1e-6, p[2])
    y = np.log(x) - p[0]
    return power, y, np.expm1(np.clip(power * y, -700, 100)) / power


def box_cox_slopes(x: Any, p: Any) -> list[Any]:
    c = np.exp(p[1])
    power, y, t = _box_cox_z(x, p)
    z = t / c
    cut, _, slope = _box_cox_cut(p)
    grown = 1 + power * t
    by_power = -z * (y * grown - t) / (power * c) + y
    # The share that is not cut falls with spread and with power.
    return [
        z * grown / c - power,
        z * z - 1 + slope * cut,
        by_power + slope * cut / power,
    ]


def box_cox_cdf(x: Any, p: Any) -> tuple[Any, Any]:
    _, _, t = _box_cox_z(x, p)
    cut, share, _ = _box_cox_cut(p)
    low = np.where(p[2] > 0, special.ndtr(-cut), 0.0)
    lower, upper = normal_shares(t / np.exp(p[1]))
    return (lower - low) / share, (upper - (1 - share - low)) / share


def _yeo_z(x: Any, p: Any) -> tuple[Any, ...]:
    s = np.exp(p[1])
    u = (x - p[0]) / s
    power = 1 + np.tanh(p[2])
    own = np.maximum(np.where(u >= 0, power, 2 - power), 1e-6)
    logs = np.log1p(np.abs(u))
    grown = np.exp(own * logs)
    return s, u, own, logs, grown, np.sign(u), (grown - 1) / own


def yeo_slopes(x: Any, p: Any) -> list[Any]:
    s, u, own, logs, grown, sign, size = _yeo_z(x, p)
    power = 1 + np.tanh(p[2])
    one = 1 + np.abs(u)
    # d log density / du: -z dz/du + (power - 1) sign' part.
    by_u = -sign * size * grown / one + (power - 1) / one
    by_own = -size * (grown * logs - size) / own
    by_power = sign * by_own + sign * logs
    return [-by_u / s, -by_u * u - 1, by_power * (1 - np.tanh(p[2]) ** 2)]


def yeo_cdf(x: Any, p: Any) -> tuple[Any, Any]:
    found = _yeo_z(x, p)
    return normal_shares(found[5] * found[6])


def inside_bent(signed: bool) -> Any:
    def inside(smallest: Any, largest: Any, p: Any) -> Any:
        e = p[2] if signed else np.exp(p[2])
        s = np.exp(p[1])
        return (1 + e * (smallest - p[0]) / s > 0.002) & (1 + e * (largest - p[0]) / s > 0.002)

    return inside


def inside_bounded(smallest: Any, largest: Any, p: Any) -> Any:
    h, a, _ = expit_bend(p)
    slope = np.exp(p[2]) * a / np.exp(p[1])
    return (h + slope * (smallest - p[0]) > 1e-4) & (h + slope * (largest - p[0]) < 1 - 1e-4)


def of_lognormal(q: Any) -> Any:
    e = q[2]
    return np.array([q[0] + math.exp(q[1]), q[1] + math.log(e), math.log(e)])


def to_lognormal(p: Any) -> Any:
    e = np.exp(p[2])
    scale = np.exp(p[1]) / e
    return np.stack([p[0] - scale, np.log(scale), e], axis=1)


def of_bent(q: Any) -> Any:
    e = math.copysign(1 / q[2], q[1])
    return np.array([q[0] + q[1], math.log(q[1] * e), e])


def to_bent(p: Any) -> Any:
    e = np.where(np.abs(p[2]) < 1e-4, 1e-4, p[2])
    scale = np.exp(p[1]) / e
    return np.stack([p[0] - scale, scale, 1 / np.abs(e)], axis=1)


def of_johnson(bend: Any) -> Any:
    def coordinates(q: Any) -> Any:
        e = 1 / q[1]
        v = -q[0] * e
        h, a, _ = bend([0.0, 0.0, 0.0, v])
        return np.array([q[2] + q[3] * h, math.log(q[3] * e * a), math.log(e), v])

    return coordinates


def to_johnson(bend: Any) -> Any:
    def parameters(p: Any) -> Any:
        h, a, _ = bend(p)
        e = np.exp(p[2])
        scale = np.exp(p[1]) / (e * a)
        return np.stack([-p[3] / e, 1 / e, p[0] - scale * h, scale], axis=1)

    return parameters
