"""Rules on the process: is it in statistical control, is the sample enough, what describes it, was it sorted."""

from __future__ import annotations

from linestudy.capability.lots.lot_draws import n_eff_of_lots
from linestudy.capability.lots.lot_study import ENOUGH, TOO_LITTLE
from linestudy.results import Absent, counted, show_ppm
from linestudy.results.rounding import p_text
from linestudy.stability.movement.serial_correlation import LEAST_N_EFF
from linestudy.verdict.criteria import Criteria
from linestudy.verdict.facts import BEFORE_SORTING
from linestudy.verdict.rules.excluding import unnamed
from linestudy.verdict.rules.rule import Seen, rule, says
from linestudy.verdict.rulings import APPROVAL, SUPPORTS, UNKNOWN, Ruling

#: A short run is judged by its readings as a run is.
_PROCESS = ("process", "machine")
#: Hours that a significant production run takes at least (AIAG PPAP, 4th ed., 2.1: one to eight; value from memory). A run
#: that names its coils is held against these instead.
LEAST_HOURS = 1.0
#: Parts that a short run takes at least (ISO 22514-3; from memory).
LEAST_OF_SHORT_RUN = 50
#: Share of the variance between lots from which the shape is judged by the effective sample size of the lots: of thirty
#: lots of ten with four fifths, n_eff = 44, a third of lognormal processes of a true 1.33 met 1.67 (the share is a choice).
LARGE_LOT_SHARE = 0.5
#: Undeclared readings set aside beyond this share are said to the customer (common practice).
LARGE_SHARE = 0.01
#: The same of readings in periods and with verdicts that study.toml names (common practice).
LARGE_NAMED_SHARE = 0.05


