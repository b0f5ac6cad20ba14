"""Fit a family to values, and use what was fitted.

Every family is fitted by maximum likelihood, values on a scale of one, the top brought to the root of its score
(:mod:`linestudy.numerics.maximum`). Where the top lies at an end of the family's range, or at its limit, or nowhere,
the fit says so (`undetermined`): such a family describes the values no better than a simpler one, and the choice of a
distribution leaves it out.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from linestudy.numerics.maximum import Top, climb
from linestudy.numerics.samples import as_sample
from linestudy.results import CannotJudge
from linestudy.shape.families import FAMILIES, NAMES, Family
from linestudy.shape.families.family import moments, moved

#: Log likelihoods that differ by less are equal; the start that comes first then decides.
_EQUAL = 1e-6


@dataclass(frozen=True)
class Fitted:
    """A family with its parameters, fitted to values.

    Attributes
    ----------
    family : str
    parameters : dict of str to float
        In the unit of the values where they have one.
    loglik : float
        Log likelihood.
    n : int
        Values.
    bound : float or None
        Where the family begins, for families that begin at the physical bound.
    undetermined : str or None
        Why the likelihood has no top of this family's own, where it has none.
    """

    family: str
    parameters: dict[str, float]
    loglik: float
    n: int
    bound: float | None = None
    undetermined: str | None = None
    covariance: Any = field(default=None, repr=False, compare=False)
    free: Any = field(default=None, repr=False, compare=False)

    @property
    def kind(self) -> Family:
        """The class of the family."""
        return FAMILIES[self.family]

    @property
    def origin(self) -> float:
        """Zero of the family's own scale, in the unit of the values."""
        return (self.bound or 0.0) if self.from_bound else 0.0

    @property
    def from_bound(self) -> bool:
        """Whether the family begins at the physical bound."""
        return self.kind.from_bound

    @property
    def coordinates(self) -> Any:
        """Coordinates of the family, from which everything is computed; shape (k,)."""
        if self.free is not None:
            return self.free
        return self.kind.coordinates(list(self.parameters.values()))

    def cdf(self, x: Any) -> Any:
        """Share of parts up to x."""
        with np.errstate(all="ignore"):  # far out, powers overflow on the way to 0 or 1
            return self.kind.cdf(np.asarray(x, dtype=float) - self.origin, self.coordinates)

    def sf(self, x: Any) -> Any:
        """Share of parts beyond x."""
        with np.errstate(all="ignore"):
            return self.kind.sf(np.asarray(x, dtype=float) - self.origin, self.coordinates)

    def ppf(self, q: Any) -> Any:
        """Quantiles, in the unit of the values."""
        with np.errstate(all="ignore"):
            return self.kind.ppf(np.asarray(q, dtype=float), self.coordinates) + self.origin

    def logpdf(self, x: Any) -> Any:
        """Log density."""
        with np.errstate(all="ignore"):
            return self.kind.logpdf(np.asarray(x, dtype=float) - self.origin, self.coordinates)

    def pdf(self, x: Any) -> Any:
        """Density, per unit of the values."""
        return np.exp(self.logpdf(x))

    def rvs(self, size: Any, rng: np.random.Generator) -> Any:
        """Random values."""
        return self.kind.rvs(size, self.coordinates, rng) + self.origin

    @property
    def aic(self) -> float:
        """Akaike's criterion, corrected for sample size (Hurvich & Tsai 1989)."""
        k = len(self.parameters)
        extra = 2 * k * (k + 1) / (self.n - k - 1) if self.n > k + 1 else float("inf")
        return -2 * self.loglik + 2 * k + extra

    def with_free(self, free: Any) -> Fitted:
        """The same family at other coordinates, for drawing from their uncertainty."""
        at = self.kind.in_range(free)
        values = dict(zip(self.kind.names, map(float, self.kind.parameters(at)), strict=True))
        return Fitted(self.family, values, self.loglik, self.n, self.bound, free=at)


def fit(values: Any, family: str, bound: float | None = None, uncertainty: bool = False) -> Fitted:
    """Fit a family by maximum likelihood.

    Parameters
    ----------
    values : array_like of float, shape (n,)
    family : str
        A name in ``linestudy.shape.NAMES``.
    bound : float, optional
        Physical bound; families that begin there need it (0 when absent).
    uncertainty : bool
        Whether the curvature at the maximum is wanted too (``covariance`` of the coordinates).

    Returns
    -------
    Fitted

    Raises
    ------
    CannotJudge
        Too few values, all equal, values beyond the bound, or a family that cannot
        describe them.
    ValueError
        Unknown family.

    Notes
    -----
    Maximum likelihood (Fisher 1922). Equal values are counted once with their number as weight:
    a camera that reads in steps of a micrometre shows thirty thousand parts in a hundred steps.

    Examples
    --------
    >>> fit([1.0, 2.0, 3.0, 4.0, 5.0], "normal").parameters["mean"]
    3.0
    """
    if family not in NAMES:
        raise ValueError(f"unknown family {family!r}; known: {', '.join(NAMES)}")
    y = as_sample(values, least=5)
    x, counts = np.unique(y, return_counts=True)
    if x.size < 2:
        raise CannotJudge("All values are the same, so they have no distribution to fit.")
    return fit_counts(x, counts.astype(float), family, bound, uncertainty)


