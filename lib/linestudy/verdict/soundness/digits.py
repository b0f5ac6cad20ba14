"""Last digits, ends, repeats and evenness of readings: what rounding by hand, cutting off and inventing leave behind.

Honest readings are a smooth density put on a grid of steps.

- *Last digits* are then filled as their neighbours are: for each reading of the grid the count is
  held against that interpolated from two on either side, and the differences are summed for each last
  digit, for 0 and 5, and for the even ones. A gauge whose own grid is not the grid of the file makes
  uneven counts too, but not by tens: the same sums by other numbers than ten give the variance.
  (Last digits in forensic use: Mosimann, Wiseman & Edelman, *Accountability in Research* 4 (1995), 31-55.)
- *An end where readings pile up*: beyond the outermost occupied place of the grid lies nothing; where it holds
  many times what its neighbours hold, what lay beyond was set to it. A density may rise to its end as
  that of a sine does, to 3 times the mean of the next three places.
- *Too few repeats*: neighbours are equal about as often as chance makes them equal; whoever invents
  numbers avoids that. Held to be too few below :data:`LEAST` of what chance gives.
- *Too regular*: Anderson and Darling's statistic of normal readings, their mean and SD estimated, is hardly ever below a tenth; of
  numbers worked out from normal scores, or drawn so as to fill the normal distribution evenly, it is near nought. Its lower tail, from
  320,000 simulated samples of 60, 300 and 2,000 normal readings, is exp(3.9 - 1.08 / A) whatever their number, within a third down to 0.0001.

Misleading: a gauge that saturates piles up honestly (and its readings are no measurements there).
"""

from __future__ import annotations

from typing import Any

import numpy as np

from linestudy.verdict.facts import Doubt

#: Repeats of neighbours are too few below this share of what chance gives.
LEAST = 0.6
#: A density may rise to its end by this factor above the mean of the next three places (a sine's: 3.0).
RISE = 3.2
#: Standard deviation in steps from which last digits can be distinguished from the shape.
_SMOOTH = 6.0
_OTHERS = (7, 8, 9, 11, 12, 13)
#: Readings from which evenness is looked at, and standard deviation in steps from which their rounding does not matter to it.
_EVEN, _FINE = 50, 20.0


def end_digits(y: Any, step: float) -> Doubt | None:
    """Test whether last digits are preferred.

    Parameters
    ----------
    y : numpy.ndarray of float, shape (n,)
    step : float
        Of the readings.

    Returns
    -------
    Doubt or None
        None where readings are too coarse or too few.
    """
    from scipy.special import ndtr

    if step <= 0 or y.size < 100 or y.std() < _SMOOTH * step:
        return None
    whole = np.round(y / step)
    if np.abs(y / step - whole).max() > 0.05 or np.abs(whole).max() > 2**52:
        return None
    whole = whole.astype(np.int64)
    low, high = np.quantile(whole, [0.001, 0.999])
    if not 30 <= high - low <= 20_000:
        return None
    counts = np.bincount(np.clip(whole - int(low), 0, int(high - low)))[1:-1].astype(float)
    place = np.arange(int(low) + 1, int(low) + 1 + counts.size)
    smooth = (4 * (counts[1:-3] + counts[3:-1]) - (counts[:-4] + counts[4:])) / 6
    rest, place = counts[2:-2] - smooth, place[2:-2]
    if counts.sum() < 100:
        return None
    # The variance of a sum of rests follows from the counts, whose weights add up over the places.
    wiggle = np.mean([_overdispersion(rest, place % m, counts, m) for m in _OTHERS])
    kinds = {f"the last digit {d}": place % 10 == d for d in range(10)}
    kinds["0 and 5"] = place % 5 == 0
    kinds["even digits"] = place % 2 == 0
    found = {
        name: abs(_standard(rest, chosen, counts)) / max(float(np.sqrt(wiggle)), 1.0)
        for name, chosen in kinds.items()
    }
    name = max(found, key=lambda key: found[key])
    return Doubt(
        "last digits",
        float(min(2 * len(kinds) * ndtr(-found[name]), 1.0)),
        f"the readings use {name} far more, or less, than their neighbours",
    )


