"""Which role a table most likely has, and which of its columns is what, each with its evidence.

Nothing here decides: what is proposed stands in a file that a person reads. Evidence comes from names of columns (words
in several languages), from what stands in them (counters, times, judgements, few entries that repeat) and from how columns
go together (a master's value and its readings rise together; two gauges give nearly the same). Common practice, no source;
it misleads where a column looks like another, as a batch number that rises.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from linestudy.records.infer.columns import ColumnKind
from linestudy.records.infer.wide_names import Nest, by_station, nest, xy_pairs
from linestudy.records.infer.words import plain_name, says, split_judgement

#: Sheets that people fill in have few rows.
_SHEET_ROWS = 150


@dataclass
class Guess:
    """A role, its keys with evidence, and the columns that hold readings.

    Attributes
    ----------
    role : str
    why : str
        What speaks for it.
    keys : list of (str, object, str)
        Key, value, evidence.
    values : dict of str to object
        What a characteristic might be called → its column or columns.
    open : list of str
        What a person has to say.
    """

    role: str
    why: str
    keys: list[tuple[str, Any, str]] = field(default_factory=list)
    values: dict[str, Any] = field(default_factory=dict)
    open: list[str] = field(default_factory=list)


class Table:
    """The columns of a table, and which of them are spoken for."""

    def __init__(self, columns: list[ColumnKind], rows: int, file: str) -> None:
        self.columns = [column for column in columns if column.kind != "empty"]
        self.rows = rows
        self.file = file.casefold()
        self.taken: set[str] = set()

    def free(self, *kinds: str) -> list[ColumnKind]:
        """Columns nobody has claimed, of these kinds."""
        return [
            c for c in self.columns if c.name not in self.taken and (not kinds or c.kind in kinds)
        ]

    def named(self, meaning: str, *kinds: str) -> ColumnKind | None:
        """The first free column whose name may mean this."""
        return next((c for c in self.free(*kinds) if says(c.name, meaning)), None)

    def take(self, guess: Guess, key: str, column: ColumnKind, evidence: str) -> None:
        """Give a key its column."""
        guess.keys.append((key, column.name, evidence))
        self.taken.add(column.name)


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
        _judgements,
        _masters,
        _wide_sheet,
        _crossed,
        _two_gauges,
        _destructive,
        _long,
        _drift,
    ):
        guess = look(Table(columns, rows, file))
        if guess is not None:
            return guess
    return _run(Table(columns, rows, file))


def _clock(table: Table, guess: Guess) -> None:
    times = table.free("times")
    if times:
        first = times[0]
        table.take(guess, "time", first, f"{first.filled} of its cells are times")
        if first.layout != "ISO8601":
            guess.keys.append(("time_format", first.layout, "how they are written"))


def _entries(column: ColumnKind) -> str:
    shown = sorted(column.entries)[:8]
    more = " …" if column.distinct > len(shown) else ""
    return f"its entries: {', '.join(shown)}{more}"


def _tags(table: Table, guess: Guess, *tags: str) -> None:
    """Columns of few entries whose names say what they are."""
    for tag in tags:
        for column in table.free("words", "numbers", "judgements"):
            if says(column.name, tag) and column.repeated >= 1.5 and column.distinct >= 1:
                table.take(guess, tag, column, _entries(column))
                break


def _verdict(table: Table, guess: Guess) -> None:
    for column in table.free("judgements"):
        accepted, rejected, other = split_judgement(set(column.entries))
        table.take(guess, "verdict", column, _entries(column))
        if accepted:
            guess.keys.append(("accept", accepted, "entries that say accepted"))
        if rejected:
            guess.keys.append(("reject", rejected, "entries that say rejected"))
        if other:
            guess.open.append(
                f'"{column.name}" also holds {", ".join(other[:6])}: say what they mean'
            )
        return


def _keep(table: Table, guess: Guess, columns: list[ColumnKind]) -> None:
    """What is left are the readings."""
    for column in columns:
        guess.values[column.name] = column.name
        table.taken.add(column.name)


# -- one look for each role


def _bins(table: Table) -> Guess | None:
    accepted = table.named("accepted", "numbers")
    rejected = table.named("rejected", "numbers")
    if accepted is None or rejected is None or not (accepted.whole and rejected.whole):
        return None
    period = next((c for c in table.free() if c.name not in (accepted.name, rejected.name)), None)
    if period is None or period.repeated > 1.5:
        return None
    guess = Guess("bins", "counts of accepted and rejected parts by period")
    table.take(guess, "period", period, f"{period.distinct} different entries in {table.rows} rows")
    table.take(guess, "accepted", accepted, "whole numbers")
    table.take(guess, "rejected", rejected, "whole numbers")
    purged = table.named("purged", "numbers")
    if purged is not None and purged.whole:
        table.take(guess, "purged", purged, "whole numbers")
    return guess


def _judgements(table: Table) -> Guess | None:
    judged = table.free("judgements")
    reference = next((c for c in judged if says(c.name, "reference")), None)
    own = [c for c in judged if c is not reference]
    if not own:
        return None
    guess = Guess("attribute", "")
    if len(own) > 1:
        found = nest([c.name for c in own])
        if found is None and len({tuple(sorted(c.entries)) for c in own}) > 2:
            return None
        source = found.source if found else {c.name: c.name for c in own}
        guess.why = f"{len(own)} columns of judgements side by side"
        entries = {entry for c in own for entry in c.entries}
        names = ", ".join(c.name for c in own[:8])
        guess.keys.append(("judgement", source, f"judgements in the columns {names}"))
    else:
        person = next(
            (c for c in table.free("words", "numbers") if says(c.name, "appraiser")), None
        )
        part = next(
            (
                c
                for c in table.free("words", "numbers")
                if says(c.name, "part", "number") and c.repeated >= 1.9
            ),
            None,
        )
        measured = [
            c for c in table.free("numbers") if not says(c.name, "part", "number", "order", "trial")
        ]
        if (person is None and part is None) or (len(measured) > 1 and reference is None):
            return None
        guess.why = "one judgement a row, of parts that are judged several times"
        entries = set(own[0].entries)
        guess.keys.append(("judgement", own[0].name, _entries(own[0])))
    table.taken |= {c.name for c in own}
    if reference is not None:
        table.take(guess, "reference", reference, f"what is right; {_entries(reference)}")
        entries |= set(reference.entries)
    part = table.named("part") or table.named("number") or next(iter(table.free()), None)
    if part is not None:
        table.take(guess, "part", part, f"{part.distinct} different entries in {table.rows} rows")
    if len(own) == 1:
        _tags(table, guess, "appraiser", "trial")
    values = [c for c in table.free("numbers") if not c.whole]
    if len(values) == 1:
        table.take(guess, "measured", values[0], "numbers beside the judgement")
    accepted, rejected, other = split_judgement(entries)
    if accepted:
        guess.keys.append(("accept", accepted, "entries that say accepted"))
    if rejected:
        guess.keys.append(("reject", rejected, "entries that say rejected"))
    if other:
        guess.open.append(f"other entries: {', '.join(other[:6])}; say what they mean")
    return guess


def _masters(table: Table) -> Guess | None:
    known = next(
        (
            c
            for c in table.free("numbers")
            if says(c.name, "reference") and c.distinct <= max(12, table.rows // 2)
        ),
        None,
    )
    if known is None or table.rows < 2:
        return None
    others = [c for c in table.free("numbers") if c is not known and not _is_label(c)]
    if not others:
        return None
    guess = Guess(
        "reference",
        f'"{known.name}" holds {known.distinct} known values, each read again and again',
    )
    table.take(guess, "reference", known, f"{known.distinct} different values in {table.rows} rows")
    part = next(
        (c for c in table.free() if says(c.name, "part", "number") and c not in others), None
    )
    if part is not None:
        table.take(guess, "part", part, _entries(part))
    _clock(table, guess)
    left = [c for c in others if c.name not in table.taken]
    found = nest([c.name for c in left])
    if found is not None and found.levels == 1:
        guess.values[_common(left)] = found.source
        return guess
    _keep(
        table,
        guess,
        [c for c in left if not (c.whole and says(c.name, "trial", "order", "number"))],
    )
    return guess if guess.values else None


def _is_label(column: ColumnKind) -> bool:
    """Whole numbers whose name says that they count or name something."""
    return column.whole and says(
        column.name, "part", "number", "trial", "order", "appraiser", "station", "coil", "subgroup"
    )


def _common(columns: list[ColumnKind]) -> str:
    """What columns side by side have in common, as a name for what they hold."""
    first, last = min(c.name for c in columns), max(c.name for c in columns)
    same = next(
        (i for i, pair in enumerate(zip(first, last, strict=False)) if pair[0] != pair[1]),
        len(first),
    )
    common = first[:same].strip(" _-#.:([")
    return common if len(common) > 1 else "value"


def _wide_sheet(table: Table) -> Guess | None:
    label = next(
        (
            c
            for c in table.columns
            if says(c.name, "part", "number", "subgroup", "order", "time", "coil", "strip")
            or c.kind in ("words", "times")
        ),
        None,
    )
    values = [c for c in table.free("numbers") if c is not label and not says(c.name, "order")]
    values = [c for c in values if not _is_label(c) and not says(c.name, "reference")]
    totals = [c for c in values if _is_total(c.name)]
    values = [c for c in values if c not in totals]
    stations = by_station([c.name for c in values])
    if stations is not None and table.rows > 20:
        guess = Guess(
            "run",
            f"each quantity stands there once for {' and '.join(next(iter(stations.values())))}",
        )
        _number_rows(table, guess)
        _clock(table, guess)
        _tags(table, guess, "coil", "stop")
        _verdict(table, guess)
        for quantity, source in stations.items():
            guess.values[quantity] = source
        guess.keys.append(("across", ["station"], "the ends of the names"))
        return guess
    found = nest([c.name for c in values])
    if found is None or not _alike(values):
        return None
    return _of_nest(table, found, values, label)


#: Columns of averages and ranges beside the readings.
_TOTALS = frozenset([
    "average", "avg", "mean", "range", "mittelwert", "spannweite", "sum", "total", "sd", "std", "stdev", "s", "x̄", "xbar",
    "x bar", "r", "moyenne", "étendue", "min", "max", "平均", "平均值", "平均値", "极差", "範囲",
])  # fmt: skip


def _is_total(name: str) -> bool:
    plain = plain_name(name)
    return plain in _TOTALS or bool(set(plain.split()) & (_TOTALS - {"r", "s", "min", "max"}))


def _alike(columns: list[ColumnKind]) -> bool:
    """Whether columns may hold the same quantity: their medians within a fifth of each other, or all small."""
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
    person = next((c for c in table.free() if says(c.name, "appraiser") and c not in values), None)
    trial = next((c for c in table.free() if says(c.name, "trial") and c not in values), None)
    if found.levels == 1 and person is not None and trial is not None and table.rows <= _SHEET_ROWS:
        # Parts across, people and trials down: the layout of many a printed form.
        guess = Guess(
            "crossed", f"{len(values)} parts side by side, people and trials below each other"
        )
        table.take(guess, "appraiser", person, _entries(person))
        table.take(guess, "trial", trial, _entries(trial))
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
    if found.levels == 1 and (runs or (part is None and table.rows > _SHEET_ROWS)):
        guess = Guess("run", f"rows of {len(values)} neighbouring parts: {names}")
        guess.keys.append(("across", ["order"], f"{names} follow each other"))
        _clock(table, guess)
        guess.values[_common(values)] = found.source
        return guess
    coil = label is not None and says(label.name, "coil")
    if found.levels == 1 and coil and label is not None:
        guess = Guess("nested", f"{len(values)} specimens of each coil side by side: {names}")
        guess.keys.append(("levels", [label.name], _entries(label)))
        guess.values[_common(values)] = found.source
        return guess
    if table.rows > _SHEET_ROWS or label is None:
        return None
    guess = Guess(
        "crossed", f"{table.rows} parts, {len(values)} readings of each side by side: {names}"
    )
    table.take(guess, "part", label, f"{label.distinct} different entries in {table.rows} rows")
    levels = {1: ["trial"], 2: ["appraiser", "trial"], 3: ["station", "appraiser", "trial"]}
    guess.keys.append(("across", levels[found.levels], f"the names {names}"))
    _tags(table, guess, "appraiser", "station")
    guess.values["value"] = found.source
    return guess


def _crossed(table: Table) -> Guess | None:
    part = next(
        (
            c
            for c in table.free("numbers", "words")
            if says(c.name, "part", "number") and c.repeated >= 2 and c.distinct <= 100
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
    if person is None and trial is None:
        return None
    guess = Guess("crossed", f"{part.distinct} parts, each read {part.repeated:.3g} times")
    table.take(
        guess, "part", part, f"{part.distinct} different entries, {part.repeated:.3g} rows each"
    )
    if person is not None:
        table.take(guess, "appraiser", person, _entries(person))
    if trial is not None:
        table.take(guess, "trial", trial, _entries(trial))
    _tags(table, guess, "station")
    _keep(table, guess, [c for c in table.free("numbers") if not _is_label(c)])
    return guess if guess.values else None


def _two_gauges(table: Table) -> Guess | None:
    part = next((c for c in table.free() if says(c.name, "part", "number")), None)
    values = [c for c in table.free("numbers") if c is not part and not _is_label(c)]
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
    guess.values["value"] = [c.name for c in values]
    guess.open.append(f'name the two gauges: gauges = ["{values[0].name}", "{values[1].name}"]')
    return guess


def _destructive(table: Table) -> Guess | None:
    counter = next(
        (c for c in table.free("numbers") if c.rising > 0.95 and says(c.name, "order")), None
    )
    levels = [
        c
        for c in table.free("words", "numbers")
        if says(c.name, "coil", "strip") and c.repeated >= 2 and (c.kind == "words" or c.whole)
    ]
    if counter is not None or not levels or table.rows > 600 or table.free("times"):
        return None
    values = [c for c in table.free("numbers") if c not in levels and not _is_label(c)]
    if not 1 <= len(values) <= 2:
        return None
    levels.sort(key=lambda c: c.distinct)
    guess = Guess(
        "nested",
        f"{table.rows} readings within {' and '.join(c.name for c in levels)}, no running number",
    )
    names = [c.name for c in levels]
    guess.keys.append(("levels", names, "; ".join(f"{c.name}: {_entries(c)}" for c in levels)))
    table.taken |= set(names)
    _keep(table, guess, values)
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
    if about is None or value is None:
        return None
    guess = Guess("run", f'one value a row, "{about.name}" says of what')
    source = {"characteristic": about.name, "value": value.name}
    table.taken |= {about.name, value.name}
    guess.keys.append(("long", source, _entries(about)))
    counter = next(
        (c for c in table.free("numbers") if c.whole and says(c.name, "order", "part", "number")),
        None,
    )
    if counter is not None:
        table.take(guess, "order", counter, "whole numbers that say which part")
    _clock(table, guess)
    _tags(table, guess, "station", "coil")
    _verdict(table, guess)
    return guess


def _drift(table: Table) -> Guess | None:
    words = ("drift", "stabil", "langzeit", "long term", "master check", "referenzteil")
    if not any(word in table.file for word in words) or table.rows > 1000:
        return None
    guess = Guess("drift", "its name says that one reference part is read over time")
    _clock(table, guess)
    counter = next((c for c in table.free("numbers") if c.rising > 0.95), None)
    if counter is not None:
        table.take(
            guess,
            "order",
            counter,
            f"whole numbers, {counter.rising:.0%} of them above the one before",
        )
    values = [c for c in table.free("numbers") if not _is_label(c)]
    found = nest([c.name for c in values])
    if found is not None and found.levels == 1:
        guess.values[_common(values)] = found.source
    else:
        _keep(table, guess, values)
    return guess if guess.values else None


def _number_rows(table: Table, guess: Guess) -> None:
    """The column that counts parts or strokes."""
    rising = [c for c in table.free("numbers") if c.rising > 0.95 and c.filled > 1]
    named = [c for c in rising if says(c.name, "order")] or [
        c for c in rising if says(c.name, "part", "number")
    ]
    # A counter that restarts, or that counts strokes of several parts, still says so by its name.
    loose = [c for c in table.free("numbers") if c.whole and c.filled > 1 and says(c.name, "order")]
    found = named or rising or [c for c in loose if c.distinct > 0.2 * c.filled]
    if not found:
        return
    best = found[0]
    if best.rising > 0.95:
        told = f"whole numbers, {best.rising:.0%} of them above the one before"
    else:
        told = f"whole numbers, each about {best.repeated:.3g} times"
    table.take(guess, "order", best, told)


def _run(table: Table) -> Guess:
    machine = any(
        word in table.file
        for word in ("machine", "maschine", "cmk", "pmk", "cm_", "short_run", "kurz")
    )
    guess = Guess("run", "one part a row, in the order in which they came")
    if machine:
        guess = Guess("machine", "its name says that it is a short run of the machine")
    _number_rows(table, guess)
    _clock(table, guess)
    if not machine:
        _tags(table, guess, "station", "coil", "stop")
        _verdict(table, guess)
    pairs = xy_pairs([c.name for c in table.free("numbers")])
    for name, pair in pairs.items():
        guess.values[name] = list(pair)
        table.taken |= set(pair)
        guess.open.append(f'"{pair[0]}" and "{pair[1]}" are taken for x and y of a position')
    for column in table.free("words", "judgements"):
        if 1 <= column.distinct <= 8:
            guess.open.append(
                f'station, coil or appraiser = "{column.name}" ?   {_entries(column)}'
            )
            table.taken.add(column.name)
    _keep(table, guess, table.free("numbers"))
    return guess
