"""Likelihood of sorted parts, with the count of those taken out, and every setting of a family that it allows.

Model: the process makes values of density f. A part passes with the chance A(x): one inside the limits and nought
outside where the recorded reading sorted, smoothed by the error between both readings otherwise. Readings are counts
in cells; n of them passed, and of G + R parts counted R were rejected:

    l = sum n_j log P_j - n log P + R log(1 - P) + G log P,    P_j = A_j (F_j - F_(j-1)),  P = sum P_j.

The count is a censored observation: it says how much lies beyond, not where. Where the parts may have been rejected
for other reasons as well, only ``at most R`` is said: the binomial probability of no more. For each shape of a family
the other two parameters are brought to their greatest likelihood by Newton's steps, all shapes at once, and the
contour about it is met in two dozen directions. Everything of it lies within reach of the likelihood; from all of it, and
not from a tangent, come the ends of an interval.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from linestudy.capability.sorting.parent_shapes import Process

_BOX = np.array([[-12.0, 12.0], [-4.5, 3.0]])
_STEP = 2e-3
_DIRECTIONS, _STEPS, _FARTHEST = 24, 8, 5.0
#: Relative gain of likelihood at which a search ends: its place is then known to a millionth of its own error.
_TIGHT = 1e-13
#: Standard deviations that a start makes of one, as the quartiles tell it.
_COVERS = 1.3
#: How often the shapes that the likelihood allows are followed more finely.
_FINER = 2
#: Readings against which families are held. What any of them lacks weighs in the likelihood by their number, none of them
#: being true: of 40,000 it would leave the one that is merely nearest, with an interval as if it were the truth. So no more
#: than these decide between families (a likelihood so tempered: Miller & Dunson 2019); all of them say whether any
#: describes them, and where its parameters lie.
DECIDE = 4000.0
#: Less than this share accepted is no process that anyone sorts.
LEAST_ACCEPTED = 0.05


@dataclass(frozen=True)
class Sorted:
    """Sorted parts in cells, scaled.

    Attributes
    ----------
    edges : numpy.ndarray, shape (k + 1,)
        Of the cells, ascending; the outer ones may be infinite.
    counts, passing : numpy.ndarray, shape (k,)
        Readings in each, and the chance that a part of it is accepted.
    rejected, accepted : float or None
        Counted parts.
    alone : bool
        Whether all of the rejected were so for this characteristic.
    n_eff_share : float
        Effective over actual number of values.
    """

    edges: Any
    counts: Any
    passing: Any
    rejected: float | None = None
    accepted: float = 0.0
    alone: bool = True
    n_eff_share: float = 1.0

    @property
    def n(self) -> float:
        return float(self.counts.sum())

    @property
    def deciding(self) -> float:
        """Share of its readings that families are held against."""
        return min(self.n_eff_share, DECIDE / self.n)

    def shares(self, item: Process, a: Any, b: Any, s: Any) -> tuple[Any, Any]:
        """Compute the share of all parts in each cell and accepted, shape (settings, k), and the share rejected."""
        below, above = item.beyond(self.edges, a, b, s)
        part = np.where(below[:, 1:] < 0.5, np.diff(below, axis=1), -np.diff(above, axis=1))
        part = np.maximum(part, 0.0)
        # Outside of the cells nothing passes.
        out = below[:, 0] + above[:, -1] + part @ (1 - self.passing)
        return part * self.passing, np.clip(out, 0.0, 1.0)

    def value(self, item: Process, a: Any, b: Any, s: Any) -> Any:
        """Compute the log likelihood at each setting."""
        from scipy.special import betainc, xlog1py, xlogy

        part, out = self.shares(item, a, b, s)
        with np.errstate(all="ignore"):
            found = np.log(np.maximum(part, 1e-300)) @ self.counts - self.n * np.log1p(-out)
            if self.rejected is not None:
                if self.alone:
                    found = found + xlogy(self.rejected, out) + xlog1py(self.accepted, -out)
                else:
                    # The binomial probability of at most so many.
                    few = betainc(self.accepted, self.rejected + 1, 1 - out)
                    found = found + np.log(np.maximum(few, 1e-300))
        found = self.n_eff_share * np.where(
            (1 - out > LEAST_ACCEPTED) & np.isfinite(found), found, -1e12
        )
        return found


@dataclass(frozen=True)
class Reach:
    """A family within reach of the likelihood.

    Attributes
    ----------
    item : Process
    best : tuple of float
        a, b and s of the greatest likelihood.
    top : float
        The greatest.
    aic : float
    fit_p : float
        That cells and rejected parts fall so far from it by chance.
    nearly_p : float
        The same of as many readings as families are held against.
    settings : numpy.ndarray, shape (m, 3)
        Settings within the contour and on it.
    open : bool
        Whether the contour does not close.
    error : float
        Standard deviation of the sorting's error, scaled.
    data : Sorted
    """

    item: Process
    best: tuple[float, float, float]
    top: float
    aic: float
    fit_p: float
    nearly_p: float
    settings: Any
    open: bool
    error: float
    data: Sorted

    def out(self, a: Any, b: Any, s: Any) -> Any:
        """Share rejected at each setting."""
        return self.data.shares(self.item, a, b, s)[1]

    @property
    def at_best(self) -> tuple[Any, Any, Any]:
        a, b, s = (np.array([value]) for value in self.best)
        return a, b, s


def reach(
    data: Sorted, item: Process, allowed: float, error: float = 0.0, most: float = np.inf
) -> Reach:
    """Fit a family and gather all of it whose deviance is within what is allowed.

    Parameters
    ----------
    data : Sorted
    item : Process
    allowed : float
        Fall of twice the log likelihood.
    error : float
        Standard deviation of the sorting's error that the cells were made with.
    most : float
        AIC above which a family is not followed further.

    Returns
    -------
    Reach
    """
    low, high = item.shapes or (item.at, item.at)
    grid = np.linspace(low, high, 11) if item.shapes else np.array([item.at])
    start = _start(data, item, grid)
    place, top, closed = _tops(data, item, grid, start, 1e-6 if item.shapes else _TIGHT)
    for _ in range(2 if item.shapes else 0):
        # From where a neighbour found more: a start that leaves nothing to be rejected leads nowhere.
        sides = np.clip([np.arange(grid.size) - 1, np.arange(grid.size) + 1], 0, grid.size - 1)
        better = sides[top[sides].argmax(axis=0), np.arange(grid.size)]
        again = _tops(data, item, grid, place[better], 1e-6)
        more = again[1] > top
        place, top = np.where(more[:, None], again[0], place), np.where(more, again[1], top)
        closed = np.where(more, again[2], closed)
    behind = False
    for _ in range(_FINER if item.shapes else 0):
        # Finer about what the likelihood allows. The summit of many readings lies between two shapes of the first grid and
        # both are far behind it, so no family is left for what it reached there.
        near = np.flatnonzero(2 * (top.max() - top) <= allowed)
        first, last = max(near[0] - 1, 0), min(near[-1] + 1, grid.size - 1)
        new = np.linspace(grid[first], grid[last], 11)
        start = np.stack([np.interp(new, grid, place[:, i]) for i in range(2)], axis=1)
        grid, before = new, float(top.max())
        place, top, closed = _tops(data, item, grid, start, _TIGHT)
        gained = float(top.max()) - before
        behind = _aicc(float(top.max()) + gained, item.parameters, data.n) > most
        if behind:
            break
    best = int(top.argmax())
    inside = np.flatnonzero(2 * (top[best] - top) < (1e-9 if behind else allowed))
    settings, shut = _contour(
        data,
        item,
        grid[inside],
        place[inside],
        top[inside],
        allowed - 2 * (top[best] - top[inside]),
    )
    return Reach(
        item,
        (float(place[best, 0]), float(place[best, 1]), float(grid[best])),
        float(top[best]),
        _aicc(float(top[best]), item.parameters, data.n),
        *_fit_p(data, item, place[best], grid[best]),
        settings,
        bool(not shut or not closed[inside].all()),
        error,
        data,
    )


def _aicc(top: float, k: int, n: float) -> float:
    return 2 * k - 2 * top + 2 * k * (k + 1) / max(n - k - 1, 1.0)


def _start(data: Sorted, item: Process, grid: Any) -> Any:
    """Choose rough location and scale for every shape, from quartiles of the accepted readings."""
    cumulative = np.cumsum(data.counts) / data.n
    edges = data.edges[1:]
    fine = np.isfinite(edges)
    q = np.interp([0.25, 0.5, 0.75], cumulative[fine], edges[fine])
    if item.folded:
        middle = q[1] - (item.bound or 0.0)
        return np.tile([0.3 * middle, np.log(max(middle, 1e-3))], (grid.size, 1))
    if item.bound is not None:
        q = np.log(np.maximum(q - item.bound, 1e-6))
    # Wide enough that a family with ends covers all that passed.
    unit = item.unit(grid)
    wide = np.log(_COVERS * max((q[2] - q[0]) / 1.35, 1e-3) * 6 / (unit[:, 2] - unit[:, 0]))
    return np.column_stack([q[1] - np.exp(wide) * unit[:, 1], wide])


def _tops(
    data: Sorted, item: Process, grid: Any, start: Any, tolerance: float
) -> tuple[Any, Any, Any]:
    """Find the greatest likelihood at every shape: place, value, and whether it lies inside the box."""
    m = grid.size
    place = np.clip(start, _BOX[:, 0], _BOX[:, 1])
    now = data.value(item, place[:, 0], place[:, 1], grid)
    trust = np.full(m, 0.5)
    live = np.ones(m, dtype=bool)
    for _ in range(80):
        at = np.flatnonzero(live)
        if not at.size:
            break
        slope, bend = _slopes(data, item, place[at], grid[at])
        move = _newton(slope, bend, trust[at])
        new = np.clip(place[at] + move, _BOX[:, 0], _BOX[:, 1])
        value = data.value(item, new[:, 0], new[:, 1], grid[at])
        good = value > now[at]
        done = np.abs(value - now[at]) < tolerance * (1 + np.abs(now[at]))
        trust[at] = np.where(good, np.minimum(trust[at] * 2, 1.5), trust[at] / 4)
        place[at[good]], now[at[good]] = new[good], value[good]
        live[at] = ~(good & done) & (trust[at] > 1e-7)
    closed = ((place > _BOX[:, 0] + 1e-3) & (place < _BOX[:, 1] - 1e-3)).all(axis=1)
    return place, now, closed


def _slopes(data: Sorted, item: Process, place: Any, grid: Any) -> tuple[Any, Any]:
    """Compute gradient and second derivatives by differences."""
    moves = np.array([[i, j] for i in (-1, 0, 1) for j in (-1, 0, 1)]) * _STEP
    spots = (place[:, None, :] + moves[None]).reshape(-1, 2)
    f = data.value(item, spots[:, 0], spots[:, 1], np.repeat(grid, 9)).reshape(-1, 3, 3)
    slope = np.stack([f[:, 2, 1] - f[:, 0, 1], f[:, 1, 2] - f[:, 1, 0]], axis=1) / (2 * _STEP)
    bend = np.empty((place.shape[0], 2, 2))
    bend[:, 0, 0] = f[:, 2, 1] - 2 * f[:, 1, 1] + f[:, 0, 1]
    bend[:, 1, 1] = f[:, 1, 2] - 2 * f[:, 1, 1] + f[:, 1, 0]
    bend[:, 0, 1] = bend[:, 1, 0] = (f[:, 2, 2] - f[:, 2, 0] - f[:, 0, 2] + f[:, 0, 0]) / 4
    return slope, bend / _STEP**2


def _newton(slope: Any, bend: Any, trust: Any) -> Any:
    values, vectors = np.linalg.eigh(np.nan_to_num(bend))
    size = np.maximum(np.abs(values), 1e-3 * np.abs(values).max(axis=1, keepdims=True) + 1e-9)
    move = np.einsum(
        "mij,mj->mi", vectors, np.einsum("mji,mj->mi", vectors, np.nan_to_num(slope)) / size
    )
    length = np.linalg.norm(move, axis=1)
    return move * np.minimum(1.0, trust / np.maximum(length, 1e-12))[:, None]


def _contour(
    data: Sorted, item: Process, grid: Any, place: Any, top: Any, allowed: Any
) -> tuple[Any, bool]:
    """Find settings inside and on the contour of every shape, and whether all of it closes."""
    _, bend = _slopes(data, item, place, grid)
    values, vectors = np.linalg.eigh(-bend)
    root = (
        vectors
        / np.sqrt(np.maximum(values, np.maximum(1e-3 * values.max(axis=1, keepdims=True), 1e-9)))[
            :, None, :
        ]
    )
    turn = 2 * np.pi * np.arange(_DIRECTIONS) / _DIRECTIONS
    ways = np.einsum("mij,dj->mdi", root, np.stack([np.cos(turn), np.sin(turn)], axis=1))
    shape = np.repeat(grid, _DIRECTIONS)
    centre = np.repeat(place, _DIRECTIONS, axis=0)
    way = ways.reshape(-1, 2)
    top, allowed = np.repeat(top, _DIRECTIONS), np.repeat(allowed, _DIRECTIONS)

    def fall(distance: Any) -> Any:
        spot = centre + distance[:, None] * way
        return 2 * (top - data.value(item, spot[:, 0], spot[:, 1], shape))

    far = _FARTHEST * np.sqrt(allowed)
    shut = fall(far) >= allowed
    low, high, at = np.zeros(far.size), far, np.sqrt(allowed)
    for _ in range(_STEPS):
        deep = np.maximum(fall(at), 1e-12)
        low, high = np.where(deep <= allowed, at, low), np.where(deep <= allowed, high, at)
        # The root of the fall grows about evenly along a ray.
        new = at * np.sqrt(allowed / deep)
        at = np.where((new > low) & (new < high), new, (low + high) / 2)
    found = [np.column_stack([place, grid])]
    for part in (0.35, 0.7, 1.0):
        found.append(np.column_stack([centre + (part * at)[:, None] * way, shape]))
    return np.concatenate(found), bool(shut.all())


def _fit_p(data: Sorted, item: Process, place: Any, s: float) -> tuple[float, float]:
    """Test the fit by chi-square over cells of five or more expected, and the rejected; of all readings, and of those that decide."""
    from scipy.special import chdtrc

    part, out = data.shares(item, place[:1], place[1:], np.array([s]))
    if not out[0] < 1:
        # All of it lies outside: nothing could have been left.
        return 0.0, 0.0
    expected = data.n * part[0] / (1 - out[0])
    group = np.minimum(np.floor(np.cumsum(expected) / max(5.0, data.n / 40)), 1e6).astype(int)
    _, where = np.unique(group, return_inverse=True)
    hope, seen = np.bincount(where, expected), np.bincount(where, data.counts)
    chi = float(((seen - hope) ** 2 / np.maximum(hope, 1e-9)).sum())
    df = hope.size - 1 - item.parameters
    if data.rejected is not None:
        n, share = data.rejected + data.accepted, float(out[0])
        variance = max(n * share * (1 - share), 1e-9)
        miss = data.rejected - n * share
        if data.alone or miss < 0:
            chi += miss**2 / max(variance, 1.0)
        df += int(data.alone)
    return (
        float(chdtrc(max(df, 1), data.n_eff_share * chi)),
        float(chdtrc(max(df, 1), data.deciding * chi)),
    )
