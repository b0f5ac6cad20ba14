"""What bears on a claim and is in no reading: sorting, what was left out, the time-dependent model."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.capability.sorting.sorted_before import sorted_on_another
from linestudy.gauges.masters.drift import DRIFT
from linestudy.records.exclusions import OTHER_KIND, OTHER_PARTS, SET_ASIDE_ON_PURPOSE
from linestudy.records.ledger import LARGE_SHARE
from linestudy.results import Findings, Interval, Unjudged, counted
from linestudy.results.rounding import show_in
from linestudy.results.tables import over_strokes, strokes_for_slopes
from linestudy.stability.movement.wear_rate import TOOL_WEAR
from linestudy.verdict.facts import Circumstances, LeftOut
from linestudy.verdict.gather.of_files import unread_stream
from linestudy.verdict.gather.unnamed_streams import streams_not_named
from linestudy.verdict.process.description import LEAST_STREAM
from linestudy.verdict.process.tags import MOST_STREAMS

if TYPE_CHECKING:
    from linestudy.records import Records

#: Reasons of the ledger that study.toml gives, and rows that say nothing new.
_GIVEN = ("verdict ", SET_ASIDE_ON_PURPOSE)
_REPEATED = "repeated row: same order number, same content"
#: Rows that are none of the part that is studied.
_OTHERS = (OTHER_PARTS, OTHER_KIND)

#: Level at which a slope of wear or of drift is told beside the decision; every study has both (common practice, no source).
_SELDOM = 0.005
#: Share of the strokes at an end of the run in which a stream may lack readings without a word.
_IDLE = 0.1
#: What follows from streams that were not read.
_NOT_JUDGED = ": what was not read is not judged"

#: Fewest readings by which a stream is in a sample of which no stream has enough for itself (common practice, no source).
_SHOWN = 5
#: Share of a stream's gaps between parts that are alike where it makes a part in every second or third stroke (a choice).
_ALIKE = 0.8


def circumstances_of(records: Records, findings: Findings, key: str, role: str) -> Circumstances:
    """Gather the circumstances of one characteristic's claim.

    Parameters
    ----------
    records : Records
    findings : Findings
        Of stability and capability.
    key : str
    role : str
        Of the readings that the claim rests on.

    Returns
    -------
    Circumstances
    """
    capability = findings.get(key, "capability")
    before: Any = findings.get(key, "capability", "before_sorting")
    refused = _refused(capability)
    sorted_index = getattr(before, "Ppk", None)
    is_sorted = isinstance(before, Unjudged) or before is not None
    model: Any = findings.get(key, "stability", "time_model")
    excluded, aside = _left_out(records, key, role)
    return Circumstances(
        sorted_parts=is_sorted,
        sorted_with=sorted_on_another(records, records.study.characteristic(key))
        if role == "run" and not is_sorted
        else "",
        excluded=excluded,
        set_aside=aside,
        left_out=_large(records, key, role),
        model=getattr(model, "model", None),
        in_time=role == "run",
        refused=refused,
        before_sorting=sorted_index if refused and isinstance(sorted_index, Interval) else None,
        streams_unseen=_not_judged(records, key) if role == "run" else "",
    )


def _not_judged(records: Records, key: str) -> str:
    unseen = unread_stream(records, key) or _streams_unseen(records, key)
    return f"{unseen}{_NOT_JUDGED}" if unseen else streams_not_named(records, key)


def _streams_unseen(records: Records, key: str) -> str:
    """List the parts of a stroke of which no stream has readings enough."""
    table = records.table("run", key)
    if table is None:
        return ""
    parts = int(table.attrs.get("parts_per_stroke", 1))
    if "station" not in table:
        return f"a stroke makes {parts} parts and no stream is named" if parts > 1 else ""
    sizes = table["station"].value_counts()
    sizes = sizes[sizes.index != ""]
    if parts > 1 and sizes.size > MOST_STREAMS:
        return f"a stroke makes {parts} parts and {sizes.size:,} streams are named, too many to be judged one by one"
    if parts == 1 and sizes.size > MOST_STREAMS:
        return f"{sizes.size:,} streams are named, too many to be judged one by one"
    # A sample that is spread evenly over many cavities shows each of them, though none by itself.
    judged = int((sizes >= LEAST_STREAM).sum()) or int((sizes >= _SHOWN).sum())
    if judged < parts:
        few = [f"{name}: {n:,}" for name, n in sizes.items() if n < LEAST_STREAM][:8]
        named = f" ({', '.join(few)})" if few else ""
        return f"a stroke makes {parts} parts and only {counted(judged, 'stream')} of them {_has(judged)} readings enough{named}"
    if 1 < sizes.size <= MOST_STREAMS and 2 * judged <= sizes.size:
        return f"of {sizes.size} streams named {judged} {_has(judged)} readings enough"
    return (_began_late(records, key, table) or _unevenly_missing(table)) if parts > 1 else ""


def _began_late(records: Records, key: str, table: Any) -> str:
    """Find the stream without readings at the run's beginning or end, where no event of it says why."""
    strokes = np.unique(table["order"].to_numpy(dtype=float))
    far = _IDLE * strokes.size
    for name, own in table[table["station"] != ""]["order"].groupby(table["station"]):
        if len(own) < _SHOWN:
            continue
        begin, end = (int(k) for k in np.searchsorted(strokes, [own.min(), own.max()]))
        said = np.searchsorted(
            strokes,
            [
                event.at
                for event in records.study.events
                if event.at is not None
                and str(name) in event.streams
                and event.concerns(key, str(name))
            ],
        )
        for count, edge, where in (
            (begin, begin, "first"),
            (strokes.size - 1 - end, end, "last"),
        ):
            if count > far and not (np.abs(said - edge) <= far / 10 + 1).any():
                return (
                    f"{name} has no reading in the {where} {count:,} of {strokes.size:,} strokes, and no event of that "
                    "stream says why"
                )
    return ""


