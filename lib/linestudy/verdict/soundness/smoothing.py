"""Moving averages: readings with a gap in their spectrum that no process leaves.

Model of an honest record: a process and its gauge have noise at every frequency, so their spectrum has
no hole: near any frequency it is at least a fraction :data:`LEAST` of what it is a little further up
and down. An average over k neighbours takes everything away at the frequencies 1/k, 2/k ... (Priestley,
*Spectral Analysis and Time Series* (1981), 7.5), and rounding puts back little. For every k from 2 to
12 the periodogram within narrow bands about these frequencies is held against the median of the
bands between them; ordinates of a periodogram are close to independent exponentials, so the ratio
follows F. The least likely k counts, times their number.

It misleads where a filter inside the gauge averages consecutive parts: then the readings are
averages too, and the index is not that of parts. An exponentially weighted average leaves no hole;
the correlation of neighbours shows it.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from linestudy.verdict.facts import Doubt

#: A hole is what lies below this fraction of its surroundings.
LEAST = 0.25
_SPANS = range(2, 13)
#: Share of the distance between two holes that a band takes, on either side.
_BAND = 0.12


def moving_average(y: Any) -> Doubt | None:
    """Find the span of neighbours over which readings were averaged, if any.

    Parameters
    ----------
    y : numpy.ndarray of float, shape (n,)
        In the order recorded, without the streams' own levels.

    Returns
    -------
    Doubt or None
        None where there are too few readings.
    """
    from scipy.special import fdtr

    n = y.size
    if n < 60 or not np.ptp(y):
        return None
    # Tapered, so that what is slow and large does not leak into the holes.
    taper = np.sin(np.pi * (np.arange(n) + 0.5) / n) ** 2
    power = np.abs(np.fft.rfft((y - y.mean()) * taper)) ** 2
    at = np.arange(power.size) / n
    best, span = 1.0, 0
    for k in _SPANS:
        off = np.abs(at * k - np.round(at * k))
        inside = (off <= _BAND) & (at > 0.5 / k)
        between = (off > 0.3) & (at > 0.5 / k)
        if inside.sum() < 5 or between.sum() < 10:
            continue
        around = float(np.median(power[between])) / math.log(2)
        if around <= 0:
            continue
        # A taper correlates neighbouring ordinates: about half of them count; a median knows
        # about half of what a mean does.
        own, theirs = inside.sum() / 2, between.sum() / 4
        p = float(fdtr(2 * own, 2 * theirs, power[inside].mean() / around / LEAST))
        if p < best:
            best, span = p, k
    if not span:
        return None
    return Doubt(
        "averaged readings",
        min(best * len(_SPANS), 1.0),
        f"their spectrum is empty where averages over {span} neighbours leave nothing",
    )
