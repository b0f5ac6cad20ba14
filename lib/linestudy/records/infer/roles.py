"""Which role a table most likely has, and which of its columns is what, each with its evidence.

Nothing here decides: what is proposed is in a file that a person reads. Evidence comes from names of columns (words
in several languages), from what is in them (counters, times, judgements, few entries that repeat) and from how columns
go together (a master's value and its readings rise together; two gauges give nearly the same). Common practice, no source;
it misleads where a column looks like another, as a batch number that rises.
"""

from __future__ import annotations

import numpy as np

from linestudy.records.infer.column_kinds import ColumnKind
from linestudy.records.infer.gauge_sheets import (
    crossed_readings,
    masters,
    specimens,
    two_gauges,
    wide_sheet,
)
from linestudy.records.infer.guesses import (
    Guess,
    Table,
    clock,
    common_name,
    entries_of,
    is_label,
    keep,
    limits_beside,
    number_rows,
    numbered_subgroups,
    several_parts,
    tags,
    without_labels,
)
from linestudy.records.infer.judged import graded, judgements, verdict
from linestudy.records.infer.wide_names import nest, xy_pairs
from linestudy.records.infer.words import says


def guess_role(columns: list[ColumnKind], rows: int, file: str) -> Guess:
    """Propose the role of a table and the meaning of its columns.

    Parameters
    ----------
    columns : list of ColumnKind
    rows : int
        Rows of data.
    file : str
        Its name, which may say something.

    Returns
    -------
    Guess
    """
    for look in (
        _bins,
        _long,
        judgements,
        graded,
        masters,
        wide_sheet,
        crossed_readings,
        two_gauges,
        specimens,
        _drift,
    ):
        guess = look(Table(columns, rows, file))
        if guess is not None:
            return guess
    return _run(Table(columns, rows, file))


def _bins(table: Table) -> Guess | None:
    accepted = table.named("accepted", "numbers")
    rejected = table.named("rejected", "numbers")
    if accepted is None or rejected is None or not (accepted.whole and rejected.whole):
        return None
    others = [c for c in table.free("words", "times", "numbers") if c not in (accepted, rejected)]
    # A shift alone comes again every day; its date does not.
    period = next((c for c in others if c.repeated <= 1.5 and c.kind != "numbers"), None)
    period = period or next(
        (c for c in others if c.repeated <= 1.5 and says(c.name, "period", "time")), None
    )
    date = next((c for c in others if c.kind == "times"), None)
    shift = next((c for c in others if c is not date and says(c.name, "period")), None)
    guess = Guess("bins", "counts of accepted and rejected parts by period")
    if period is not None:
        evidence = f"{period.distinct} different entries in {table.rows} rows"
        table.take(guess, "period", period, evidence)
    elif date is not None and shift is not None and date.distinct * shift.distinct >= table.rows:
        evidence = f"{date.distinct} dates with {shift.distinct} entries each"
        guess.keys.append(("period", [date.name, shift.name], evidence))
        table.taken |= {date.name, shift.name}
    else:
        return None
    table.take(guess, "accepted", accepted, "whole numbers")
    table.take(guess, "rejected", rejected, "whole numbers")
    purged = table.named("purged", "numbers")
    if purged is not None and purged.whole:
        table.take(guess, "purged", purged, "whole numbers")
    return guess


def _long(table: Table) -> Guess | None:
    about = next(
        (
            c
            for c in table.free("words")
            if says(c.name, "characteristic") and 1 <= c.distinct <= 60 and c.repeated >= 2
        ),
        None,
    )
    value = table.named("value", "numbers")
    if about is None:
        about, value = _by_level(table)
    if about is None or value is None:
        return None
    if any(says(c.name, "reference") for c in table.free("judgements", "numbers")):
        return None
    guess = Guess("run", f'one value a row, "{about.name}" says of what')
    source = {"characteristic": about.name, "value": value.name}
    table.taken |= {about.name, value.name}
    guess.keys.append(("long", source, entries_of(about)))
    person = next(
        (
            c
            for c in table.free("words", "numbers")
            if says(c.name, "appraiser") and 1 < c.distinct <= 20
        ),
        None,
    )
    part = next((c for c in table.free("words", "numbers") if says(c.name, "part", "number")), None)
    if person is not None and part is not None and part.repeated >= 2 * about.distinct:
        guess.role, guess.why = (
            "crossed",
            f"{guess.why}, {part.distinct} parts read by {person.distinct} people",
        )
        table.take(guess, "part", part, f"{part.distinct} different entries")
        tags(table, guess, "appraiser", "trial", "station")
        return guess
    counter = next(
        (c for c in table.free("numbers") if c.whole and says(c.name, "order", "part", "number")),
        None,
    )
    if counter is not None:
        table.take(guess, "order", counter, "whole numbers that say which part")
    clock(table, guess)
    tags(table, guess, "station", "coil")
    verdict(table, guess)
    return guess