def _standard(rest: Any, chosen: Any, counts: Any) -> float:
    """Divide the sum of the chosen rests by its standard error."""
    # Weight of every count in the sum: one for its own rest, less what it lends its neighbours' expectation.
    own = chosen.astype(float)
    weight = np.zeros(counts.size)
    weight[2:-2] += own
    weight[1:-3] -= own * 4 / 6
    weight[3:-1] -= own * 4 / 6
    weight[:-4] += own / 6
    weight[4:] += own / 6
    error = float(np.sqrt((weight**2 * counts).sum()))
    return float(rest[chosen].sum()) / error if error > 0 else 0.0


def _overdispersion(rest: Any, classes: Any, counts: Any, m: int) -> float:
    return float(np.mean([_standard(rest, classes == c, counts) ** 2 for c in range(m)]))


def piled_end(y: Any, step: float, bound: float | None) -> Doubt | None:
    """Test whether readings pile up at the smallest or largest of them.

    Parameters
    ----------
    y : numpy.ndarray of float, shape (n,)
    step : float
    bound : float or None
        Physical bound; readings may pile up there, and at nought.

    Returns
    -------
    Doubt or None
    """
    from scipy.special import bdtrc

    if step <= 0 or y.size < 30:
        return None
    best, text = 1.0, ""
    for sign, word in ((1, "smallest"), (-1, "largest")):
        whole = np.round(sign * y / step)
        end = float(whole.min())
        value = sign * end * step
        if abs(value) < step / 2 or (bound is not None and abs(value - bound) < step):
            continue
        here = int((whole == end).sum())
        # Where hardly anything else is left the values are a few kinds, not a distribution cut off.
        if here > 0.4 * y.size:
            continue
        near = sum(int((whole == end + k).sum()) for k in (1, 2, 3))
        p = float(bdtrc(here - 1, here + near, RISE / (3 + RISE)))
        if p < best:
            best, text = (
                p,
                f"the {word} reading {value:.6g} stands {here} times, the three places next to it {near} times together",
            )
    return Doubt("piled-up end", min(2 * best, 1.0), text) if text else None


def few_repeats(y: Any, step: float) -> Doubt | None:
    """Test whether neighbours are equal less often than by chance.

    Parameters
    ----------
    y : numpy.ndarray of float, shape (n,)
        In the order recorded.
    step : float

    Returns
    -------
    Doubt or None
        None where chance would hardly make any.
    """
    from scipy.special import pdtr

    if step <= 0 or y.size < 50:
        return None
    whole = np.round(y / step)
    counts = np.unique(whole, return_counts=True)[1].astype(float)
    expected = float((counts * (counts - 1)).sum()) / y.size
    if expected < 5:
        return None
    equal = int((whole[1:] == whole[:-1]).sum())
    # Streams that nobody named alternate: then equal readings are more rows from each other, and more frequent.
    further = max(int((whole[lag:] == whole[:-lag]).sum()) for lag in range(2, 13))
    if further > 1.25 * expected + 2.5 * np.sqrt(expected):
        return None
    return Doubt(
        "too few repeats",
        float(pdtr(equal, LEAST * expected)),
        f"{equal} neighbours are equal where chance makes {expected:.0f}",
    )


def too_regular(y: Any, step: float) -> Doubt | None:
    """Test whether readings lie closer to a normal distribution than chance brings normal readings.

    Parameters
    ----------
    y : numpy.ndarray of float, shape (n,)
    step : float

    Returns
    -------
    Doubt or None
        None where readings are too coarse or too few.

    Examples
    --------
    >>> import numpy as np
    >>> from scipy.special import ndtri
    >>> too_regular(ndtri((np.arange(200) + 0.5) / 200), 0.0).p < 1e-6
    True
    """
    from scipy.special import log_ndtr

    n, sd = y.size, float(y.std(ddof=1)) if y.size > 1 else 0.0
    if n < _EVEN or sd < _FINE * step or sd == 0:
        return None
    z = np.sort((y - y.mean()) / sd)
    odd = 2 * np.arange(1, n + 1) - 1
    a = float(-n - (odd * (log_ndtr(z) + log_ndtr(-z[::-1]))).mean())
    return Doubt(
        "readings too regular",
        float(np.exp(min(3.9 - 1.08 / max(a, 1e-3), 0.0))),
        f"their distance from the normal distribution (Anderson and Darling) is {a:.2g}, where that of {n:,} normal readings is hardly ever "
        "below 0.1: as of numbers worked out from the distribution itself",
    )
