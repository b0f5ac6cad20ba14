"""How evidence becomes a decision: one list of rules, each of which may only limit a claim.

The model of a decision. A process has one true index: of the long-run distribution of what the line
makes, by the quantile definition of ISO 22514-2, of the worst named stream. A decision is right or
wrong against it. The numbers that decide are

1. the lowest index among the descriptions of the readings that the readings do not reject, in the
   worst stream, estimate or one-sided lower bound as the criterion says (package `tails`);
2. one p-value that the process is in statistical control, whose false alarms do not depend on the shape of the
   readings (`stability.model.rank_tests`), held against ``stability_alpha``;
3. the count of readings outside against what the description expects;
4. of the gauge: its spread, categories, bias at the limits and drift by equivalence, uncertainty,
   and whether two studies of it contradict each other;
5. p-values that the record contradicts itself (floor `soundness`), each against ``contradiction``.

Expected error rates, for a required index of 1.67 (measured in the proof, which reports both
sides): a sound study, normal with a true index of 2, is objected to by all rules but the index
together in about ``stability_alpha`` plus twice the level of a contradiction, 0.7 %. On the
estimate, a true index of 1.67 "meets" in at most about half of the studies, less where several
descriptions compete; a true 1.50 at n = 5,000, where the standard error of the logarithm of the
index is 0.02 to 0.06, in practically none. At n = 125 that standard error is about 0.1 for a
normal process and 0.2 to 0.3 for a heavy tail, so a fifth of heavy-tailed processes of a true 1.33
pass on the estimate; the finding says that so few readings cannot show such a tail.

``decide`` needs no files: a simulation and a study folder go through the same rules.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from linestudy.capability import truncation_points
from linestudy.capability.lots.lot_study import ENOUGH, TOO_LITTLE
from linestudy.capability.lots.over_lots import bound_over_lots
from linestudy.results import Absent, Interval
from linestudy.verdict.criteria import Criteria
from linestudy.verdict.facts import (
    BEFORE_SORTING,
    CharacteristicFacts,
    Circumstances,
    Doubt,
    IndexFacts,
    ProcessFacts,
)
from linestudy.verdict.measurement_facts import GaugeFacts
from linestudy.verdict.process.description import Process, describe
from linestudy.verdict.process.points import OutPoint
from linestudy.verdict.process.tags import Tags, coded, subgroups_of
from linestudy.verdict.rules import RULES
from linestudy.verdict.rulings import Ruling, strongest
from linestudy.verdict.soundness.reading_doubts import doubts_of_readings

#: Fewest readings from which a cut is looked for.
_LEAST_FOR_A_CUT = 100


@dataclass(frozen=True)
class Decision:
    """A decision with what made it.

    Attributes
    ----------
    decision : str
        ``meets``, ``customer approval required``, ``does not meet`` or ``cannot be judged``.
    rulings : tuple of Ruling
        Of every rule for this kind of decision, in the order of the table.
    facts : CharacteristicFacts
    """

    decision: str
    rulings: tuple[Ruling, ...]
    facts: CharacteristicFacts


def decide(
    values: ArrayLike,
    tags: Tags | None,
    gauge: GaugeFacts,
    criteria: Criteria,
    *,
    lower: float | None = None,
    upper: float | None = None,
    bound: float | None = None,
    circumstances: Circumstances | None = None,
    causes: tuple[tuple[float, float, str], ...] = (),
    confidence: float = 0.95,
    seed: int | None = None,
    facts: CharacteristicFacts | None = None,
) -> Decision:
    """Decide on one measured characteristic of a run.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        Readings in production order, in the characteristic's unit.
    tags : Tags or None
        Stream, coil, time, order, subgroup, regrinds and events, as far as known.
    gauge : GaugeFacts
        What is known of the gauge; nothing when absent.
    criteria : Criteria
        Thresholds with their sources; the defaults when absent.
    lower, upper : float, optional
        Limits; at least one.
    bound : float, optional
        Physical bound below all readings.
    circumstances : Circumstances, optional
        Sorting, exclusions and the time-dependent model.
    causes : tuple of (float, float, str), optional
        First and last order number of what a named and acted-upon cause explains, and the cause.
    confidence : float
        Of the one-sided bound.
    seed : int, optional
        Of simulated expectations; the kit's own when absent.
    facts : CharacteristicFacts, optional
        Name, unit and limits in words.

    Returns
    -------
    Decision
        The decision with every ruling and the facts they read.

    Raises
    ------
    CannotJudge
        Fewer than ten readings, or hardly any that differ.

    See Also
    --------
    judge : The same from a described process.
    rule_on : The rules alone.

    Examples
    --------
    >>> import numpy as np
    >>> from linestudy.results import Interval
    >>> from linestudy.verdict import GaugeFacts, resolve
    >>> y = np.random.default_rng(3).normal(size=2000)
    >>> share = Interval(0.05, 0.04, 0.07, 0.95, "example")
    >>> small = Interval(0.0, -0.01, 0.01, 0.90, "example")
    >>> camera = GaugeFacts("camera", share, bias={"the upper limit": small}, width=12.0)
    >>> decide(y, None, camera, resolve(), lower=-6.0, upper=6.0).decision
    'meets'
    """
    process = describe(values, tags, bound=bound, seed=seed)
    base = facts or CharacteristicFacts()
    if circumstances is None or circumstances.in_time:
        doubts = _doubts(process, tags or Tags(), bound)
        known = base.record.doubts
        base = replace(base, record=replace(base.record, doubts=(*known, *doubts)))
    return judge(
        process,
        gauge,
        criteria,
        lower=lower,
        upper=upper,
        circumstances=circumstances,
        causes=causes,
        confidence=confidence,
        facts=base,
    )


def _doubts(process: Process, tags: Tags, bound: float | None) -> tuple[Doubt, ...]:
    stream = None if tags.stream is None else coded(tags.stream)
    stroke = None if tags.order is None else tags.orders(process.n)
    codes = subgroups_of(tags, process.n)
    return doubts_of_readings(process.values, codes, stream, bound, stroke)


def judge(
    process: Process,
    gauge: GaugeFacts,
    criteria: Criteria,
    *,
    lower: float | None = None,
    upper: float | None = None,
    circumstances: Circumstances | None = None,
    causes: tuple[tuple[float, float, str], ...] = (),
    confidence: float = 0.95,
    facts: CharacteristicFacts | None = None,
) -> Decision:
    """Decide on a run that has been described; see :func:`decide`.

    A description serves any limits, so a simulation asks one of them for every true index.

    Parameters
    ----------
    process : Process
        From :func:`~linestudy.verdict.describe`.
    gauge, criteria, lower, upper, circumstances, causes, confidence, facts
        As in :func:`decide`.

    Returns
    -------
    Decision
        The decision with every ruling and the facts they read.

    See Also
    --------
    decide : From the readings themselves.

    Examples
    --------
    >>> import numpy as np
    >>> from linestudy.verdict import GaugeFacts, describe, resolve
    >>> run = describe(np.random.default_rng(3).normal(size=500))
    >>> [judge(run, GaugeFacts(), resolve(), upper=x).facts.index.estimate > 1.67 for x in (3, 8)]
    [False, True]
    """
    around = circumstances or _seen_in(process, lower, upper)
    found = facts_of(process, lower, upper, around, causes, confidence, facts)
    return rule_on(replace(found, gauge=gauge), criteria)


def rule_on(facts: CharacteristicFacts, criteria: Criteria) -> Decision:
    """Apply every rule that belongs to this kind of decision.

    Parameters
    ----------
    facts : CharacteristicFacts
        What the rules read.
    criteria : Criteria
        Thresholds with their sources.

    Returns
    -------
    Decision
        The decision with every ruling, in the order of the list.

    See Also
    --------
    strongest : The effect that decides.

    Examples
    --------
    >>> from linestudy.verdict import CharacteristicFacts, resolve
    >>> rule_on(CharacteristicFacts(), resolve()).decision
    'cannot be judged'
    """
    rulings = tuple(rule(facts, criteria) for rule in RULES if facts.kind in rule.kinds)
    return Decision(strongest(rulings), rulings, facts)


def facts_of(
    process: Process,
    lower: float | None,
    upper: float | None,
    circumstances: Circumstances,
    causes: tuple[tuple[float, float, str], ...] = (),
    confidence: float = 0.95,
    about: CharacteristicFacts | None = None,
) -> CharacteristicFacts:
    """Gather everything a described run says once its limits are known."""
    index, expected, by_lots = _index(process, lower, upper, confidence)
    if circumstances.before_sorting is not None:
        index = _before_sorting(circumstances.before_sorting)
    elif circumstances.refused:
        index = Absent(circumstances.refused)
    # Readings that are in no order in time have no chart.
    timed = circumstances.in_time
    points = tuple(_explained(point, causes) for point in process.points) if timed else ()
    acted = tuple(cause for _, _, cause in causes)
    steady = process.steady
    worst = process.streams[0].tails
    outside = _outside(process.values, lower, upper)
    known = ProcessFacts(
        n=process.n,
        subgroups=process.subgroups,
        mean=process.mean,
        sd=process.sd,
        smallest=process.smallest,
        largest=process.largest,
        coils=process.coils,
        regrinds=process.regrinds,
        hours=process.hours,
        days=process.days,
        lots=process.lots_seen,
        lot_share=0.0 if process.lots is None else process.lots.lot_share,
        lot_bound_share=by_lots,
        lots_needed=_needed(process, index, by_lots),
        one_by_one=process.one_by_one,
        steady_p=steady.p,
        strongest=steady.strongest if steady.tests else "",
        matters=steady.matters,
        moved_share=max(steady.level_share, steady.sd_share),
        neighbours=steady.neighbours,
        points=points,
        expected_points=process.expected_points if timed else 0.0,
        unexplained=sum(point.cause not in acted for point in points),
        described=all(item.tails.described for item in process.streams),
        carried=all(item.tails.carried for item in process.streams),
        rejected=tuple(item.name for item in worst.rejected),
        outside=outside,
        expected_outside=expected,
        n_eff_mean=process.inside.n_eff_mean,
        n_eff_sd=process.inside.n_eff_sd,
    )
    base = about or CharacteristicFacts()
    return replace(
        base, lower=lower, upper=upper, process=known, index=index, circumstances=circumstances
    )


def _index(
    process: Process, lower: float | None, upper: float | None, confidence: float
) -> tuple[IndexFacts | Absent, float, float | None]:
    """Compute the index of the worst stream, nonconforming expected, and the bound's share that the lots alone leave."""
    if lower is None and upper is None:
        return Absent("neither limit is given"), 0.0, None
    found = [(item, item.tails.index(lower, upper, confidence)) for item in process.streams]
    bounds, by_lots = [index.bound for _, index in found], None
    if process.lots is not None:
        both = [
            bound_over_lots(
                process.lots,
                index.estimate,
                index.bound,
                (item.tails.mean, item.tails.sd),
                lower,
                upper,
                confidence,
            )
            for item, index in found
        ]
        # A few clumps of readings hardly show the shape either.
        clumped = [
            item.tails.limit_n_eff(*process.lots.n_eff, of=process.n).index(
                lower, upper, confidence
            )
            for item, _ in found
        ]
        bounds = [min(bound, shape.bound) for (bound, _), shape in zip(both, clumped, strict=True)]
        by_lots = min(
            (
                max(lots, 0.0) / index.estimate
                for (_, lots), (_, index) in zip(both, found, strict=True)
                if index.estimate > 0
            ),
            default=None,
        )
    stream, worst = min(found, key=lambda pair: pair[1].estimate)
    # All values together come last where streams were made one after the other; they are counted once.
    counted = [pair for pair in found if pair[0].name] or found
    expected = sum(item.tails.n * index.expected_ppm / 1e6 for item, index in counted)
    index = IndexFacts(
        name="Ppk, worst stream" if stream.name else "Ppk",
        estimate=worst.estimate,
        bound=min(bounds),
        highest=min(max(e for e, _ in index.by_family.values()) for _, index in found),
        confidence=confidence,
        family=worst.family,
        stream=stream.name,
        by_stream={item.name: index.estimate for item, index in found if item.name},
        by_family={name: estimate for name, (estimate, _) in worst.by_family.items()},
    )
    return index, float(expected), by_lots


