"""Limits that the sorter keeps to: verdicts that change where the study has no limit.

Model of an honest record: parts whose readings all lie within the limits are rejected for what nobody measured, so that their
readings are a draw from those of all such parts, or, near a limit, because the sorter's own reading was another one. Going
inwards from a limit, the farthest reading is looked for from which on nine parts of ten and more are rejected; so many rejected among the outermost
have the probability of the hypergeometric distribution, times the places tried. The sorter then keeps to a limit of its own there.

A sorter that allows for its error keeps to such limits honestly; they lie within a few hundredths of the tolerance of those of the
drawing. It misleads where what is rejected goes with the reading nearly without exception.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

#: Share of rejected parts beyond the sorter's limit, and how many of them show one.
_REJECTED, _FEW = 0.9, 5


@dataclass(frozen=True)
class SorterLimit:
    """A limit that verdicts show.

    Attributes
    ----------
    side : str
        ``"lower"`` or ``"upper"``.
    at : float
        Reading of the part farthest inside.
    rejected, parts : int
        Rejected of the parts between it and the limit.
    share : float
        Distance to the limit, as a share of the tolerance; of one limit alone of twice its distance from the median.
    p : float
        Probability of as much without such a limit.
    """

    side: str
    at: float
    rejected: int
    parts: int
    share: float
    p: float


def sorter_limits(
    y: Any, rejected: Any, lower: float | None, upper: float | None
) -> tuple[SorterLimit, ...]:
    """Find limits inside those of the study beyond which parts are rejected.

    Parameters
    ----------
    y : numpy.ndarray of float, shape (n,)
        Readings of parts with a verdict.
    rejected : numpy.ndarray of bool, shape (n,)
        Without those that another reading explains.
    lower, upper : float or None
        Limits.

    Returns
    -------
    tuple of SorterLimit
        At most one for each side, whatever its p-value.

    Examples
    --------
    >>> y = np.linspace(0, 10, 101)
    >>> [(one.side, float(one.at)) for one in sorter_limits(y, y > 8.95, 0.0, 10.0)]
    [('upper', 9.0)]
    """
    from scipy.stats import hypergeom

    known = np.isfinite(y)
    inside = known.copy()
    inside[known] &= (y[known] >= (-np.inf if lower is None else lower)) & (
        y[known] <= (np.inf if upper is None else upper)
    )
    values, bad = y[inside], rejected[inside].astype(bool)
    n, all_bad = values.size, int(bad.sum())
    if all_bad < _FEW or all_bad == n:
        return ()
    middle = float(np.median(values))
    found = []
    for side, limit, sign in (("lower", lower, -1.0), ("upper", upper, 1.0)):
        if limit is None:
            continue
        outer = np.argsort(-sign * values, kind="stable")
        outer = outer[sign * (values[outer] - middle) > 0]
        count = np.cumsum(bad[outer])
        place = np.arange(1, outer.size + 1)
        ends = np.flatnonzero(bad[outer] & (count >= _FEW) & (count >= _REJECTED * place))
        if not ends.size:
            continue
        k = int(ends[-1])
        p = float(hypergeom.sf(count[k] - 1, n, all_bad, k + 1))
        width = (
            upper - lower if lower is not None and upper is not None else 2 * abs(limit - middle)
        )
        at = float(values[outer[k]])
        found.append(
            SorterLimit(
                side, at, int(count[k]), k + 1, abs(limit - at) / width, min(p * all_bad, 1.0)
            )
        )
    return tuple(found)
