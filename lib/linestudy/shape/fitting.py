"""Fit a family to values, and use what was fitted."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from linestudy.numerics.samples import as_sample
from linestudy.results import CannotJudge
from linestudy.shape.families import FAMILIES, MIXTURE, NAMES
from linestudy.shape.mixture import Mixture, fit_mixture
from linestudy.shape.mixture import logpdf as mixture_logpdf


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
    """

    family: str
    parameters: dict[str, float]
    loglik: float
    n: int
    bound: float | None = None
    covariance: Any = field(default=None, repr=False, compare=False)
    free: Any = field(default=None, repr=False, compare=False)
    smallest: float = field(default=0.0, repr=False, compare=False)

    @property
    def origin(self) -> float:
        """Zero of the family's own scale, in the unit of the values."""
        return self.bound or 0.0 if self.from_bound else 0.0

    @property
    def from_bound(self) -> bool:
        """Whether the family begins at the physical bound."""
        return self.family != MIXTURE and FAMILIES[self.family].from_bound

    def frozen(self) -> Any:
        """The distribution, on the family's own scale."""
        p = list(self.parameters.values())
        return Mixture(p) if self.family == MIXTURE else FAMILIES[self.family].frozen(p)

    def cdf(self, x: Any) -> Any:
        """Share of parts up to x."""
        with np.errstate(all="ignore"):  # far out, SciPy's powers overflow on the way to 0 or 1
            return self.frozen().cdf(np.asarray(x, dtype=float) - self.origin)

    def sf(self, x: Any) -> Any:
        """Share of parts beyond x."""
        with np.errstate(all="ignore"):
            return self.frozen().sf(np.asarray(x, dtype=float) - self.origin)

    def ppf(self, q: Any) -> Any:
        """Quantiles, in the unit of the values."""
        with np.errstate(all="ignore"):
            return self.frozen().ppf(np.asarray(q, dtype=float)) + self.origin

    def logpdf(self, x: Any) -> Any:
        """Log density."""
        with np.errstate(all="ignore"):
            return self.frozen().logpdf(np.asarray(x, dtype=float) - self.origin)

    def pdf(self, x: Any) -> Any:
        """Density, per unit of the values."""
        return np.exp(self.logpdf(x))

    def rvs(self, size: Any, rng: np.random.Generator) -> Any:
        """Random values."""
        return self.frozen().rvs(size, random_state=rng) + self.origin

    @property
    def aic(self) -> float:
        """Akaike's criterion, corrected for sample size (Hurvich & Tsai 1989)."""
        k = len(self.parameters)
        extra = 2 * k * (k + 1) / (self.n - k - 1) if self.n > k + 1 else float("inf")
        return -2 * self.loglik + 2 * k + extra

    def with_free(self, free: Any) -> Fitted:
        """The same family at other free parameters, for drawing from their uncertainty."""
        if self.family == MIXTURE:
            p = _mixture_unpack(free)
            names: tuple[str, ...] = _MIXTURE_NAMES
        else:
            p = FAMILIES[self.family].unpack(np.asarray(free), self.smallest)
            names = FAMILIES[self.family].names
        values = dict(zip(names, (float(v) for v in p), strict=True))
        return Fitted(self.family, values, self.loglik, self.n, self.bound)


MIXTURE_KINDS = "npsps"
_MIXTURE_NAMES = ("share_first", "mean_first", "sd_first", "mean_second", "sd_second")


def _mixture_unpack(free: Any) -> Any:
    share = 1 / (1 + np.exp(-free[0]))
    return np.array([share, free[1], np.exp(free[2]), free[3], np.exp(free[4])])


