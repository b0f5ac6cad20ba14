"""Masters whose values were taken from the readings themselves, so that no bias can be seen.

Model of an honest study: n readings of a master err by a bias, which may be nought, and independently of each other. The mean
error of each of k masters, squared and times n, is then on average at least the variance of repetition; their mean over that
variance follows F with k degrees of freedom and those of repetition, or lies above. A value far too small says that the masters lie
where the gauge's own averages lie. Rounding, of readings and of the masters' values, counts with a twelfth of the step's square.

Masters whose readings never differ, read by a gauge that repeats worse than its step on parts, were not read so often: two readings are
equal with a probability of at most the step over 3.5 standard deviations (the density of their difference at nought):
of 21,000 simulated honest studies, repetition of 0.3 to 10 steps, none was suspected.

Misleads where the gauge was set by these very readings: then they show how it was set, and not how it reads.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.results.rounding import as_given
from linestudy.verdict.facts import Doubt
from linestudy.verdict.soundness.reading_doubts import step_of

if TYPE_CHECKING:
    import pandas as pd

#: How many times better a gauge may repeat on masters than on parts, whose form and place count (common practice, no source).
_BETTER = 5.0
#: Masters, and readings of each, from which their values are looked at.
_MASTERS, _READINGS = 3, 2


def values_of_readings(reference: Any, value: Any) -> Doubt | None:
    """Test whether readings of masters lie nearer to the masters' values than they repeat.

    Parameters
    ----------
    reference, value : array_like of float, shape (n,)
        In one unit.

    Returns
    -------
    Doubt or None
        None where fewer than three masters were read twice, or readings never differ.

    Examples
    --------
    >>> import numpy as np
    >>> read = np.random.default_rng(1).normal(np.arange(5)[:, None], 0.1, (5, 12)).round(4)
    >>> values_of_readings(np.arange(5).repeat(12), read.ravel()).p > 0.01
    True
    >>> values_of_readings(read.mean(axis=1).round(4).repeat(12), read.ravel()).p < 1e-6
    True
    """
    known, y = np.asarray(reference, dtype=float), np.asarray(value, dtype=float)
    masters, at = np.unique(known, return_inverse=True)
    n = np.bincount(at)
    if masters.size < _MASTERS or (n < _READINGS).any():
        return None
    mean = np.bincount(at, y - known) / n
    free = y.size - masters.size
    variance = float(((y - known - mean[at]) ** 2).sum()) / free
    if variance <= 0:
        return None
    from scipy.special import fdtr

    step = step_of(y)
    hidden = step**2 / 12
    ratio = (float((n * mean**2).mean()) + hidden) / variance
    return Doubt(
        "masters' values taken from the readings",
        float(fdtr(masters.size, free, ratio)),
        f"{masters.size} masters were read {as_given(float(np.abs(mean).max()), digits=2)} off at most, where readings that repeat with an SD of "
        f"{as_given(np.sqrt(variance), digits=2)} differ by {as_given(np.sqrt(variance / n.mean()), digits=2)} on average",
    )


def never_differ(reference: Any, value: Any, crossed: pd.DataFrame) -> Doubt | None:
    """Test whether readings of masters are always the same although the gauge repeats over many of its steps.

    Parameters
    ----------
    reference, value : array_like of float, shape (n,)
        Of masters.
    crossed : pandas.DataFrame
        The gauge's crossed study: columns part, value, and appraiser and factor where they are known.

    Returns
    -------
    Doubt or None
        None where a master was read twice differently, or the crossed study says nothing of repetition.

    Examples
    --------
    >>> import numpy as np, pandas as pd
    >>> y = np.random.default_rng(1).normal(5, 0.1, 30).round(3)
    >>> crossed = pd.DataFrame({"part": np.arange(10).repeat(3), "value": y})
    >>> never_differ([4.0, 4.0, 5.0, 5.0, 6.0, 6.0], [4.0, 4.0, 5.0, 5.0, 6.0, 6.0], crossed).p < 0.001
    True
    """
    known, y = np.asarray(reference, dtype=float), np.asarray(value, dtype=float)
    masters, at = np.unique(known, return_inverse=True)
    again = y.size - masters.size
    first = np.full(masters.size, np.nan)
    first[at[::-1]] = y[::-1]
    if again < 1 or (y != first[at]).any():
        return None
    cells = [name for name in ("part", "appraiser", "factor") if name in crossed]
    groups = crossed.groupby(cells, sort=False)["value"]
    free = len(crossed) - groups.ngroups
    if free < 1:
        return None
    sd = float(np.sqrt(((crossed["value"] - groups.transform("mean")) ** 2).sum() / free))
    step = step_of(crossed["value"].to_numpy(float))
    equal = min(_BETTER * step / (2 * np.sqrt(np.pi) * sd), 1.0) if sd > 0 else 1.0
    return Doubt(
        "masters' readings that never differ",
        float(equal**again),
        f"{y.size} readings of {masters.size} masters never differ, where those of parts repeat with an SD of {sd:.2g}",
    )
