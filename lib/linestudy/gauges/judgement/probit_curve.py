"""One curve of acceptance: a probit line, its likelihood, and intervals that know which judgements are of one part.

Judgements of one part are alike beyond what the measured value explains (the same scratch is seen again), so
the score is summed by part: with the information H and the sum B of squared scores of parts,
H^-1 B H^-1 is the variance of threshold and log spread (White, *Econometrica* 50 (1982); Liang & Zeger,
*Biometrika* 73 (1986)). The deviance of the profile is divided by how much larger that is than H^-1, at
least 1 (Rotnitzky & Jewell, *Biometrika* 77 (1990), 485-497), and Student's t stands for the normal with as many degrees
of freedom as the parts that carry the estimate allow (Satterthwaite).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linestudy.results import CannotJudge


def probit(u: NDArray[np.float64], y: NDArray[np.bool_]) -> tuple[float, float]:
    """Fit slope and level of a probit line by statsmodels, brought to the root of its score.

    Parameters
    ----------
    u : numpy.ndarray of float, shape (n,)
        Standardised value, rising towards acceptance.
    y : numpy.ndarray of bool, shape (n,)
        Whether it was accepted.

    Returns
    -------
    slope, level : float
        Of ``P(accept) = Phi(level + slope u)``.
    """
    import warnings

    from statsmodels.discrete.discrete_model import Probit

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        model = Probit(y.astype(float), np.column_stack([np.ones(u.size), u]))
        at = np.asarray(model.fit(disp=0, maxiter=200).params)
        for _ in range(20):
            step = np.linalg.solve(model.hessian(at), model.score(at))
            at = at - step
            if np.abs(step).max() <= 1e-15 * np.abs(at).max():
                break
    level, slope = (float(value) for value in at)
    return slope, level


def allowance(
    u: NDArray[np.float64],
    part: NDArray[Any] | None,
    y: NDArray[np.bool_],
    threshold: float,
    log_spread: float,
    confidence: float,
) -> tuple[float, float]:
    """Compute how far the profiled deviance may rise for threshold and for log spread.

    Parameters
    ----------
    u, y : numpy.ndarray, shape (n,)
        As in :func:`probit`.
    part : numpy.ndarray, shape (n,), or None
        Which judgements are of one part; None takes all as independent: chi-square then.
    threshold, log_spread : float
        Where the likelihood is largest.
    confidence : float
        Of the interval.

    Returns
    -------
    threshold, log_spread : float
    """
    from scipy.special import chdtri, stdtrit

    plain = float(chdtri(1, 1 - confidence))
    if part is None:
        return plain, plain
    spread = math.exp(log_spread)
    t = (u - threshold) / spread
    pull = _pull(t, y)
    # Score by threshold and log spread, and the information of a probit line at its root.
    score = np.column_stack([-pull / spread, -pull * t])
    curved = pull * (t + pull)
    by_threshold = float(curved.sum()) / spread**2
    crossed = float((curved * t).sum()) / spread
    by_spread = float((curved * t * t).sum())
    information = np.array([[by_threshold, crossed], [crossed, by_spread]])
    names, place = np.unique(part, return_inverse=True)
    k = names.size
    if k < 3:
        raise CannotJudge(f"Its judgements are of {k} parts; three are needed.")
    summed = np.zeros((k, 2))
    np.add.at(summed, place, score)
    inverse = np.linalg.inv(information)
    # Share of each part in the error of both estimates.
    errors = summed @ inverse
    allowed = []
    for which in (0, 1):
        squares = errors[:, which] ** 2
        # The fourth power of a normal error is on average three times its squared variance.
        carried = min(3 * float(squares.sum() ** 2 / (squares**2).sum()), float(k))
        wider = max(k / (k - 1) * float(squares.sum()) / float(inverse[which, which]), 1.0)
        quantile = float(stdtrit(max(carried - 1, 1.0), (1 + confidence) / 2))
        allowed.append(max(wider * quantile**2, plain))
    return allowed[0], allowed[1]


def profile(
    u: NDArray[np.float64],
    y: NDArray[np.bool_],
    threshold: float,
    log_spread: float,
    rise: float,
    which: int,
) -> tuple[float, float]:
    """Find the ends where the profiled deviance of threshold (0) or log spread (1) has risen so far.

    Parameters
    ----------
    u, y : numpy.ndarray, shape (n,)
        As in :func:`probit`.
    threshold, log_spread : float
        Where the likelihood is largest.
    rise : float
        From :func:`allowance`.
    which : int
        0 or 1.

    Returns
    -------
    low, high : float

    Raises
    ------
    CannotJudge
        The deviance does not rise so far.
    """
    from scipy.optimize import brentq

    allowed = _deviance(u, y, threshold, log_spread) + rise
    spread = math.exp(log_spread)
    best, step = ((threshold, spread), (log_spread, 1.0))[which]

    def excess(value: float) -> float:
        if which == 0:
            other = _root(
                lambda free: _slopes(u, y, value, free)[1], log_spread - 4, log_spread + 4
            )
            return _deviance(u, y, value, other) - allowed
        other = _root(
            lambda free: _slopes(u, y, free, value)[0],
            threshold - 8 * spread,
            threshold + 8 * spread,
        )
        return _deviance(u, y, other, value) - allowed

    ends = []
    for side in (-1.0, 1.0):
        reach = step
        while excess(best + side * reach) < 0:
            reach *= 1.6
            if reach > 200 * step:
                raise CannotJudge("The judgements near it are too few to say where they turn.")
        at = brentq(lambda r, s=side: excess(best + s * r), 0.0, reach, xtol=1e-14 * step)
        ends.append(best + side * float(at))
    return ends[0], ends[1]


def _deviance(
    u: NDArray[np.float64], y: NDArray[np.bool_], threshold: float, log_spread: float
) -> float:
    from scipy.special import log_ndtr

    t = (u - threshold) * math.exp(-log_spread)
    return -2 * float(log_ndtr(np.where(y, t, -t)).sum())


def _pull(t: NDArray[np.float64], y: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Return the slope of the log-likelihood of each judgement by its t."""
    from scipy.special import log_ndtr

    sign = np.where(y, 1.0, -1.0)
    return np.asarray(sign * np.exp(-(t**2) / 2 - log_ndtr(sign * t)) / math.sqrt(2 * math.pi))


def _slopes(
    u: NDArray[np.float64], y: NDArray[np.bool_], threshold: float, log_spread: float
) -> tuple[float, float]:
    """Differentiate the log-likelihood by threshold and by log spread."""
    t = (u - threshold) * math.exp(-log_spread)
    pull = _pull(t, y)
    return -float(pull.sum()) * math.exp(-log_spread), -float(pull @ t)


def _root(slope: Callable[[float], float], low: float, high: float) -> float:
    """Find where a slope turns from positive to negative, or the end it points beyond."""
    from scipy.optimize import brentq

    if slope(low) <= 0:
        return low
    if slope(high) >= 0:
        return high
    return float(brentq(slope, low, high, xtol=1e-14))