def _steady_rate(gaps: Any) -> int:
    """Return every how many strokes a stream makes a part: one, unless nearly all its gaps are alike."""
    usual = int(np.median(gaps)) if gaps.size else 1
    return usual if gaps.size and (gaps == usual).mean() >= _ALIKE else 1


def _unevenly_missing(table: Any) -> str:
    """Find the stream that lacks readings in strokes in which the others have theirs; empty where all lack as many.

    Streams measured in turns lack as many each, and one that makes a part in every third stroke lacks none between them. One that
    lacks more than another by a hundredth of the strokes between its first and its last may lack what nobody was to see.
    """
    named = table[table["station"] != ""]
    strokes = np.unique(named["order"].to_numpy(dtype=float))
    lacking: dict[str, tuple[int, int]] = {}
    for name, part in named.groupby("station"):
        own = np.unique(part["order"].to_numpy(dtype=float))
        place = np.searchsorted(strokes, own)
        every = _steady_rate(np.diff(place))
        span = int(place[-1] - place[0]) // every + 1
        lacking[str(name)] = max(span - own.size, 0), span
    if len(lacking) < 2:
        return ""
    shares = {name: count / span for name, (count, span) in lacking.items()}
    worst = max(shares, key=lambda name: shares[name])
    count, span = lacking[worst]
    if count < _SHOWN or shares[worst] - min(shares.values()) <= LARGE_SHARE:
        return ""
    return (
        f"{worst} has no reading in {count:,} of {span:,} strokes in which another stream has one"
    )


def _has(number: int) -> str:
    return "has" if number == 1 else "have"


