"""Take wear between named regrinds off the values of a run: of all its streams alike, or of each between its own."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

#: Standard errors from which a slope of wear is taken as there, and longest stretches seen that may have worn before the run,
#: for the level of its first stretch to be put down to wear (choices, no source).
_SURE, _LIVES = 3.0, 10.0


def without_wear(
    y: Any,
    order: Any,
    resets: tuple[float, ...],
    stream: Any = None,
    of_streams: Mapping[str, tuple[float, ...]] | None = None,
) -> tuple[Any, float | None]:
    """Subtract a common slope since the last named regrind, and return that slope too.

    Parameters
    ----------
    y, order : numpy.ndarray of float, shape (n,)
    resets : tuple of float
    stream : array_like, shape (n,), optional
    of_streams : mapping of str to tuple of float, optional
        Resets of each stream, where some are named for streams alone; each then has a slope of its own.

    Returns
    -------
    rest : numpy.ndarray of float, shape (n,)
    per_thousand : float or None
        None where no regrind is named inside the run; of several the steepest.
    """
    if of_streams and stream is not None:
        return _without_own_wear(y, order, np.asarray(stream), of_streams)
    marks = np.array(sorted(r for r in resets if np.size(order) and order[0] < r <= order[-1]))
    if not marks.size:
        return y, None
    starts = np.concatenate([[order[0]], marks])
    since = order - starts[np.searchsorted(marks, order, side="right")]
    # The first stretch began before the run: it is offset by the wear until then.
    design = np.column_stack([np.ones(y.size), since, (order < marks[0]).astype(float)])
    coef = _worn_before(y, design, float(np.diff([*starts, order[-1]]).max()))
    return y - design[:, 1:] @ coef[1:], 1000 * float(coef[1])


def _worn_before(y: Any, design: Any, longest: float) -> Any:
    """Fit by least squares; an offset of the first stretch that the wear does not explain is a step, not wear."""
    from scipy.linalg import lstsq

    coef, _, rank, _ = lstsq(design, y)
    if rank == 3:
        rest = y - design @ coef
        variance = float(rest @ rest) / max(y.size - 3, 1) * np.linalg.inv(design.T @ design)[1, 1]
        before = coef[2] / coef[1] if coef[1] else np.inf
        if abs(coef[1]) >= _SURE * variance**0.5 and -0.1 * longest <= before <= _LIVES * longest:
            return coef
    return np.append(np.linalg.lstsq(design[:, :2], y, rcond=None)[0], 0.0)


def _without_own_wear(
    y: Any, order: Any, stream: Any, of_streams: Mapping[str, tuple[float, ...]]
) -> tuple[Any, float | None]:
    rest, slopes, names = y.copy(), [], stream.astype(str)
    for name, resets in of_streams.items():
        here = names == name
        rest[here], slope = without_wear(y[here], order[here], resets)
        slopes += [] if slope is None else [slope]
    return rest, max(slopes, key=abs, default=None)
