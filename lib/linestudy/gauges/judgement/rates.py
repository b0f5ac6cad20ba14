"""Rates of wrong judgements and agreement, with intervals by part that never have zero width.

The part is the unit. A rate over judgements of several parts has the interval of a share counted in
clusters (`numerics.shares.clustered_share`); a part is always judged right or not, so effectiveness is a
share of parts.

Kappa against the reference is, at the part mix of the study (share b of judgements on bad parts, g = 1 - b
on good ones), a function of the miss rate m and the false alarm rate f that falls in both:

    kappa = 2 b g (1 - m - f) / (g - (g - b) (b m + g (1 - f)))

so its interval follows from theirs by recovering variances on either side (MOVER: Zou & Donner,
*Statistics in Medicine* 27 (2008), 1693-1702). Kappa between two people is one less the share of
disagreement over that expected by chance; disagreement is a mean over parts and has an interval by
part, chance is taken as the study's mix makes it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.numerics.shares import clustered_share, share_interval
from linestudy.results import Absent, Interval

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class JudgementRates:
    """Three rates of one appraiser, or of all together.

    Attributes
    ----------
    effectiveness : Interval or Absent
        Share of parts always judged right.
    miss : Interval or Absent
        Share of judgements of bad parts that accept.
    false_alarm : Interval or Absent
        Share of judgements of good parts that reject.
    """

    effectiveness: Interval | Absent
    miss: Interval | Absent
    false_alarm: Interval | Absent


@dataclass(frozen=True, slots=True)
class WorstRates:
    """Rates of the worst appraiser, with every missing judgement counted as wrong.

    Attributes
    ----------
    effectiveness : float or None
        Share of parts always judged right; None without a reference.
    miss, false_alarm : float or None
        Shares of judgements, of bad and of good parts; None where no part is of that kind.
    """

    effectiveness: float | None = None
    miss: float | None = None
    false_alarm: float | None = None


def rates_at_worst(table: pd.DataFrame) -> WorstRates | None:
    """Count every judgement that is missing as wrong.

    As often as an appraiser judged most of the parts is taken as what was asked of every part; a part that
    an appraiser never judged is missing that often.

    Parameters
    ----------
    table : pandas.DataFrame
        Columns ``part``, ``appraiser``, ``judgement`` and ``reference``.

    Returns
    -------
    WorstRates or None
        None where there is no reference or nothing is missing.

    Examples
    --------
    >>> import pandas as pd
    >>> table = pd.DataFrame({"part": [1, 1, 2], "appraiser": "A",
    ...     "judgement": [True, True, False], "reference": [True, True, False]})
    >>> rates_at_worst(table).miss
    0.5
    """
    if "reference" not in table:
        return None
    good = table.groupby("part")["reference"].first().astype(bool)
    judged = table.groupby(["part", "appraiser"]).size().unstack(fill_value=0)
    wrong = (table["judgement"] != table["reference"]).groupby([table["part"], table["appraiser"]])
    errors = wrong.sum().unstack(fill_value=0).reindex(good.index).fillna(0)
    asked = judged.apply(asked_for)
    missing = (asked - judged.reindex(good.index)).clip(lower=0)
    if not missing.to_numpy().any():
        return None
    off = errors + missing

    def worst(which: Any) -> float | None:
        # More judgements than were asked for count as they are.
        whole = (judged + missing)[which].sum()
        return float((off[which].sum() / whole).max()) if which.any() else None

    return WorstRates(float((off == 0).mean().min()), worst(~good), worst(good))


def asked_for(counts: Any) -> int:
    """Find how often parts were to be judged: as often as most of them were, of a tie the larger number.

    Parameters
    ----------
    counts : array_like of int, shape (n,)
        Judgements of each part; parts without any say nothing of it.

    Returns
    -------
    int

    Examples
    --------
    >>> asked_for([3, 3, 2, 0, 6])
    3
    """
    seen = np.bincount(np.asarray(counts, dtype=int))
    seen[0] = 0
    return int(seen.size - 1 - seen[::-1].argmax())


def rates_by_part(own: pd.DataFrame, confidence: float) -> JudgementRates:
    """Count the rates of the judgements in a table.

    Parameters
    ----------
    own : pandas.DataFrame
        Columns ``part``, ``judgement`` and, where known, ``reference``.
    confidence : float
        Of the intervals.

    Returns
    -------
    JudgementRates
        Absent where there is no reference or no part of a kind.

    Examples
    --------
    >>> import pandas as pd
    >>> table = pd.DataFrame({"part": [1, 1, 2, 2], "judgement": [True, True, False, True],
    ...     "reference": [True, True, False, False]})
    >>> rates_by_part(table, 0.95).miss.estimate
    0.5
    """
    if "reference" not in own:
        absent = Absent("no reference was given")
        return JudgementRates(absent, absent, absent)
    wrong = (own["judgement"] != own["reference"]).groupby(own["part"]).agg(["sum", "size"])
    good = own.groupby("part")["reference"].first().astype(bool)

    def rate(which: Any, kind: str) -> Interval | Absent:
        rows = wrong[which.to_numpy()]
        if not len(rows):
            return Absent(f"no {kind} part was in the study")
        return clustered_share(rows["sum"], rows["size"], confidence)

    return JudgementRates(
        share_interval(int((wrong["sum"] == 0).sum()), len(wrong), confidence),
        rate(~good, "bad"),
        rate(good, "good"),
    )


def kappa_of_rates(rates: JudgementRates, own: pd.DataFrame) -> Interval | Absent:
    """Compute Cohen's kappa against the reference, from the rates of the same judgements.

    Parameters
    ----------
    rates : JudgementRates
        Of the judgements.
    own : pandas.DataFrame
        The judgements with their reference.

    Returns
    -------
    Interval or Absent
        Absent where all parts are of one kind.
    """
    m, f = rates.miss, rates.false_alarm
    if "reference" not in own:
        return Absent("no reference was given")
    if isinstance(m, Absent) or isinstance(f, Absent):
        return Absent("the reference is the same for all parts, so chance explains any agreement")
    b = 1 - float(own["reference"].mean())

    def kappa(miss: float, false_alarm: float) -> float:
        g = 1 - b
        spread = g - (g - b) * (b * miss + g * (1 - false_alarm))
        value = 2 * b * g * (1 - miss - false_alarm) / spread
        return min(max(value, -1.0), 1.0)

    value = kappa(m.estimate, f.estimate)
    down = math.hypot(value - kappa(m.high, f.estimate), value - kappa(m.estimate, f.high))
    up = math.hypot(kappa(m.low, f.estimate) - value, kappa(m.estimate, f.low) - value)
    return Interval(
        value,
        max(value - down, -1.0),
        min(value + up, 1.0),
        m.confidence,
        "recovered from the rates by part",
    )


def agreement_of_two(
    pairs: Sequence[np.ndarray[Any, np.dtype[np.float64]]], confidence: float
) -> Interval | Absent:
    """Compute kappa between people: Conger's over several pairs, Cohen's over one.

    Parameters
    ----------
    pairs : sequence of numpy.ndarray of float, shape (parts, 2)
        For every two people the share of judgements of each part that accept; NaN where one did
        not judge it.
    confidence : float
        Of the interval.

    Returns
    -------
    Interval or Absent
        Absent where no part was judged by two, or all judgements are the same.

    Examples
    --------
    >>> import numpy as np
    >>> shares = np.array([[1.0, 1.0], [1.0, 0.0], [0.0, 0.0], [0.0, 0.0]])
    >>> agreement_of_two([shares], 0.95).estimate
    0.5
    """
    parts = pairs[0].shape[0]
    disagreement, counts, chance, weight = np.zeros(parts), np.zeros(parts), 0.0, 0
    for shares in pairs:
        both = np.isfinite(shares).all(axis=1)
        if not both.any():
            continue
        a, b = shares[both].T
        disagreement[both] += a * (1 - b) + b * (1 - a)
        counts[both] += 1
        first, second = float(a.mean()), float(b.mean())
        chance += float(both.sum()) * (first * (1 - second) + second * (1 - first))
        weight += int(both.sum())
    judged = counts > 0
    if judged.sum() < 2:
        return Absent("no two parts were judged by two appraisers")
    expected = chance / weight
    if expected <= 0:
        return Absent("all judgements are the same, so chance explains any agreement")
    found = clustered_share(disagreement[judged], counts[judged], confidence)
    return Interval(
        1 - found.estimate / expected,
        max(1 - found.high / expected, -1.0),
        min(1 - found.low / expected, 1.0),
        confidence,
        "disagreement by part",
    )