def wear_or_drift(findings: Findings, key: str, gauge: str | None, unit: str) -> list[str]:
    """Tell where the gauge's drift on a master may be what moves the readings, or a part of it.

    Parameters
    ----------
    findings : Findings
        Of stability and gauges.
    key : str
    gauge : str or None
        The one that read the run.
    unit : str
        Of the readings.

    Returns
    -------
    list of str
        Empty where nothing moves, where the gauge does not, or where no master was read along the run.

    Notes
    -----
    Readings move by wear and drift, a master by drift alone; their slopes are independent, so the half width of their
    difference is the root of the sum of the squares of theirs. Misleads where the master is of another size than the parts and
    the gauge's scale drifts, and where the master was not read over the whole run (the rule on drift says so).
    """
    worn: Any = findings.get(key, *TOOL_WEAR.at())
    drifted: Any = findings.get(key, *DRIFT.at(gauge=gauge or ""))
    run = getattr(worn, "slope_per_thousand", None)
    master = getattr(drifted, "slope_per_thousand", None)
    if not isinstance(run, Interval) or not isinstance(master, Interval):
        return []
    if min(worn.slope_p, drifted.slope_p) > _SELDOM:
        return []
    half = float(np.hypot(run.high - run.low, master.high - master.low)) / 2
    left = run.estimate - master.estimate
    rest = Interval(left, left - half, left + half, run.confidence, "difference of two slopes")
    over = worn.over or strokes_for_slopes([run, master])
    moved, drift, left_over = (
        show_in(over_strokes(one, over=over)[0], unit) for one in (run, master, rest)
    )
    text = f"per {over:,} strokes readings move by {moved}, the gauge on its master by {drift}"
    if 0 in rest:
        return [f"{text}: it may be the gauge that moves, not the tool"]
    if drifted.slope_p > _SELDOM:
        # The gauge stands still; whether the tool's wear matters is the tool life's to say.
        return []
    return [f"{text}: both move, and {left_over} is the tool's"]


def _refused(capability: Any) -> str:
    """Say why package capability gives no index at all."""
    if isinstance(capability, Unjudged):
        return capability.reason.rstrip(".")
    index = getattr(capability, "Ppk", None)
    return (
        ""
        if capability is None or isinstance(index, Interval)
        else str(getattr(index, "reason", ""))
    )


def _left_out(records: Records, key: str, role: str) -> tuple[float, float]:
    """Compute shares of the readings excluded without and with a reason named in study.toml."""
    read = left = named = 0
    for account in records.ledger.accounts:
        own = account.values.get(key)
        if account.role != role or own is None:
            continue
        # A row of a wide sheet holds a reading in each of the characteristic's columns.
        rows = {reason: count * own.columns for reason, count in account.set_aside.items()}
        others = {reason for reason in rows if reason.startswith(_OTHERS)}
        read += account.rows_read * own.columns - sum(rows.pop(reason) for reason in others)
        for reasons in (rows, own.set_aside):
            for reason, count in reasons.items():
                if reason.startswith(_GIVEN):
                    named += count
                elif not reason.startswith(_REPEATED):
                    left += count
    return (left / read, named / read) if read else (0.0, 0.0)


def _large(records: Records, key: str, role: str) -> tuple[LeftOut, ...]:
    """List reasons for which more than one reading in a hundred is excluded, rows and readings together."""
    counts: dict[str, int] = {}
    read = 0
    for account in records.ledger.accounts:
        own = account.values.get(key)
        if account.role != role or own is None:
            continue
        # A row of a wide sheet holds a reading in each of the characteristic's columns.
        rows = {
            r: n * own.columns for r, n in account.set_aside.items() if not r.startswith(_OTHERS)
        }
        read += account.rows_used * own.columns + sum(rows.values())
        for reasons in (rows, own.set_aside):
            for reason, count in reasons.items():
                counts[reason] = counts.get(reason, 0) + count
    return tuple(
        LeftOut(reason, count, count / read, reason.startswith(_GIVEN))
        for reason, count in counts.items()
        if count > LARGE_SHARE * read
    )
