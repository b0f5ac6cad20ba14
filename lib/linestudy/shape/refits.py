"""Thousands of maximum-likelihood refits at once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from linestudy.numerics.arrays import BoolArray, FloatArray
from linestudy.numerics.maximum_many import climb_all
from linestudy.results import CannotJudge, arguments, data_arguments
from linestudy.shape.families import FAMILIES, Family
from linestudy.shape.families.family import moved
from linestudy.shape.fitting import FittedDistribution, fit, smallest_step

#: Values per block of rows: what a processor keeps close.
_BLOCK = 25_000
#: Twice the log likelihood that may be missing: where a walk ends, at a root, and at most.
_MISSING, _ROOT, _ENOUGH = 1e-20, 1e-15, 1e-4
_PASSES = 60
#: Steps of differences, coordinates on a scale of about one.
_DIFFERENCE = 1e-3


@dataclass(frozen=True)
class Refits:
    """Parameters of many refits, and what is seen through them.

    Attributes
    ----------
    parameters : numpy.ndarray, shape (b, k)
        In the order and unit of :class:`FittedDistribution`.
    statistic : numpy.ndarray, shape (b,)
        Anderson-Darling statistic of each row against its own fit.
    converged : numpy.ndarray of bool, shape (b,)
    shares : numpy.ndarray, shape (b, n)
        Share of parts up to each sorted value, by the row's own fit.
    """

    parameters: FloatArray
    statistic: FloatArray
    converged: BoolArray
    shares: Any


def refit(near: FittedDistribution, matrix: Any) -> Refits:
    """Refit a family to every row, beginning where it was fitted already.

    Parameters
    ----------
    near : FittedDistribution
        Fit from which every row begins.
    matrix : array_like of float, shape (b, n)
        Samples much like the one that `near` was fitted to.

    Returns
    -------
    Refits
        Parameters, statistic and shares of each row.

    Notes
    -----
    All rows start from that fit and walk to the root of their own likelihood equations by Broyden's
    method (*Mathematics of Computation* 19 (1965)), each with its own k × k matrix, begun as the inverse of
    the fit's expected information (scoring). A step costs one pass over the matrix; near the fit
    convergence is faster than linear, so that ten to twenty passes leave each row within a hundred
    millionth of a standard error of its root. Rows that do not come so far, mostly samples whose maximum
    lies at the edge of the family, climb without leaps (:mod:`linestudy.numerics.maximum_many`). A family of
    several summits, the mixture, climbs so from the beginning: a search that leaps may land on any of them, and on
    which one depends on the last digit of a processor. Families whose maximum is a formula need no search. Misleads
    where rows are not like the fit: a far start may end in another maximum.

    Examples
    --------
    >>> import numpy as np
    >>> from linestudy.shape import fit
    >>> rng = np.random.default_rng(1)
    >>> near = fit(rng.gamma(4, 1, 100), "gamma", 0.0)
    >>> refit(near, near.rvs((50, 100), rng)).parameters.shape
    (50, 2)
    """
    x = np.sort(np.asarray(matrix, dtype=float) - near.origin, axis=1)
    if not len(x):
        none = np.empty(0)
        return Refits(np.empty((0, len(near.parameters))), none, none.astype(bool), x)
    if near.bound is not None:
        step = smallest_step(x[0])
        x = np.maximum(x, step / 4 if step > 0 else np.finfo(float).tiny)
    kind = near.kind
    closed = kind.closed_form(x)
    if closed is not None:
        every = np.ones(len(x), dtype=bool)
        return _measured(kind, x, closed, every, kind.parameters(closed).T)
    own = near.coordinates
    low, middle, high = near.ppf([0.15866, 0.5, 0.84134]) - near.origin
    scale = float(high - low) / 2
    shift = 0.0 if near.bound is not None else float(middle)
    start = moved(own, kind.coordinate_kinds, -shift / scale, 1 / scale)
    start = np.clip(start, *np.array(kind.limits).T)
    grid = (near.ppf((np.arange(1000) + 0.5) / 1000) - near.origin - shift) / scale
    u = (x - shift) / scale
    information = _information(kind, start, grid)
    rows = max(_BLOCK // u.shape[1], 1)
    blocks = [u[first : first + rows] for first in range(0, len(u), rows)]
    found = [kind.tops(block, start) or _tops(kind, block, start, information) for block in blocks]
    c = np.concatenate([item[0] for item in found], axis=1)
    missing = np.concatenate([item[1] for item in found])
    parameters = np.array(moved(kind.parameters(c), kind.kinds, shift, scale)).T
    return _measured(kind, u, c, missing <= _ENOUGH, parameters)


def _tops(kind: Family, u: Any, start: Any, information: Any) -> tuple[Any, Any]:
    """Find coordinates (k, b) of the maximum of every row, and twice the log likelihood that is missing (b,)."""
    c, missing = _solve(kind, u, start, information)
    edge = kind.edge_form(u)
    if edge is not None:
        c[:, edge[0]], missing[edge[0]] = edge[1][:, edge[0]], 0.0
    left = np.flatnonzero(~(missing <= _ROOT))
    if left.size:
        # The few that are left, mostly for lack of a top, climb: slower, and without leaps.
        begin = _possible(kind, u[left], np.repeat(start[:, None], left.size, axis=1))
        again, lack = climb_all(_landscape(kind, u[left]), begin, kind.limits, u.shape[1])
        c[:, left], missing[left] = again, lack
    return c, missing


def _landscape(kind: Family, x: Any) -> Any:
    """Compute the mean log likelihood of each row of x, its slopes, and minus its second derivatives by differences."""
    smallest, largest = x[:, 0], x[:, -1]

    def seen(rows: Any, c: Any) -> tuple[Any, Any, Any]:
        part = x[rows]
        with np.errstate(all="ignore"):
            value = np.mean(kind.logpdf(part, c[:, :, None]), axis=1)
        value = np.where(kind.inside(smallest[rows], largest[rows], c), value, -np.inf)
        k = len(c)
        bent = np.empty((rows.size, k, k))
        for i, move in enumerate(_DIFFERENCE * np.eye(k)[:, :, None]):
            one, two = (
                _mean_slopes(kind, part, c - far * move) - _mean_slopes(kind, part, c + far * move)
                for far in (1, 2)
            )
            # Of fourth order: along a flat ridge the curvature itself is small.
            bent[:, i] = (8 * one - two).T / (12 * _DIFFERENCE)
        return value, _mean_slopes(kind, part, c), (bent + bent.transpose(0, 2, 1)) / 2

    return seen


def _measured(kind: Family, x: Any, c: Any, converged: Any, parameters: Any) -> Refits:
    """Gather refits with their shares and Anderson-Darling statistics."""
    with np.errstate(all="ignore"):
        lower, upper = kind.cdf(x, c[:, :, None]), kind.sf(x, c[:, :, None])
    return Refits(parameters, statistics_of_shares(lower, upper), converged, lower)


def statistics_of_shares(lower: Any, upper: Any) -> Any:
    """Compute Anderson-Darling statistics of many sorted samples (*JASA* 49 (1954), eq. 1).

    Parameters
    ----------
    lower, upper : numpy.ndarray, shape (b, n)
        Shares below and above each value by the distribution, values growing along a row.

    Returns
    -------
    numpy.ndarray, shape (b,)

    Examples
    --------
    >>> import numpy as np
    >>> u = np.array([[0.1, 0.4, 0.8]])
    >>> statistics_of_shares(u, 1 - u).round(3).tolist()
    [0.279]
    """
    n = lower.shape[1]
    tiny = np.finfo(float).tiny
    logs = np.log(np.maximum(lower, tiny)) + np.log(np.maximum(upper[:, ::-1], tiny))
    return -n - logs @ ((2 * np.arange(1, n + 1) - 1) / n)


def seen_through_own_fit(near: FittedDistribution, matrix: Any) -> Any:
    """Compute shares of the sorted values of every row by the row's own fit.

    Parameters
    ----------
    near : FittedDistribution
    matrix : array_like of float, shape (b, n)

    Returns
    -------
    numpy.ndarray, shape (at most b, n)
        Rows whose refit did not converge are left out.
    """
    found = refit(near, matrix)
    return found.shares[found.converged]


def fit_many(
    matrix: ArrayLike,
    family: str,
    bound: float | None = None,
    *,
    near: FittedDistribution | None = None,
) -> NDArray[np.float64]:
    """Fit a family to every row of a matrix by maximum likelihood.

    Parameters
    ----------
    matrix : array_like of float, shape (b, n)
        Samples of one process, one in each row, in any unit.
    family : str
        One of ``linestudy.shape.FAMILIES``.
    bound : float, optional
        Physical bound in the unit of the values, for families that begin there.
    near : FittedDistribution, optional
        Where to begin; a fit to values of all rows when absent.

    Returns
    -------
    numpy.ndarray of float, shape (b, k)
        Parameters in the order of :class:`FittedDistribution`; NaN in rows that the family cannot describe.

    Raises
    ------
    CannotJudge
        Where not even all rows together can be fitted.
    ValueError
        Unknown family, or an array of other than two dimensions.

    See Also
    --------
    fit : One sample.
    ppf_many : Quantiles of many fits.

    Notes
    -----
    Broyden's method on the likelihood equations of all rows at once, from one common start; rows that do not
    converge go through :func:`fit`. Misleads where rows are not samples of much the same process: a
    far start may end in another maximum.

    References
    ----------
    Broyden, *Mathematics of Computation* 19 (1965), 577-593.

    Examples
    --------
    >>> fit_many([[1.0, 2, 3, 4, 5], [2.0, 3, 4, 5, 6]], "normal").round(3).tolist()
    [[3.0, 1.414], [4.0, 1.414]]
    """
    arguments.one_of("family", family, FAMILIES)
    x = data_arguments.numbers(matrix, 2, name="matrix")
    if near is None:
        # Evenly spread values of all rows: enough to start from.
        pooled = np.sort(x, axis=None)
        near = fit(
            pooled[np.linspace(0, pooled.size - 1, min(pooled.size, 2000)).astype(int)],
            family,
            bound,
        )
    found = refit(near, x)
    parameters = np.array(found.parameters)
    for row in np.flatnonzero(~found.converged):
        try:
            parameters[row] = list(fit(x[row], family, bound).parameters.values())
        except CannotJudge:
            parameters[row] = np.nan
    return parameters


def ppf_many(
    family: str, parameters: ArrayLike, q: ArrayLike, *, bound: float | None = None
) -> NDArray[np.float64]:
    """Compute quantiles of many fits of one family.

    Parameters
    ----------
    family : str
        One of ``linestudy.shape.FAMILIES``.
    parameters : array_like of float, shape (b, k)
        One fit in each row, as :func:`fit_many` gives them.
    q : array_like of float, shape (m,)
        Shares of parts below the quantiles.
    bound : float, optional
        Physical bound, for families that begin there.

    Returns
    -------
    numpy.ndarray of float, shape (b, m)
        In the unit of the values; NaN in rows without parameters.

    Raises
    ------
    ValueError
        Unknown family.

    See Also
    --------
    fit_many : Makes the fits.

    References
    ----------
    By definition: the inverse of each distribution function.

    Examples
    --------
    >>> ppf_many("normal", [[0.0, 1.0], [5.0, 2.0]], [0.5]).ravel().tolist()
    [0.0, 5.0]
    """
    arguments.one_of("family", family, FAMILIES)
    q = data_arguments.one_dimensional(np.atleast_1d(q), name="q", what="share")
    rows = data_arguments.numbers(np.atleast_2d(parameters), 2, name="parameters")
    wanted = FAMILIES[family].names
    if rows.shape[1] != len(wanted):
        raise ValueError(
            f"parameters has shape {rows.shape}; {family} has the columns {', '.join(wanted)}."
        )
    names = tuple(f"p{index}" for index in range(rows.shape[1]))
    origin = bound if FAMILIES[family].from_bound else None
    out = np.full((len(rows), q.size), np.nan)
    for index, row in enumerate(rows):
        if np.isfinite(row).all():
            values = dict(zip(names, map(float, row), strict=True))
            out[index] = FittedDistribution(family, values, 0.0, 0, origin).ppf(q)
    return out


def _information(kind: Family, start: Any, grid: Any) -> Any:
    """Compute expected information per value at the fit, from a grid of its quantiles."""
    slopes = np.array([np.broadcast_to(s, grid.shape) for s in kind.score(grid, start)])
    found = slopes @ slopes.T / grid.size
    values, vectors = np.linalg.eigh(found)
    return (vectors * np.maximum(values, 1e-5 * values.max())) @ vectors.T


def _mean_slopes(kind: Family, x: Any, c: Any) -> Any:
    with np.errstate(all="ignore"):
        found = np.array([np.mean(s, axis=1) for s in kind.score(x, c[:, :, None])])
    if np.isfinite(found).all():
        return found
    return np.nan_to_num(found, nan=1e3, posinf=1e3, neginf=-1e3)


def _possible(kind: Family, x: Any, starts: Any) -> Any:
    """Find starts (k, b) that leave every value of their row possible: their shape parameters are reduced, so that the family reaches further."""
    p = np.array(starts)
    for _ in range(60):
        outside = ~kind.inside(x[:, 0], x[:, -1], p)
        if not outside.any():
            break
        p[:, outside] = kind.straighter(p[:, outside])
    return p


def _solve(
    kind: Family,
    x: Any,
    start: Any,
    information: Any,
) -> tuple[Any, Any]:
    """Find roots of the likelihood equations of all rows: coordinates (k, b), and what is missing (b,)."""
    b, n = x.shape
    low, high = (np.array(side)[:, None] for side in zip(*kind.limits, strict=True))
    inverse = np.linalg.inv(information)
    p = np.repeat(start[:, None], b, axis=1)
    h = np.repeat(inverse[None], b, axis=0)
    smallest, largest = x[:, 0], x[:, -1]
    p = _possible(kind, x, p)
    f = _mean_slopes(kind, x, p)
    missing = np.full(b, np.inf)
    active = np.ones(b, dtype=bool)
    for _ in range(_PASSES):
        rows = np.flatnonzero(active)
        if not rows.size:
            break
        here, force = p[:, rows], f[:, rows]
        # At an edge of the family what pushes outwards is no reason to go on.
        stuck = ((here <= low) & (force < 0)) | ((here >= high) & (force > 0))
        free = np.where(stuck, 0.0, force)
        missing[rows] = n * np.einsum("ib,ij,jb->b", free, inverse, free)
        done = missing[rows] < _MISSING
        active[rows[done]] = False
        rows, here, force, free = rows[~done], here[:, ~done], force[:, ~done], free[:, ~done]
        if not rows.size:
            break
        step = np.einsum("bij,jb->ib", h[rows], free)
        length = np.sqrt(np.einsum("ib,ij,jb->b", step, information, step))
        step /= np.maximum(length, 1.0)
        step = _kept_inside(kind, smallest[rows], largest[rows], here, step, low, high)
        new = _mean_slopes(kind, x if rows.size == b else x[rows], here + step)
        # Much steeper than before: the step was too long.
        worse = (new * new).sum(axis=0) > 9 * (force * force).sum(axis=0)
        if worse.any():
            step[:, worse] *= 0.25
            new[:, worse] = _mean_slopes(kind, x[rows[worse]], (here + step)[:, worse])
        p[:, rows], f[:, rows] = here + step, new
        drop = force - new
        move = np.einsum("bij,jb->ib", h[rows], drop)
        back = np.einsum("ib,bij->jb", step, h[rows])
        along = (step * move).sum(axis=0)
        size = np.sqrt((step * step).sum(axis=0) * (move * move).sum(axis=0))
        sound = np.abs(along) > 0.05 * np.maximum(size, 1e-300)
        scaled = np.where(sound, (step - move) / np.where(sound, along, 1.0), 0.0)
        h[rows] += np.einsum("ib,jb->bij", scaled, back)
    return p, missing


def _kept_inside(
    kind: Family, smallest: Any, largest: Any, here: Any, step: Any, low: Any, high: Any
) -> Any:
    """Shorten steps until every value stays possible."""
    for _ in range(12):
        step = np.clip(here + step, low, high) - here
        outside = ~kind.inside(smallest, largest, here + step)
        if not outside.any():
            return step
        step = np.where(outside, 0.5 * step, step)
    return np.where(outside, 0.0, step)