def _by_level(table: Table) -> tuple[ColumnKind | None, ColumnKind | None]:
    """Find a column of words whose entries divide one column of values into levels far from each other."""
    values = [c for c in table.free("numbers") if not c.whole and not is_label(c)]
    for about in table.free("words") if len(values) == 1 else ():
        known = says(
            about.name,
            "station",
            "coil",
            "appraiser",
            "part",
            "verdict",
            "stop",
            "job",
            "gauge",
            "trial",
            "period",
        )
        if known or not 2 <= about.distinct <= 60 or about.repeated < 5 or not about.cells:
            continue
        groups: dict[str, list[float]] = {}
        for entry, number in zip(about.cells, values[0].numbers, strict=False):
            if np.isfinite(number):
                groups.setdefault(entry, []).append(float(number))
        within = max(float(np.ptp(np.quantile(each, (0.1, 0.9)))) for each in groups.values())
        middles = np.sort([float(np.median(each)) for each in groups.values()])
        if len(groups) > 1 and np.diff(middles).min() > _FAR_APART * max(within, 1e-12):
            return about, values[0]
    return None, None


#: Least distance between kinds, in ranges of the middle 80 % of one kind's values.
_FAR_APART = 5.0


def _drift(table: Table) -> Guess | None:
    words = ("drift", "stabil", "langzeit", "long term", "master check", "referenzteil")
    if not any(word in table.file for word in words) or table.rows > 1000:
        return None
    guess = Guess("drift", "its name says that one reference part is read over time")
    clock(table, guess)
    counter = next((c for c in table.free("numbers") if c.rising > 0.95), None)
    if counter is not None:
        table.take(
            guess,
            "order",
            counter,
            f"whole numbers, {counter.rising:.0%} of them above the one before",
        )
    values = [c for c in table.free("numbers") if not is_label(c)]
    found = nest([c.name for c in values])
    if found is not None and found.levels == 1:
        guess.values[common_name(values)] = found.source
    else:
        keep(table, guess, values)
    return guess if guess.values else None


def _run(table: Table) -> Guess:
    machine = any(
        word in table.file
        for word in ("machine", "maschine", "cmk", "pmk", "cm_", "short_run", "kurz")
    )
    guess = Guess("run", "one part a row, in the order in which they came")
    if machine:
        guess = Guess("machine", "its name says that it is a short run of the machine")
    several_parts(table, guess)
    number_rows(table, guess)
    clock(table, guess)
    if not machine:
        tags(table, guess, "station", "coil", "stop")
        numbered_subgroups(table, guess)
        verdict(table, guess)
    pairs = xy_pairs([c.name for c in table.free("numbers")])
    for name, pair in pairs.items():
        guess.values[name] = list(pair)
        table.taken |= set(pair)
        guess.open.append(f'"{pair[0]}" and "{pair[1]}" are taken for x and y of a position')
    limits_beside(table, guess)
    for column in table.free("words", "judgements"):
        # An entry in every row of a document is a name, and distinguishes no streams.
        if 1 <= column.distinct <= 8 and not (column.distinct == 1 and "." in column.name):
            guess.open.append(
                f'station, coil or appraiser = "{column.name}" ?   {entries_of(column)}'
            )
            table.taken.add(column.name)
    # A second running number counts, and measures nothing.
    left = [c for c in table.free("numbers") if not (is_label(c) and c.rising > 0.95)]
    keep(table, guess, without_labels(guess, left))
    for name in [name for name in guess.values if name.endswith(" again")]:
        guess.open.append(
            f'"{name}" is the name of a column that stands there again: say what it is of'
        )
    return guess
