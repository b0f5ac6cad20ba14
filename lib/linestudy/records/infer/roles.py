"""Which role a table most likely has, and which of its columns is what, each with its evidence.

Nothing here decides: what is proposed is in a file that a person reads. Evidence comes from names of columns (words
in several languages), from what is in them (counters, times, judgements, few entries that repeat) and from how columns
go together (a master's value and its readings rise together; two gauges give nearly the same). Common practice, no source;
it misleads where a column looks like another, as a batch number that rises.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from linestudy.records.infer.column_kinds import ColumnKind
from linestudy.records.infer.gauge_sheets import (
    crossed_readings,
    masters,
    specimens,
    wide_sheet,
)
from linestudy.records.infer.guesses import (
    Guess,
    Table,
    clock,
    common_name,
    counts_strokes,
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
from linestudy.records.infer.words import is_nameless, named_alone, says
from linestudy.records.units import is_unit


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
        _factorial,
        _two_gauges,
        specimens,
        _drift,
    ):
        guess = look(Table(columns, rows, file))
        if guess is not None:
            return guess
    return _run(Table(columns, rows, file))


def _factorial(table: Table) -> Guess | None:
    """Recognise a crossed study whose names nobody knows: parts, people and trials in every combination, each once.

    Nothing but a design does that; strokes, stations and coils of a run have more of one than of another.
    """
    whole = [c for c in table.free("numbers") if c.whole and c.repeated >= 2]
    for person in (c for c in table.free("words") if 2 <= c.distinct <= 10 and c.cells):
        for part in (c for c in whole if 4 <= c.distinct <= 100):
            for trial in (c for c in whole if c is not part and 2 <= c.distinct <= 10):
                if part.distinct * person.distinct * trial.distinct != table.rows:
                    continue
                cells = set(
                    zip(part.numbers.tolist(), person.cells, trial.numbers.tolist(), strict=False)
                )
                counts = np.unique(trial.numbers[np.isfinite(trial.numbers)])
                values = [
                    c for c in table.free("numbers") if c not in (part, trial) and not c.whole
                ]
                if len(cells) < table.rows or counts[-1] != counts.size or not values:
                    continue
                said = f'each of {part.distinct} "{part.name}" with each of {person.distinct} "{person.name}" in {trial.distinct} "{trial.name}"'
                guess = Guess("crossed", f"every combination once: {said}")
                for key, column in (("part", part), ("appraiser", person), ("trial", trial)):
                    table.take(guess, key, column, entries_of(column))
                keep(table, guess, values)
                return guess
    return None


def _two_gauges(table: Table) -> Guess | None:
    part = next((c for c in table.free() if says(c.name, "part", "number")), None)
    values = [c for c in table.free("numbers") if c is not part and not is_label(c)]
    between = _difference(values) if len(values) == 3 else None
    values = [c for c in values if c is not between]
    if part is None or part.repeated > 1.05 or len(values) != 2 or not 5 <= table.rows <= 2000:
        return None
    one, other = (c.numbers for c in values)
    both = np.isfinite(one) & np.isfinite(other)
    if both.sum() < 5 or np.ptp(one[both]) == 0 or np.ptp(other[both]) == 0:
        return None
    together = float(np.corrcoef(one[both], other[both])[0, 1])
    ratio = abs(values[0].middle / values[1].middle) if values[1].middle else 0.0
    factors = (1.0, 25.4, 1 / 25.4, 1000.0, 1 / 1000.0)
    near = [f for f in factors if ratio and abs(np.log(ratio / f)) < 0.05]
    if together < 0.8 or not near:
        return None
    names = f'"{values[0].name}" and "{values[1].name}"'
    guess = Guess("paired", f"{names} rise together (correlation {together:.2f}) and are alike")
    table.take(guess, "part", part, f"{part.distinct} different entries in {table.rows} rows")
    if between is not None:
        table.taken.add(between.name)
    guess.values["value"] = [c.name for c in values]
    guess.open.append(f'name the two gauges: gauges = ["{values[0].name}", "{values[1].name}"]')
    return guess


def _difference(columns: list[ColumnKind]) -> ColumnKind | None:
    """Find the column that holds the difference of the two others, whatever its sign, in their unit or a thousandth."""
    # One reading is the difference of the other and of the difference, too: what lies nearest to nought is it.
    for column in sorted(columns, key=lambda c: abs(c.middle)):
        one, other = (c.numbers for c in columns if c is not column)
        both = np.isfinite(one) & np.isfinite(other) & np.isfinite(column.numbers)
        if both.sum() < 5 or not np.ptp(column.numbers[both]):
            continue
        apart, said = (one - other)[both], column.numbers[both]
        for factor in (1.0, -1.0, 1e3, -1e3):
            # As rounded as readings and their difference are written.
            if np.abs(factor * apart - said).max() <= 0.02 * np.ptp(said):
                return column
    return None


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
    axis = _second_name(table, about)
    source: dict[str, Any] = {"characteristic": about.name, "value": value.name}
    if axis is not None:
        source["characteristic"] = [about.name, axis.name]
        guess.why = f'one value a row, "{about.name}" and "{axis.name}" say of what'
        table.taken.add(axis.name)
    unit = _unit_of_rows(table, about)
    if unit is not None:
        source["unit"] = unit.name
        table.taken.add(unit.name)
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


def _second_name(table: Table, about: ColumnKind) -> ColumnKind | None:
    """Find the column that only together with another one says of what a value is: a bore, and its axis.

    So it is where a part has several rows of one feature, and no two of them with the same entry of that column.
    """
    part = next(
        (c for c in table.free("numbers") if c.whole and says(c.name, "order", "part", "number")),
        None,
    )
    if part is None or not about.cells:
        return None
    rows = list(zip(part.numbers.tolist(), about.cells, strict=False))
    if len(set(rows)) == len(rows):
        return None
    for column in table.free("words"):
        if column is about or not column.cells or not says(column.name, "characteristic"):
            continue
        both = set(zip(rows, column.cells, strict=False))
        if column.distinct > 1 and len(both) == len(rows):
            return column
    return None


def _unit_of_rows(table: Table, about: ColumnKind) -> ColumnKind | None:
    """Find the column of the unit of each row, where one feature has rows in several."""
    unit = next((c for c in table.free("words") if says(c.name, "unit") and c.cells), None)
    if unit is None or not about.cells or not all(is_unit(each) for each in unit.entries):
        return None
    pairs = {(a, u) for a, u in zip(about.cells, unit.cells, strict=False) if a and u}
    return unit if len(pairs) > len({a for a, _ in pairs}) else None


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


#: Fewest points of a curve.
_CURVE = 20


def _rises_evenly(column: ColumnKind) -> bool:
    """Check whether numbers with decimals rise by the same step nearly always, as the travel of a pull; no reading does."""
    numbers = column.numbers[np.isfinite(column.numbers)]
    if column.whole or numbers.size < _CURVE:
        return False
    steps = np.diff(numbers)
    middle = float(np.median(steps))
    even = np.abs(steps - middle) < 0.02 * abs(middle)
    return middle > 0 and float(even.mean()) > 0.8


def _run(table: Table) -> Guess:
    machine = any(
        word in table.file
        for word in ("machine", "maschine", "cmk", "pmk", "cm_", "short_run", "kurz")
    )
    guess = Guess("run", "one part a row, in the order in which they came")
    if machine:
        guess = Guess("machine", "its name says that it is a short run of the machine")
    several_parts(table, guess)
    counted = table.free("times") or any(
        is_label(c) or counts_strokes(c) for c in table.free("numbers")
    )
    curve = next((c for c in table.free("numbers") if _rises_evenly(c)), None)
    if curve is not None and not counted:
        guess.open.append(
            f'"{curve.name}" rises in equal steps, so the rows are points of a curve and no parts: leave the table out, and give '
            "what is read off each curve (the peak of a pull), one row a specimen"
        )
        return guess
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
        if is_nameless(column.name) and column.filled < 0.2 * table.rows:
            # Rules and remarks beside the rows, as around the answer of a data base.
            table.taken.add(column.name)
            continue
        # An entry in every row of a document is a name, and distinguishes no streams.
        if 1 <= column.distinct <= 8 and not (column.distinct == 1 and "." in column.name):
            guess.open.append(
                f'station, coil or appraiser = "{column.name}" ?   {entries_of(column)}'
            )
            table.taken.add(column.name)
    # A second running number counts, and measures nothing.
    left = [c for c in table.free("numbers") if not (is_label(c) and c.rising > 0.95)]
    known = [c for c in left if named_alone(c.name) & {"reference"}]
    if len(known) < len(left):
        left = [c for c in left if c not in known]
        guess.open += [
            f'"{c.name}" is called a known value, and is taken for no reading' for c in known
        ]
    keep(table, guess, without_labels(guess, left))
    for name in [name for name in guess.values if name.endswith(" again")]:
        guess.open.append(
            f'"{name}" is the name of a column that stands there again: say what it is of'
        )
    return guess
