"""Pulls that ended elsewhere: forces that stand at one greatest value, or at nought.

Where a wire breaks before its weld, or the machine reaches its range, the force is that of the wire or the range, and the weld is at
least as strong; many forces then share the greatest value, or nearly. Where specimens had no weld they share nought. Model of honest
forces: the readings next to the greatest lie as densely as their neighbours, so of the forces within one tenth of the spread below the
greatest few are expected: with a normal distribution the greatest of n stands alone, and the count within that tenth is held against the
one that the upper half lets expect (binomial, exact). Common practice, no source. Misleads where forces are rounded to steps as wide as a
tenth of their spread: then the count is not asked.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from linestudy.results import counted
from linestudy.results.rounding import as_given, p_text

#: Forces from which it is asked, width of the pile in standard deviations, and level.
_FEWEST, _WIDTH, _SELDOM = 8, 0.1, 0.001
#: Chance that a reading of the upper half lies within that width of the greatest, at most: the greatest of eight or more lies
#: beyond one SD, where the normal density is 0.24 and the half holds one half (0.24 * 0.1 / 0.5, rounded up).
_CHANCE = 0.05


def ended_elsewhere(forces: NDArray[np.float64]) -> list[str]:
    """Say whether forces pile up at their greatest value or at nought.

    Parameters
    ----------
    forces : numpy.ndarray of float, shape (n,)

    Returns
    -------
    list of str
        A sentence each; empty where nothing piles up.

    Examples
    --------
    >>> import numpy as np
    >>> ended_elsewhere(np.array([71.0, 74.2, 76.1, 78.3, 79.9, 84.0, 84.0, 84.0, 84.0, 84.0]))[0][:52]
    '5 of 10 forces stand at the greatest value, 84 or ne'
    """
    n = forces.size
    said = []
    none = int((forces == 0).sum())
    if 0 < none < n:
        said.append(
            f"{counted(none, 'force')} of {n} {'is' if none == 1 else 'are'} nought: a part without a weld is another fault than a weak one, and what is said "
            "of the spread holds both."
        )
    some = forces[forces != 0]
    if some.size < _FEWEST or np.ptp(some) == 0:
        return said
    from scipy.special import bdtrc

    top, middle = float(some.max()), float(np.median(some))
    # The spread of what is not piled up: the lower half, mirrored.
    lower = some[some <= middle]
    spread = float(np.sqrt(np.mean((lower - middle) ** 2)))
    steps = np.diff(np.unique(some))
    if spread == 0 or steps.min() > _WIDTH * spread:
        pile = int((some == top).sum())
        wide = steps.min() / spread if spread > 0 else 1.0
        chance = min(_CHANCE * max(wide / _WIDTH, 1.0), 0.5)
    else:
        pile = int((some >= top - _WIDTH * spread).sum())
        chance = _CHANCE
    half = max(int((some >= middle).sum()), pile)
    p = float(bdtrc(pile - 2, half - 1, chance)) if pile > 2 else 1.0
    if p < _SELDOM:
        said.append(
            f"{pile} of {n} forces stand at the greatest value, {as_given(top, digits=4)} or nearly ({p_text(p)}): pulls that ended elsewhere (a wire that broke "
            "before its weld, the range of the machine) bound the strength only from below, and slope and spread come out too small."
        )
    return said
