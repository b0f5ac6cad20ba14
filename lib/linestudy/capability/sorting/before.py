"""The process before sorting, from parts that were sorted.

Model: the process makes values of a family ``f``; parts whose reading lay outside the limits were taken
out before these values were seen. What is left has the density ``f(x) A(x) / Z``, where ``A`` is the
chance of being accepted: one inside the limits and zero outside where the sorting reading is the recorded one,
and softened by a normal error where another reading is recorded than the one that sorted. The family is
fitted to that density by maximum likelihood (Cohen, *Truncated and Censored Samples*, 1991, ch. 2 and 3);
the interval of the index is the range it takes over the parameters whose likelihood lies within the
chi-square quantile of the best (profile likelihood; Venzon & Moolgavkar, *Applied Statistics* 37 (1988)),
with the number of values that the serial correlation leaves.

When it misleads: what was cut off was never seen, so the tails are the family's word alone; families that
fit the remaining middle alike may differ widely beyond the limits, which is why the next best one is
shown; little cut off means little to learn from, much cut off means wide intervals.

A cut is recognised where readings stand thick just inside a limit and none just outside: a
binomial test against one in five outside, which is less than any smooth tail near the limits has within a quarter
of a standard deviation (common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.capability.quantile_movement import index_sides, quantile_index
from linestudy.capability.sorting.cut_likelihood import CutFit, range_of
from linestudy.gauges.budget.risk_study import per_million
from linestudy.numerics.samples import as_sample, mean_and_sd
from linestudy.results import CannotJudge, Finding, Interval, show
from linestudy.results.declared import Declaration
from linestudy.shape import Fitted

if TYPE_CHECKING:
    import pandas as pd

#: Share of readings outside, of those near a limit, below which the edge is called a cut.
_OUTSIDE = 0.2
_ALARM = 1e-4


@dataclass(frozen=True)
class BeforeSorting(Finding):
    """The process before its bad parts were taken out.

    Attributes
    ----------
    n : int
        Sorted values.
    because : str
        Why they are known to be sorted.
    family : str
    parameters : dict of str to float
    Ppk : Interval
        Of the process before sorting.
    naive_Ppk : float
        What the sorted values would have given by their own mean and standard deviation.
    rejected : Interval
        Share of all parts that the process makes outside the cut.
    observed : Interval or None
        Share rejected, from the bins.
    agree : bool or None
        Whether these two intervals meet.
    softness : float
        Standard deviation of the error between sorting and recording; 0 for a hard edge.
    runner_up : dict or None
        ``family, Ppk, rejected`` of the next best family, and how far its AICc lies behind.
    """

    n: int
    because: str
    family: str
    parameters: dict[str, float]
    Ppk: Interval
    naive_Ppk: float
    rejected: Interval
    observed: Interval | None
    agree: bool | None
    softness: float
    runner_up: dict[str, Any] | None
    lower: float | None
    upper: float | None
    unit: str
    cautions: tuple[str, ...]
    values: Any = field(repr=False, compare=False)
    density: Any = field(repr=False, compare=False)
    title: ClassVar[str] = "The process before sorting"
    picture: ClassVar[str] = "sorting:what_was_cut"

    @property
    def statement(self) -> str:
        text = (
            f"These parts were sorted. Before sorting the process has Ppk = {show(self.Ppk)} "
            f"({self.family} distribution) and makes {per_million(self.rejected)} parts per million that "
            f"are taken out; the sorted parts alone would have looked like Ppk {self.naive_Ppk:.2f}."
        )
        if self.observed is None:
            return text
        verb = "agrees" if self.agree else "does not agree"
        return (
            f"{text} That {verb} with the bins, which hold {per_million(self.observed)} rejected."
        )

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        rows = [
            ("Ppk before sorting", show(self.Ppk)),
            ("Ppk of the sorted parts, not to be used", f"{self.naive_Ppk:.3f}"),
            ("taken out, per million", per_million(self.rejected)),
        ]
        if self.observed is not None:
            rows.append(("rejected according to the bins, per million", per_million(self.observed)))
        if self.runner_up is not None:
            rows.append(
                (
                    f"Ppk by the {self.runner_up['family']} distribution",
                    f"{self.runner_up['Ppk']:.3f}",
                )
            )
        return pd.DataFrame(rows, columns=["quantity", "value"])


BEFORE_SORTING = Declaration(
    "capability.before_sorting",
    BeforeSorting,
    "Before sorting",
    part="characteristic",
    question="fit",
    order=20,
)


def cut_at(
    values: Any, lower: float | None, upper: float | None, bound: float | None = None
) -> dict[str, float]:
    """Limits at which values look cut off.

    Parameters
    ----------
    values : array_like of float, shape (n,)
    lower, upper : float or None
    bound : float, optional
        Physical bound; a limit there is no cut, for nothing lies beyond it anyway.

    Returns
    -------
    dict of str to float
        ``lower`` and ``upper``, as far as cut → the binomial p of so few values outside.

    Examples
    --------
    >>> import numpy as np
    >>> x = np.random.default_rng(1).normal(0, 1, 2000)
    >>> sorted(cut_at(x[np.abs(x) < 1.5], -1.5, 1.5)), cut_at(x, -1.5, 1.5)
    (['lower', 'upper'], {})
    """
    from scipy.special import bdtr

    x = as_sample(values, least=10)
    _, sd = mean_and_sd(x)
    found = {}
    for name, limit, outward in (("lower", lower, -1.0), ("upper", upper, 1.0)):
        if limit is None or limit == bound or sd == 0:
            continue
        distance = outward * (x - limit)
        # A reading on the limit itself is accepted.
        inside = int(((distance <= 0) & (distance > -sd / 4)).sum())
        outside = int(((distance > 0) & (distance < sd / 4)).sum())
        p = float(bdtr(outside, inside + outside, _OUTSIDE)) if inside + outside else 1.0
        if p < _ALARM and outside <= inside / 50:
            found[name] = p
    return found


def before_sorting(
    values: Any,
    lower: float | None,
    upper: float | None,
    families: Sequence[str] = ("normal",),
    bound: float | None = None,
    softness: float = 0.0,
    n_effective: float | None = None,
    because: str = "Their distribution is cut off at the limits.",
    observed: Interval | None = None,
    confidence: float = 0.95,
    unit: str = "",
) -> BeforeSorting:
    """Estimate the process from parts that were sorted at the limits.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        Of accepted parts only.
    lower, upper : float or None
        Where the parts were cut; the index refers to the same limits.
    families : sequence of str
        Families that may describe the process; the best by AICc is taken.
    bound : float, optional
        Physical bound, for families that begin there.
    softness : float
        Standard deviation of the difference between the sorting reading and the recorded value, in
        their unit; 0 where they are the same.
    n_effective : float, optional
        What serial correlation leaves of the number of values, for the intervals.
    because : str
        Why the parts are known to be sorted; one sentence.
    observed : Interval, optional
        Share of rejected parts from the bins.
    confidence : float
    unit : str

    Returns
    -------
    BeforeSorting

    Raises
    ------
    CannotJudge
        No limit, fewer than thirty values, values beyond a hard edge, or no family whose
        likelihood has a maximum.

    Examples
    --------
    >>> import numpy as np
    >>> x = np.random.default_rng(1).normal(10, 1, 4000)
    >>> study = before_sorting(x[np.abs(x - 10) < 1.5], 8.5, 11.5)
    >>> abs(study.Ppk.estimate / 0.5 - 1) < 0.1 < study.naive_Ppk / 0.5 - 1
    True
    """
    y = as_sample(values, least=30)
    if lower is None and upper is None:
        raise CannotJudge("Without a limit nothing can have been cut off.")
    if softness == 0 and (
        (lower is not None and y.min() < lower) or (upper is not None and y.max() > upper)
    ):
        raise CannotJudge(
            "Some parts lie outside the limits, so they were not sorted by these readings; say how the sorting "
            "reading differs from the recorded one."
        )
    x, counts = np.unique(y, return_counts=True)
    problems, failed = [], []
    for name in dict.fromkeys(families):
        try:
            problems.append(CutFit(x, counts.astype(float), name, bound, lower, upper, softness))
        except CannotJudge as why:
            failed.append(why.reason)
    if not problems:
        raise CannotJudge(" ".join(dict.fromkeys(failed)))
    problems.sort(key=lambda problem: problem.aicc)
    best = problems[0]
    n = int(y.size)
    worth = min(n_effective or n, n) / n

    def ppk(item: Fitted) -> float:
        return quantile_index(item, lower, upper)[1]

    def taken_out(item: Fitted) -> float:
        return math.log(max(1 - best.accepted(item), 1e-300))

    sides = [
        lambda item, side=side: index_sides(item, lower, upper)[side]  # type: ignore[misc]
        for side in range(2 - (lower, upper).count(None))
    ]
    index = range_of(best, sides, worth, confidence)
    out = range_of(best, [taken_out], worth, confidence).mapped(math.exp)
    mean, sd = mean_and_sd(y)
    room = [(limit - mean) * sign for limit, sign in ((upper, 1), (lower, -1)) if limit is not None]
    second = problems[1] if len(problems) > 1 else None
    rival = None
    if second is not None:
        rival = {
            "family": second.fitted.family,
            "Ppk": ppk(second.fitted),
            "rejected": 1 - second.accepted(second.fitted),
            "aicc_behind": second.aicc - best.aicc,
        }
    return BeforeSorting(
        n=n,
        because=because,
        family=best.fitted.family,
        parameters=best.fitted.parameters,
        Ppk=index,
        naive_Ppk=float(min(room) / (3 * sd)),
        rejected=out,
        observed=observed,
        agree=None if observed is None else out.low <= observed.high and observed.low <= out.high,
        softness=softness,
        runner_up=rival,
        lower=lower,
        upper=upper,
        unit=unit,
        cautions=_cautions(out, rival, index, observed),
        values=(x, counts),
        density=best.fitted.pdf,
    )


def _cautions(
    out: Interval, rival: dict[str, Any] | None, index: Interval, observed: Interval | None
) -> tuple[str, ...]:
    notes = [
        "What was cut off was never seen: beyond the limits the estimate is the family's word alone."
    ]
    if out.estimate > 0.2:
        notes.append(
            f"{out.estimate:.0%} of the parts were taken out; so much sorting leaves little to learn from."
        )
    # Ten is where Burnham & Anderson (2002, 2.6) call the support of the worse model none.
    if rival is not None and rival["aicc_behind"] < 10 and rival["Ppk"] not in index:
        notes.append(
            f"A {rival['family']} distribution fits the remaining parts nearly as well and gives Ppk "
            f"{rival['Ppk']:.2f}, outside the interval: the choice of family matters here."
        )
    if observed is None:
        notes.append(
            "Give the bin counts, and the share taken out can be held against what was rejected."
        )
    return tuple(notes)
