"""How far a number may move over the parameters whose likelihood is near enough to the best.

Model: twice the fall of the log likelihood, with every other parameter free to follow, is chi-square
with one degree of freedom (Wilks 1938; Venzon & Moolgavkar, *Applied Statistics* 37 (1988), 87-94). The
ends of the interval lie on the contour where the likelihood has fallen as far as is allowed. Each direction
from the best meets that contour once, at a root that is found to the last digits; over the
directions the number is driven to its least and its greatest by its slope along the contour (BFGS;
Nocedal & Wright, *Numerical Optimization*, 2nd ed., 2006, ch. 6). There it no longer changes along the contour, so
that an end is known to the square of what the direction is: on every machine the same to a hundred millionth of the
interval's width.

A number that is the least of two (an index with two limits) has its upper end where not both of them can be
larger: the least, over all weights, of the greatest weighted mean (minimax; where the numbers curve so that no single
point is the greatest for the weight at which they change places, that is a little more than the two can reach).

Where the contour meets the end of a coordinate's range (a bend that few values hardly know, a component that is
hardly there) it has corners, and where it is no star about its top a direction meets it more than once: there that
search halts early. It is then gone on from there by sequential quadratic programs (SLSQP; Kraft 1988; Nocedal &
Wright, ch. 18), with the likelihood as a constraint and the ends as bounds, from where it halted and from each
axis: a bent valley has several dead ends, and which of them one search runs into is left to last digits. At the
end of a coordinate's range, and at a mirror, the search is made once more with the coordinate held, which makes
that end sharp.

Misleads where the likelihood has several tops, as that of a mixture may: the contour around the best alone is
followed. Where the likelihood never falls far enough, as along a flat direction, the search ends at the coordinate's
own end, or four times as far away as a quadratic likelihood would.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from operator import itemgetter
from typing import Any

import numpy as np

from linestudy.numerics.arrays import FloatArray

Number = Callable[[FloatArray], float]

#: How far beyond a quadratic likelihood's end a contour is looked for.
_REACH = 4.0


@dataclass(frozen=True)
class Contour:
    """Where a likelihood has fallen as far as is allowed.

    Attributes
    ----------
    best : numpy.ndarray, shape (k,)
        Coordinates of the top.
    fall : callable
        From coordinates to how far the log likelihood lies below the top; infinite where nothing is possible.
    slopes : callable
        From coordinates to the derivatives of the log likelihood, shape (k,).
    root : numpy.ndarray, shape (k, m)
        Moves of one standard error in m independent directions.
    allowed : float
        The fall that is allowed.
    ends : numpy.ndarray, shape (2, k), optional
        Least and greatest value that each coordinate may take.
    mirrored : int, optional
        One of two coordinates, of which only the size counts: the likelihood and each number are the same on both
        sides of nought, and hardly change near it.
    one_top : bool
        Whether the likelihood has one top only. Of several the best alone is followed.
    """

    best: FloatArray
    fall: Number
    slopes: Callable[[FloatArray], FloatArray]
    root: FloatArray
    allowed: float
    ends: FloatArray | None = None
    mirrored: int | None = None
    one_top: bool = True

    @property
    def radius(self) -> float:
        """Return the distance, in standard errors, at which a quadratic likelihood has fallen far enough."""
        return math.sqrt(2 * self.allowed)

    def at(self, u: FloatArray) -> FloatArray:
        """Return the coordinates at a point in standard errors from the top."""
        return self.best + self.root @ u

    def edge(self, direction: FloatArray) -> tuple[float, FloatArray | None]:
        """Find the distance of the contour in a direction, and the likelihood's slopes there.

        The slopes are None where the contour lies beyond reach.
        """
        low, high = 0.0, math.inf
        far = _REACH * self.radius
        t = self.radius
        slopes: FloatArray | None = None
        for _ in range(80):
            point = self.at(t * direction)
            fall = self.fall(point)
            # The root of the fall grows about evenly along a direction.
            miss = math.sqrt(max(fall, 0.0) / self.allowed) - 1 if math.isfinite(fall) else 1.0
            if miss < 0:
                if t >= far:
                    return far, None
                low = t
            else:
                high = t
            slope = 0.0
            if math.isfinite(fall):
                slopes = self.root.T @ self.slopes(point)
                slope = -float(slopes @ direction) / (2 * self.allowed * (miss + 1 + 1e-300))
            new = t - miss / slope if slope > 0 else math.nan
            if abs(miss) < 1e-7 and low < new < high and slopes is not None:
                # One more step from so near leaves nothing.
                return new, self.root.T @ self.slopes(self.at(new * direction))
            if not low < new < high:
                new = min(2 * t, far) if math.isinf(high) else (low + high) / 2
            new = min(new, far)
            if abs(new - t) <= 1e-15 * t:
                break
            t = new
        return t, slopes


def extremes(numbers: Sequence[Number], contour: Contour) -> tuple[float, float]:
    """Find the least and greatest value of a number, or of the smallest of several, inside a contour.

    Parameters
    ----------
    numbers : sequence of callable
        From coordinates to a number; of several the smallest counts.
    contour : Contour

    Returns
    -------
    least, greatest : float

    Examples
    --------
    >>> import numpy as np
    >>> circle = Contour(np.zeros(2), lambda p: float(p @ p) / 2, lambda p: -p, np.eye(2), 2.0)
    >>> [round(float(end), 6) for end in extremes([lambda p: p[0] + p[1]], circle)]
    [-2.828427, 2.828427]
    """
    here = min(number(contour.best) for number in numbers)
    if not contour.root.shape[1]:
        return here, here
    least = min(_greatest(_turned(number), contour)[0] * -1.0 for number in numbers)
    return min(least, here), max(_greatest_of_least(numbers, contour), here)


def _turned(number: Number) -> Number:
    return lambda point: -number(point)


def _greatest_of_least(numbers: Sequence[Number], contour: Contour) -> float:
    ends = []
    for number in numbers:
        value, point = _greatest(number, contour)
        others = min(other(point) for other in numbers)
        if others >= value:
            return value
        ends.append(others)
    if len(numbers) != 2:
        return max(ends)
    from scipy.optimize import brentq

    first, second = numbers

    def mixed(weight: float) -> tuple[float, FloatArray]:
        return _greatest(
            lambda point: weight * first(point) + (1 - weight) * second(point), contour
        )

    def uneven(weight: float) -> float:
        point = mixed(weight)[1]
        return first(point) - second(point)

    # With all weight on one number it is the greater; in between both are equal. There the value no longer
    # changes with the weight, which therefore need not be sharp.
    return mixed(float(brentq(uneven, 0.0, 1.0, xtol=1e-6)))[0]


def _greatest(number: Number, contour: Contour, *, face: bool = False) -> tuple[float, FloatArray]:
    """Find the greatest value of a smooth number on a contour, or on one face of it, and where."""
    from scipy.optimize import minimize

    size = contour.root.shape[1]
    step = 1e-4 * contour.radius
    axes = np.eye(size)

    def slope_at(u: FloatArray) -> FloatArray:
        return np.array(
            [
                (number(contour.at(u + step * e)) - number(contour.at(u - step * e))) / (2 * step)
                for e in axes
            ]
        )

    middle, uphill = number(contour.best), slope_at(np.zeros(size))
    norm = float(np.linalg.norm(uphill))
    if norm == 0 or not math.isfinite(norm):
        return middle, contour.best
    unit = norm * contour.radius

    def down(u: FloatArray) -> tuple[float, FloatArray]:
        length = float(np.linalg.norm(u))
        direction = u / length
        distance, fall = contour.edge(direction)
        point = distance * direction
        slope = slope_at(point)
        if fall is None or abs(float(fall @ point)) < 1e-300:
            along = slope - direction * float(direction @ slope)
        else:
            # Along the contour: moving a direction aside also changes how far it reaches.
            along = slope - fall * (float(slope @ point) / float(fall @ point))
        value = -(number(contour.at(point)) - middle) / unit
        return value, np.nan_to_num(-along * (distance / length) / unit)

    direction, halted, astray = uphill / norm, False, False
    if size > 1:
        found: Any = minimize(
            down, direction, jac=True, method="BFGS", options={"gtol": 1e-7, "maxiter": 60}
        )
        direction = found.x / np.linalg.norm(found.x)
        # So many steps are those along a bent valley, whose floor the slopes hardly show.
        halted = not found.success or found.nit > 40
        # Where the slope along the contour is next to nothing, it was stopped by its last digits alone.
        astray = halted and (float(np.abs(found.jac).max()) > 1e-5 or found.nit > 40)
    end = contour.at(contour.edge(direction)[0] * direction)
    ends = [end]
    if halted:
        if astray and contour.one_top and not face and size > 2:
            # A bent valley is entered from all sides: which way one search turns is left to last digits.
            ways = [way * axis for axis in axes for way in (1.0, -1.0)]
            ends += [contour.at(contour.edge(way)[0] * way) for way in ways]
        ends = [_between_the_ends(number, contour, start, unit) for start in ends]
    best = max(((number(point), point) for point in ends), key=itemgetter(0))
    if face:
        return best
    # A search stops short of where nothing changes any more, and of corners; there an end is sharp once the
    # coordinate is held.
    held = [_greatest(number, one, face=True) for one in _faces(contour, best[1])]
    return max([best, *held], key=itemgetter(0))


def _faces(contour: Contour, point: FloatArray) -> Iterator[Contour]:
    """Yield the contour with one coordinate held: at its mirror, or at an end of its range that a point has reached."""
    held = set()
    sd = np.sqrt(np.einsum("ij,ij->i", contour.root, contour.root))
    if contour.mirrored is not None and sd[contour.mirrored] > 0:
        held.add((contour.mirrored, 0.0))
    if contour.ends is not None and contour.one_top:
        low, high = contour.ends
        reached = np.stack([point < low + 0.01 * sd, point > high - 0.01 * sd])
        held |= {
            (int(i), float(contour.ends[side, i])) for side, i in np.argwhere(reached & (sd > 0))
        }
    for i, value in sorted(held):
        face = _held(contour, i, value)
        if face is not None:
            yield face


def _held(contour: Contour, i: int, value: float) -> Contour | None:
    """Return the contour with one coordinate held; None where the likelihood has fallen too far everywhere."""
    from scipy.optimize import minimize

    covariance = contour.root @ contour.root.T
    aside = covariance[:, i] / covariance[i, i]
    spread, directions = np.linalg.eigh(covariance - np.outer(aside, covariance[i]))
    kept = spread > 1e-9 * max(float(spread.max()), 1e-300)
    root = directions[:, kept] * np.sqrt(spread[kept])
    root[i] = 0.0
    start = contour.best + aside * (value - contour.best[i])
    start[i] = value
    if not root.size:
        return None
    search: Any = minimize
    with np.errstate(all="ignore"):
        found = search(
            lambda u: min(contour.fall(start + root @ u) / contour.allowed, 1e6),
            np.zeros(root.shape[1]),
            jac=lambda u: -root.T @ contour.slopes(start + root @ u) / contour.allowed,
            method="BFGS",
            options={"maxiter": 60},
        )
    top = start + root @ found.x
    # A likelihood that is higher there has another top, as a mixture's may; the best alone is followed.
    if not -1e-6 < contour.fall(top) / contour.allowed < 1:
        return None
    ends = None if contour.ends is None else contour.ends.copy()
    if ends is not None:
        ends[:, i] = (-np.inf, np.inf)
    mirrored = None if contour.mirrored == i else contour.mirrored
    return replace(contour, best=top, root=root, ends=ends, mirrored=mirrored)


def _between_the_ends(
    number: Number, contour: Contour, start: FloatArray, unit: float
) -> FloatArray:
    """Maximise a number with the likelihood as a constraint and the coordinates between their ends.

    The start itself where nothing better is found.
    """
    from scipy.optimize import Bounds, minimize

    spread = np.sqrt(np.einsum("ij,ij->i", contour.root, contour.root))
    # A coordinate that does not vary stays.
    free = np.flatnonzero(spread > 0)
    sd, best = spread[free], contour.best[free]
    low, high = np.full(free.size, -np.inf), np.full(free.size, np.inf)
    if contour.ends is not None:
        low, high = (np.asarray(contour.ends[:, free]) - best) / sd
    far = _REACH * contour.radius
    low, high = np.minimum(np.maximum(low, -far), 0.0), np.maximum(np.minimum(high, far), 0.0)
    step = 1e-4 * contour.radius

    def place(v: FloatArray) -> FloatArray:
        point = contour.best.copy()
        point[free] = best + sd * v
        return point

    def slope(v: FloatArray) -> FloatArray:
        # At an end from the inner side alone.
        above, below = np.minimum(v + step, high), np.maximum(v - step, low)
        out = np.zeros(v.size)
        for i in range(v.size):
            if above[i] > below[i]:
                more, less = v.copy(), v.copy()
                more[i], less[i] = above[i], below[i]
                out[i] = (number(place(more)) - number(place(less))) / (above[i] - below[i])
        return out

    def left(v: FloatArray) -> float:
        # Where nothing is possible the likelihood has fallen a hundred times as far.
        return 1 - min(contour.fall(place(v)) / contour.allowed, 100.0)

    def left_slope(v: FloatArray) -> FloatArray:
        return np.asarray(sd * contour.slopes(place(v))[free] / contour.allowed)

    # Its types know nothing of a function that takes an array of any shape.
    search: Any = minimize
    enough = {"type": "ineq", "fun": left, "jac": left_slope}
    with np.errstate(all="ignore"), warnings.catch_warnings():
        # Older SciPy says on the way that a step was clipped to the bounds.
        warnings.simplefilter("ignore", RuntimeWarning)
        found = search(
            lambda v: -number(place(v)) / unit,
            np.clip((start[free] - best) / sd, low, high),
            jac=lambda v: -slope(v) / unit,
            bounds=Bounds(low, high),
            constraints=enough,
            method="SLSQP",
            options={"ftol": 1e-14, "maxiter": 300},
        )
    end = place(np.asarray(found.x))
    if np.isfinite(end).all() and left(found.x) > -1e-9 and number(end) >= number(start):
        return end
    return start