@rule(
    "stability",
    group="stability",
    kinds=_PROCESS,
    reads=(
        "process.steady_p",
        "process.strongest",
        "process.matters",
        "process.moved_share",
        "process.points",
        "process.expected_points",
        "process.unexplained",
        "process.one_by_one",
        "process.n",
        "gauge.separable",
        "circumstances.model",
        "circumstances.in_time",
    ),
    criteria=("stability_alpha",),
    source="AIAG PPAP, 4th ed. (2006), 2.2.11: stability before capability; of a short run: ISO 22514-3 (from memory); level: common practice",
    silent="The parts were destroyed in no known order: whether the process is in statistical control is not shown.",
)
def stability(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge control: in control, not in control with causes named and acted upon, or not in control."""
    alpha = criteria["stability_alpha"]
    if not seen["circumstances.in_time"]:
        if not seen["process.n"] or not seen["gauge.separable"]:
            return None
        return says(
            APPROVAL,
            "Not known whether the process is in statistical control: the readings are given with levels and without the order of production, "
            "though their gauge destroys no part. Customer approval required, or name counter or clock and give them as a run.",
            alpha,
        )
    points = len(seen["process.points"])
    chart = f"{counted(points, 'point')} out of control ({seen['process.expected_points']:.1f} false alarms expected)"
    p, model = seen["process.steady_p"], seen["circumstances.model"]
    if p >= alpha.number:
        return says(
            SUPPORTS,
            f"In statistical control: {chart}; all tests together find no movement ({_chance(p)}).",
            alpha,
        )
    found = f"{seen['process.strongest']}, {p_text(p)}; {seen['process.moved_share']:.0%} of the variance"
    if seen["process.one_by_one"]:
        found += "; the streams were made one after the other, so that their levels and the run's movement cannot be told apart"
    if not seen["process.matters"]:
        return says(
            SUPPORTS,
            f"In statistical control: movement found ({found}) is too small to matter; {chart}.",
            alpha,
        )
    if model is not None and model.startswith("D"):
        return says(
            UNKNOWN,
            f"Not in statistical control: location and spread both change (model D of ISO 22514-2), so no index "
            f"holds for the coming production. {chart}.",
            alpha,
        )
    left = seen["process.unexplained"]
    if points and left == 0:
        return says(
            APPROVAL,
            f"Not in statistical control, causes named and acted upon ({found}): {chart}, each with its cause and "
            "action below; customer approval required.",
            alpha,
        )
    of_these = f" for {left} of them" if points > 1 else ""
    of_these = f"; no assignable cause with an action{of_these}" if points else ""
    return says(
        APPROVAL,
        f"Not in statistical control ({found}): {chart}{of_these}. Customer approval required.",
        alpha,
    )


#: Above this a p-value of several tests put together says no more than that none is small: tests that nothing disturbs
#: bring it near one in every run.
_LARGE = 0.1


def _chance(p: float) -> str:
    """Write the p-value of all tests together, as a bound where it is large."""
    return p_text(p) if p < _LARGE else f"p > {_LARGE:g}"


@rule(
    "sample",
    group="sample",
    kinds=_PROCESS,
    reads=(
        "process.n",
        "process.subgroups",
        "process.coils",
        "process.regrinds",
        "process.hours",
        "process.days",
        "process.lots",
        "process.lot_share",
        "process.lot_bound_share",
        "process.lots_needed",
        "process.n_eff_mean",
        "process.one_by_one",
        "record.not_recorded",
        "circumstances.in_time",
        "circumstances.streams_unseen",
        "kind",
    ),
    criteria=("least_readings", "least_subgroups"),
    source="AIAG PPAP, 4th ed. (2006), 2.2.11.3",
    silent="No readings of the process are in the folder.",
)
def sample(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge numbers of readings and subgroups, and whether the run saw what moves the process."""
    n = seen["process.n"]
    if not n:
        return None
    least, groups = criteria["least_readings"], criteria["least_subgroups"]
    if seen["kind"] == "machine":
        text = f"n = {n} consecutive parts of a short run"
        if n < LEAST_OF_SHORT_RUN:
            return says(
                APPROVAL, f"{text} < {LEAST_OF_SHORT_RUN}: customer approval required.", None
            )
        return says(SUPPORTS, f"{text}.", None)
    if n < least.number:
        return says(
            APPROVAL,
            f"n = {n} < {least.number:g} for an initial study: customer approval required.",
            least,
        )
    unseen = seen["circumstances.streams_unseen"]
    if unseen:
        return says(
            APPROVAL,
            f"n = {n:,}, but {unseen}; customer approval required.",
            least,
        )
    few = _few_lots(seen)
    if not few and not criteria.capability_on_bound:
        few = _shape_of_few_lots(seen, least.number)
    if few:
        return says(APPROVAL, f"{n:,} readings were taken{few}", least)
    taken = seen["process.subgroups"]
    if taken and taken < groups.number:
        return says(
            APPROVAL,
            f"{counted(taken, 'subgroup')} < {groups.number:g} for an initial study: customer approval required.",
            groups,
        )
    coils = seen["process.coils"]
    if coils == 1 and seen["circumstances.in_time"]:
        return says(
            APPROVAL,
            f"n = {n:,}, all of one coil: the effect of a coil change was not seen.",
            least,
        )
    n_eff = seen["process.n_eff_mean"]
    if 0 < n_eff < LEAST_N_EFF and seen["circumstances.in_time"]:
        return says(
            APPROVAL,
            f"n = {n:,}, effective sample size {n_eff:.0f}: what moves the process takes about as long as the run, which "
            "is too short to have seen it.",
            least,
        )
    regrinds = seen["process.regrinds"]
    if regrinds == 0 and seen["circumstances.in_time"]:
        return says(
            APPROVAL,
            f"n = {n:,}, and none of the named resets lies inside the run: the full range of wear was not "
            "seen.",
            least,
        )
    hours = seen["process.hours"]
    if (
        hours is not None
        and hours < LEAST_HOURS
        and coils is None
        and seen["circumstances.in_time"]
    ):
        return says(
            APPROVAL,
            f"n = {n:,} within {_time(hours)}, of no named coils: what takes longer to move the process was not seen "
            f"(a significant production run takes at least {LEAST_HOURS:g} h).",
            least,
        )
    saw = f" in {counted(taken, 'subgroup')}" if taken else ""
    saw += f", {counted(coils, 'coil')}" if coils else ""
    saw += f", {counted(regrinds, 'named reset')}" if regrinds else ""
    if hours is not None:
        saw += f", within {_time(hours)} on {counted(seen['process.days'], 'day')}"
    return says(SUPPORTS, f"n = {n:,}{saw}.{_one_by_one(seen)}", least)


def _one_by_one(seen: Seen) -> str:
    """Say where streams follow one another in a file that does not say when its parts were made."""
    if not seen["process.one_by_one"] or not {"counter", "clock"} <= set(
        seen["record.not_recorded"]
    ):
        return ""
    return (
        " The streams stand one after the other and neither counter nor clock says when their parts were made, so that a movement "
        "of the run that fell between them cannot be seen."
    )


def _shape_of_few_lots(seen: Seen, least: float) -> str:
    """Say what few lots leave open even where level and spread are known; empty where they are many or alike."""
    lots, share, n = seen["process.lots"], seen["process.lot_share"], seen["process.n"]
    if not lots or share < LARGE_LOT_SHARE:
        return ""
    n_eff = n_eff_of_lots(n, lots, share)[1]
    if n_eff >= least:
        return ""
    return (
        f", of {counted(lots, 'lot')} between which {share:.0%} of the variance lies: they show the shape of the distribution as {n_eff:.0f} "
        f"independent readings do (< {least:g}). The lower bound of the index allows for that, its estimate does not."
    )


def _time(hours: float) -> str:
    """Write a length of time in the usual unit."""
    if hours < 1:
        return counted(max(round(60 * hours), 1), "minute")
    return f"{hours:.1f} h" if hours < 10 else f"{hours:,.0f} h"


def _few_lots(seen: Seen) -> str:
    """Say what the lots seen cannot show of those to come; empty where they are enough."""
    lots, left = seen["process.lots"], seen["process.lot_bound_share"]
    if lots == 1 and not seen["circumstances.in_time"]:
        return ", all of one lot: how lots differ was not seen."
    if left is None or left >= TOO_LITTLE:
        return ""
    needed = seen["process.lots_needed"]
    more = "" if needed is None else f" About {needed:,} such lots would bring it to {ENOUGH:.0%}."
    return (
        f", of {counted(lots, 'lot')} between which {seen['process.lot_share']:.0%} of the variance lies. So few show little of what further "
        f"lots will bring: by that alone the lower bound of the index is {left:.0%} of its estimate.{more}"
    )


@rule(
    "distribution",
    group="distribution",
    kinds=_PROCESS,
    reads=("process.described", "process.carried", "process.rejected", "process.n", "index"),
    criteria=(),
    source="ISO 22514-4:2016 for quantile indices; choice of description: this kit",
    silent="No readings of the process are in the folder.",
)
def distribution(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge whether the readings reject the distribution that the index rests on."""
    index = seen["index"]
    if not seen["process.n"] or isinstance(index, Absent):
        return None
    if index.name == BEFORE_SORTING:
        return says(
            SUPPORTS,
            "Ppk before sorting is the middle of what every distribution gives that fits the accepted parts and the "
            "count of rejected ones.",
        )
    several = ", ".join(f"{name} {value:.2f}" for name, value in index.by_family.items())
    known = index.name.partition(",")[0]
    if seen["process.carried"]:
        return says(
            SUPPORTS,
            f"{known} by each description that is not rejected: {several}; the lowest decides. There are enough readings "
            "to describe the tail by itself.",
        )
    if seen["process.described"]:
        return says(
            SUPPORTS,
            f"{known} by each description that is not rejected: {several}; the lowest decides. {seen['process.n']:,} "
            "readings cannot show a tail that begins beyond them.",
        )
    return says(
        APPROVAL,
        "Every distribution tried is rejected, and the readings are too few for an index by their own tail: "
        "customer approval required.",
    )


@rule(
    "observed against expected",
    group="observed against expected",
    kinds=_PROCESS,
    reads=("process.outside", "process.expected_outside", "process.n", "index"),
    criteria=("contradiction",),
    source="Poisson; level: common practice, no source",
    silent="No index says how many readings to expect outside the limits.",
)
def observed(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Compare readings outside the limits with what the description expects."""
    from scipy.special import pdtrc

    index = seen["index"]
    if not seen["process.n"] or isinstance(index, Absent):
        return None
    if index.name == BEFORE_SORTING and not seen["process.outside"]:
        return says(
            SUPPORTS,
            f"0 of {seen['process.n']:,} readings outside the limits: parts outside were sorted out.",
            criteria["contradiction"],
        )
    level, count, expected = (
        criteria["contradiction"],
        seen["process.outside"],
        seen["process.expected_outside"],
    )
    text = (
        f"{count:,} of {seen['process.n']:,} readings outside the limits; expected "
        f"{show_ppm(max(expected, 1e-9)).replace('less than', '<')}"
    )
    p = 1.0 if count == 0 else float(pdtrc(count - 1, max(expected, 1e-300)))
    if p >= level.number:
        return says(SUPPORTS, f"{text}.", level)
    return says(
        APPROVAL,
        f"{text} ({p_text(p)}): more than the distribution explains; find the cause of these parts.",
        level,
    )


@rule(
    "sorting",
    group="sorting",
    kinds=_PROCESS,
    reads=(
        "circumstances.sorted_parts",
        "circumstances.sorted_with",
        "circumstances.left_out",
        "circumstances.excluded",
        "circumstances.set_aside",
        "record.periods",
        "record.periods_outside",
        "record.periods_index",
        "record.suspect",
        "process.n",
        "index",
    ),
    criteria=("capability_accept",),
    source="this kit: an index of sorted parts describes the sorting; shares: common practice, no source",
    silent="No readings of the process are in the folder.",
)
def sorting(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge what was selected: sorted parts, excluded periods, readings left out."""
    if seen["circumstances.sorted_parts"]:
        return says(
            APPROVAL,
            "The data hold accepted parts only, so they describe the sorting; an index of the process before it rests "
            "on what was left and on the count of rejected parts: customer approval required.",
        )
    if not seen["process.n"]:
        return None
    if seen["circumstances.sorted_with"]:
        return says(
            APPROVAL,
            f"The parts were sorted on {seen['circumstances.sorted_with']}: the index describes what sorting left; customer approval "
            "required.",
        )
    aside, out = seen["circumstances.set_aside"], seen["circumstances.excluded"]
    named = f" {aside:.1%} of the readings excluded for named reasons." if aside else ""
    suspect, outside = seen["record.suspect"], seen["record.periods_outside"]
    if outside:
        return says(
            APPROVAL,
            f"{outside:,} of {counted(seen['record.periods'], 'reading')} in excluded periods lie outside the limits: "
            "customer approval of leaving them out is required.",
        )
    within = _only_without(seen, criteria["capability_accept"].number)
    if within:
        return says(APPROVAL, within, criteria["capability_accept"])
    if suspect:
        return says(
            APPROVAL,
            f"{counted(suspect, 'reading')} left out by a range or a missing code within half a tolerance of the limits, "
            f"where parts may lie: customer approval required.{named}",
        )
    if aside > LARGE_NAMED_SHARE:
        return says(
            APPROVAL,
            f"{aside:.1%} of the readings excluded for named reasons: customer approval required.",
        )
    # The rule on exclusions says it where one reason leaves out as much.
    if out > LARGE_SHARE and not unnamed(seen["circumstances.left_out"]):
        return says(
            APPROVAL,
            f"{out:.1%} of the readings left out without a named reason: customer approval required.{named}",
        )
    return says(SUPPORTS, f"No sign of sorting.{named}")


def _only_without(seen: Seen, accept: float) -> str:
    """Write a note where the index is high enough only because periods were excluded."""
    left_in, index = seen["record.periods_index"], seen["index"]
    if left_in is None or isinstance(index, Absent) or not left_in <= accept < index.estimate:
        return ""
    return (
        f"With the {counted(seen['record.periods'], 'reading')} in excluded periods Ppk is {left_in:.2f}, without them {index.estimate:.2f}: "
        "customer approval of leaving them out is required."
    )


RULES = (stability, sample, distribution, observed, sorting)
