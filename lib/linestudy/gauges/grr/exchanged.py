"""Whether an appraiser's readings fit those of the others once parts are put in another order.

Model: the means of cells are part plus appraiser plus independent errors. Where one appraiser has labels exchanged, these
errors hold the differences of the parts' sizes: put back, the sum of squares of part by appraiser falls by more than the best
of so many orders would let it by chance (F with as many degrees of freedom as parts were moved less one, by Bonferroni), and of
the moved parts' own squares a tenth is left at most: one cell that is off leaves half. Where all err alike the squares are those of
all; where they do not, as gauges seldom do, those of one's own differences from the mean of the others, whose errors have one variance
whatever the single ones are. Tried are each two parts, the opposite
order, all parts moved on by one row, and any stretch of the sheet moved on by one row, as where a row was skipped. Two parts
that changed places in one trial only are looked for in the same way among the deviations from the other trials.
Nothing is changed by this; the reader is shown where to look. Misleads where parts hardly differ: then any order fits, and
nothing is reported.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from linestudy.gauges.grr.design import Layout
from linestudy.results.tables import natural_order

#: Parts from which it is looked at, the share of the squares that may be left, and how seldom chance may leave so little.
_PARTS, _LEFT, _SELDOM = 5, 0.1, 0.01
_ASKING = "look whether labels were exchanged."


def exchanged_parts(layout: Layout, *, alike: bool = True) -> str:
    """Say whose parts seem to be in another order than those of the others.

    Parameters
    ----------
    layout : Layout
    alike : bool
        Whether all appraisers are taken to err alike.

    Returns
    -------
    str
        A sentence; empty where nothing seems exchanged.
    """
    labels = layout.levels["part"]
    if len(labels) < _PARTS:
        return ""
    names = layout.levels.get("appraiser", ())
    counted = sorted(range(len(labels)), key=lambda i: natural_order(labels[i]))
    found = ""
    if len(names) > 1:
        found = _of_all_trials(np.array(labels)[counted], layout.means()[counted], names, alike)
    return found or _of_one_trial(layout)


def exchanged_rows(
    parts: NDArray[np.str_], means: NDArray[np.float64], names: tuple[str, ...], *, alike: bool
) -> str:
    """Say whose means of parts fit those of the others in another order of the parts.

    Parameters
    ----------
    parts : numpy.ndarray of str, shape (parts,)
        In the order of a sheet.
    means : numpy.ndarray of float, shape (parts, names)
        NaN where somebody did not read a part.
    names : tuple of str
        Who read: appraisers, laboratories, systems.
    alike : bool
        Whether all are taken to err alike.

    Returns
    -------
    str
        Whose, and in which order; empty where nothing seems exchanged.
    """
    whole = ~np.isnan(means).any(axis=1)
    parts, means = parts[whole], means[whole]
    n, people = means.shape
    if n < _PARTS or people < 2:
        return ""
    centred = means - means.mean(axis=0)
    rest = centred - centred.mean(axis=1, keepdims=True)
    squares, df, share = float((rest**2).sum()), (n - 1) * (people - 1), (people - 1) / people
    orders = n * (n - 1) // 2 + n * n + 3
    best: tuple[float, str] = (0.0, "")
    for at in range(people):
        others = np.delete(centred, at, axis=1).mean(axis=1)
        # Squares of every reading beside every part of the others.
        apart = (centred[:, at][:, None] - others[None, :]) ** 2
        if not alike:
            squares, df, share = float(np.diag(apart).sum()), n - 1, 1.0
        for before, after, moved, words in _orders(parts, apart):
            if after > _LEFT * before:
                continue
            gain = (before - after) * share
            p = _by_chance(gain, squares, moved, df) * people * orders
            if p < _SELDOM and gain > best[0]:
                whose = names[at] if people > 2 else f"{names[0]} or {names[1]}"
                best = (gain, f"{whose} fit those of the others {words}")
    return best[1]


def _of_all_trials(
    parts: NDArray[np.str_], means: NDArray[np.float64], names: tuple[str, ...], alike: bool
) -> str:
    said = exchanged_rows(parts, means, names, alike=alike)
    return f"The readings of {said}: {_ASKING}" if said else ""


def _by_chance(gain: float, whole: float, moved: int, df: int) -> float:
    """Compute the chance that putting parts in order takes so much of the squares; errors are what it leaves.

    The opposite order, and all parts moved on, move too many for that: they count as two differences explained.
    """
    from scipy.special import fdtrc

    free = df - moved
    if free < 1:
        moved, free = 2, df - 2
    if free < 1 or gain <= 0:
        return 1.0
    return float(fdtrc(moved, free, gain / moved / max((whole - gain) / free, 1e-12 * gain)))


def _orders(
    parts: NDArray[np.str_], apart: NDArray[np.float64]
) -> list[tuple[float, float, int, str]]:
    """List the best of each kind of order: squares before and after, differences explained, its description."""
    n = len(parts)
    own = np.diag(apart)
    found = []
    gain = own[:, None] + own[None, :] - apart - apart.T
    a, b = sorted(map(int, np.unravel_index(int(gain.argmax()), gain.shape)))
    after = float(apart[a, b] + apart[b, a])
    found.append(
        (float(own[a] + own[b]), after, 1, f"once parts {parts[a]} and {parts[b]} change places")
    )
    at = np.arange(n)
    every = float(own.sum())
    turned = "once all parts stand in the opposite order"
    found.append((every, float(apart[at[::-1], at].sum()), n - 1, turned))
    before = np.concatenate([[0.0], np.cumsum(own)])
    for by in (1, -1):
        after = float(apart[np.roll(at, by), at].sum())
        found.append((every, after, n - 1, "once all parts are moved on by one row"))
        # A stretch from first to last, each but one read a row later or earlier.
        table = apart if by == 1 else apart.T
        steps = np.concatenate([[0.0], np.cumsum(np.diagonal(table, 1))])
        first, last = np.triu_indices(n, 2)
        then = steps[last] - steps[first] + table[last, first]
        now = before[last + 1] - before[first]
        moved = last - first
        best = int(np.where(moved < n - 1, now - then, -np.inf).argmax())
        words = f"once parts {parts[first[best]]} to {parts[last[best]]} are moved on by one row"
        found.append((float(now[best]), float(then[best]), int(moved[best]), words))
    return found


def _of_one_trial(layout: Layout) -> str:
    """Look for two parts that changed places in one trial of one appraiser."""
    if layout.trial is None or "factor" in layout.factors:
        return ""
    parts, names = layout.levels["part"], layout.levels.get("appraiser", ("",))
    who = layout.codes[:, -1] if "appraiser" in layout.factors else np.zeros(len(layout.codes), int)
    _, trial = np.unique(layout.trial, return_inverse=True)
    cube = np.full((len(names), int(trial.max()) + 1, len(parts)), np.nan)
    cube[who, trial, layout.codes[:, 0]] = layout.values
    people, trials, n = cube.shape
    if trials < 2 or np.isnan(cube).any():
        return ""
    # What a trial moves as a whole is no exchange.
    cube = cube - cube.mean(axis=2, keepdims=True)
    rest = cube - cube.mean(axis=1, keepdims=True)
    # Of each by themselves: one who repeats worse than the others exchanged nothing.
    squares, df = (rest**2).sum(axis=(1, 2)), (trials - 1) * (n - 1)
    best: tuple[float, str] = (_SELDOM, "")
    for i, j in np.ndindex(people, trials):
        others = np.delete(cube[i], j, axis=0).mean(axis=0)
        apart = (cube[i, j][:, None] - others[None, :]) ** 2
        before, after, _, words = _orders(np.array(parts), apart)[0]
        gain = (before - after) * (trials - 1) / trials
        p = _by_chance(gain, float(squares[i]), 1, df) * people * trials * n * (n - 1) / 2
        if after <= _LEFT * before and p < best[0]:
            whose = f" of {names[i]}" if names[i] else ""
            best = (p, f"One trial{whose} fits the other trials {words}: {_ASKING}")
    return best[1]
