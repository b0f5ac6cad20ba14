"""A guess at the role of a table, and its columns as long as nobody has claimed them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from linestudy.records.across.specs import spec_of
from linestudy.records.formats.clock import EPOCH, SERIAL
from linestudy.records.formats.times_written import PLAIN_HOURS
from linestudy.records.infer.column_kinds import ColumnKind
from linestudy.records.infer.notices.day_or_month import ask, settled
from linestudy.records.infer.words import named_alone, plain_name, says
from linestudy.records.rows.chosen import names_a_product, parts_named
from linestudy.results import counted


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
    parts : tuple of (str, tuple of str)
        Columns that name several parts, and their entries.
    limits : dict of str to dict
        What a characteristic might be called → its nominal, lower and upper limit, where the file says them.
    across : str
        What says that the records lie across, so that the table is to be turned about; empty where they do not.
    twofold : str
        The sentence that asks whether day or month comes first, one of `open`; empty where that is known.
    """

    role: str
    why: str
    keys: list[tuple[str, Any, str]] = field(default_factory=list)
    values: dict[str, Any] = field(default_factory=dict)
    open: list[str] = field(default_factory=list)
    parts: tuple[tuple[str, tuple[str, ...]], ...] = ()
    limits: dict[str, dict[str, float]] = field(default_factory=dict)
    across: str = ""
    twofold: str = ""


class Table:
    """The columns of a table, and which of them are spoken for."""

    def __init__(self, columns: list[ColumnKind], rows: int, file: str) -> None:
        self.columns = [column for column in columns if column.kind not in ("empty", "units")]
        self.rows = rows
        self.file = file.casefold()
        self.taken: set[str] = set()

    def free(self, *kinds: str) -> list[ColumnKind]:
        """List columns of these kinds that have no role yet."""
        return [
            c for c in self.columns if c.name not in self.taken and (not kinds or c.kind in kinds)
        ]

    def named(self, meaning: str, *kinds: str) -> ColumnKind | None:
        """Return the first free column whose name may mean this."""
        return next((c for c in self.free(*kinds) if says(c.name, meaning)), None)

    def take(self, guess: Guess, key: str, column: ColumnKind, evidence: str) -> None:
        """Give a key its column."""
        guess.keys.append((key, column.name, evidence))
        self.taken.add(column.name)


def clock(table: Table, guess: Guess) -> None:
    """Find the clock: a column of dates with times, or one of each, or the first of what there is."""
    written, times = "how they are written", []
    for column in table.free("times"):
        own, how = settled(column, table.columns, table.file)
        times.append(own)
        written = how if own is not column else written
    whole = next((c for c in times if c.clock == "both"), None)
    date = next((c for c in times if c.clock == "date"), None)
    hour = next((c for c in times if c.clock == "hour"), None)
    for column in [c for c in (whole or date, hour) if c is not None and c.twofold]:
        guess.twofold = ask(column.name, column.twofold)
        guess.open.append(guess.twofold)
    if whole is None and date is not None and hour is not None:
        table.taken |= {date.name, hour.name}
        grounds = f"dates in {date.filled} cells and times of day in {hour.filled}"
        guess.keys.append(("time", [date.name, hour.name], grounds))
        guess.keys += joint_time_format(date, hour, written)
        return
    first = whole or next(iter(times), None)
    if first is not None:
        table.take(guess, "time", first, f"{first.filled} of its cells are times")
        if first.layout == EPOCH:
            guess.keys.append(
                ("time_format", EPOCH, "seconds since 1970, or parts of them, in UTC")
            )
        elif first.layout != "ISO8601":
            guess.keys.append(("time_format", first.layout, written))


def joint_time_format(
    date: ColumnKind, hour: ColumnKind, written: str = "how they are written"
) -> list[tuple[str, Any, str]]:
    """Return the key for how date and time of day are written, where it is needed."""
    if SERIAL in (date.layout, hour.layout):
        return [("time_format", SERIAL, "days as workbooks count them")]
    if date.layout == "ISO8601" and hour.layout in (*PLAIN_HOURS, "ISO8601"):
        return []
    layout = "%Y-%m-%d" if date.layout == "ISO8601" else date.layout
    hours = "%H:%M:%S" if hour.layout == "ISO8601" else hour.layout
    return [("time_format", f"{layout} {hours}", written)]


def several_parts(table: Table, guess: Guess) -> None:
    """Ask which part number to take where a column names several."""
    for column in table.free("words", "numbers"):
        if is_product(column):
            listed = ", ".join(
                f"{entry} {counted(n, 'row')}" for entry, n in column.entries.items()
            )
            first = next(iter(column.entries))
            guess.open.append(
                f'only = {{ "{column.name}" = "{first}" }} ?   part numbers in the file: {listed}'
            )
            guess.parts += ((column.name, tuple(column.entries)),)
            table.taken.add(column.name)


