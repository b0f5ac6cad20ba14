"""Sheets of gauge studies: what speaks for judgements, masters, a crossed study, two gauges, specimens that are destroyed."""

from __future__ import annotations

import re

import numpy as np

from linestudy.records.formats.stacked_tables import labels_of
from linestudy.records.infer.column_kinds import ColumnKind
from linestudy.records.infer.guesses import (
    Guess,
    Table,
    clock,
    common_name,
    counts_strokes,
    entries_of,
    is_label,
    keep,
    number_rows,
    says_uncertainty,
    set_uncertainties_aside,
    tags,
)
from linestudy.records.infer.judged import verdict
from linestudy.records.infer.notices.known_values import master_and_value
from linestudy.records.infer.wide_names import Nest, by_quantity, by_station, is_total_name, nest
from linestudy.records.infer.words import (
    is_nameless,
    meanings,
    named_alone,
    says,
    says_deviation,
)

#: Sheets that people fill in have few rows.
_SHEET_ROWS = 150
#: So many days or more make readings of one master a study over time.
_MANY_DAYS = 3


def masters(table: Table) -> Guess | None:
    named = [c for c in table.free("numbers") if says(c.name, "reference")]
    if not named and any(says(c.name, "reference") for c in table.free("words")):
        # The masters are named in one column, and their values nominal ones in another.
        nominal = [c for c in table.free("numbers") if says(c.name, "nominal")]
        named = [c for c in nominal if c.distinct > 1 and c.repeated >= 2]
    # Several of them are masters side by side, whose columns hold readings.
    numbered = master_and_value(table.free("numbers"), named)
    label, known = numbered or ((named[0], named[0]) if len(named) == 1 else (None, None))
    if (
        known is None
        or label is None
        or known.distinct > max(12, table.rows // 2)
        or table.rows < 2
    ):
        return None
    others = [c for c in table.free("numbers") if c not in (known, label) and not is_label(c)]
    uncertain = [c for c in others if says_uncertainty(c.name)]
    beside = [c for c in others if says_deviation(c.name)]
    table.taken |= {c.name for c in beside}
    others = [c for c in others if c not in uncertain and c not in beside]
    if not others:
        return None
    guess = Guess(
        "reference",
        f'"{known.name}" holds {known.distinct} known values, each read again and again',
    )
    table.take(guess, "reference", known, f"{known.distinct} different values in {table.rows} rows")
    set_uncertainties_aside(table, guess, uncertain)
    part = next(
        (c for c in table.free() if says(c.name, "part", "number") and c not in others), None
    )
    dated = next((c for c in table.free("times") if c.days), None)
    if known.distinct == 1 and dated is not None and _MANY_DAYS <= dated.days >= dated.filled / 24:
        # One master again and again over days, an hour and more between: whether the gauge stays the same.
        guess.role, guess.why = (
            "drift",
            f'one reference part, "{known.name}", read over {dated.days} days',
        )
    elif label is not known:
        table.take(guess, "part", label, entries_of(label))
    elif part is not None:
        table.take(guess, "part", part, entries_of(part))
    clock(table, guess)
    left = [c for c in others if c.name not in table.taken]
    found = nest([c.name for c in left])
    if found is not None and found.levels == 1:
        guess.values[common_name(left)] = found.source
        return guess
    keep(
        table,
        guess,
        [c for c in left if not (c.whole and says(c.name, "trial", "order", "number"))],
    )
    return guess if guess.values else None


def wide_sheet(table: Table) -> Guess | None:
    label = next(
        (
            c
            for c in table.columns
            if (
                says(c.name, "part", "number", "subgroup", "order", "time", "coil", "strip")
                # Readings of "Part 1" have decimals, and numbers of parts none.
                and (c.kind != "numbers" or c.whole)
            )
            or (c.kind in ("words", "times") and not says(c.name, "appraiser"))
        ),
        None,
    )
    values = [c for c in table.free("numbers") if c is not label and not says(c.name, "order")]
    values = [c for c in values if c is not _trials(table)]
    known = [c for c in values if says(c.name, "reference")]
    values = [c for c in values if not is_label(c) and not (len(known) == 1 and c is known[0])]
    totals = [c for c in values if is_total_name(c.name)]
    values = [c for c in values if c not in totals]
    counting = [c for c in values if c.whole and c.rising > 0.95]
    if len(values) > len(counting) + 1 and nest([c.name for c in values]) is None:
        # A number of the row by a name that nobody knows.
        values = [c for c in values if c not in counting]
    stations = by_station([c.name for c in values])
    if stations is not None and table.rows > 20:
        guess = Guess(
            "run",
            f"each quantity stands there once for {' and '.join(next(iter(stations.values())))}",
        )
        number_rows(table, guess)
        clock(table, guess)
        tags(table, guess, "coil", "stop")
        verdicts = table.free("judgements")
        if len(verdicts) > 1:
            # One verdict of a row would be taken for the parts of all stations.
            names = ", ".join(f'"{c.name}"' for c in verdicts)
            guess.open.append(
                f"verdicts that stand there once for each station are left out: {names}"
            )
        else:
            verdict(table, guess)
        for quantity, source in stations.items():
            guess.values[quantity] = source
        guess.keys.append(("across", ["station"], "the ends of the names"))
        return guess
    found = nest([c.name for c in values])
    if found is not None and _alike(values):
        return _of_nest(table, found, values, label)
    return _of_quantities(table, values, label)


def _trials(table: Table) -> ColumnKind | None:
    """Find an unnamed column that counts 1, 2, 3 again and again, beside numbered parts."""
    for column in table.free("numbers"):
        numbers = column.numbers[np.isfinite(column.numbers)]
        if is_nameless(column.name) and 2 <= column.distinct <= 10 and column.repeated >= 2:
            counted = np.arange(numbers.size) % column.distinct + 1
            return column if np.array_equal(numbers, counted) else None
    return None


def _of_quantities(
    table: Table, values: list[ColumnKind], label: ColumnKind | None
) -> Guess | None:
    """Recognise one gauge sheet with several characteristics side by side."""
    found = by_quantity([c.name for c in values])
    if found is None or label is None or not 2 <= table.rows <= _SHEET_ROWS:
        return None
    if label.distinct < table.rows or not says(label.name, "part", "number"):
        return None
    names = ", ".join(next(iter(found.values())).names[:6])
    guess = Guess(
        "crossed",
        f"{table.rows} parts, readings of {', '.join(found)} side by side: {names}",
    )
    table.take(guess, "part", label, f"{label.distinct} different entries in {table.rows} rows")
    guess.keys.append(("across", ["appraiser", "trial"], f"the names {names}"))
    for quantity, each in found.items():
        guess.values[quantity] = each.source
    return guess


def _alike(columns: list[ColumnKind]) -> bool:
    """Check whether columns may hold one quantity: medians within a fifth of each other, or within 6 SDs."""
    middles = np.array([c.middle for c in columns])
    middles = middles[np.isfinite(middles)]
    if middles.size < 2:
        return False
    spread = max(float(np.nanstd(c.numbers)) for c in columns)
    return bool(np.ptp(middles) <= max(0.2 * np.abs(middles).max(), 6 * spread))


def _of_nest(
    table: Table, found: Nest, values: list[ColumnKind], label: ColumnKind | None
) -> Guess | None:
    names = ", ".join(found.names[:6])
    beside = [c for c in table.free() if c not in values]
    person = next((c for c in beside if says(c.name, "appraiser")), None)
    trial = next((c for c in beside if says(c.name, "trial")), None) or _trials(table)
    if person is None and trial is not None:
        person = next(
            (c for c in beside if is_nameless(c.name) and c is not trial and c.repeated >= 2), None
        )
    if found.levels == 1 and person is not None and trial is not None and table.rows <= _SHEET_ROWS:
        # Parts across, people and trials down: the layout of many a printed form.
        guess = Guess(
            "crossed", f"{len(values)} parts side by side, people and trials below each other"
        )
        table.take(guess, "appraiser", person, entries_of(person))
        table.take(guess, "trial", trial, entries_of(trial))
        guess.keys.append(("across", ["part"], names))
        guess.values["value"] = {c.name: c.name for c in values}
        return guess
    is_coil = (
        all(says(stem, "coil") for stem in found.labels)
        if found.labels
        else says(values[0].name, "coil")
    )
    is_master = says(found.labels[0] if found.labels else values[0].name, "reference")
    if found.levels == 1 and is_coil:
        source = {c.name: c.name for c in values}
        guess = Guess("nested", f"one column for each coil: {names}")
        guess.keys += [("levels", ["coil"], "the coils lie across"), ("across", ["coil"], names)]
        guess.values["value"] = source
        return guess
    if found.levels == 1 and is_master:
        guess = Guess("reference", f"one column for each master: {names}")
        guess.keys.append(("across", ["part"], names))
        guess.values["value"] = {c.name: c.name for c in values}
        guess.open.append("say what the masters truly are: reference = { … }")
        return guess
    part = label if label is not None and says(label.name, "part", "number") else None
    runs = label is None or says(label.name, "subgroup", "order", "time") or label.kind == "times"
    # 부품번호 says part and number.
    runs = runs and not (person is not None and part is not None and says(part.name, "part"))
    if found.levels == 1 and label is not None and says(label.name, "subgroup"):
        places = [re.fullmatch(r"\D{0,12}(\d{1,2})", entry) for entry in label.entries]
        if (
            label.kind == "words"
            and table.rows <= 25
            and sum(map(bool, places)) >= max(2, 0.8 * len(places))
        ):
            # Subgroups lie across, and their parts below each other.
            guess = Guess("run", f"subgroups side by side: {names}")
            guess.across = f'"{label.name}" stands over {", ".join(sorted(label.entries)[:3])}, so subgroups lie across'
            return guess
    stem = common_name(values) if found.levels == 1 else ""
    if runs and named_alone(stem) == {"station"}:
        guess = Guess("run", f"each stroke stands there once for {names}")
        number_rows(table, guess)
        clock(table, guess)
        tags(table, guess, "coil", "stop")
        verdict(table, guess)
        guess.keys.append(("across", ["station"], f"{names} are names of stations"))
        guess.values["value"] = {re.sub(r"^\D+", "", c.name) or c.name: c.name for c in values}
        return guess
    if found.levels == 1 and (runs or (part is None and table.rows > _SHEET_ROWS)):
        guess = Guess("run", f"rows of {len(values)} neighbouring parts: {names}")
        guess.keys.append(("across", ["order"], f"{names} follow each other"))
        clock(table, guess)
        guess.values[common_name(values)] = found.source
        return guess
    coil = label is not None and says(label.name, "coil")
    if found.levels == 1 and coil and label is not None:
        guess = Guess("nested", f"{len(values)} specimens of each coil side by side: {names}")
        guess.keys.append(("levels", [label.name], entries_of(label)))
        guess.values[common_name(values)] = found.source
        return guess
    if table.rows > _SHEET_ROWS or label is None:
        return None
    guess = Guess(
        "crossed", f"{label.distinct} parts, {len(values)} readings of each side by side: {names}"
    )
    table.take(guess, "part", label, f"{label.distinct} different entries in {table.rows} rows")
    levels = {1: ["trial"], 2: ["appraiser", "trial"], 3: ["station", "appraiser", "trial"]}
    guess.keys.append(("across", levels[found.levels], f"the names {names}"))
    tags(table, guess, "appraiser", "station")
    common, labels = labels_of(list(found.labels)) if found.labels else (common_name(values), [])
    if found.levels == 2 and common and not _says_a_tag(common):
        # Grat A1, Grat A2, Grat B1: the quantity comes before the people.
        found_of = dict(zip(labels, found.source.values(), strict=True))
        guess.values[common] = found_of
    elif found.levels == 1 and common != "value" and not _says_a_tag(common):
        guess.values[common] = found.source
    else:
        guess.values["value"] = found.source
    return guess


def _says_a_tag(name: str) -> bool:
    return says(
        name,
        "appraiser",
        "trial",
        "station",
        "part",
        "coil",
        "reference",
        "value",
        "number",
        "order",
    )


def _read_the_same(columns: list[ColumnKind]) -> bool:
    """Check whether columns are readings of the same parts by several people: similar and correlated."""
    if (
        len(columns) < 2
        or not _alike(columns)
        or any(says(c.name, "value", "characteristic") for c in columns)
    ):
        return False
    values = np.array([c.numbers for c in columns])
    values = values[:, np.isfinite(values).all(axis=0)]
    if values.shape[1] < _FEW or (np.ptp(values, axis=1) == 0).any():
        return False
    together = float(np.corrcoef(values)[np.triu_indices(len(columns), 1)].min())
    near = float(np.ptp(np.median(values, axis=1))) < float(np.ptp(values, axis=1).min())
    return together > 0.5 and near


def _counted(table: Table, part: ColumnKind, person: ColumnKind) -> ColumnKind | None:
    """Find the column that counts 1, 2, 3 for each part and person, whatever its name."""
    each = table.rows / (part.distinct * person.distinct)
    for column in table.free("numbers"):
        if column in (part, person) or column.distinct != each or not 2 <= each <= 12:
            continue
        times = np.unique(column.numbers[np.isfinite(column.numbers)], return_counts=True)
        if np.array_equal(times[0], np.arange(1, each + 1)) and np.ptp(times[1]) == 0:
            return column
    return None


#: Rows from which columns are said to rise together.
_FEW = 8


def crossed_readings(table: Table) -> Guess | None:
    part = next(
        (
            c
            for c in table.free("numbers", "words")
            if says(c.name, "part", "number")
            and c.repeated >= 2
            and c.distinct <= 100
            # Readings of "Part 3" come again too, and have decimals; parts themselves may be called 1.1, 1.2.
            and (c.kind == "words" or c.whole or named_alone(c.name) & {"part"})
        ),
        None,
    )
    if part is None:
        return None
    person = next(
        (
            c
            for c in table.free("words", "numbers")
            if c is not part and says(c.name, "appraiser") and c.repeated >= 2
        ),
        None,
    )
    trial = next(
        (
            c
            for c in table.free("numbers", "words")
            if c is not part and says(c.name, "trial") and c.distinct <= 12
        ),
        None,
    )
    if person is not None and trial is None:
        trial = _counted(table, part, person)
    if person is None and trial is not None:
        rows = part.distinct * trial.distinct
        words = [c for c in table.free("words") if c is not part and c is not trial]
        person = next(
            (
                c
                for c in words
                if 1 < c.distinct <= 20 and rows * c.distinct == table.rows and not meanings(c.name)
            ),
            None,
        )
    if person is None and trial is None:
        return None
    guess = Guess("crossed", f"{part.distinct} parts, each read {part.repeated:.3g} times")
    side_by_side = [c for c in table.free("numbers") if c not in (part, trial) and not is_label(c)]
    if person is None and trial is not None and _read_the_same(side_by_side):
        names = ", ".join(c.name for c in side_by_side)
        guess.why = f"{part.distinct} parts and {trial.distinct} trials below each other, people side by side: {names}"
        table.take(guess, "part", part, f"{part.distinct} different entries")
        table.take(guess, "trial", trial, entries_of(trial))
        guess.keys.append(("across", ["appraiser"], f"{names} rise together and are alike"))
        guess.values["value"] = {c.name: c.name for c in side_by_side}
        return guess
    table.take(
        guess, "part", part, f"{part.distinct} different entries, {part.repeated:.3g} rows each"
    )
    if person is not None:
        table.take(guess, "appraiser", person, entries_of(person))
    if trial is not None:
        table.take(guess, "trial", trial, entries_of(trial))
    tags(table, guess, "station")
    values = [c for c in table.free("numbers") if not is_label(c)]
    of_trials = trial is not None and trial.name == "trial" and person is None
    if of_trials and len(values) > 1 and _alike(values):
        # Blocks of trials: what lies across are the people.
        guess.values["value"] = {c.name: c.name for c in values}
        guess.keys.append(("across", ["appraiser"], ", ".join(c.name for c in values[:6])))
        return guess
    keep(table, guess, values)
    return guess if guess.values else None


def specimens(table: Table) -> Guess | None:
    counter = next((c for c in table.free("numbers") if counts_strokes(c)), None)
    levels = [
        c
        for c in table.free("words", "numbers")
        if says(c.name, "coil", "strip")
        and c.repeated >= 2
        and c.distinct >= 2
        and (c.kind == "words" or c.whole)
    ]
    if counter is not None or not levels or table.rows > 600 or table.free("times"):
        return None
    values = [c for c in table.free("numbers") if c not in levels and not is_label(c)]
    values = [c for c in values if not says(c.name, "strip")]
    if not 1 <= len(values) <= 2:
        return None
    # More coils than specimens of each: the coil stays the outer one.
    levels.sort(key=lambda c: (not says(c.name, "coil"), c.distinct))
    one_each = len(levels) > 1 and levels[0].distinct * levels[-1].distinct >= table.rows
    if one_each:
        # One reading of each specimen: its number distinguishes nothing.
        table.taken.add(levels.pop().name)
    guess = Guess(
        "nested",
        f"{table.rows} readings within {' and '.join(c.name for c in levels)}, no running number",
    )
    names = [c.name for c in levels]
    guess.keys.append(("levels", names, "; ".join(f"{c.name}: {entries_of(c)}" for c in levels)))
    table.taken |= set(names)
    keep(table, guess, values)
    return guess
