"""What a reader must know of a choice: why tests of normality reject, and how sure the family is."""

from __future__ import annotations

import math
import warnings
from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import stdtr

from linestudy.numerics import generator
from linestudy.numerics.samples import mean_and_sd
from linestudy.results import Absent, show_ppm
from linestudy.results.rounding import as_given
from linestudy.shape.fitting import FittedDistribution, smallest_step
from linestudy.shape.normality import NormalityTest

_LEVEL = 0.05
#: p of a value against the others below which it, and not the shape of all, is taken for the cause (common practice, no source).
_FAR = 0.01
#: Differences of the outer quantiles, relative to the half spread, that are no longer small (common practice, no source).
TAIL = 0.10
#: Families whose ends a few hundred values hardly know (the proof measures it).
FOUR_PARAMETERS = ("Johnson S_U", "Johnson S_B")


def causes_of_rejection(
    values: ArrayLike,
    tested: ArrayLike,
    tests: tuple[NormalityTest, ...],
    lag1: float | None,
    second_component: bool,
    seed: int | None = None,
    unit: str = "",
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
    unit : str, optional
        Unit of the values.

    Returns
    -------
    list of str
        One sentence for each cause.

    Notes
    -----
    Each cause is tried, not guessed: rounding by spreading the readings evenly over their steps and
    testing again (several times, the middle p counts); a stray value by leaving it out, where it lies
    far from the others (Grubbs); copied readings
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
        notes += _stray(y, unit)
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
                f"Rounding is why normality is rejected: readings come in steps of {as_given(step)}, {share:.2f} "
                "standard deviations, and the same readings spread evenly over their steps pass."
            ]
    if share > 0.3:
        return [
            f"Readings come in steps of {as_given(step)}, {share:.2f} standard deviations: so coarse a "
            "resolution alone makes normality tests reject."
        ]
    return []


def _stray(y: Any, unit: str) -> list[str]:
    if y.size < 20 or _p(y) >= _LEVEL:
        return []
    far = int(np.argmax(np.abs(y - np.median(y))))
    others = np.delete(y, far)
    if _p(others) < _LEVEL or _outlying(y[far], others) >= _FAR:
        return []
    value = f"{as_given(y[far])} {unit}".rstrip()
    return [f"One value, {value}, is why normality is rejected; without it the others pass."]


def _outlying(value: float, others: Any) -> float:
    """Bound the p of a value against the others by Bonferroni, as in Grubbs's test for one outlier (ISO 16269-4).

    Of any sample that is barely rejected some value is the farthest, and leaving it out lets the others pass: in
    2 % of normal samples and up to 14 % of skewed ones (1,000 samples each of 30, 100 and 250 values). With
    this bound below 0.01 it is 0.4 % and 4 %, and of the values five to eight standard deviations off none is lost.
    """
    n = others.size + 1
    t = abs(value - others.mean()) / others.std(ddof=1) * math.sqrt((n - 1) / n)
    return float(2 * n * stdtr(n - 2, -t))


def _copies(values: Any, step: float) -> list[str]:
    """Find neighbours that are equal far more often than independent readings in steps would be."""
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


def expected_ppm(
    item: FittedDistribution, lower: float | None, upper: float | None
) -> float | Absent:
    """Compute the parts per million that a distribution expects outside the limits."""
    if lower is None and upper is None:
        return Absent("no limits were given")
    share = 0.0 if lower is None else float(item.cdf(lower))
    return 1e6 * (share + (0.0 if upper is None else float(item.sf(upper))))


def size_of_departure(
    fits: dict[str, FittedDistribution],
    measured: dict[str, tuple[float, float, float]],
    chosen: str,
    tests: tuple[NormalityTest, ...],
    lower: float | None,
    upper: float | None,
) -> list[str]:
    """Say how far from normal the values are, where a test says that they are not normal."""
    rejected = [test.test for test in tests if test.p < 0.05]
    if not rejected or "normal" not in fits:
        return []
    distance, tail, _ = measured["normal"]
    text = (
        f"Tests reject the normal distribution ({', '.join(rejected)}); it differs from the values by "
        f"{distance:.1%} in any share of parts and by {tail:.0%} of the half spread in the outer quantiles"
    )
    own, normal = (
        expected_ppm(fits[chosen], lower, upper),
        expected_ppm(fits["normal"], lower, upper),
    )
    if chosen != "normal" and not isinstance(own, Absent) and not isinstance(normal, Absent):
        text += f"; it would expect {show_ppm(normal)} ppm outside the limits, the chosen one {show_ppm(own)}"
    return [text + "."]


def doubt_between_families(
    plausible: list[FittedDistribution], lower: float | None, upper: float | None
) -> list[str]:
    if len(plausible) < 2:
        return []
    names = ", ".join(item.family for item in plausible[1:])
    text = f"The values do not tell the chosen distribution from: {names}"
    rates = [
        v for item in plausible if not isinstance(v := expected_ppm(item, lower, upper), Absent)
    ]
    if rates:
        text += f"; outside the limits they expect from {show_ppm(min(rates))} to {show_ppm(max(rates))} ppm"
    return [text + "."]


def few_values_for_four(chosen: str, known: float) -> list[str]:
    """Say so where a family of four parameters rests on few values."""
    if chosen not in FOUR_PARAMETERS or known >= 500:
        return []
    return [
        f"A {chosen} distribution has four parameters, and {known:,.0f} values know its ends poorly: in "
        "simulated studies intervals of its outer quantiles held the truth in 83 to 96 % where 95 % is claimed."
    ]


def of_values(
    y: Any, x: Any, tested: Any, measured: tuple[float, float, float], best: FittedDistribution
) -> list[str]:
    notes = []
    if y.size < 100:
        notes.append(
            f"{y.size} values say little about the outer quantiles, which are extrapolated by the family."
        )
    if y.size > tested.size:
        notes.append(f"Tests were made on {tested.size} values spread evenly over the {y.size:,}.")
    if measured[1] > TAIL and y.size >= 1500:
        notes.append(
            f"The outer quantiles of the chosen distribution differ from those of the values by "
            f"{measured[1]:.0%} of the half spread."
        )
    middle, spread = np.median(y), np.subtract(*np.quantile(y, [0.75, 0.25]))
    far = float(np.abs(y - middle).max())
    if spread > 0 and far > 15 * spread:
        notes.append(
            "One value lies very far from the others; look at it before believing any index."
        )
    if x.size < 8:
        notes.append(
            f"The readings take {x.size} different values only; the resolution is too coarse."
        )
    return notes
