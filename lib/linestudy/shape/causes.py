"""What besides the distribution itself makes tests of normality reject."""

from __future__ import annotations

import math
import warnings
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from linestudy.numerics import generator
from linestudy.numerics.samples import mean_and_sd
from linestudy.shape.fitting import smallest_step
from linestudy.shape.normality import NormalityTest

_LEVEL = 0.05


def causes_of_rejection(
    values: ArrayLike,
    tested: ArrayLike,
    tests: tuple[NormalityTest, ...],
    lag1: float | None,
    second_component: bool,
    seed: int | None = None,
) -> list[str]:
    """Name what besides the distribution makes tests of normality reject.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        All values, in production order.
    tested : array_like of float, shape (m,)
        The values that were tested, in production order.
    tests : tuple of NormalityTest
        What the tests said.
    lag1 : float or None
        Correlation of neighbouring values among all.
    second_component : bool
        Whether two normal components describe the values far better than one.
    seed : int, optional
        Of the spreading of readings over their steps.

    Returns
    -------
    list of str
        One sentence for each cause.

    Notes
    -----
    Each cause is tried, not guessed: rounding by spreading the readings evenly over their steps and
    testing again (several times, the middle p counts); a stray value by leaving it out; copied readings
    by counting repeats against what the resolution explains; serial correlation by the tested values'
    own; a mixture by the likelihood of two components. A cause that is found is a reason to repair the
    data, not to choose another family.

    Examples
    --------
    >>> import numpy as np
    >>> from linestudy.shape import normality_tests
    >>> y = np.random.default_rng(1).normal(0, 1, 250).round()
    >>> causes_of_rejection(y, y, normality_tests(y), None, False, 1)[0][:38]
    'Rounding is why normality is rejected:'
    """
    y = np.asarray(tested, dtype=float)
    _, sd = mean_and_sd(y)
    rejected = any(test.p < _LEVEL for test in tests)
    step = smallest_step(values)
    notes = _rounding(y, sd, step, rejected, seed)
    if rejected:
        notes += _stray(y)
    notes += _copies(np.asarray(values, dtype=float), step)
    notes += _serial(y, lag1)
    if second_component:
        notes.append("Two overlapping components describe the values far better than one normal.")
    return notes


def _p(values: Any) -> float:
    from statsmodels.stats.diagnostic import normal_ad

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        p = float(normal_ad(values)[1])
    return p if math.isfinite(p) else 0.0


def _rounding(y: Any, sd: float, step: float, rejected: bool, seed: int | None) -> list[str]:
    if step <= 0 or sd <= 0:
        return []
    share = step / sd
    if rejected and share > 0.1 and _p(y) < _LEVEL:
        rng = generator(seed, "rounding")
        spread = [_p(y + rng.uniform(-step / 2, step / 2, y.size)) for _ in range(9)]
        if float(np.median(spread)) >= _LEVEL:
            return [
                f"Rounding is why normality is rejected: readings come in steps of {step:g}, {share:.2f} "
                "standard deviations, and the same readings spread evenly over their steps pass."
            ]
    if share > 0.3:
        return [
            f"Readings come in steps of {step:g}, {share:.2f} standard deviations: so coarse a "
            "resolution alone makes normality tests reject."
        ]
    return []


def _stray(y: Any) -> list[str]:
    if y.size < 20 or _p(y) >= _LEVEL:
        return []
    far = int(np.argmax(np.abs(y - np.median(y))))
    if _p(np.delete(y, far)) < _LEVEL:
        return []
    return [f"One value, {y[far]:g}, is why normality is rejected; without it the others pass."]


def _copies(values: Any, step: float) -> list[str]:
    """Neighbours that are equal far more often than independent readings in steps would be."""
    if values.size < 50 or step <= 0:
        return []
    _, counts = np.unique(values, return_counts=True)
    expected = float(((counts / values.size) ** 2).sum()) * (values.size - 1)
    seen = int((np.diff(values) == 0).sum())
    if seen < 10 or seen < 2 * expected or seen < 0.02 * values.size:
        return []
    return [
        f"{seen:,} of {values.size - 1:,} values equal the one before, where {expected:,.0f} would by "
        "chance: readings may be copies, or the gauge held its value."
    ]


def _serial(y: Any, lag1: float | None) -> list[str]:
    notes = []
    if lag1 is not None and abs(lag1) > 0.2:
        notes.append(
            f"Neighbouring values correlate ({lag1:.2f}); tests were made on values spread over the run."
        )
    d = y - y.mean()
    total = float(d @ d)
    own = float(d[1:] @ d[:-1]) / total if total > 0 else 0.0
    if y.size >= 50 and own > 3 / math.sqrt(y.size):
        notes.append(
            f"The tested values themselves still correlate ({own:.2f}): tests of normality then reject "
            "too often, because fewer values are independent than they count."
        )
    return notes
