"""Whether an appraiser's readings fit those of the others once two parts, or all of them, are put in another order.

Model: an appraiser's mean of a part is the others' mean of it, an offset of their own, and errors that know nothing of the part's
size. Where labels were exchanged, the differences are those of the parts' sizes: put back, the sum of their squares falls by nine
tenths and more, and by more than the best of so many orders would let it by chance (F, as if two differences were explained).
Tried are each two parts, the opposite order, and all parts moved on by one row. Nothing is changed by this; the reader is told where
to look. Misleads where parts hardly differ: then any order fits, and nothing is said.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from linestudy.gauges.grr.design import Layout
from linestudy.results.tables import natural_order

#: Parts from which it is looked at, the share of the squares that may be left, and how seldom chance may leave so little.
_PARTS, _LEFT, _SELDOM = 5, 0.1, 0.01


def exchanged_parts(layout: Layout) -> str:
    """Say whose parts seem to be in another order than those of the others.

    Parameters
    ----------
    layout : Layout

    Returns
    -------
    str
        A sentence; empty where nothing seems exchanged.
    """
    names = layout.levels.get("appraiser", ())
    if len(names) < 2 or len(layout.levels["part"]) < _PARTS:
        return ""
    labels = layout.levels["part"]
    counted = sorted(range(len(labels)), key=lambda i: natural_order(labels[i]))
    parts, means = np.array(labels)[counted], layout.means()[counted]
    whole = ~np.isnan(means).any(axis=1)
    parts, means = parts[whole], means[whole]
    if len(parts) < _PARTS:
        return ""
    best: tuple[float, int, str] = (_LEFT, -1, "")
    for at in range(len(names)):
        own = means[:, at]
        others = np.delete(means, at, axis=1).mean(axis=1)
        before = _squares(own - others)
        if before <= 0:
            continue
        # Of two people either may be the one.
        best = min(
            best,
            *(
                (_squares(own[order] - others) / before, at, words)
                for order, words in _orders(parts, own)
            ),
        )
    left, at, words = best
    n = len(parts)
    if at < 0 or _by_chance(left, n) * len(names) * (n * (n - 1) / 2 + 3) > _SELDOM:
        return ""
    whose = names[at] if len(names) > 2 else f"{names[0]} or {names[1]}"
    return f"The readings of {whose} fit those of the others {words}: look whether labels were exchanged."


def _by_chance(left: float, parts: int) -> float:
    from scipy.special import fdtrc

    return float(fdtrc(2, parts - 3, (1 - left) / 2 / max(left, 1e-12) * (parts - 3)))


def _squares(x: NDArray[np.float64]) -> float:
    return float(((x - x.mean()) ** 2).sum())


def _orders(
    parts: NDArray[np.str_], own: NDArray[np.float64]
) -> Iterator[tuple[NDArray[np.int_], str]]:
    """Yield orders that a sheet may be written in by mistake, as indices, each with its description."""
    n = len(parts)
    for a, b in combinations(range(n), 2):
        order = np.arange(n)
        order[[a, b]] = b, a
        yield order, f"once parts {parts[a]} and {parts[b]} change places"
    yield np.arange(n)[::-1], "once all parts stand in the opposite order"
    for by in (1, -1):
        yield np.roll(np.arange(n), by), "once all parts are moved on by one row"
