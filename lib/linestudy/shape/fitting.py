"""Fit a family to values by maximum likelihood, and use the fitted distribution."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from linestudy.numerics.arrays import FloatArray
from linestudy.numerics.maximum import Top, climb
from linestudy.results import CannotJudge, arguments, data_arguments
from linestudy.running.deprecation import old_keywords, renamed
from linestudy.shape.families import FAMILIES, Family
from linestudy.shape.families.family import moments, moved

#: Log likelihoods that differ by less are equal; the start that comes first then decides.
_EQUAL = 1e-6


@dataclass(frozen=True)
class FittedDistribution:
    """A family with its parameters, fitted to values.

    Attributes
    ----------
    family : str
        Its name, one of ``linestudy.shape.FAMILIES``.
    parameters : dict of str to float
        By name; in the unit of the values where they have one.
    loglik : float
        Log likelihood of the values.
    n : int
        Number of values.
    bound : float or None
        [unit of the values] Where the family begins, for families that begin at the physical bound.
    undetermined : str or None
        Why the likelihood has no maximum of this family's own, where it has none.
    covariance : numpy.ndarray, shape (k, k), or None
        Of the coordinates, from the curvature at the maximum, where it was asked for.
    free : numpy.ndarray, shape (k,), or None
        Coordinates at the maximum.
    """

    family: str
    parameters: dict[str, float]
    loglik: float
    n: int
    bound: float | None = None
    undetermined: str | None = None
    covariance: FloatArray | None = field(default=None, repr=False, compare=False)
    free: FloatArray | None = field(default=None, repr=False, compare=False)

    #: results.json writes its family's name instead.
    recorded_schema: ClassVar[dict[str, str]] = {"type": "string"}

    def record(self) -> str:
        """Return the name of the family, as results.json writes it."""
        return self.family

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
    def known_covariance(self) -> FloatArray:
        """Covariance of the coordinates, of a fit that has one."""
        if self.covariance is None:
            raise ValueError(
                "The fit has no covariance; make it with fit(..., with_covariance=True)."
            )
        return self.covariance

    @property
    def coordinates(self) -> Any:
        """Coordinates of the family, from which everything is computed; shape (k,)."""
        if self.free is not None:
            return self.free
        return self.kind.coordinates(list(self.parameters.values()))

    def cdf(self, x: Any) -> Any:
        """Return the share of parts up to x."""
        with np.errstate(all="ignore"):  # far out, powers overflow on the way to 0 or 1
            return self.kind.cdf(np.asarray(x, dtype=float) - self.origin, self.coordinates)

    def sf(self, x: Any) -> Any:
        """Return the share of parts beyond x."""
        with np.errstate(all="ignore"):
            return self.kind.sf(np.asarray(x, dtype=float) - self.origin, self.coordinates)

    def ppf(self, q: Any) -> Any:
        """Return quantiles, in the unit of the values."""
        with np.errstate(all="ignore"):
            return self.kind.ppf(np.asarray(q, dtype=float), self.coordinates) + self.origin

    def logpdf(self, x: Any) -> Any:
        """Return the log density."""
        with np.errstate(all="ignore"):
            return self.kind.logpdf(np.asarray(x, dtype=float) - self.origin, self.coordinates)

    def pdf(self, x: Any) -> Any:
        """Return the density, per unit of the values."""
        return np.exp(self.logpdf(x))

    def rvs(self, size: Any, rng: np.random.Generator) -> Any:
        """Draw random values."""
        return self.kind.rvs(size, self.coordinates, rng) + self.origin

    @property
    def aic(self) -> float:
        """Akaike's criterion, corrected for sample size (Hurvich & Tsai 1989)."""
        k = len(self.parameters)
        extra = 2 * k * (k + 1) / (self.n - k - 1) if self.n > k + 1 else float("inf")
        return -2 * self.loglik + 2 * k + extra

    def with_free(self, free: Any) -> FittedDistribution:
        """Return the same family at other coordinates, for drawing from their uncertainty."""
        at = self.kind.in_range(free)
        values = dict(zip(self.kind.names, map(float, self.kind.parameters(at)), strict=True))
        return FittedDistribution(self.family, values, self.loglik, self.n, self.bound, free=at)


