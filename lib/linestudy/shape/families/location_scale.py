"""Families over the whole line with a location and a scale: normal, logistic, largest extreme value."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from scipy import special

from linestudy.shape.families.family import ANY, HALF_LOG_2PI, FamilyInScipy, moments


def normal_rows(x: Any) -> Any:
    """Compute mean and logarithm of the root mean square about it, for every row."""
    sd = np.maximum(x.std(axis=1), np.finfo(float).tiny)
    return np.array([x.mean(axis=1), np.log(sd)])


class _LocationScale(FamilyInScipy):
    """Coordinates: location, logarithm of the scale."""

    names = ("location", "scale")
    kinds, coordinate_kinds = "ps", "pl"
    limits = (ANY, ANY)

    def parameters(self, c: Any) -> Any:
        return np.array([c[0], np.exp(c[1])])

    def coordinates(self, p: Any) -> Any:
        return np.array([p[0], math.log(p[1])])

    def scipy_parameters(self, c: Any) -> tuple[float, ...]:
        return float(c[0]), math.exp(c[1])

    def _z(self, x: Any, c: Any) -> Any:
        return (x - c[0]) / np.exp(c[1])


class Normal(_LocationScale):
    """The normal distribution; its maximum is the mean and the root mean square about it."""

    name, names, in_scipy = "normal", ("mean", "sd"), "norm"

    def starts(self, x: Any, w: Any) -> list[Any]:
        mean, sd, _ = moments(x, w)
        return [np.array([mean, math.log(sd)])]

    def closed_form(self, x: Any) -> Any:
        return normal_rows(x)

    def logpdf(self, x: Any, c: Any) -> Any:
        return -0.5 * self._z(x, c) ** 2 - c[1] - HALF_LOG_2PI

    def score(self, x: Any, c: Any) -> list[Any]:
        z = self._z(x, c)
        return [z / np.exp(c[1]), z * z - 1]

    def cdf(self, x: Any, c: Any) -> Any:
        return special.ndtr(self._z(x, c))

    def sf(self, x: Any, c: Any) -> Any:
        return special.ndtr(-self._z(x, c))

    def ppf(self, q: Any, c: Any) -> Any:
        return c[0] + np.exp(c[1]) * special.ndtri(q)


class Logistic(_LocationScale):
    """The logistic distribution: tails between the normal's and an exponential's."""

    name, in_scipy = "logistic", "logistic"

    def starts(self, x: Any, w: Any) -> list[Any]:
        mean, sd, _ = moments(x, w)
        return [np.array([mean, math.log(sd * math.sqrt(3) / math.pi)])]

    def logpdf(self, x: Any, c: Any) -> Any:
        z = np.abs(self._z(x, c))
        return -z - c[1] - 2 * np.log1p(np.exp(-z))

    def score(self, x: Any, c: Any) -> list[Any]:
        z = self._z(x, c)
        t = np.tanh(z / 2)
        return [t / np.exp(c[1]), z * t - 1]

    def cdf(self, x: Any, c: Any) -> Any:
        return special.expit(self._z(x, c))

    def sf(self, x: Any, c: Any) -> Any:
        return special.expit(-self._z(x, c))

    def ppf(self, q: Any, c: Any) -> Any:
        return c[0] + np.exp(c[1]) * special.logit(q)


class LargestExtremeValue(_LocationScale):
    """Gumbel's distribution of the largest of many values."""

    name, in_scipy = "largest extreme value", "gumbel_r"

    def starts(self, x: Any, w: Any) -> list[Any]:
        mean, sd, _ = moments(x, w)
        scale = sd * math.sqrt(6) / math.pi
        return [np.array([mean - 0.5772156649 * scale, math.log(scale)])]

    def logpdf(self, x: Any, c: Any) -> Any:
        z = self._z(x, c)
        return -z - np.exp(np.minimum(-z, 700.0)) - c[1]

    def score(self, x: Any, c: Any) -> list[Any]:
        z = self._z(x, c)
        t = 1 - np.exp(np.minimum(-z, 700.0))
        return [t / np.exp(c[1]), z * t - 1]

    def cdf(self, x: Any, c: Any) -> Any:
        return np.exp(-np.exp(np.minimum(-self._z(x, c), 700.0)))

    def sf(self, x: Any, c: Any) -> Any:
        return -np.expm1(-np.exp(np.minimum(-self._z(x, c), 700.0)))

    def ppf(self, q: Any, c: Any) -> Any:
        return c[0] - np.exp(c[1]) * np.log(-np.log(q))
