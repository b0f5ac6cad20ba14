"""What a family of distributions is: one class from the density to the refit.

A family is written in *coordinates* of its own, one number each without a unit of its own mixed in:
positions, logarithms of scales, and shapes that pass smoothly into the family's limit. In them a
likelihood is nearly a parabola, so that Newton's method finds its top from afar, and the curvature
there gives the uncertainty of anything computed from the fit. `parameters` and `coordinates` lead to the
names of the field and back.

Everything broadcasts: coordinates are a sequence of k numbers, or of k columns (b, 1) against samples
(b, n), so that one fit and thousands of refits use the same lines.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Iterable
from typing import Any, ClassVar

import numpy as np
from scipy import special

HALF_LOG_2PI = 0.5 * math.log(2 * math.pi)
#: A coordinate without ends.
ANY = (-math.inf, math.inf)


class Family(ABC):
    """One family of distributions.

    Attributes
    ----------
    name : str
        As study.toml names it.
    names : tuple of str
        Its parameters.
    kinds, coordinate_kinds : str
        One letter for each parameter and coordinate, by which units are changed: ``p`` a position,
        ``s`` a scale, ``l`` the logarithm of a scale, ``n`` a pure number.
    limits : tuple of (low, high)
        Where coordinates are kept, for values on a scale of one.
    from_bound : bool
        Whether it begins at the physical bound; values are then measured from there.
    bend : int or None
        The coordinate to be taken nearer to the family's limit where a start excludes a value.
    bend_in_logs : bool
        Whether that coordinate is a logarithm, or the logit of a small share.
    mirrored : int or None
        The coordinate of which only the size counts.
    """

    name: ClassVar[str]
    names: ClassVar[tuple[str, ...]]
    kinds: ClassVar[str]
    coordinate_kinds: ClassVar[str]
    limits: ClassVar[tuple[tuple[float, float], ...]]
    from_bound: ClassVar[bool] = False
    bend: ClassVar[int | None] = None
    bend_in_logs: ClassVar[bool] = False
    mirrored: ClassVar[int | None] = None

    @abstractmethod
    def starts(self, x: Any, w: Any) -> list[Any]:
        """Return coordinates to begin a search from, the most promising first.

        Values x are scaled to one, in ascending order, each occurring w times. Where the likelihood
        may have several tops, there are several starts.
        """

    @abstractmethod
    def parameters(self, c: Any) -> Any:
        """Compute the parameters at coordinates, shape (k, ...)."""

    @abstractmethod
    def coordinates(self, p: Any) -> Any:
        """Compute the coordinates at parameters, shape (k,)."""

    @abstractmethod
    def logpdf(self, x: Any, c: Any) -> Any:
        """Log density at x; minus infinity where no value can be."""

    @abstractmethod
    def score(self, x: Any, c: Any) -> list[Any]:
        """Compute the derivatives of the log density by each coordinate."""

    @abstractmethod
    def cdf(self, x: Any, c: Any) -> Any:
        """Compute the share of parts up to x."""

    @abstractmethod
    def sf(self, x: Any, c: Any) -> Any:
        """Compute the share of parts beyond x, exact in the far tail."""

    @abstractmethod
    def ppf(self, q: Any, c: Any) -> Any:
        """Compute quantiles."""

    def closed_form(self, x: Any) -> Any | None:
        """Compute the coordinates (k, b) of each row's maximum, for x (b, n), where a formula gives it."""
        return None

    def edge_form(self, x: Any) -> tuple[Any, Any] | None:
        """Find rows of x (b, n) whose maximum is a formula at an end of the family, with coordinates (k, b)."""
        return None

    def tops(self, x: Any, start: Any) -> tuple[Any, Any] | None:
        """Find each row's maximum above a start, and twice the log likelihood missing there (b,).

        None where the roots of the likelihood equations, searched from the start, are as good.
        """
        return None

    def inside(self, smallest: Any, largest: Any, c: Any) -> Any:
        """Check for each sample whether all its values are possible."""
        return np.ones(np.shape(smallest), dtype=bool)

    def degenerate(self, c: Any) -> str | None:
        """Say why these coordinates are not this family but its limit; None where they are not."""
        return None

    def straighter(self, c: Any) -> Any:
        """Reduce the shape parameter, so that the family reaches further."""
        out = np.array(c, dtype=float)
        if self.bend is not None:
            out[self.bend] = out[self.bend] - 0.08 if self.bend_in_logs else out[self.bend] * 0.93
        return out

    def likeliest(self, candidates: Iterable[Any], x: Any, w: Any) -> list[Any]:
        """Select the coordinates under which the values are likeliest; none where none makes them possible."""
        best, found = -math.inf, []
        for c in candidates:
            value = float(w @ self.logpdf(x, c))
            if math.isfinite(value) and value > best + 1e-6:
                best, found = value, [c]
        return found

    def in_range(self, c: Any) -> Any:
        """Bring the dimensionless coordinates into the family's limits."""
        out = np.array(c, dtype=float)
        for index, kind in enumerate(self.coordinate_kinds):
            if kind == "n":
                low, high = self.limits[index]
                # One number is quicker without an array, and is asked for a hundred thousand times in a study.
                out[index] = (
                    min(max(out[index], low), high)
                    if out.ndim == 1
                    else np.minimum(np.maximum(out[index], low), high)
                )
        return out

    def rvs(self, size: Any, c: Any, rng: np.random.Generator) -> Any:
        """Draw random values by inverting the distribution."""
        return self.ppf(rng.random(size), c)


