"""The process before sorting, from parts that were sorted at their limits and the count of those taken out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from linestudy.capability.sorting.envelope import Envelope, cells_of, envelope
from linestudy.capability.sorting.likelihood import Sorted
from linestudy.capability.sorting.parent_shapes import Process, processes
from linestudy.capability.sorting.recognition import reading_step
from linestudy.capability.sorting.truncated_study import RunnerUp, TruncatedStudy
from linestudy.numerics.samples import mean_and_sd
from linestudy.numerics.shares import share_interval
from linestudy.results import CannotJudge, Interval, arguments, data_arguments
from linestudy.running.deprecation import old_keywords, renamed

#: Times the chi-square quantile that the likelihood may fall within a family: none of them is true, and an interval
#: of the one that happens to be near is too narrow by itself (measured, proof).
_WIDER = 2.0
#: An interval longer than this says nothing.
_SAYS_NOTHING = 4.0
#: Standard deviations of the sorting's error that are tried where it is not known, in those of the readings.
_ERRORS = (0.05, 0.1, 0.2, 0.4)
_SOFT = (
    "Student's t",
    "gamma with threshold",
    "lognormal with threshold",
    "Weibull with threshold",
)


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
    rejected_count: int | None = None,
    accepted_count: int | None = None,
    counted_alone: bool = True,
    families: Sequence[str] | None = None,
    bound: float | None = None,
    sorting_error_sd: float | None = 0.0,
    n_eff: float | None = None,
    evidence: str = "Their distribution is cut off at the limits.",
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
    rejected_count : int, optional
        Parts counted as rejected, in bins or in the log.
    accepted_count : int, optional
        Parts counted as accepted beside them; as many as there are values when absent.
    counted_alone : bool
        Whether all of them were rejected for this characteristic. If not, at most so many were.
    families : sequence of str, optional
        The only families that may describe the process, by names of `processes`; all of them when absent.
    bound : float, optional
        Physical bound, for families that begin there.
    sorting_error_sd : float or None
        Standard deviation of the difference between the sorting reading and the recorded value, in
        their unit; 0 where they are the same, None where they differ by an unknown error, which is then
        estimated and needs the count.
    n_eff : float, optional
        Effective sample size where values are serially correlated; n when absent.
    evidence : str
        How it is known that the parts are sorted; one sentence.
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
        Fewer than thirty values, values beyond a hard edge, no family that fits, or families that fit and
        differ so much that an interval would say nothing.
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

    .. math:: \frac{f(x)\, A(x)}{P}, \qquad P = \int f(t)\, A(t)\, dt,

    where A is the chance of being accepted: one inside the limits and zero outside where the sorting
    reading is the recorded one, and softened by a normal error where another reading is recorded than
    the one that sorted. A count of R rejected and G accepted parts adds the binomial likelihood
    :math:`(1 - P)^R P^G`; where parts were rejected for other reasons too, the probability of at most R.
    Readings are taken as counts in cells of their step.

    No family is taken to be true. Symmetric families from uniform over normal to Student's t with 2 degrees
    of freedom, skewed ones to either side, two stations, a share of outliers, and beside a bound the
    generalised gamma and the folded t are fitted by maximum likelihood; those that a chi-square test does
    not reject at 0.001 and whose AIC lies within 25 of the best are kept; of more than 4,000 readings also the three
    nearest that 4,000 would not have ruled out, for none of them is true. The interval reaches from the least
    to the greatest index of all of them within twice the chi-square quantile of likelihood, for a family that
    is merely near moves further than its own likelihood says. The estimate is their median by AIC weights.
    Misleads because what was cut off was never seen: without the count the tails are the families' word
    alone, and where that makes the ends differ fourfold no interval is given; a second population among the
    rejected parts that leaves no trace inside is known only by its number.

    References
    ----------
    Cohen, *Truncated and Censored Samples* (1991), ch. 2 and 3; Burnham & Anderson, *Model Selection and
    Multimodel Inference* (2002), sections 2.6 and 4.2; Miller & Dunson, *Journal of the American Statistical
    Association* 114 (2019), 1113-1125; Venzon & Moolgavkar, *Applied Statistics* 37 (1988), 87-94.

    Examples
    --------
    >>> import numpy as np
    >>> x = np.random.default_rng(1).normal(10, 1, 4000)
    >>> kept = x[np.abs(x - 10) < 1.5]
    >>> study = truncated_capability(kept, 8.5, 11.5, rejected_count=4000 - kept.size)
    >>> print(study.Ppk.high < 0.67, f"{study.naive_Ppk:.2f}")
    True 0.67
    """
    from scipy.special import chdtri

    y = np.sort(data_arguments.one_dimensional(values, least=30))
    lower, upper = arguments.limits(lower, upper)
    if sorting_error_sd is not None:
        arguments.number("sorting_error_sd", sorting_error_sd, least=0)
    arguments.share("confidence", confidence)
    arguments.positive(n_eff=n_eff)
    for name, count in (
        ("rejected_count", rejected_count),
        ("accepted_count", accepted_count),
        ("n_eff", n_eff),
    ):
        if count is not None:
            arguments.number(name, count, least=0)
    mean, sd = mean_and_sd(y)
    if not sd > 0:
        raise CannotJudge("All values are the same, so nothing is known of their spread.")

    def scaled(value: float | None) -> float | None:
        return None if value is None else (value - mean) / sd

    beyond = (lower is not None and y[0] < lower) or (upper is not None and y[-1] > upper)
    if sorting_error_sd == 0 and beyond:
        raise CannotJudge(
            "Some parts lie outside the limits, so they were not sorted by these readings; say how the sorting "
            "reading differs from the recorded one."
        )
    if sorting_error_sd is None and (rejected_count is None or not counted_alone):
        raise CannotJudge(
            "Parts were sorted by another reading than the recorded one, whose error is not known. The count of "
            "parts rejected for this characteristic would settle it."
        )
    low, high, begin = scaled(lower), scaled(upper), scaled(bound)
    tried = _tried(families, None if begin is None or y[0] < bound else begin)
    step = reading_step(y, sd) / sd
    count = None if rejected_count is None else float(rejected_count)
    passed = float(y.size if accepted_count is None else accepted_count)
    n_eff_share = min(n_eff or y.size, y.size) / y.size
    allowed = _WIDER * float(chdtri(1, 1 - confidence))
    errors = _ERRORS if sorting_error_sd is None else (sorting_error_sd / sd,)
    if sorting_error_sd is None:
        tried = [item for item in tried if item.name in _SOFT] or tried
    found: Envelope | None = None
    for error in errors:
        cells = cells_of((y - mean) / sd, low, high, step, begin, error, errors)
        data = Sorted(*cells, count, passed, counted_alone, n_eff_share)
        here = envelope(data, tried, allowed, error)
        found = here if found is None else found.with_others(here)
    assert found is not None
    return _study(
        found.checked(count),
        y,
        (float(mean), float(sd)),
        (low, high),
        _Evidence(
            evidence,
            None
            if rejected_count is None
            else share_interval(int(rejected_count), int(rejected_count + passed), confidence),
            counted_alone,
            lower,
            upper,
            unit,
        ),
        confidence,
    )