def _mixture_pack(p: Any) -> Any:
    return np.array([np.log(p[0] / (1 - p[0])), p[1], np.log(p[2]), p[3], np.log(p[4])])


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
        Whether the curvature at the maximum is wanted too (``covariance`` of the free
        parameters).

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
    near: Fitted | None = None,
    at: Fitted | None = None,
) -> Fitted:
    """Fit a family to distinct values and how often each occurs; see :func:`fit`.

    `near` is a fit of the same family to values much like these: a search that is slow from afar
    begins there. `at` is the fit to these very values: only its uncertainty is still wanted.
    """
    n = round(float(w.sum()))
    if family == MIXTURE:
        return _fit_mixture(x, w, n, uncertainty, near or at)
    item = FAMILIES[family]
    origin = (bound or 0.0) if item.from_bound else 0.0
    z = x - origin
    if item.from_bound and z[0] < 0:
        raise CannotJudge(f"A value lies below the bound, where a {family} distribution begins.")
    if item.from_bound and z[0] == 0:
        # A reading at the bound stands for anything up to half a step above it.
        z = np.maximum(z, smallest_step(z) / 4)
    # Values of a micrometre around six millimetres: searching on a scale of one is stable.
    scale = float(np.sqrt(w @ (z - w @ z / w.sum()) ** 2 / w.sum()))
    if scale == 0:
        raise CannotJudge("All values are the same, so they have no distribution to fit.")
    shift = 0.0 if item.from_bound else float(w @ z / w.sum())
    u = (z - shift) / scale
    known = at is not None and at.free is not None
    if at is not None and known:
        free = moved(at.free, item.free_kinds, -shift / scale, 1 / scale)
    else:
        free = np.asarray(item.start(u, w), dtype=float)
    smallest = float(u[0])

    def minus_loglik(point: Any) -> float:
        with np.errstate(over="ignore", invalid="ignore"):
            value = -float(w @ item.logpdf(u, item.unpack(point, smallest)))
        return value / n if np.isfinite(value) else 1e10

    if not np.isfinite(free).all() or minus_loglik(free) >= 1e10:
        raise CannotJudge(f"A {family} distribution cannot describe these values.")
    if not item.exact and not known:
        free = _search(minus_loglik, free, rough=near is not None)
        if item.name == "folded normal":
            free[0] = abs(free[0])  # its sign means nothing; keep one
    p = item.unpack(free, smallest)
    loglik = -n * minus_loglik(free) - n * np.log(scale)
    covariance = None
    if uncertainty:
        # Positions were searched on a scale of one; carry them back to the unit of the values.
        factor = np.array([scale if kind == "p" else 1.0 for kind in item.free_kinds])
        covariance = _covariance(minus_loglik, free, n) * np.outer(factor, factor)
    actual = moved(p, item.kinds, shift, scale)
    return Fitted(
        family,
        dict(zip(item.names, (float(v) for v in actual), strict=True)),
        float(loglik),
        n,
        bound=(bound or 0.0) if item.from_bound else None,
        covariance=covariance,
        free=moved(free, item.free_kinds, shift, scale),
        smallest=smallest * scale + shift,
    )


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


def moved(values: Any, kinds: str, shift: float, scale: float) -> Any:
    """Parameters in another unit: positions times scale plus shift, scales times scale.

    Parameters
    ----------
    values : array_like of float, shape (k,) or (k, b)
    kinds : str
        A letter for each of the k, see ``family.Family``.
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


def _search(target: Any, start: Any, rough: bool = False) -> Any:
    """Walk downhill without derivatives: two or three parameters, on a scale of one.

    Likelihoods with a threshold fall off a cliff beside their maximum, where methods that
    follow the slope get lost; a simplex does not.
    """
    from scipy.optimize import minimize

    # Steps of one size in every direction: SciPy's own are five percent of the start, which is
    # nothing where the start is nearly zero.
    simplex = np.vstack([start, start + 0.15 * np.eye(len(start))])
    options: Any = {"xatol": 1e-6, "fatol": 1e-11, "maxiter": 1200, "initial_simplex": simplex}
    if rough:  # enough for a refit among many, whose statistic is only compared
        options |= {"xatol": 1e-3, "fatol": 1e-7}
    found = minimize(target, start, method="Nelder-Mead", options=options)
    return found.x


def _covariance(target: Any, free: Any, n: int) -> Any:
    """Covariance of the free parameters from the curvature at the maximum."""
    from statsmodels.tools.numdiff import approx_hess

    hessian = np.asarray(approx_hess(free, target)) * n
    values, vectors = np.linalg.eigh((hessian + hessian.T) / 2)
    # A flat direction (a threshold far away) has no finite uncertainty; it is capped, not invented.
    values = np.maximum(values, max(float(values.max()), 1.0) * 1e-8)
    return (vectors / values) @ vectors.T


def _fit_mixture(x: Any, w: Any, n: int, uncertainty: bool, near: Fitted | None = None) -> Fitted:
    if x.size < 5:
        raise CannotJudge("Fewer than five different values cannot show two components.")
    centre = float(w @ x / w.sum())
    scale = float(np.sqrt(w @ (x - centre) ** 2 / w.sum()))
    u = (x - centre) / scale
    start = None
    if near is not None:
        start = np.array(list(near.parameters.values()))
        start[[1, 3]] = (start[[1, 3]] - centre) / scale
        start[[2, 4]] /= scale
    p = fit_mixture(u, w, start=start)
    loglik = float(w @ mixture_logpdf(u, p)) - n * np.log(scale)
    covariance = None
    if uncertainty:

        def minus(point: Any) -> float:
            return -float(w @ mixture_logpdf(u, _mixture_unpack(point))) / n

        covariance = _covariance(minus, _mixture_pack(p), n)
    actual = np.array(
        [p[0], p[1] * scale + centre, p[2] * scale, p[3] * scale + centre, p[4] * scale]
    )
    free = _mixture_pack(actual)
    # The curvature was taken on a scale of one; positions carry it back.
    if covariance is not None:
        factor = np.array([1, scale, 1, scale, 1])
        covariance = covariance * np.outer(factor, factor)
    return Fitted(
        MIXTURE,
        dict(zip(_MIXTURE_NAMES, map(float, actual), strict=True)),
        loglik,
        n,
        covariance=covariance,
        free=free,
    )
