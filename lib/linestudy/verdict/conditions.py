"""What a reader must know beside a decision, and hold against records of their own.

No evidence in a study folder can show that a coil was taken out and everything renumbered, that masters' values
were written anew, or that rows were put in another order: whoever reads the decision has the press's
counter, the coils' tickets, the bins and the certificates. So the numbers to hold against them are
printed with the decision, in few words and always in the same order.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from linestudy.results import Absent, Interval, counted, decimals_for
from linestudy.results.rounding import alike
from linestudy.results.tables import listed

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.verdict.facts import CharacteristicFacts, RecordFacts

#: Labels that are listed by name.
_LISTED = 6
#: Names that are listed where a sentence holds for several.
_FEW = 3
#: Readings below which what they cannot show is reported (common practice, no source).
_FEW_READINGS = 300
#: Correlation of neighbours, and readings, from which a filter is reported as a possible cause.
_FILTERED = 0.2
#: Share of a counter's numbers below which it is said how many of them were read.
_MOST_READ = 0.9


def conditions_of(facts: CharacteristicFacts, weaker: Iterable[Any] = ()) -> tuple[str, ...]:
    """List what the reader must know of one characteristic beside its decision.

    Parameters
    ----------
    facts : CharacteristicFacts
        What the rules read.
    weaker : iterable of Criterion
        Criteria that ask for less than their default.

    Returns
    -------
    tuple of str
        One sentence each; empty where nothing departs from what is usual.
    """
    record = facts.record
    said = [_sentence(text) for text in record.settings]
    said += [
        f"Criterion {item.departs} than usual: {item.name} {item.shown} instead of {item.usual} (source: {item.source})."
        for item in weaker
    ]
    said += _left_out(record)
    said += _counter(record)
    if facts.kind == "process" and record.not_recorded:
        missing = listed(record.not_recorded).replace(" and ", " or ")
        said.append(f"The readings carry no {missing}.")
    said += _parts_of_the_study(facts)
    said += _filtered(facts)
    said += _few_readings(facts)
    if record.changed:
        said.append(f"Changed since {record.earlier}: {'; '.join(record.changed)}.")
    return tuple(said)


def conditions_of_study(verdicts: Iterable[Any]) -> tuple[str, ...]:
    """List conditions of all characteristics, each said once.

    Parameters
    ----------
    verdicts : iterable of CharacteristicVerdict

    Returns
    -------
    tuple of str
        What was left out comes first, in one sentence for all of them; the others name whom they hold for
        unless they hold for all.
    """
    known = list(verdicts)
    whose: dict[str, list[str]] = {}
    for item in known:
        own = set(_left_out(item.facts.record))
        for text in item.conditions:
            if text not in own:
                whose.setdefault(text, []).append(item.name)
    # A counter is that of all characteristics of a run, of which there are several.
    every = [item.name for item in known]
    run = [item.name for item in known if item.facts.record.first is not None]
    said = [
        text if names == every or (names == run and len(run) > 1) else f"{_named(names)}: {text}"
        for text, names in whose.items()
    ]
    return (*_all_left_out([item.facts.record for item in known]), *said)


def _named(names: list[str]) -> str:
    return ", ".join(names) if len(names) <= _FEW else f"{names[0]} and {len(names) - 1} others"


def _all_left_out(records: list[RecordFacts]) -> list[str]:
    kinds: dict[str, list[int]] = {}
    for record in records:
        for words, n in _by_reason(record).items():
            kinds.setdefault(words, []).append(n)
    if not kinds:
        return []
    listed = "; ".join(
        f"{words}: {min(n):,}" + (f" to {max(n):,}" if min(n) < max(n) else "")
        for words, n in sorted(kinds.items())
    )
    rows = max(record.rows for record in records)
    return [f"Left out of up to {rows:,} readings of a characteristic: {listed}."]


def _by_reason(record: RecordFacts) -> dict[str, int]:
    """Count by the first words of a reason; the data record has them whole."""
    reasons: dict[str, int] = {}
    for reason, n in sorted(record.left_out.items()):
        words = re.split(r"[:(]", reason)[0].strip()
        reasons[words] = reasons.get(words, 0) + n
    return reasons


def _sentence(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}."


def _left_out(record: RecordFacts) -> list[str]:
    if not record.left_out:
        return []
    reasons = _by_reason(record)
    listed = ", ".join(f"{words} {n:,}" for words, n in reasons.items())
    total = sum(reasons.values())
    return [
        f"{counted(total, 'reading')} of {record.rows:,} left out ({100 * total / max(record.rows, 1):.1f} %): {listed}."
    ]


def _counter(record: RecordFacts) -> list[str]:
    said = []
    if record.gaps:
        low, high = record.longest_gap
        said.append(
            f"{record.numbers_missing:,} order numbers are missing in {counted(record.gaps, 'place')}, the longest gap from "
            f"{low:,.0f} to {high:,.0f}."
        )
    if record.backwards:
        said.append(
            f"In the file the order numbers go back {counted(record.backwards, 'time')}"
            f"{', for its rows were sorted by a reading' if record.sorted_rows else ''}; the rows were put in their order."
        )
    if record.pause:
        seconds, after = record.pause
        said.append(
            f"The clock stands still for {seconds / 60:,.0f} minutes before order number {after:,.0f}."
        )
    return said


def _parts_of_the_study(facts: CharacteristicFacts) -> list[str]:
    if not facts.record.study_parts or facts.process.n < 2 or not facts.process.sd:
        return []
    number, low, high, sd = facts.record.study_parts
    process, said = facts.process, []
    ratio = sd / process.sd
    if not (0.5 <= ratio <= 2 or math.isnan(ratio)):
        said.append(
            f"The {number:.0f} parts of the gauge study spread {ratio:.2g} times as much as those of the run; ndc "
            "is taken by the smaller spread."
        )
    if process.n >= _FEW_READINGS and not process.smallest <= low <= high <= process.largest:
        places = decimals_for(process.sd)
        ends = [f"{x:.{places}f}" for x in (low, high, process.smallest, process.largest)]
        said.append(
            f"Parts of the gauge study ({ends[0]} to {ends[1]}) lie beyond all {process.n:,} readings of the run ({ends[2]} to {ends[3]}): ask where "
            "these parts come from, and whether the readings of the run are those that the gauge recorded."
        )
    return said


def _filtered(facts: CharacteristicFacts) -> list[str]:
    """Find correlated neighbours, as of a slow process or of a gauge that averages."""
    process = facts.process
    if facts.kind != "process" or process.n < _FEW_READINGS or process.neighbours < _FILTERED:
        return []
    return [
        f"Readings next to each other correlate by {process.neighbours:.2f}, as those of a process that moves slowly do, and those of a gauge or "
        "program that averages: the index of averages is better than that of parts. Ask whether readings are filtered."
    ]


def _few_readings(facts: CharacteristicFacts) -> list[str]:
    """Say what so few readings cannot show; how often that misleads is among the notes on methods."""
    n = facts.process.n
    if facts.kind != "process" or not 0 < n < _FEW_READINGS or isinstance(facts.index, Absent):
        return []
    return [
        f"{n:,} readings do not show what is rare: parts of another kind, up to {3 / n:.1%} of all, may be in none of them (95 % confidence). "
        "Hold counts of rejected parts of a longer run against the decision."
    ]


def own_records(facts: Iterable[CharacteristicFacts], bins: Any = None) -> pd.DataFrame:
    """List counts that a reader can compare with records of their own.

    Parameters
    ----------
    facts : iterable of CharacteristicFacts
        Of all characteristics.
    bins : BinsStudy, optional

    Returns
    -------
    pandas.DataFrame
        Columns ``what, in this study, hold against``; what differs between characteristics has a row for each and names them.
    """
    import pandas as pd

    rows: dict[tuple[str, str], dict[str, list[str]]] = {}
    for one in facts:
        for what, value, against in lines_of(one):
            rows.setdefault((what, against), {}).setdefault(value, []).append(one.name)
    lines = [
        (what, _whose(value, own, len(values)), against)
        for (what, against), values in rows.items()
        for value, own in values.items()
    ]
    if bins is not None:
        counts = f"{bins.accepted:,} accepted, {bins.rejected:,} rejected, {bins.purged:,} purged"
        lines.append(("bins and purge", counts, "the bins' own counts and the weigh-out"))
    return pd.DataFrame(lines, columns=["what", "in this study", "hold against"])


def _whose(value: str, names: list[str], kinds: int) -> str:
    return value if kinds == 1 else f"{', '.join(names)}: {value}"


def lines_of(facts: CharacteristicFacts) -> list[tuple[str, str, str]]:
    """List what a reader can compare of one characteristic: what it is, its value, and what to compare it with."""
    record = facts.record
    unit = f" {facts.unit}" if facts.unit else ""
    lines = []
    if facts.kind != "judgement":
        limits = facts.limits + (", special" if facts.special else ", not special")
        lines.append(("limits and class", limits, "the drawing"))
    if record.rows:
        used = facts.process.n or record.rows
        lines.append(("readings", f"{used:,} of {record.rows:,} rows", "what the gauge recorded"))
    if record.first is not None and record.last is not None:
        strokes = f"{record.first:,.0f} to {record.last:,.0f}"
        numbers = record.last - record.first + 1
        if record.rows < _MOST_READ * numbers:
            strokes += f", {counted(record.rows, 'row')} for {numbers:,.0f} numbers"
        lines.append(("strokes", strokes, "the counter of the press"))
    if record.seed is not None:
        lines.append(("seed of random draws", str(record.seed), "results with any other seed"))
    if record.first_readings:
        known = (*record.first_readings, *record.last_readings)
        places = decimals_for(facts.process.sd, digits=3) if facts.process.sd > 0 else 6
        texts = alike(known, places)
        first = len(record.first_readings)
        ends = f"{' '.join(texts[:first])}; {' '.join(texts[first:])}"
        lines.append(("first and last readings", ends + unit, "the gauge's own record, in order"))
        if record.extremes:
            lines.append(
                (
                    "smallest and largest reading",
                    _extremes(record, places) + unit,
                    "the gauge's own record",
                )
            )
    if record.coils:
        lines.append(("coils", _listed(record.coils), "the coils' tickets"))
    if record.stations:
        lines.append(("stations", _listed(record.stations), "the tool's drawing"))
    if record.masters:
        text, against = ", ".join(alike(record.masters)) + unit, "their certificates"
        if record.master_readings:
            begin, end = alike(record.master_readings)
            text += f"; first reading {begin}, last {end}"
            against += ", and the gauge's own record"
        lines.append(("masters", text, against))
    if record.study_parts:
        number, low, high, sd = record.study_parts
        places = decimals_for(sd)
        text = f"{number:.0f} parts from {low:.{places}f} to {high:.{places}f}{unit}"
        against = "the parts, kept with their numbers"
        if record.study_readings:
            begin, end = alike(record.study_readings, decimals_for(sd, digits=3) if sd > 0 else 6)
            text += f"; first reading {begin}, last {end}"
            against += ", and the gauge's own record of every study made"
        lines.append(("parts of the gauge study", text, against))
    if len(record.study_people) > 1:
        lines.append(
            (
                "people of the study",
                _listed(record.study_people),
                "what each of them noted, who was there",
            )
        )
    if facts.judgement.parts and not isinstance(facts.judgement.effectiveness, Interval):
        return lines
    if facts.kind == "judgement" and facts.judgement.parts:
        text = f"{facts.judgement.parts} parts, {facts.judgement.trials} trials"
        lines.append(("judgements", text, "the parts, kept with their references"))
    return lines


def _extremes(record: RecordFacts, places: int) -> str:
    texts = alike(record.extremes, places)
    if record.extremes_at:
        texts = [f"{text} ({at:,.0f})" for text, at in zip(texts, record.extremes_at, strict=True)]
    return "; ".join(texts)


def _listed(labels: tuple[str, ...]) -> str:
    if len(labels) <= _LISTED:
        return f"{len(labels)}: {', '.join(labels)}"
    return f"{len(labels)}: {', '.join(labels[:2])} … {labels[-1]}"
