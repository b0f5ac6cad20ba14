"""Rules on the record: does it contradict itself, its bins, its verdicts, limits in its files, or what an earlier revision said.

A contradiction is no proof of anything but that one of two things is wrong; which of them must be
explained before the claim is made. Each rule takes the smallest p-value of its tests times their
number, so that its level is that of one test.
"""

from __future__ import annotations

from typing import Any

from linestudy.results import Absent
from linestudy.verdict.criteria import Criteria
from linestudy.verdict.rules.rule import Seen, rule, says
from linestudy.verdict.rulings import APPROVAL, SUPPORTS, Ruling

GROUP = "record"
#: Share of the order numbers that may be missing without a word (common practice).
MOST_MISSING = 0.01
#: Share of the counter's steps at which a clock may go back, and shares of a file's rows at which a counter does that is in no
#: order (common practice, no source).
CLOCK_BACK, SHUFFLED = 0.05, 0.2
_LEVEL = "level: common practice, no source"


def _judged(doubts: tuple[Any, ...], criteria: Criteria, good: str) -> Ruling | None:
    """Compare all tests of one kind with the level of a contradiction, divided among them."""
    if not doubts:
        return None
    level = criteria["contradiction"]
    loud = [one for one in doubts if one.p * len(doubts) < level.number]
    if not loud:
        return says(SUPPORTS, good, level)
    said = "; ".join(f"{one.what}: {one.evidence}" for one in loud)
    p = min(one.p for one in loud) * len(doubts)
    return says(
        APPROVAL,
        f"{said} ({_p(p)}): the readings cannot be those of single parts as they were made, and how they came about "
        "must be explained.",
        level,
    )


def _p(p: float) -> str:
    return "p < 0.0001" if p < 1e-4 else f"p = {p:.1g}"


