"""Steps of readings: averages lie between the steps of their gauge, and readings that were scaled leave a comb.

- *Between the gauge's steps*: the studies of a gauge (crossed study, masters, drift) are wholly in steps of g. An average of k
  readings is in steps of g/k. Readings of the run that lie between the steps of the studies, and there at the kth parts of
  them and nowhere else, are averages over k; so are those of a study between the steps of the run. A gauge whose record is merely written with more digits is at tenths, or anywhere, and
  is not accused. It misleads where a gauge reads in halves or quarters of the step in which somebody wrote down its study.
- *A comb*: whole numbers of steps that are multiplied by c < 1 and rounded again fall on some steps twice, at every 1/(1 - c) of
  them. With e, the error of rounding, nearly uniform, the mean of exp(2 pi i y / c) is sinc(1/c) and not nought, as it
  is of a smooth density; n times its square is about exponential there (a periodogram's ordinate; Priestley, *Spectral Analysis and
  Time Series* (1981), 6.1). Gauges whose own steps are finer than the file's leave it honestly, so it is reported and nothing is
  asked; combs of gauges with coarser steps (inches written in millimetres) have gaps, and are not meant.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from linestudy.results.rounding import in_short
from linestudy.verdict.facts import Doubt

#: Fractions of a step at which averages lie; tenths are those of one more digit.
_OVER = (2, 3, 4, 5, 6, 7, 8, 9)
#: How far from such a part a reading may lie (in parts), the share that must lie there, and the share that must lie between steps.
_OFF, _THERE, _BETWEEN = 0.11, 0.98, 0.05
#: Readings from which steps are looked at, and those for a comb.
_FEW, _MANY = 20, 300
#: Standard deviation in steps from which a density is smooth beside a comb, and the weakest comb that counts.
_SMOOTH, _WEAKEST = 6.0, 0.05


def between_steps(y: Any, studied: Any, step: float, what: str = "the readings") -> Doubt | None:
    """Test whether readings lie at fractions of the steps in which their gauge was studied.

    Parameters
    ----------
    y : numpy.ndarray of float, shape (n,)
        Readings of the run.
    studied : numpy.ndarray of float, shape (m,)
        Readings of the same gauge in its studies.
    step : float
        Of those; nought where they have none.
    what : str
        What readings `y` are, for the sentence.

    Returns
    -------
    Doubt or None
        None where the studies have no step or the readings follow it.

    Examples
    --------
    >>> import numpy as np
    >>> draw = np.random.default_rng(1)
    >>> single = draw.normal(5, 0.1, (400, 2)).round(2)
    >>> between_steps(single.mean(axis=1), single[:60, 0], 0.01).what
    'averaged readings'
    """
    if step <= 0 or y.size < _FEW or studied.size < _FEW:
        return None
    if (_from_whole(studied / step) > 0.02).any():
        return None
    between = y[_from_whole(y / step) > 0.02] / step
    if between.size < max(_BETWEEN * y.size, _FEW):
        return None
    for k in _OVER:
        if (_from_whole(k * between) <= _OFF).mean() >= _THERE:
            # Of readings that lie anywhere between steps so many lie there by chance.
            p = float((2 * _OFF) ** (_THERE * between.size))
            return Doubt(
                "averaged readings",
                p,
                f"{between.size / y.size:.0%} of {what} lie between the steps of {in_short(step, '').strip()} in which the gauge "
                f"reads otherwise, at 1/{k} of them, as averages over {k} readings do",
            )
    return None


def _from_whole(x: Any) -> Any:
    return np.abs(x - np.round(x))


def comb(y: Any, step: float) -> float | None:
    """Find every how many steps readings come back more often, as scaled ones do.

    Parameters
    ----------
    y : numpy.ndarray of float, shape (n,)
    step : float
        Of the readings.

    Returns
    -------
    float or None
        In steps; None where no such comb is seen, or it has gaps.

    Examples
    --------
    >>> import numpy as np
    >>> whole = np.random.default_rng(1).normal(5000, 100, 2000).round()
    >>> comb(whole, 1.0) is None, comb((0.8 * whole).round(), 1.0)
    (True, 4.0)
    """
    if step <= 0 or y.size < _MANY or y.std() < _SMOOTH * step:
        return None
    whole = np.round(y / step)
    if (_from_whole(y / step) > 0.05).any() or np.ptp(whole) > 20_000:
        return None
    counts = np.bincount((whole - whole.min()).astype(np.int64))
    length = 1 << int(np.ceil(np.log2(8 * counts.size)))
    power = np.abs(np.fft.rfft(counts, length)) ** 2 / y.size**2
    at = np.arange(power.size) / length
    # Beyond what a smooth density with its ends leaves; tenths are last digits, which have a test of their own.
    open_to = (at > 3 * step / float(y.std())) & (np.abs(10 * at - np.round(10 * at)) > 0.02)
    if not open_to.any():
        return None
    best = int(np.argmax(np.where(open_to, power, 0.0)))
    # What a density with an edge leaves falls off slowly, and alike on either side.
    near = power[(at > 0.8 * at[best]) & (at < 1.25 * at[best])]
    noise = max(1 / y.size, float(np.median(near)) / np.log(2))
    p = counts.size * np.exp(-power[best] / noise)
    if p > 1e-4 or power[best] < _WEAKEST**2 or _has_gaps(counts):
        return None
    return round(1 / float(at[best]), 2)


def _has_gaps(counts: Any) -> bool:
    """Check whether steps in the middle of the readings are empty between full ones."""
    total = np.cumsum(counts) / counts.sum()
    middle = counts[(total > 0.2) & (total < 0.8)]
    return bool((middle == 0).mean() > 0.1) if middle.size and middle.mean() > 3 else False
