"""How many signals chance alone gives a chart when parts are not normal.

The limits of a Shewhart chart know the mean and the standard deviation only. Where values are skewed or
have heavy tails a process in statistical control leaves such limits several times as often as normal parts would.
What is asked is what these values would signal if their order meant nothing, and that is found by putting
them in random order: a permutation of exchangeable values is as likely as any other (Pitman, *Supplement to
the JRSS* 4 (1937), 119-130). Phases keep their own values. Misleads where the process moves: its values
then hold the movement too, and their shape is not that of parts made at one time.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from linestudy.numerics import generator
from linestudy.stability.summaries import Summaries, summarise

#: What the expected number of signals rests on.
NORMAL_PARTS, RANDOM_ORDER = "normal parts", "the same values in random order"
#: Random orders looked at: the expected number is known to a tenth of its root. Fewer where so many values
#: would take long, for the signals of one order are then many.
_ORDERS, _FEWEST, _VALUES = 100, 4, 2_000_000
#: Level of the test of normality, and fewest values it is asked of.
_LEVEL, _LEAST = 0.01, 20


def differs_from_normal(values: Any) -> bool:
    """Test whether skewness and kurtosis together speak against a normal distribution.

    Parameters
    ----------
    values : numpy.ndarray of float, shape (n,)

    Returns
    -------
    bool
        At a level of 1 % (D'Agostino & Pearson, *Biometrika* 60 (1973), 613-622); False below 20 values.
    """
    from scipy.stats import normaltest

    return values.size >= _LEAST and bool(normaltest(values).pvalue < _LEVEL)


def signals_in_random_order(
    values: Any, sizes: Any, phase: Any, signals: Callable[[Summaries], int]
) -> float:
    """Count the signals that the same values give on average in random order.

    Parameters
    ----------
    values : numpy.ndarray of float, shape (n,)
        Of all subgroups, one behind the other.
    sizes : numpy.ndarray of float, shape (subgroups,)
    phase : numpy.ndarray of int, shape (subgroups,)
        Values change places within their phase only.
    signals : callable
        From the summaries of subgroups to the number of signals.

    Returns
    -------
    float

    Examples
    --------
    >>> import numpy as np
    >>> ones = np.ones(30)
    >>> signals_in_random_order(np.arange(30.0), ones, np.zeros(30, dtype=int), lambda groups: groups.size)
    30.0
    """
    rng = generator(None, "signals by chance")
    counts = sizes.astype(int)
    label = np.repeat(np.arange(counts.size), counts)
    single = bool((counts == 1).all())
    of_phase = [np.flatnonzero(phase[label] == number) for number in np.unique(phase)]
    orders = min(max(_VALUES // values.size, _FEWEST), _ORDERS)
    total = 0
    for _ in range(orders):
        mixed = values.copy()
        for places in of_phase:
            mixed[places] = values[rng.permutation(places)]
        total += signals(summarise(mixed, None if single else label))
    return float(total / orders)