def _needed(process: Process, index: IndexFacts | Absent, by_lots: float | None) -> int | None:
    """Find how many lots would be enough, computed only where those seen are not."""
    few = by_lots is not None and by_lots < TOO_LITTLE
    if process.lots is None or isinstance(index, Absent) or not few:
        return None
    return process.lots.lots_for(ENOUGH, index.estimate, index.confidence)


def _before_sorting(found: Interval) -> IndexFacts:
    # Only where no description of the process before sorting reaches what is asked does it surely fail.
    return IndexFacts(BEFORE_SORTING, found.estimate, found.low, found.high, found.confidence)


def _seen_in(process: Process, lower: float | None, upper: float | None) -> Circumstances:
    """Find what the readings alone say of circumstances: whether they end at a limit as no process ends."""
    if process.n < _LEAST_FOR_A_CUT:
        return Circumstances()
    cut = truncation_points(process.values, lower, upper, bound=process.bound)
    if not cut:
        return Circumstances()
    return Circumstances(
        sorted_parts=True,
        refused=f"the readings end at the {' and the '.join(cut)} limit as those of sorted parts do",
    )


def _outside(y: Any, lower: float | None, upper: float | None) -> int:
    below = 0 if lower is None else int((np.asarray(y) < lower).sum())
    return below + (0 if upper is None else int((np.asarray(y) > upper).sum()))


def _explained(point: OutPoint, causes: tuple[tuple[float, float, str], ...]) -> OutPoint:
    for first, last, cause in causes:
        if first <= point.order <= last:
            return replace(point, cause=cause)
    return point
