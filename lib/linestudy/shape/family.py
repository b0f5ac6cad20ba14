"""What a family of distributions is, and SciPy's distributions without the cost of freezing."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np


@dataclass(frozen=True)
class Family:
    """One family of distributions.

    Attributes
    ----------
    name : str
        As study.toml names it.
    names : tuple of str
        Its parameters.
    from_bound : bool
        Whether it begins at the physical bound.
    logpdf : callable
        ``(x, parameters) -> log density``; x is measured from the bound where `from_bound`.
    start : callable
        ``(x, weights) -> free parameters`` by moments.
    unpack : callable
        ``(free parameters, smallest x) -> parameters``.
    frozen : callable
        ``(parameters) -> SciPy distribution`` (of x).
    kinds, free_kinds : str
        One letter per (free) parameter, by which units are changed: ``p`` a position, ``s`` a
        scale, ``l`` the logarithm of a scale, ``n`` a pure number.
    exact : bool
        Whether `start` is the maximum already.
    """

    name: str
    names: tuple[str, ...]
    from_bound: bool
    logpdf: Callable[[Any, Any], Any]
    start: Callable[[Any, Any], Any]
    unpack: Callable[[Any, float], Any]
    frozen: Callable[[Any], Any]
    kinds: str
    free_kinds: str
    exact: bool = False


def moments(x: Any, w: Any) -> tuple[float, float, float]:
    """Weighted mean, standard deviation and skewness."""
    total = w.sum()
    mean = float(w @ x / total)
    d = x - mean
    variance = float(w @ (d * d) / total)
    skew = float(w @ (d * d * d) / total) / variance**1.5 if variance > 0 else 0.0
    return mean, math.sqrt(variance), skew


class Scipy:
    """A SciPy distribution with its parameters, without the cost of freezing one.

    Parameters
    ----------
    name : str
        In ``scipy.stats``.
    *shape : float
        Shape parameters, then location and scale.
    """

    def __init__(self, name: str, *shape: float) -> None:
        import scipy.stats

        self._family = getattr(scipy.stats, name)
        self._shape = tuple(float(v) for v in shape)

    def cdf(self, x: Any) -> Any:
        """Share of parts up to x."""
        return self._family.cdf(x, *self._shape)

    def sf(self, x: Any) -> Any:
        """Share of parts beyond x."""
        return self._family.sf(x, *self._shape)

    def ppf(self, q: Any) -> Any:
        """Quantiles."""
        return self._family.ppf(q, *self._shape)

    def logpdf(self, x: Any) -> Any:
        """Log density."""
        return self._family.logpdf(x, *self._shape)

    def rvs(self, size: Any, random_state: np.random.Generator) -> Any:
        """Random values."""
        return self._family.rvs(*self._shape, size=size, random_state=random_state)