def is_product(column: ColumnKind) -> bool:
    """Check whether a column tells which of several part numbers a row belongs to."""
    return names_a_product(column.name) and parts_named(column.entries) and column.repeated >= 15


def entries_of(column: ColumnKind) -> str:
    shown = sorted(column.entries)[:8]
    more = " …" if column.distinct > len(shown) else ""
    return f"its entries: {', '.join(shown)}{more}"


def tags(table: Table, guess: Guess, *tags: str) -> None:
    """Assign columns of few entries to the tags that their names mean."""
    for tag in tags:
        for column in table.free("words", "numbers", "judgements"):
            if says(column.name, tag) and column.repeated >= 1.5 and column.distinct >= 1:
                table.take(guess, tag, column, entries_of(column))
                break


def keep(table: Table, guess: Guess, columns: list[ColumnKind]) -> None:
    """Take the remaining columns as readings."""
    for column in columns:
        # "meas.Height.value" of a document is the height.
        *above, last = column.name.split(".")
        named = above and len(above[-1]) > 1 and plain_name(last) in ("value", "actual")
        label = above[-1] if named else column.name
        guess.values[column.name if label in guess.values else label] = column.name
        table.taken.add(column.name)


_LIMITS = {"nominal": "nominal", "lower limit": "lower", "upper limit": "upper"}


def limits_beside(table: Table, guess: Guess) -> None:
    """Set aside columns with the same limit in every row, and say what limits they give."""
    said = {
        c.name: (key, c.middle)
        for c in table.free("numbers")
        if c.distinct == 1 and c.filled >= _SURELY
        for meaning, key in _LIMITS.items()
        if says(c.name, meaning)
    }
    texts = {c.name: spec_of(next(iter(c.entries))) for c in table.free("words") if c.distinct == 1}
    specs = {name: spec for name, spec in texts.items() if spec is not None and spec.limited}
    readings = [
        c
        for c in table.free("numbers")
        if c.name not in said and not (is_label(c) and c.rising > 0.95)
    ]
    if not readings:
        return
    table.taken |= set(said)
    for name, (key, value) in said.items():
        words = set(plain_name(name).split())
        mine = [c for c in readings if set(plain_name(c.name).split()) < words]
        # "width.lsl" of a document is of "width.actual".
        above = name.rpartition(".")[0]
        mine = mine or [c for c in readings if above and c.name.rpartition(".")[0] == above]
        mine = mine or (readings if len(readings) == 1 else [])
        if len(mine) == 1:
            guess.limits.setdefault(mine[0].name, {})[key] = value
        else:
            guess.open.append(f'"{name}" is {value:g} in every row: say which limit of what it is')
    for name, spec in specs.items():
        mine = [
            c for c in readings if set(plain_name(c.name).split()) < set(plain_name(name).split())
        ]
        mine = mine or (readings if len(readings) == 1 else [])
        if len(mine) == 1 and table.rows >= _SURELY:
            whole = {"nominal": spec.nominal, "lower": spec.lower, "upper": spec.upper}
            held = guess.limits.setdefault(mine[0].name, {})
            held |= {key: value for key, value in whole.items() if value is not None}
            table.taken.add(name)


#: Fewest rows in which a limit recurs.
_SURELY = 5


def is_label(column: ColumnKind) -> bool:
    """Check whether a column holds whole numbers and its name says that they count or name something."""
    # A height in whole micrometres at station L is none.
    return (
        column.whole
        and not column.unit
        and says(
            column.name,
            "part",
            "number",
            "trial",
            "order",
            "appraiser",
            "station",
            "coil",
            "subgroup",
        )
    )


def common_name(columns: list[ColumnKind]) -> str:
    """Find what names of columns side by side have in common, as a name for what they hold."""
    first, last = min(c.name for c in columns), max(c.name for c in columns)
    same = next(
        (i for i, pair in enumerate(zip(first, last, strict=False)) if pair[0] != pair[1]),
        len(first),
    )
    common = first[:same].strip(" _-#.:([")
    return common if len(common) > 1 else "value"


#: Names of columns that go on where the seconds of a clock end.
_PARTS_OF_A_SECOND = frozenset([
    "ms", "msec", "msecs", "millis", "millisec", "millisecond", "milliseconds", "millisekunden", "millisekunde", "millisecondes", "us", "µs", "usec",
    "microseconds", "mikrosekunden", "毫秒", "ミリ秒",
])  # fmt: skip