def fit_counts(
    x: Any,
    w: Any,
    family: str,
    bound: float | None = None,
    uncertainty: bool = False,
    at: Fitted | None = None,
) -> Fitted:
    """Fit a family to distinct values, ascending, and how often each occurs; see :func:`fit`.

    `at` is a fit of the same family to values much like these, from which the search begins.
    """
    n = float(w.sum())
    kind = FAMILIES[family]
    u, shift, scale = standardised(x, w, kind, bound)
    value, slopes = mean_likelihood(u, w, kind)
    if at is not None:
        starts = [moved(at.coordinates, kind.coordinate_kinds, -shift / scale, 1 / scale)]
    else:
        starts = kind.starts(u, w)
    tops = [
        climb(value, slopes, start, kind.limits, n)
        for start in (_possible(kind, u, item) for item in starts)
        if start is not None and np.isfinite(value(start))
    ]
    if not tops:
        raise CannotJudge(f"A {family} distribution cannot describe these values.")
    top = _highest(tops, n)
    point = top.point
    ordered = kind.in_range(point)
    if not np.array_equal(ordered, point):
        top = climb(value, slopes, ordered, kind.limits, n)
        point = top.point
    covariance = None
    if uncertainty:
        # Values stood on a scale of one; carry positions back to their unit.
        factor = np.array([scale if kind_ == "p" else 1.0 for kind_ in kind.coordinate_kinds])
        covariance = covariance_of(top.information * n) * np.outer(factor, factor)
    actual = moved(kind.parameters(point), kind.kinds, shift, scale)
    return Fitted(
        family,
        dict(zip(kind.names, (float(v) for v in actual), strict=True)),
        float(n * (top.value - np.log(scale))),
        round(n),
        bound=(bound or 0.0) if kind.from_bound else None,
        undetermined=_why_undetermined(kind, top),
        covariance=covariance,
        free=moved(point, kind.coordinate_kinds, shift, scale),
    )


def standardised(x: Any, w: Any, kind: Family, bound: float | None) -> tuple[Any, float, float]:
    """Values on a scale of one, and the shift and scale that lead back to their unit."""
    z = x - ((bound or 0.0) if kind.from_bound else 0.0)
    if kind.from_bound and z[0] < 0:
        raise CannotJudge(f"A value lies below the bound, where a {kind.name} distribution begins.")
    if kind.from_bound and z[0] == 0:
        # A reading at the bound stands for anything up to half a step above it.
        z = np.maximum(z, smallest_step(z) / 4)
    mean, scale, _ = moments(z, w)
    if not scale > 0:
        raise CannotJudge("All values are the same, so they have no distribution to fit.")
    shift = 0.0 if kind.from_bound else mean
    return (z - shift) / scale, shift, scale


def mean_likelihood(u: Any, w: Any, kind: Family) -> tuple[Any, Any]:
    """Mean log likelihood of a family for values on a scale of one, and its slopes."""
    share = w / w.sum()

    def value(point: Any) -> float:
        with np.errstate(all="ignore"):
            if not kind.inside(u[0], u[-1], point):
                return -np.inf
            found = float(share @ kind.logpdf(u, point))
        return found if np.isfinite(found) else -np.inf

    def slopes(point: Any) -> Any:
        with np.errstate(all="ignore"):
            return np.array([float(share @ item) for item in kind.score(u, point)])

    return value, slopes


def _possible(kind: Family, u: Any, start: Any) -> Any:
    """A start that leaves every value possible."""
    c = np.asarray(start, dtype=float)
    for _ in range(60):
        if not np.isfinite(c).all():
            return None
        if kind.inside(u[0], u[-1], c) or kind.bend is None:
            return c
        c = kind.straighter(c)
    return None


def _highest(tops: list[Top], n: float) -> Top:
    """The highest top inside the family's range, or else the highest at its ends."""
    inside = [top for top in tops if top.determined] or tops
    best = inside[0]
    for top in inside[1:]:
        if n * (top.value - best.value) > _EQUAL:
            best = top
    return best


def _why_undetermined(kind: Family, top: Top) -> str | None:
    if (why := kind.degenerate(top.point)) is not None:
        return why
    if top.held.any():
        return "its best shape lies at the end of what the family may be"
    return None if top.found else "its likelihood has no top"


def covariance_of(information: Any) -> Any:
    """Covariance of coordinates from the information about them; nought for those that are held.

    A flat direction (a threshold far away) has no finite uncertainty; it is capped, not invented.
    """
    free = np.diag(information) != 0
    found = np.zeros_like(information)
    values, vectors = np.linalg.eigh(information[np.ix_(free, free)])
    if values.size:
        values = np.maximum(values, max(float(values.max()), 1.0) * 1e-8)
        found[np.ix_(free, free)] = (vectors / values) @ vectors.T
    return found


def smallest_step(values: Any) -> float:
    """Smallest distance between two different values; 0 where there is only one.

    Parameters
    ----------
    values : array_like of float

    Returns
    -------
    float
    """
    gaps = np.diff(np.unique(np.asarray(values, dtype=float)))
    return float(gaps.min()) if gaps.size else 0.0