class FamilyInScipy(Family):
    """A family that SciPy has too, where its random values come from.

    Attributes
    ----------
    in_scipy : str
        In ``scipy.stats``.
    """

    in_scipy: ClassVar[str]

    @abstractmethod
    def scipy_parameters(self, c: Any) -> tuple[float, ...]:
        """Return shapes, location and scale as SciPy's distribution of this kind has them."""

    def rvs(self, size: Any, c: Any, rng: np.random.Generator) -> Any:
        """Draw random values by SciPy's distribution."""
        import scipy.stats

        distribution = getattr(scipy.stats, self.in_scipy)
        return distribution.rvs(*self.scipy_parameters(c), size=size, random_state=rng)


def moved(values: Any, kinds: str, shift: float, scale: float) -> Any:
    """Transform parameters or coordinates to another unit: positions times scale plus shift, scales times scale.

    Parameters
    ----------
    values : array_like of float, shape (k,) or (k, b)
    kinds : str
        A letter for each of the k, see :class:`Family`.
    shift, scale : float

    Returns
    -------
    numpy.ndarray

    Examples
    --------
    >>> moved([1.0, 2.0, 3.0], "psn", 5.0, 10.0).tolist()
    [15.0, 20.0, 3.0]
    """
    out = np.array(values, dtype=float)
    for index, kind in enumerate(kinds):
        if kind == "p":
            out[index] = out[index] * scale + shift
        elif kind == "s":
            out[index] *= scale
        elif kind == "l":
            out[index] += np.log(scale)
    return out


def moments(x: Any, w: Any) -> tuple[float, float, float]:
    """Compute weighted mean, standard deviation and skewness."""
    total = w.sum()
    mean = float(w @ x / total)
    d = x - mean
    mean += float(w @ d / total)
    d = x - mean
    variance = float(w @ (d * d) / total)
    skew = float(w @ (d * d * d) / total) / variance**1.5 if variance > 0 else 0.0
    return mean, math.sqrt(variance), skew


def centre_and_reach(x: Any, w: Any) -> tuple[float, float, float]:
    """Compute the weighted median, and the quantiles one normal standard deviation below and above it."""
    below = (np.cumsum(w) - w / 2) / w.sum()
    low, middle, high = np.interp([0.15866, 0.5, 0.84134], below, x)
    return float(low), float(middle), float(high)


def log1p_less(y: Any) -> Any:
    """Compute ``log(1 + y) - y`` without the loss of digits near nought."""
    y = np.asarray(y, dtype=float)
    r = y / (2 + y)
    square = r * r
    # log(1 + y) = 2 (r + r³/3 + r⁵/5 + …) with r = y / (2 + y).
    series = np.zeros_like(y)
    for odd in (17, 15, 13, 11, 9, 7, 5, 3):
        series = series * square + 2.0 / odd
    near = r * (square * series - y)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(np.abs(y) < 0.2, near, np.log1p(y) - y)


def stirling(a: Any) -> tuple[Any, Any]:
    """Compute the remainder of Stirling's formula for ``log gamma(a)``, and its derivative."""
    a = np.asarray(a, dtype=float)
    i = 1 / np.maximum(a, 15.0)
    s = i * i
    far = i * (1 / 12 - s * (1 / 360 - s * (1 / 1260 - s * (1 / 1680 - s / 1188))))
    slope = -s * (1 / 12 - s * (1 / 120 - s * (1 / 252 - s * (1 / 240 - s / 132))))
    near = special.gammaln(a) - (a - 0.5) * np.log(a) + a - HALF_LOG_2PI
    near_slope = special.psi(a) - np.log(a) + 1 / (2 * a)
    return np.where(a > 15, far, near), np.where(a > 15, slope, near_slope)


def quantiles(family: Family, q: Any, c: Any, low: Any, high: Any, scale: float) -> Any:
    """Search the quantiles of a family that has no formula for them, all at once.

    Newton's method on the logarithm of the share in the smaller tail, between ends that close in.

    Parameters
    ----------
    family : Family
    q : array_like of float
    c : array_like of float, shape (k,)
        Coordinates.
    low, high : array_like of float, shape of q
        Between which each quantile lies: the nearer together, the fewer steps.
    scale : float
        About the width of the distribution, of which a quantile near nought is known to the last digit.

    Returns
    -------
    numpy.ndarray
    """
    q = np.asarray(q, dtype=float)
    # Ends are formulas of finite precision: a little further out they hold the quantile for certain.
    a = np.broadcast_to(low, q.shape) - 1e-9 * scale
    b = np.broadcast_to(high, q.shape) + 1e-9 * scale
    left = q < 0.5
    wanted = np.where(left, q, 1 - q)
    x = np.broadcast_to(low, q.shape)
    with np.errstate(all="ignore"):
        for _ in range(100):
            share = np.where(left, family.cdf(x, c), family.sf(x, c))
            below = np.where(left, share < wanted, share > wanted)
            a, b = np.where(below, x, a), np.where(below, b, x)
            miss = np.log(share / wanted) * share / np.exp(family.logpdf(x, c))
            new = x - np.where(left, miss, -miss)
            inside = (new >= a) & (new <= b)
            new = np.where(inside, new, (a + b) / 2)
            moved, size = np.abs(new - x), np.maximum(np.abs(x), 0.1 * scale)
            # What a Newton step so short leaves is its square: nothing. A further one would only stir last digits.
            if np.all(moved <= np.where(inside, 1e-9, 4e-16) * size):
                return new
            x = new
    return x