def number_rows(table: Table, guess: Guess) -> None:
    """Find the column that counts parts or strokes."""
    for column in table.free("numbers"):
        if plain_name(column.name) in _PARTS_OF_A_SECOND and column.whole:
            table.taken.add(column.name)
            guess.open.append(
                f'"{column.name}" holds parts of a second beside the clock, and is not read'
            )
    rising = [c for c in table.free("numbers") if c.rising > 0.95 and c.filled > 1]
    named = [c for c in rising if says(c.name, "order")] or [
        c for c in rising if says(c.name, "part", "number")
    ]
    # A counter that restarts, or that counts strokes of several parts, still says so by its name.
    loose = [c for c in table.free("numbers") if c.whole and c.filled > 1 and says(c.name, "order")]
    anew = [c for c in table.free("numbers") if is_label(c) and _begins_anew(c)]
    found = (
        named
        or rising
        or [c for c in loose if c.distinct > 0.02 * c.filled and c.distinct > 20]
        or anew
    )
    if not found:
        return
    best = found[0]
    if best.rising > 0.95:
        sentence = f"whole numbers, {best.rising:.0%} of them above the one before"
    elif best in anew:
        times = int((np.diff(best.numbers[np.isfinite(best.numbers)]) < 0).sum())
        sentence = f"whole numbers that count up and begin anew {counted(times, 'time')}"
    else:
        sentence = f"whole numbers, each about {best.repeated:.3g} times"
    job = _job(table, best)
    if job is not None:
        table.taken |= {job.name, best.name}
        grounds = f"the counter begins anew with each {job.name}: {entries_of(job)}"
        guess.keys.append(("order", [job.name, best.name], grounds))
        return
    table.take(guess, "order", best, sentence)


def counts_strokes(column: ColumnKind) -> bool:
    """Check whether whole numbers that never fall count strokes, by the name of their column."""
    numbers = column.numbers[np.isfinite(column.numbers)]
    rises = numbers.size > 1 and bool((np.diff(numbers) >= 0).all())
    return column.whole and rises and says(column.name, "order")


def numbered_subgroups(table: Table, guess: Guess) -> None:
    """Find the column that numbers subgroups of a run: whole numbers that never fall, a few rows each."""
    for column in table.free("numbers"):
        there = column.numbers[np.isfinite(column.numbers)]
        rises = bool((np.diff(there) >= 0).all()) and there.size == column.filled
        if says(column.name, "subgroup") and column.whole and rises and 2 <= column.repeated <= 25:
            each = f"{column.distinct} numbers that never fall, {column.repeated:.3g} rows each"
            table.take(guess, "subgroup", column, each)
            return


def without_labels(guess: Guess, columns: list[ColumnKind]) -> list[ColumnKind]:
    """Leave out columns whose whole name says that they count or name something, unless nothing else is left."""
    labels = [c for c in columns if is_label(c) and named_alone(c.name) & _LABELLED]
    if len(labels) == len(columns):
        return columns
    for column in labels:
        guess.open.append(
            f'"{column.name}" holds whole numbers that count or name something, and is taken for no characteristic: give it '
            "its key (part, trial, subgroup, order …) where methods have to know it"
        )
    return [c for c in columns if c not in labels]


#: What a column of whole numbers may be called alone that is no size of a part.
_LABELLED = {"part", "number", "trial", "order", "appraiser", "subgroup"}


def _begins_anew(column: ColumnKind) -> bool:
    """Check whether whole numbers rise by one, again and again from the beginning."""
    numbers = column.numbers[np.isfinite(column.numbers)]
    if not column.whole or numbers.size < 20 or column.distinct < 5:
        return False
    steps = np.diff(numbers)
    back = numbers[1:][steps < 0]
    return bool(back.size) and bool(
        (steps[steps >= 0] == 1).all() and (back <= numbers.min() + 1).all()
    )


def _job(table: Table, counter: ColumnKind) -> ColumnKind | None:
    """Find the column of jobs, where the counter falls back about as often as jobs change."""
    falls = int((np.diff(counter.numbers[np.isfinite(counter.numbers)]) < 0).sum())
    for column in table.free("words", "numbers"):
        jobs = says(column.name, "job") and 2 <= column.distinct <= 60 and column.repeated > 20
        # A stray number falls back too.
        if jobs and column.distinct - 1 <= falls <= 2 * (column.distinct - 1) + 3:
            return column
    return None


_UNCERTAINTY = (
    "uncertainty",
    "unsicherheit",
    "incertitude",
    "incerteza",
    "incertidumbre",
    "不确定度",
    "不確かさ",
)


def says_uncertainty(name: str) -> bool:
    """Check whether a column's name means an uncertainty: U (k=2), Unsicherheit."""
    plain = plain_name(name)
    return plain.split(" ")[0] in ("u", "u95") or any(word in plain for word in _UNCERTAINTY)


def set_uncertainties_aside(table: Table, guess: Guess, columns: list[ColumnKind]) -> None:
    """Set aside columns of uncertainties, and ask for the standard uncertainty."""
    for column in columns:
        table.taken.add(column.name)
        guess.open.append(
            f'"{column.name}" holds uncertainties of the masters: give the standard uncertainty (U divided by k) as '
            "reference_uncertainty"
        )