@old_keywords(
    renamed("uncertainty", "with_covariance", since="0.3.0", removal="0.4.0"),
)
def fit(
    values: ArrayLike, family: str, bound: float | None = None, *, with_covariance: bool = False
) -> FittedDistribution:
    r"""Fit a family of distributions to values by maximum likelihood.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        Independent values in any unit, at least five.
    family : str
        Name of the family, one of ``linestudy.shape.FAMILIES``.
    bound : float, optional
        Physical bound in the unit of the values; families that begin there need it (0 when absent).
    with_covariance : bool
        Whether the curvature at the maximum is wanted too (``covariance`` of the coordinates).

    Returns
    -------
    FittedDistribution
        With parameters in the unit of the values.

    Raises
    ------
    CannotJudge
        Too few values, all equal, values beyond the bound, or a family that cannot
        describe them.
    ValueError
        Unknown family, or an array of other than one dimension.
    TypeError
        A table in place of values.

    See Also
    --------
    select_distribution : Fits all families and chooses one.
    fit_many : Fits many samples at once.

    Notes
    -----
    Model: independent values of the family. Values are brought to a scale of one, and the maximum of

    .. math:: \ell(\theta) = \sum_i \log f(x_i; \theta)

    is brought to the root of its score by Newton's method. Equal values are counted once with their
    number as weight: a camera that reads in steps of a micrometre shows thirty thousand parts in a
    hundred steps. Where the maximum lies at an end of the family's range, or at its limit, or nowhere, the
    fit says so (``undetermined``): such a family describes the values no better than a simpler one.
    Misleads where values are rounded to steps as coarse as their standard deviation, and for
    thresholds that run into the smallest value.

    References
    ----------
    Fisher, *Philosophical Transactions A* 222 (1922), 309-368.

    Examples
    --------
    >>> found = fit([1.0, 2.0, 3.0, 4.0, 5.0], "normal")
    >>> {name: round(value, 4) for name, value in found.parameters.items()}
    {'mean': 3.0, 'sd': 1.4142}
    """
    arguments.one_of("family", family, FAMILIES)
    y = data_arguments.one_dimensional(values, least=5)
    if bound is not None:
        bound = arguments.number("bound", bound)
    x, counts = np.unique(y, return_counts=True)
    if x.size < 2:
        raise CannotJudge("All values are the same, so they have no distribution to fit.")
    return fit_counts(x, counts.astype(float), family, bound, uncertainty=with_covariance)


def fit_counts(
    x: Any,
    w: Any,
    family: str,
    bound: float | None = None,
    *,
    uncertainty: bool = False,
    at: FittedDistribution | None = None,
) -> FittedDistribution:
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
        # Values were scaled to one; convert positions back to their unit.
        factor = np.array([scale if kind_ == "p" else 1.0 for kind_ in kind.coordinate_kinds])
        covariance = covariance_of(top.information * n) * np.outer(factor, factor)
    actual = moved(kind.parameters(point), kind.kinds, shift, scale)
    return FittedDistribution(
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
    """Bring values to a scale of one; with the shift and scale that lead back to their unit."""
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
    """Make the mean log likelihood of a family for values on a scale of one, and its slopes."""
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
    """Find a start that leaves every value possible."""
    c = np.asarray(start, dtype=float)
    for _ in range(60):
        if not np.isfinite(c).all():
            return None
        if kind.inside(u[0], u[-1], c) or kind.bend is None:
            return c
        c = kind.straighter(c)
    return None


def _highest(tops: list[Top], n: float) -> Top:
    """Return the highest top inside the family's range, or else the highest at its ends."""
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
    """Invert the information about coordinates; zero for those that are held at an end.

    A flat direction (a threshold far away) has no finite uncertainty; it is capped, not invented.
    """
    free = np.diag(information) != 0
    found = np.zeros_like(information)
    values, vectors = np.linalg.eigh(information[np.ix_(free, free)])
    if values.size:
        values = np.maximum(values, max(float(values.max()), 1.0) * 1e-8)
        found[np.ix_(free, free)] = (vectors / values) @ vectors.T
    return found


def smallest_step(values: ArrayLike) -> float:
    """Find the smallest distance between two different values; 0 where there is only one.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        Values in any unit.

    Returns
    -------
    float
        In the unit of the values.
    """
    gaps = np.diff(np.unique(np.asarray(values, dtype=float)))
    return float(gaps.min()) if gaps.size else 0.0