@dataclass(frozen=True, slots=True)
class _Evidence:
    """What the caller says of the parts, as the study repeats it."""

    evidence: str
    observed: Interval | None
    counted_alone: bool
    lower: float | None
    upper: float | None
    unit: str


def _tried(families: Sequence[str] | None, begin: float | None) -> list[Process]:
    known = processes(begin)
    if families is None:
        return list(known.values())
    for name in families:
        arguments.one_of("families", name, processes(0.0))
    found = [known[name] for name in dict.fromkeys(families) if name in known]
    if not found:
        raise CannotJudge(
            "These families begin at a bound, and there is none that lies below all values."
        )
    return found


def _study(
    found: Envelope,
    y: Any,
    scale: tuple[float, float],
    limits: tuple[float | None, float | None],
    evidence: _Evidence,
    confidence: float,
) -> TruncatedStudy:
    mean, sd = scale
    low, high = limits

    def index(item: Process, a: Any, b: Any, s: Any) -> Any:
        q = item.quantiles(a, b, s)
        sides = []
        with np.errstate(all="ignore"):
            if high is not None:
                sides.append((high - q[:, 1]) / (q[:, 2] - q[:, 1]))
            if low is not None:
                sides.append((q[:, 1] - low) / (q[:, 1] - q[:, 0]))
        return np.min(sides, axis=0)

    how = "likelihood of the accepted and the count of the rejected, over all families that fit"
    ppk = Interval(*found.range(index), confidence, how)
    if ppk.low <= 0 or ppk.high > _SAYS_NOTHING * ppk.low:
        raise CannotJudge(
            f"Distributions that describe the accepted parts alike give Ppk from {ppk.low:.2f} to {ppk.high:.2f} before "
            f"sorting, which cannot be judged. {_settles(evidence)}"
        )
    out = Interval(*found.range_out(), confidence, how)
    best = found.kept[0]
    values, counts = np.unique(y, return_counts=True)
    distances = [
        (limit - mean) * sign
        for limit, sign in ((evidence.upper, 1), (evidence.lower, -1))
        if limit is not None
    ]
    by_family: dict[str, float] = {}
    for item in found.kept:
        by_family.setdefault(item.item.name, float(index(item.item, *item.at_best)[0]))
    rival = next((r for r in found.kept if r.item.name != best.item.name), None)
    step = 1e-4

    def density(x: Any) -> Any:
        at = (np.asarray(x, dtype=float).ravel() - mean) / sd
        below, above = best.item.beyond(
            np.stack([at - step, at + step]).ravel(), *(v for v in best.at_best)
        )
        part = np.where(below[0] < 0.5, below[0], 1 - above[0]).reshape(2, -1)
        return np.maximum(part[1] - part[0], 0) / (2 * step * sd)

    return TruncatedStudy(
        n=int(y.size),
        family=best.item.name,
        parameters=best.item.named(*best.best, mean, sd),
        Ppk=ppk,
        naive_Ppk=float(min(distances) / (3 * sd)),
        rejected=out,
        agrees_with_bins=None
        if evidence.observed is None
        else bool(out.low <= evidence.observed.high and evidence.observed.low <= out.high),
        sorting_error_sd=best.error * sd,
        by_family=by_family,
        runner_up=None
        if rival is None
        else RunnerUp(
            rival.item.name,
            by_family[rival.item.name],
            float(rival.out(*rival.at_best)[0]),
            rival.aic - best.aic,
        ),
        cautions=_cautions(out, evidence),
        values=(values, counts.astype(float)),
        density=density,
        evidence=evidence.evidence,
        observed=evidence.observed,
        counted_alone=evidence.counted_alone,
        lower=evidence.lower,
        upper=evidence.upper,
        unit=evidence.unit,
    )


def _settles(evidence: _Evidence) -> str:
    if evidence.observed is None:
        return "The count of rejected parts, from the bins or the log, would settle it."
    if not evidence.counted_alone:
        return "The count of parts rejected for this characteristic alone would settle it."
    return "Readings of the rejected parts would settle it."


def _cautions(out: Interval, evidence: _Evidence) -> tuple[str, ...]:
    notes = []
    if out.estimate > 0.2:
        notes.append(
            f"{out.estimate:.0%} of the parts were taken out; so much sorting leaves little to learn from."
        )
    if evidence.observed is None:
        notes.append(
            "How many parts were rejected is not in the folder. What was cut off is the distributions' word alone; "
            f"{_settles(evidence)[0].lower()}{_settles(evidence)[1:]}"
        )
    return tuple(notes)
