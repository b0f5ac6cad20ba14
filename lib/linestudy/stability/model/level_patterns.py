"""What kind of movement the means of subgroups make: a trend, steps, a sawtooth, a wave, batches, or chance.

Model: means of subgroups in order (of neighbours together where they are more than two hundred) are one of

- a level with scatter of any size ("at random");
- a level that wanders as an autoregression of order one under scatter;
- a line, or a curve of second or third degree; a line that starts anew at every named reset;
- levels between steps at places that nobody named, the places found exactly (dynamic programming; Jackson et
  al., *IEEE Signal Processing Letters* 12 (2005), 105-108);
- a line that starts anew at places nobody named, every jump against the slope (a sawtooth);
- a wave of one and a half cycles or more;
- a level for every named batch,

with independent scatter about it. The one with the smallest Schwarz criterion is named; a place or a frequency that
was searched for counts as two parameters (the best of many looks better than it is: Zhang & Siegmund, *Biometrics*
63 (2007), 22-32). It is asked only where a test has shown that the level moves. Misleads where two
movements lie over each other: the larger is named.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from linestudy.stability.movement.slow_noise import wandering_deviance

#: Means at most; neighbours are averaged beyond that. Steps, and cycles of a wave, at most.
_MOST, _STEPS = 200, 10
#: Parameters that a searched place counts as, and subgroups between two places at least.
_SEARCHED, _LEAST = 2, 3

RANDOM = "at random from subgroup to subgroup"
WANDERING = "by slow wandering, neighbouring subgroups being alike"
TREND, CURVED = "by a trend", "by a curved trend"
NAMED_SAWTOOTH = "by wear that starts anew at the named resets"
SAWTOOTH = "by a sawtooth whose resets nobody named"
WAVE = "by a wave"
BATCHES = "from batch to batch"
ONE_STEP, STEPS = "by one step", "by steps"


@dataclass(frozen=True)
class Pattern:
    """A kind of movement.

    Attributes
    ----------
    kind : str
        In words that follow "moves".
    share : float
        Share of the variance of the means that it explains.
    places : tuple of int
        Subgroups before which a step or a reset lies, of those that were searched for.
    cycles : float
        Of a wave or a sawtooth, how many the run saw; 0 for others.
    """

    kind: str
    share: float
    places: tuple[int, ...] = ()
    cycles: float = 0.0


def level_pattern(
    means: Any, starts: Any, labels: Any = None, resets: tuple[float, ...] = ()
) -> Pattern:
    """Name the movement of subgroup means.

    Parameters
    ----------
    means, starts : numpy.ndarray of float, shape (subgroups,)
        Means, and order number of each one's first part.
    labels : numpy.ndarray of int, shape (subgroups,), optional
        Batch of each; -1 where none is named.
    resets : tuple of float
        Order numbers of named resets.

    Returns
    -------
    Pattern

    Examples
    --------
    >>> y = np.repeat([0.0, 3.0], 30) + np.random.default_rng(1).normal(size=60)
    >>> level_pattern(y, np.arange(60.0)).kind
    'by one step'
    """
    y, x, batch, width = _gathered(np.asarray(means, float), np.asarray(starts, float), labels)
    k = y.size
    y = (y - y.mean()) / max(float(y.std()), 1e-300)
    u = (x - x[0]) / max(float(x[-1] - x[0]), 1e-300)
    found: list[tuple[float, Pattern]] = []

    def propose(rest: float, parameters: float, kind: str, **more: Any) -> None:
        bic = (k - 1) * np.log(max(rest, 1e-9 * k) / (k - 1)) + parameters * np.log(k)
        found.append((float(bic), Pattern(kind, max(1 - rest / k, 0.0), **more)))

    propose(float(k), 1, RANDOM)
    deviance, share = wandering_deviance(y)
    found.append((deviance + 3 * np.log(k), Pattern(WANDERING, share)))
    ones = np.ones(k)
    for degree, kind in ((1, TREND), (2, CURVED), (3, CURVED)):
        # A line is found in three of a hundred level runs at one parameter a degree; in three of a thousand at two.
        propose(_rest(np.vander(u, degree + 1), y), 2 * degree + 1, kind)
    marks = np.array([r for r in sorted(resets) if x[0] < r <= x[-1]])
    if marks.size:
        origin = np.concatenate([[x[0]], marks])
        since = x - origin[np.searchsorted(marks, x, side="right")]
        first = (x < marks[0]).astype(float)
        propose(_rest(np.column_stack([ones, since, first]), y), 3, NAMED_SAWTOOTH)
    if batch is not None:
        counts = np.bincount(batch)
        if 2 <= counts.size <= k / 2:
            level = np.bincount(batch, y) / counts
            propose(float(((y - level[batch]) ** 2).sum()), counts.size, BATCHES)
    cost = _Costs(u, y)
    most = min(_STEPS, k // 4)
    for cuts, rest in cost.best(0.0, most):
        kind = ONE_STEP if len(cuts) == 1 else STEPS
        propose(
            rest, (1 + _SEARCHED) * len(cuts) + 1, kind, places=tuple(int(c * width) for c in cuts)
        )
    _sawteeth(cost, u, y, most, width, propose)
    _waves(u, y, propose)
    return min(found, key=lambda item: item[0])[1]


def _gathered(y: Any, x: Any, labels: Any) -> tuple[Any, Any, Any, int]:
    """Average neighbouring subgroups to at most two hundred means, and return how many make one."""
    width = -(-y.size // _MOST)
    batch = None if labels is None or (np.asarray(labels) < 0).any() else np.asarray(labels)
    if width > 1:
        block = np.arange(y.size) // width
        counts = np.bincount(block)
        first = np.arange(counts.size) * width
        y, x = np.bincount(block, y) / counts, x[first]
        batch = None if batch is None else batch[first]
    if batch is not None:
        batch = np.unique(batch, return_inverse=True)[1]
    return y, x, batch, width


def _rest(design: Any, y: Any) -> float:
    fitted = design @ np.linalg.lstsq(design, y, rcond=None)[0]
    return float(((y - fitted) ** 2).sum())


class _Costs:
    """Sums of squares of every stretch about its level, for values less any slope."""

    def __init__(self, x: Any, y: Any) -> None:
        n = y.size
        count = np.arange(n + 1)[None, :] - np.arange(n)[:, None]
        self.n, held = n, np.where(count > 0, count, 1)

        def centred(a: Any, b: Any) -> Any:
            sums = [np.concatenate([[0.0], np.cumsum(part)]) for part in (a * b, a, b)]
            total, one, two = (s[None, :] - s[:-1, None] for s in sums)
            return np.where(count > 0, total - one * two / held, np.inf)

        self.yy, self.xy, self.xx = centred(y, y), centred(x, y), centred(x, x)
        self.barred = count < _LEAST

    def best(self, slope: float, most: int) -> list[tuple[list[int], float]]:
        """Find the best places of one to `most` steps and the residual sums of squares, after a given slope."""
        with np.errstate(invalid="ignore"):
            cost = self.yy - 2 * slope * self.xy + slope * slope * self.xx
        cost = np.where(self.barred, np.inf, cost)
        reached, back, found = cost[0].copy(), [], []
        for _ in range(most):
            total = reached[:-1, None] + cost
            at = total.argmin(axis=0)
            reached = np.take_along_axis(total, at[None, :], 0)[0]
            back.append(at)
            if not np.isfinite(reached[-1]):
                break
            cuts, end = [], self.n
            for step in reversed(back):
                end = int(step[end])
                cuts.append(end)
            found.append((cuts[::-1], float(reached[-1])))
        return found


def _sawteeth(cost: _Costs, u: Any, y: Any, most: int, width: int, propose: Any) -> None:
    """Fit lines of one slope with jumps against it, all of one height or each of its own."""
    usual = [np.median(np.diff(y[i::4]) / np.diff(u[i::4])) for i in range(4) if y.size > 16]
    steep = 3.0 * (most + 2)
    slopes = np.concatenate([-np.geomspace(steep, 0.5, 12), np.geomspace(0.5, steep, 12), usual])
    tried = [
        (rest, slope, cuts) for slope in slopes for cuts, rest in cost.best(float(slope), most)
    ]
    by_number: dict[int, tuple[float, float, list[int]]] = {}
    for item in tried:
        held = by_number.get(len(item[2]))
        if held is None or item[0] < held[0]:
            by_number[len(item[2])] = item
    for number, (_, _, cuts) in by_number.items():
        index = np.arange(y.size)
        jumps = np.column_stack([(index >= cut).astype(float) for cut in cuts])
        design = np.column_stack([np.ones(y.size), u, jumps])
        coef = np.linalg.lstsq(design, y, rcond=None)[0]
        if coef[1] == 0 or (np.sign(coef[2:]) == np.sign(coef[1])).any():
            continue
        places = tuple(int(c * width) for c in cuts)
        rest = float(((y - design @ coef) ** 2).sum())
        propose(rest, (1 + _SEARCHED) * number + 3, SAWTOOTH, places=places, cycles=number + 1.0)
        equal = np.column_stack([np.ones(y.size), u, jumps.sum(axis=1)])
        propose(
            _rest(equal, y), _SEARCHED * number + 4, SAWTOOTH, places=places, cycles=number + 1.0
        )


def _waves(u: Any, y: Any, propose: Any) -> None:
    """Fit waves of one and a half cycles and more, at least eight means to a cycle."""
    most = y.size / 8
    if most < 1.5:
        return
    cycles = np.arange(1.5, most, 0.125)
    best = (np.inf, 0.0)
    for many in cycles:
        design = np.column_stack(
            [np.ones(y.size), np.sin(2 * np.pi * many * u), np.cos(2 * np.pi * many * u)]
        )
        best = min(best, (_rest(design, y), float(many)))
    propose(best[0], 4 + _SEARCHED, WAVE, cycles=best[1])


def best_steps(y: Any, most: int) -> list[tuple[list[int], float]]:
    """Find the best places of one to `most` steps in a series, and the sum of squares left by each number.

    Parameters
    ----------
    y : numpy.ndarray of float, shape (n,)
        Neighbours are averaged where there are more than two hundred.
    most : int

    Returns
    -------
    list of (list of int, float)
    """
    width = -(-y.size // _MOST)
    block = np.arange(y.size) // width
    counts = np.bincount(block)
    means = np.bincount(block, y) / counts
    inside = float(((y - means[block]) ** 2).sum())
    cost = _Costs(np.zeros(means.size), means)
    return [
        ([c * width for c in cuts], width * rest + inside) for cuts, rest in cost.best(0.0, most)
    ]
