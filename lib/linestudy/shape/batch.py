"""Thousands of maximum-likelihood refits at once.

Model: every row of a matrix is a sample much like one that was fitted already. All rows start from
that fit and walk to the root of their own likelihood equations by Broyden's method (*Mathematics of
Computation* 19 (1965)), each with its own k × k matrix, begun as the inverse of the fit's expected
information (scoring). A step costs one pass over the matrix; near the fit convergence is faster
than linear, so that five to eight passes leave each row within a thousandth of its highest log
likelihood. Rows that do not come so far, mostly samples whose maximum lies at the edge of the family, go through
the ordinary fit one by one where `fit_many` is asked; the bootstrap counts them and leaves them out
while they are few. Normal, lognormal, half-normal and Rayleigh need no search.

Misleads where rows are not like the fit: a far start may end in another maximum. The tests hold
parameters and Anderson-Darling statistics of this module against those of full refits.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from linestudy.results import CannotJudge
from linestudy.shape.edf import statistic_of_shares
from linestudy.shape.families import FAMILIES, MIXTURE
from linestudy.shape.fitting import MIXTURE_KINDS, Fitted, fit, moved, smallest_step
from linestudy.shape.scores import SCORED, Scored

#: Values per block of rows: what a processor keeps close.
_BLOCK = 25_000
#: Twice the log likelihood that may be missing at the end, and the most passes.
_MISSING, _PASSES = 1e-2, 12
_EXACT = ("normal", "lognormal", "half-normal", "Rayleigh")


@dataclass(frozen=True)
class Refits:
    """Many refits.

    Attributes
    ----------
    parameters : numpy.ndarray, shape (b, k)
        In the order and unit of :class:`Fitted`.
    statistic : numpy.ndarray, shape (b,)
        Anderson-Darling statistic of each row against its own fit.
    converged : numpy.ndarray of bool, shape (b,)
    shares : numpy.ndarray, shape (b, n)
        Share of parts up to each sorted value, by the row's own fit.
    """

    parameters: Any
    statistic: Any
    converged: Any
    shares: Any


def refit(near: Fitted, matrix: Any) -> Refits:
    """Refit a family to every row, beginning where it was fitted already.

    Parameters
    ----------
    near : Fitted
    matrix : array_like of float, shape (b, n)
        Samples much like the one that `near` was fitted to.

    Returns
    -------
    Refits

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
    if near.family in _EXACT:
        return _closed(near.family, x)
    kinds = MIXTURE_KINDS if near.family == MIXTURE else FAMILIES[near.family].kinds
    own = np.array(list(near.parameters.values()))
    low, middle, high = near.ppf([0.15866, 0.5, 0.84134]) - near.origin
    scale = float(high - low) / 2
    shift = 0.0 if near.bound is not None else float(middle)
    scored = SCORED[near.family]
    start = scored.coordinates(moved(own, kinds, -shift / scale, 1 / scale))
    start = np.clip(start, *np.array(scored.limits).T)
    grid = (near.ppf((np.arange(1000) + 0.5) / 1000) - near.origin - shift) / scale
    information = _information(scored, start, grid)
    u = (x - shift) / scale
    rows = max(_BLOCK // x.shape[1], 1)
    blocks = [slice(first, first + rows) for first in range(0, len(x), rows)]
    found = [_solve(scored, u[block], start, information) for block in blocks]
    p = np.concatenate([item[0] for item in found], axis=1)
    missing = np.concatenate([item[1] for item in found])
    left = np.flatnonzero(~(missing <= 4 * _MISSING))
    if left.size:
        # Short steps find the way where long ones jump across it.
        again, lack = _solve(scored, u[left], start, information, reach=0.25, passes=30)
        better = lack < missing[left]
        p[:, left[better]], missing[left[better]] = again[:, better], lack[better]
    shares, statistic = np.empty_like(u), np.empty(len(u))
    for block in blocks:
        lower, upper = scored.cdf(u[block], p[:, block, None])
        shares[block], statistic[block] = lower, statistic_of_shares(lower, upper)
    return Refits(
        np.array(moved(scored.parameters(p).T, kinds, shift, scale)).T,
        statistic,
        missing <= 4 * _MISSING,
        shares,
    )


def seen_through_own_fit(near: Fitted, matrix: Any) -> Any:
    """Shares of the sorted values of every row by the row's own fit.

    Parameters
    ----------
    near : Fitted
    matrix : array_like of float, shape (b, n)

    Returns
    -------
    numpy.ndarray, shape (at most b, n)
        Rows whose refit did not converge are left out.
    """
    found = refit(near, matrix)
    return found.shares[found.converged]


def fit_many(
    matrix: Any, family: str, bound: float | None = None, near: Fitted | None = None
) -> Any:
    """Fit a family to every row of a matrix by maximum likelihood.

    Parameters
    ----------
    matrix : array_like of float, shape (b, n)
        Samples of one process.
    family : str
        A name in ``linestudy.shape.NAMES``.
    bound : float, optional
        Physical bound, for families that begin there.
    near : Fitted, optional
        Where to begin; a fit to values of all rows when absent.

    Returns
    -------
    numpy.ndarray, shape (b, k)
        Parameters in the order of :class:`Fitted`; NaN in rows that the family cannot describe.

    Raises
    ------
    CannotJudge
        Where not even all rows together can be fitted.

    Examples
    --------
    >>> fit_many([[1.0, 2, 3, 4, 5], [2.0, 3, 4, 5, 6]], "normal")[:, 0].tolist()
    [3.0, 4.0]
    """
    x = np.asarray(matrix, dtype=float)
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


def ppf_many(family: str, parameters: Any, q: Any, bound: float | None = None) -> Any:
    """Quantiles of many fits of one family.

    Parameters
    ----------
    family : str
    parameters : array_like of float, shape (b, k)
    q : array_like of float, shape (m,)
    bound : float, optional

    Returns
    -------
    numpy.ndarray, shape (b, m)

    Examples
    --------
    >>> ppf_many("normal", [[0.0, 1.0], [5.0, 2.0]], [0.5]).ravel().tolist()
    [0.0, 5.0]
    """
    q = np.atleast_1d(np.asarray(q, dtype=float))
    rows = np.atleast_2d(np.asarray(parameters, dtype=float))
    names = tuple(f"p{index}" for index in range(rows.shape[1]))
    origin = bound if family != MIXTURE and FAMILIES[family].from_bound else None
    out = np.full((len(rows), q.size), np.nan)
    for index, row in enumerate(rows):
        if np.isfinite(row).all():
            values = dict(zip(names, map(float, row), strict=True))
            out[index] = Fitted(family, values, 0.0, 0, origin).ppf(q)
    return out


def _closed(family: str, x: Any) -> Refits:
    """Families whose maximum is a formula."""
    from scipy.special import ndtr

    y = np.log(x) if family == "lognormal" else x
    if family in ("normal", "lognormal"):
        mean = y.mean(axis=1, keepdims=True)
        sd = np.maximum(y.std(axis=1, keepdims=True), np.finfo(float).tiny)
        z = (y - mean) / sd
        lower, upper = ndtr(z), ndtr(-z)
        parameters = np.hstack([mean, sd])
    else:
        second = (x * x).mean(axis=1, keepdims=True)
        parameters = np.sqrt(second if family == "half-normal" else second / 2)
        z = x / parameters
        if family == "half-normal":
            upper = 2 * ndtr(-z)
            lower = 1 - upper
        else:
            upper = np.exp(-0.5 * z * z)
            lower = -np.expm1(-0.5 * z * z)
    every = np.ones(len(x), dtype=bool)
    return Refits(parameters, statistic_of_shares(lower, upper), every, lower)


def _information(scored: Scored, start: Any, grid: Any) -> Any:
    """Expected information per value at the fit, from a grid of its quantiles."""
    slopes = np.array([s[0] for s in scored.slopes(grid[None], start[:, None, None])])
    found = slopes @ slopes.T / grid.size
    values, vectors = np.linalg.eigh(found)
    return (vectors * np.maximum(values, 1e-5 * values.max())) @ vectors.T


def _mean_slopes(scored: Scored, x: Any, p: Any) -> Any:
    ones = np.ones(x.shape[1])
    with np.errstate(all="ignore"):
        # A product with ones is a sum, and faster than one.
        found = np.array([s @ ones for s in scored.slopes(x, p[:, :, None])]) / x.shape[1]
    if np.isfinite(found).all():
        return found
    return np.nan_to_num(found, nan=1e3, posinf=1e3, neginf=-1e3)


def _solve(
    scored: Scored,
    x: Any,
    start: Any,
    information: Any,
    reach: float = 1.0,
    passes: int = _PASSES,
) -> tuple[Any, Any]:
    """Roots of the likelihood equations of all rows: coordinates (k, b), and what is missing (b,)."""
    b, n = x.shape
    low, high = (np.array(side)[:, None] for side in zip(*scored.limits, strict=True))
    inverse = np.linalg.inv(information)
    p = np.repeat(start[:, None], b, axis=1)
    h = np.repeat(inverse[None], b, axis=0)
    smallest, largest = x[:, 0], x[:, -1]
    for _ in range(60):
        # A start that excludes a value of its row is bent less: the family then reaches further.
        outside = ~scored.inside(smallest, largest, p)
        if not outside.any():
            break
        p[2, outside] = p[2, outside] * 0.93 if scored.linear else p[2, outside] - 0.08
    f = _mean_slopes(scored, x, p)
    missing = np.full(b, np.inf)
    active = np.ones(b, dtype=bool)
    for _ in range(passes):
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
        step /= np.maximum(length / reach, 1.0)
        step = _kept_inside(scored, smallest[rows], largest[rows], here, step, low, high)
        new = _mean_slopes(scored, x if rows.size == b else x[rows], here + step)
        # Much steeper than before: the step was too long.
        worse = (new * new).sum(axis=0) > 9 * (force * force).sum(axis=0)
        if worse.any():
            step[:, worse] *= 0.25
            new[:, worse] = _mean_slopes(scored, x[rows[worse]], (here + step)[:, worse])
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
    scored: Scored, smallest: Any, largest: Any, here: Any, step: Any, low: Any, high: Any
) -> Any:
    """Steps shortened until every value stays possible."""
    for _ in range(12):
        step = np.clip(here + step, low, high) - here
        outside = ~scored.inside(smallest, largest, here + step)
        if not outside.any():
            return step
        step = np.where(outside, 0.5 * step, step)
    return np.where(outside, 0.0, step)