@rule(
    "readings as measured",
    group=GROUP,
    kinds=("process", "machine"),
    reads=("record.doubts",),
    criteria=("contradiction",),
    source=f"longest common run, spectrum of an average, last digits, ends and repeats; {_LEVEL}",
    silent="The readings are too few, or not in an order, to show copies, averages or preferred digits.",
)
def as_measured(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge signs of readings not measured: copies, averages, preferred digits, piled-up ends, repeats."""
    kinds = ", ".join(dict.fromkeys(one.what for one in seen["record.doubts"]))
    return _judged(
        seen["record.doubts"],
        criteria,
        f"The readings show no sign of having been made otherwise than by measuring ({kinds}).",
    )


@rule(
    "gauge study as measured",
    group=GROUP,
    kinds=("process", "machine", "gauge", "judgement"),
    reads=("record.gauge_doubts",),
    criteria=("contradiction",),
    source=f"independent errors of repeated readings and judgements; {_LEVEL}",
    silent="No repeated readings or judgements show whether some were copied.",
)
def study_as_measured(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge readings or judgements of a study that are copies of others."""
    return _judged(
        seen["record.gauge_doubts"],
        criteria,
        "What was read or judged again differs as independent readings do.",
    )


@rule(
    "names of parts and people",
    group=GROUP,
    kinds=("process", "machine", "gauge", "judgement"),
    reads=("record.names",),
    criteria=(),
    source="this kit: names that differ in writing only, parts numbered from one; common practice, no source",
    silent="Names and numbers of the gauge study hold nothing odd.",
)
def names(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge names: one part under two names counts twice, and a missing number is a part left out."""
    return says(APPROVAL, " ".join(seen["record.names"])) if seen["record.names"] else None


@rule(
    "counter and clock",
    group=GROUP,
    kinds=("process", "machine"),
    reads=(
        "kind",
        "record.first",
        "record.last",
        "record.numbers_missing",
        "record.gaps",
        "record.longest_gap",
        "record.left_out_rows",
        "record.pause",
        "record.clock_back",
        "record.backwards",
        "record.sorted_rows",
        "record.rows",
    ),
    source="one in a hundred, one in twenty, a fifth: common practice, no source",
    silent="No counter is recorded with the readings.",
)
def counter(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Order numbers that are in no row, beyond the rows that were left out for a reason."""
    first, last = seen["record.first"], seen["record.last"]
    if first is None or last is None:
        return None
    other = _not_of_production(seen)
    if other:
        return says(APPROVAL, other)
    missing = max(seen["record.numbers_missing"] - seen["record.left_out_rows"], 0)
    share = missing / max(last - first + 1, 1.0)
    pause = seen["record.pause"]
    stood = (
        f" The clock stands still for {pause[0] / 60:,.0f} minutes before order number {pause[1]:,.0f}."
        if pause
        else ""
    )
    if seen["kind"] == "machine" and pause:
        return says(
            APPROVAL,
            f"The counter runs from {first:,.0f} to {last:,.0f}.{stood} Parts before and after it are not of one short run "
            "(ISO 22514-3: consecutive, without interruption).",
        )
    if share <= MOST_MISSING:
        return says(SUPPORTS, f"The counter runs from {first:,.0f} to {last:,.0f}.{stood}")
    low, high = seen["record.longest_gap"]
    return says(
        APPROVAL,
        f"{missing:,} order numbers ({100 * share:.1f} %) between {first:,.0f} and {last:,.0f} stand in no row, the longest gap "
        f"from {low:,.0f} to {high:,.0f}: what became of these parts must be explained.{stood}",
    )


def _not_of_production(seen: Seen) -> str:
    """Write a note on a counter that neither clock nor file confirms; empty elsewhere."""
    back = seen["record.clock_back"]
    if back is not None:
        if back <= CLOCK_BACK:
            return ""
        return (
            f"The clock goes back at {back:.0%} of the counter's steps: one of the two is not the order of production. Name the one "
            "that is, alone."
        )
    share = seen["record.backwards"] / max(seen["record.rows"], 1)
    # From the last to the first row, one station after the other, or by a reading are orders too.
    if seen["record.sorted_rows"] or not SHUFFLED <= share <= 1 - SHUFFLED:
        return ""
    return (
        f"The counter goes back at {share:.0%} of the file's rows, and no clock confirms that it is the order of production: whether "
        "the process moved cannot be seen from it. Name the column of the clock, or give the file as the gauge wrote it."
    )


@rule(
    "bins against log",
    group=GROUP,
    kinds=("process", "machine"),
    reads=("record.bins", "record.bins_p", "record.bins_by_verdicts", "kind"),
    criteria=("contradiction",),
    source=f"exact test of two shares (Fisher); {_LEVEL}",
    silent="There are no counts of bins to hold against the log.",
)
def bins(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge whether counts of the bins agree with verdicts of the log on the same parts."""
    p, level = seen["record.bins_p"], criteria["contradiction"]
    if p is None:
        return None
    accepted, rejected, good, bad = seen["record.bins"]
    log = "short run" if seen["kind"] == "machine" else "log"
    text = f"The bins hold {accepted:,} accepted and {rejected:,} rejected parts, the {log} {good:,} and {bad:,}"
    by_limits = not seen["record.bins_by_verdicts"]
    if by_limits:
        text += " by the limits of what was measured"
    if p >= level.number:
        return says(SUPPORTS, f"{text}.", level)
    if by_limits and seen["kind"] == "machine":
        return says(
            APPROVAL,
            f"{text}: its parts are not those of the production that the bins count, or were chosen; explain the difference.",
            level,
        )
    if by_limits and bad > rejected:
        return says(
            APPROVAL,
            f"{text}: parts outside the limits were accepted, or other parts were counted; explain the difference.",
            level,
        )
    if by_limits:
        return says(
            APPROVAL,
            f"{text}: rejected parts are missing from the log, or were rejected for what it does not hold; name the column of their "
            "verdict and reason, or explain the difference.",
            level,
        )
    return says(APPROVAL, f"{text}: the difference must be explained.", level)


@rule(
    "verdicts against readings",
    group=GROUP,
    kinds=("process",),
    reads=("record.sorter",),
    source="hypergeometric and Poisson; a tenth of tolerance and the level of 0.001: common practice, no source",
    silent="Nothing in the log's verdicts contradicts its readings.",
)
def verdicts(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge whether the line's verdicts follow other limits than the study's."""
    if not seen["record.sorter"]:
        return None
    said = "; ".join(seen["record.sorter"])
    return says(
        APPROVAL,
        f"{said[0].upper()}{said[1:]}: which of verdicts and readings is right must be explained.",
    )


@rule(
    "short run against run",
    group=GROUP,
    kinds=("process",),
    reads=("record.short_run", "index", "process.mean", "process.sd", "lower", "upper"),
    criteria=("capability_accept", "contradiction"),
    source=f"ISO 22514-3: a short run holds part of what moves the process; intervals that do not meet: this kit; {_LEVEL}",
    silent="No short run of the characteristic is in the folder beside the run.",
)
def short_run(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge whether a machine in one setting seems worse than the process that contains it."""
    index, accept = seen["index"], criteria["capability_accept"]
    if not seen["record.short_run"] or isinstance(index, Absent):
        return None
    estimate, low, high, n = seen["record.short_run"]
    # The index of a short run is that of its mean and SD: of a skewed process it is another one by its quantiles.
    most = _at_level(estimate, high, criteria["contradiction"].number)
    least = min(index.bound, accept.number, _by_mean_and_sd(seen, index.bound))
    text = f"Pmk of the short run = {estimate:.2f} ({low:.2f} to {high:.2f}, n = {n:,.0f}), {index.name} of the run {index.estimate:.2f}"
    if most >= least:
        return says(SUPPORTS, f"{text}: no contradiction.", accept)
    return says(
        APPROVAL,
        f"{text}: a short run holds less of what moves the process and cannot be so much worse; which of the two is the process must "
        "be explained.",
        accept,
    )


def _at_level(estimate: float, high: float, level: float) -> float:
    """Move the upper end of a 95 % interval to where it lies at the level of a contradiction, by the normal ratio."""
    from scipy.special import ndtri

    if not high > estimate > 0:
        return high
    return float(estimate * (high / estimate) ** (ndtri(1 - level) / ndtri(0.975)))


def _by_mean_and_sd(seen: Seen, otherwise: float) -> float:
    """Index of the run by its mean and SD, as that of a short run is taken."""
    mean, sd = seen["process.mean"], seen["process.sd"]
    sides = ((seen["lower"], -1), (seen["upper"], 1))
    rooms = [sign * (limit - mean) for limit, sign in sides if limit is not None]
    return min(rooms) / (3 * sd) if rooms and sd > 0 else otherwise


@rule(
    "earlier revision",
    group="criteria",
    kinds=("process", "machine", "gauge", "judgement"),
    reads=("record.earlier", "record.changed", "record.relaxed"),
    source="this kit",
    silent="No earlier revision is in the folder: hold limits, units and criteria against the drawing and the customer's requirements.",
)
def earlier(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Compare limits, unit, class and criteria with an earlier revision."""
    before = seen["record.earlier"]
    if not before:
        return None
    changed, relaxed = seen["record.changed"], seen["record.relaxed"]
    if not changed:
        return says(SUPPORTS, f"Limits, unit, class and criteria are those of {before}.")
    text = f"Changed since {before}: {'; '.join(changed)}"
    if relaxed:
        return says(APPROVAL, f"{text}. Less is asked than before.")
    return says(SUPPORTS, f"{text}.")


@rule(
    "what the files say",
    group="criteria",
    kinds=("process", "machine"),
    reads=("record.files_say",),
    source="this kit",
    silent="No file of readings says otherwise than study.toml.",
)
def files_otherwise(seen: Seen, criteria: Criteria) -> Ruling | None:
    """Judge contradictions in files: narrower limits, unread columns of the same name, worse readings."""
    said = seen["record.files_say"]
    if not said:
        return None
    return says(APPROVAL, f"{'; '.join(said)}: which of the two is right must be explained.")


RULES = (
    as_measured,
    study_as_measured,
    names,
    counter,
    bins,
    verdicts,
    short_run,
    files_otherwise,
    earlier,
)
