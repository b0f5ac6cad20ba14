"""The process before sorting, from parts that were sorted at their limits."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import ClassVar

import numpy as np
from numpy.typing import ArrayLike

from linestudy.capability.quantile_movement import index_sides, quantile_index
from linestudy.capability.sorting.truncated_likelihood import Index, TruncatedFit, range_of
from linestudy.gauges.budget.risk_study import per_million
from linestudy.numerics.arrays import FloatArray
from linestudy.numerics.samples import mean_and_sd
from linestudy.results import CannotJudge, Finding, Interval, arguments, data_arguments, show
from linestudy.results.declared import Declaration
from linestudy.results.tables import Quantity, Rows
from linestudy.running.deprecation import old_keywords, renamed
from linestudy.shape.families import FAMILIES
from linestudy.shape.fitting import FittedDistribution

#: Share of readings outside, of those near a limit, below which the edge is called a cut.
_OUTSIDE = 0.2
_ALARM = 1e-4


@dataclass(frozen=True, slots=True)
class RunnerUp:
    """The next best family for the process before sorting.

    Attributes
    ----------
    family : str
        Its name.
    Ppk : float
        Performance index of the process before sorting by this family.
    rejected : float
        Share of all parts that it makes outside the limits.
    aicc_behind : float
        How far its AICc lies above that of the best family.
    """

    family: str
    Ppk: float
    rejected: float
    aicc_behind: float


@dataclass(frozen=True)
class TruncatedStudy(Finding):
    """The process before its nonconforming parts were sorted out.

    Attributes
    ----------
    n : int
        Sorted values.
    evidence : str
        How it is known that they were sorted.
    family : str
        Distribution of the process before sorting.
    parameters : dict of str to float
        Its parameters by name.
    Ppk : Interval
        Performance index of the process before sorting.
    naive_Ppk : float
        What the sorted values would have given by their own mean and standard deviation.
    rejected : Interval
        Share of all parts that the process makes outside the limits it was sorted at.
    observed : Interval or None
        Share rejected, from the bins.
    agrees_with_bins : bool or None
        Whether these two intervals meet.
    sorting_error_sd : float
        [unit of the values] Standard deviation of the error between sorting and recording; 0 for a hard edge.
    runner_up : RunnerUp or None
        The next best family.
    lower, upper : float or None
        [unit of the values] Limits at which parts were sorted.
    unit : str
        Unit of the values.
    values : (numpy.ndarray, numpy.ndarray)
        Distinct values and how often each occurs; not recorded.
    density : callable
        Density of the process before sorting; not recorded.
    """

    n: int
    evidence: str
    family: str
    parameters: dict[str, float]
    Ppk: Interval
    naive_Ppk: float
    rejected: Interval
    observed: Interval | None
    agrees_with_bins: bool | None
    sorting_error_sd: float
    runner_up: RunnerUp | None
    lower: float | None
    upper: float | None
    unit: str
    cautions: tuple[str, ...]
    values: tuple[FloatArray, FloatArray] = field(repr=False, compare=False)
    density: Callable[[FloatArray], FloatArray] = field(repr=False, compare=False)
    title: ClassVar[str] = "The process before sorting"
    picture: ClassVar[str] = "sorting:truncated_distribution"

    @property
    def statement(self) -> str:
        text = (
            f"These parts were sorted. Before sorting the process has Ppk = {show(self.Ppk)} "
            f"({self.family} distribution) and makes {per_million(self.rejected)} parts per million that "
            f"are taken out; the sorted parts alone would have looked like Ppk {self.naive_Ppk:.2f}."
        )
        if self.observed is None:
            return text
        verb = "agrees" if self.agrees_with_bins else "does not agree"
        return (
            f"{text} That {verb} with the bins, which hold {per_million(self.observed)} rejected."
        )

    def _rows(self) -> Rows:
        rows = [
            Quantity("Ppk before sorting", self.Ppk),
            Quantity("Ppk of the sorted parts, not to be used", self.naive_Ppk),
            Quantity("taken out", self.rejected.times(1e6), "ppm"),
        ]
        if self.observed is not None:
            rows.append(Quantity("rejected according to the bins", self.observed.times(1e6), "ppm"))
        if self.runner_up is not None:
            name = f"Ppk by the {self.runner_up.family} distribution"
            rows.append(Quantity(name, self.runner_up.Ppk))
        return rows


BEFORE_SORTING = Declaration(
    "capability.before_sorting",
    TruncatedStudy,
    "Before sorting",
    part="characteristic",
    question="fit",
    order=20,
)


def truncation_points(
    values: ArrayLike,
    lower: float | None = None,
    upper: float | None = None,
    *,
    bound: float | None = None,
) -> dict[str, float]:
    r"""Find the limits at which values look cut off.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        Readings in any unit, at least ten.
    lower, upper : float, optional
        Limits in the unit of the values.
    bound : float, optional
        Physical bound; a limit there is no cut, for nothing lies beyond it anyway.

    Returns
    -------
    dict of str to float
        ``lower`` and ``upper``, as far as values are cut there, with the p-value of so few values outside.

    Raises
    ------
    CannotJudge
        Fewer than ten values, or values that are missing.
    ValueError, TypeError
        Limits that are not in order, a table, or an array of other than one dimension.

    See Also
    --------
    truncated_capability : The process before sorting.

    Notes
    -----
    A cut is recognised where readings stand thick just inside a limit and none just outside: a binomial test

    .. math:: P\{\mathrm{Bin}(n_\mathrm{in} + n_\mathrm{out}, 0.2) \le n_\mathrm{out}\} < 10^{-4}

    within a quarter of a standard deviation on either side, against one in five outside, which is less
    than any smooth tail near the limits has. Misleads where a process really ends there, as a
    magnitude does at its bound.

    References
    ----------
    Common practice, no source, for the share and the level.

    Examples
    --------
    >>> import numpy as np
    >>> x = np.random.default_rng(1).normal(0, 1, 2000)
    >>> sorted(truncation_points(x[np.abs(x) < 1.5], -1.5, 1.5)), truncation_points(x, -1.5, 1.5)
    (['lower', 'upper'], {})
    """
    from scipy.special import bdtr

    x = data_arguments.one_dimensional(values, least=10)
    lower, upper = arguments.limits(lower, upper, needed=False)
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


@old_keywords(
    renamed("softness", "sorting_error_sd", since="0.2.0", removal="0.3.0"),
    renamed("n_effective", "n_eff", since="0.2.0", removal="0.3.0"),
    renamed("because", "evidence", since="0.2.0", removal="0.3.0"),
)
def truncated_capability(
    values: ArrayLike,
    lower: float | None = None,
    upper: float | None = None,
    *,
    families: Sequence[str] = ("normal",),
    bound: float | None = None,
    sorting_error_sd: float = 0.0,
    n_eff: float | None = None,
    evidence: str = "Their distribution is cut off at the limits.",
    observed: Interval | None = None,
    confidence: float = 0.95,
    unit: str = "",
) -> TruncatedStudy:
    r"""Estimate the process from parts that were sorted at the limits.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        Of accepted parts only, in any unit; at least thirty.
    lower, upper : float, optional
        Where the parts were cut, in the unit of the values; at least one. The index refers to the same limits.
    families : sequence of str
        Families that may describe the process; the best by AICc is taken.
    bound : float, optional
        Physical bound, for families that begin there.
    sorting_error_sd : float
        Standard deviation of the difference between the sorting reading and the recorded value, in
        their unit; 0 where they are the same.
    n_eff : float, optional
        Effective sample size where values are serially correlated; n when absent.
    evidence : str
        How it is known that the parts are sorted; one sentence.
    observed : Interval, optional
        Share of rejected parts from the bins.
    confidence : float
        Of the two-sided intervals, between 0 and 1.
    unit : str
        Unit of the values, for texts and pictures.

    Returns
    -------
    TruncatedStudy
        Ppk and rejected share of the process before sorting.

    Raises
    ------
    CannotJudge
        Fewer than thirty values, values beyond a hard edge, or no family whose
        likelihood has a maximum.
    ValueError, TypeError
        No limit, limits that are not in order, an unknown family, a table, or an array of other than
        one dimension.

    See Also
    --------
    truncation_points : Were the parts sorted at all.
    process_capability : For parts that were not sorted.

    Notes
    -----
    Model: the process makes values of density f; parts whose reading lay outside the limits were taken
    out before these values were seen. What is left has the density

    .. math:: \frac{f(x)\, A(x)}{\int f(t)\, A(t)\, dt},

    where A is the chance of being accepted: one inside the limits and zero outside where the sorting
    reading is the recorded one, and softened by a normal error where another reading is recorded than
    the one that sorted. The family is fitted to that density by maximum likelihood; the interval of the
    index is the range it takes over the parameters whose likelihood lies within the chi-square quantile
    of the best, with the effective sample size. Misleads because what was cut off was never seen: the
    tails are the family's word alone; families that fit the remaining middle alike may differ widely
    beyond the limits, which is why the next best one is shown; little cut off means little to learn
    from, much cut off means wide intervals.

    References
    ----------
    Cohen, *Truncated and Censored Samples* (1991), ch. 2 and 3; Venzon & Moolgavkar, *Applied
    Statistics* 37 (1988), 87-94.

    Examples
    --------
    >>> import numpy as np
    >>> x = np.random.default_rng(1).normal(10, 1, 4000)
    >>> study = truncated_capability(x[np.abs(x - 10) < 1.5], 8.5, 11.5)
    >>> print(f"{study.Ppk}, not {study.naive_Ppk:.2f}")
    0.492 (0.459 to 0.524), not 0.67
    """
    y = data_arguments.one_dimensional(values, least=30)
    lower, upper = arguments.limits(lower, upper)
    arguments.number("sorting_error_sd", sorting_error_sd, least=0)
    arguments.share("confidence", confidence)
    for name in families:
        arguments.one_of("families", name, FAMILIES)
    if n_eff is not None:
        arguments.number("n_eff", n_eff, above=0)
    if sorting_error_sd == 0 and (
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
            problems.append(
                TruncatedFit(x, counts.astype(float), name, bound, lower, upper, sorting_error_sd)
            )
        except CannotJudge as why:
            failed.append(why.reason)
    if not problems:
        raise CannotJudge(" ".join(dict.fromkeys(failed)))
    problems.sort(key=lambda problem: problem.aicc)
    best = problems[0]
    n = int(y.size)
    effective = min(n_eff or n, n) / n

    def ppk(item: FittedDistribution) -> float:
        return quantile_index(item, lower, upper)[1]

    def taken_out(item: FittedDistribution) -> float:
        return math.log(max(1 - best.accepted(item), 1e-300))

    def towards(side: int) -> Index:
        return lambda item: index_sides(item, lower, upper)[side]

    sides = [towards(side) for side in range(2 - (lower, upper).count(None))]
    index = range_of(best, sides, effective, confidence)
    out = range_of(best, [taken_out], effective, confidence).mapped(math.exp)
    mean, sd = mean_and_sd(y)
    distances = [
        (limit - mean) * sign for limit, sign in ((upper, 1), (lower, -1)) if limit is not None
    ]
    second = problems[1] if len(problems) > 1 else None
    rival = None
    if second is not None:
        rival = RunnerUp(
            family=second.fitted.family,
            Ppk=ppk(second.fitted),
            rejected=1 - second.accepted(second.fitted),
            aicc_behind=second.aicc - best.aicc,
        )
    return TruncatedStudy(
        n=n,
        evidence=evidence,
        family=best.fitted.family,
        parameters=best.fitted.parameters,
        Ppk=index,
        naive_Ppk=float(min(distances) / (3 * sd)),
        rejected=out,
        observed=observed,
        agrees_with_bins=None
        if observed is None
        else out.low <= observed.high and observed.low <= out.high,
        sorting_error_sd=sorting_error_sd,
        runner_up=rival,
        lower=lower,
        upper=upper,
        unit=unit,
        cautions=_cautions(out, rival, index, observed),
        values=(x, counts.astype(float)),
        density=best.fitted.pdf,
    )


def _cautions(
    out: Interval, rival: RunnerUp | None, index: Interval, observed: Interval | None
) -> tuple[str, ...]:
    notes = [
        "What was cut off was never seen: beyond the limits the estimate is the family's word alone."
    ]
    if out.estimate > 0.2:
        notes.append(
            f"{out.estimate:.0%} of the parts were taken out; so much sorting leaves little to learn from."
        )
    # Ten is where Burnham & Anderson (2002, 2.6) call the support of the worse model none.
    if rival is not None and rival.aicc_behind < 10 and rival.Ppk not in index:
        notes.append(
            f"A {rival.family} distribution fits the remaining parts nearly as well and gives Ppk "
            f"{rival.Ppk:.2f}, outside the interval: the choice of family matters here."
        )
    if observed is None:
        notes.append(
            "Give the bin counts, and the share taken out can be held against what was rejected."
        )
    return tuple(notes)
