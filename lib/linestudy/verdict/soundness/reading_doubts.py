"""All that readings of a run can contradict themselves in."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np

from linestudy.capability.sorting.recognition import sharp_ends
from linestudy.capability.sorting.two_ends import cut_at_both_ends
from linestudy.gauges.masters.reading_step import apparent_step
from linestudy.results import CannotJudge
from linestudy.results.rounding import as_given
from linestudy.stability.model.by_stroke import side_by_side
from linestudy.verdict.facts import Doubt
from linestudy.verdict.soundness.copies import (
    copied_and_changed,
    copied_in_any_order,
    copied_stream,
    copied_stretch,
    copied_subgroups,
)
from linestudy.verdict.soundness.digits import end_digits, few_repeats, piled_end, too_regular
from linestudy.verdict.soundness.filled import filled_in
from linestudy.verdict.soundness.smoothing import moving_average

#: Streams at most that are looked through one by one.
_STREAMS = 16


def doubts_of_readings(
    values: Any,
    codes: Any = None,
    stream: Any = None,
    bound: float | None = None,
    stroke: Any = None,
) -> tuple[Doubt, ...]:
    """Look for copies, averages, preferred digits, piled-up or cut-off ends, too few repeats, too even a spread, and gaps filled in.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In the order recorded.
    codes : numpy.ndarray of int, shape (n,), optional
        Subgroup of each, -1 for none.
    stream : numpy.ndarray of int, shape (n,), optional
        Named stream of each.
    bound : float, optional
        Physical bound, at which readings may pile up.
    stroke : numpy.ndarray of float, shape (n,), optional
        Of each, where streams share theirs.

    Returns
    -------
    tuple of Doubt
        One for each test that could say anything, whatever its p-value.

    Examples
    --------
    >>> import numpy as np
    >>> y = np.random.default_rng(1).normal(size=300).round(2)
    >>> y[200:250] = y[:50]
    >>> [one.what for one in doubts_of_readings(y) if one.p < 0.001]
    ['copied readings']
    """
    y = np.asarray(values, dtype=float)
    if y.size < 24 or not np.ptp(y):
        return ()
    step = step_of(y)
    level = y.copy()
    for code in np.unique(stream) if stream is not None else ():
        level[stream == code] -= y[stream == code].mean()
    twice = None if stream is None or stroke is None else copied_stream(y, stream, stroke, step)
    # One stream says all of two that read alike.
    alone = y if twice is None or stream is None else y[stream == stream.max()]
    found = [
        twice,
        _copied_stretch(y, stream, stroke, step),
        copied_in_any_order(alone, step),
        copied_and_changed(level),
        None if codes is None else copied_subgroups(y, codes, step),
        moving_average(level),
        end_digits(y, step),
        piled_end(y, step, bound),
        few_repeats(y, step),
        too_regular(level, step),
        filled_in(alone, step, bound),
        _cut_off(y, bound, step),
    ]
    return tuple(one for one in found if one is not None)


def _copied_stretch(y: Any, stream: Any, stroke: Any, step: float) -> Doubt | None:
    """Look for a stretch that occurs twice in the order recorded, and where streams are mixed in it stream after stream as well.

    Streams that take turns are held against each other too: one may be a copy of another. Of those that share their strokes each is
    looked at by itself, for what the strip gives to all is no copy.
    """
    whole = copied_stretch(y, step)
    if stream is None:
        return whole
    codes = np.unique(stream)
    if not 2 <= codes.size <= _STREAMS or np.count_nonzero(np.diff(stream)) < codes.size:
        return whole
    if side_by_side(stroke if stroke is not None else np.arange(y.size), stream):
        lanes = [y[stream == k] for k in codes]
    else:
        lanes = [y[np.argsort(stream, kind="stable")]]
    found = [one for lane in lanes if (one := copied_stretch(lane, step)) is not None]
    if not found:
        return whole
    least = min(found, key=lambda one: one.p)
    p = 2 * len(found) * least.p
    if whole is not None and 2 * whole.p <= p:
        return replace(whole, p=min(2 * whole.p, 1.0))
    return replace(least, p=min(p, 1.0), evidence=f"{least.evidence}, counted stream by stream")


def _cut_off(y: Any, bound: float | None, step: float) -> Doubt:
    """Test whether the readings end as no process ends: parts were sorted at limits inside the tolerance."""
    what, cut = "parts taken out", sharp_ends(y, bound=bound)
    ends = {"lower": float(y.min()), "upper": float(y.max())}
    if cut:
        at = " and ".join(as_given(ends[side]) for side in cut)
        said = f"many lie just inside {at} and none beyond, as no process ends"
        return Doubt(what, math.prod(cut.values()), said)
    near = float(y.std()) / 2
    magnitude = any(abs(ends["lower"] - at) < near for at in (0.0, bound) if at is not None)
    p = None if magnitude else cut_at_both_ends(y, step)
    return Doubt(
        what,
        1.0 if p is None else p,
        f"they have the shape of a normal process whose parts below {as_given(ends['lower'])} and above {as_given(ends['upper'])} were taken "
        "out, and of no whole one",
    )


def step_of(y: Any) -> float:
    """Return the step that readings come in.

    Parameters
    ----------
    y : numpy.ndarray of float, shape (n,)

    Returns
    -------
    float
        Nought where they come in none.
    """
    try:
        step = float(apparent_step(y))
    except CannotJudge:
        return 0.0
    # Binary fractions of computed values are no step.
    return step if step > 1e-6 * float(y.std()) else 0.0
