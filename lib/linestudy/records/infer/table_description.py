"""A file that nobody has described, described: each of its tables with role, keys, readings and evidence."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from linestudy.records.files import holds_qif, joined_columns
from linestudy.records.formats.stacked_tables import levels_of
from linestudy.records.infer.arranged import arranged
from linestudy.records.infer.column_kinds import (
    ColumnKind,
    kinds,
    units_in_cells,
    units_named,
    with_groups,
)
from linestudy.records.infer.judged import in_order_of_size
from linestudy.records.infer.notices.across import lies_across
from linestudy.records.infer.notices.cell_notes import notes_on_cells, notes_on_units
from linestudy.records.infer.notices.column_notes import notes_on_columns
from linestudy.records.infer.notices.known_values import masters_across, on_a_master
from linestudy.records.infer.notices.no_reading import marks_of_no_reading
from linestudy.records.infer.number_marks import numbers_written
from linestudy.records.infer.roles import guess_role
from linestudy.records.infer.tables_of_a_file import TablePlace, table_places
from linestudy.records.rows.limits import complete, legend_beside
from linestudy.results import InputError, counted

if TYPE_CHECKING:
    from linestudy.records.infer.drawings.drawing import Drawn
    from linestudy.records.text_table import TextTable
    from linestudy.study.model import Data


@dataclass(frozen=True)
class Readings:
    """What one characteristic of a table might be.

    Attributes
    ----------
    label : str
        What the file calls it.
    source : str, list or dict
        Its column or columns, as study.toml would name them.
    unit : str or None
        Where the file says so.
    middle, low, high : float
        Median, and the quantiles of 1 and 99 per cent, in the file's unit; NaN where there are none.
    n : int
        How many readings.
    limits : tuple of (float or None)
        Nominal, lower and upper limit, where the file says them.
    """

    label: str
    source: Any
    unit: str | None
    middle: float
    low: float
    high: float
    n: int
    limits: tuple[float | None, float | None, float | None] = (None, None, None)


@dataclass(frozen=True)
class Description:
    """One table of a file, described.

    Attributes
    ----------
    file : str
        Its name.
    title : str
        Sheet or block, empty where the file is one table.
    role : str
        The role that is most likely, or ``drawing`` for a list of characteristics.
    why : str
        What speaks for it.
    keys : tuple of (str, object, str)
        Keys of its [[data]] table, with values and evidence, in the order in which they are written.
    readings : tuple of Readings
    open : tuple of str
        What a person has to say.
    rows : int
        Rows of data.
    remarks : tuple of str
        Rows that are no data.
    reference : Readings or None
        The known values of masters.
    gauges : tuple of str
        Names of the gauges, where the file says so.
    parts : tuple of (str, tuple of str)
        Columns that name several part numbers, of which a person has to take one, and their entries.
    listed : tuple of Drawn
        Characteristics that the table itself names, with their limits.
    about : str
        The characteristic that lines above the table name, empty where none does.
    twofold : str
        The sentence of `open` that asks whether day or month comes first; empty where that is known.
    twice : dict of str to int
        Names that stand there twice, and the place of the first column with it, counted from 1.
    """

    file: str
    title: str
    role: str
    why: str
    keys: tuple[tuple[str, Any, str], ...]
    readings: tuple[Readings, ...]
    open: tuple[str, ...] = ()
    rows: int = 0
    remarks: tuple[str, ...] = ()
    reference: Readings | None = None
    gauges: tuple[str, ...] = ()
    parts: tuple[tuple[str, tuple[str, ...]], ...] = ()
    listed: tuple[Drawn, ...] = ()
    about: str = ""
    twofold: str = ""
    twice: dict[str, int] = field(default_factory=dict)

    def key(self, name: str) -> Any:
        """Give the value of a key, None where it has none."""
        return next((value for key, value, _ in self.keys if key == name), None)

    @property
    def columns(self) -> dict[str, Any]:
        """Label → source of its readings."""
        return {item.label: item.source for item in self.readings}


def describe(path: str | Path) -> tuple[Description, ...]:
    """Describe every table of a file.

    Parameters
    ----------
    path : str or pathlib.Path
        csv, tsv or text (also gz or zip), JSON lines, parquet, a workbook, or QIF.

    Returns
    -------
    tuple of Description
        One for each sheet and block that holds a table.

    Raises
    ------
    InputError
        The file cannot be read as a table.
    """
    from linestudy.records.files import locate
    from linestudy.study.model import Data

    file = Path(path)
    # A proposal asks for no column by name; the model wants one, so it is taken out again.
    bare = Data(role="run", file=file.name, columns={"x": "x"}).model_copy(update={"columns": {}})
    found = locate(file.parent, file.name)
    planned = _planned(found, bare)
    if planned is not None:
        return (planned,)
    described = []
    for place in table_places(found, bare):
        try:
            described += _described(found, place)
        except InputError:
            # A sheet of remarks is no table; a file without any is refused.
            if not place.title:
                raise
    if not described:
        raise InputError(file.name, "has no sheet that looks like a table", "name sheet and cells")
    return tuple(described)


def _described(path: Path, place: TablePlace) -> list[Description]:
    from linestudy.records.infer.drawings.drawing import is_drawing, layout_of, limits_of, listed_in
    from linestudy.records.text_table import read_text_table

    table = read_text_table(path, place.data)
    if len(table.cells) == 0:
        raise InputError(path.name, "has a header but no rows", "give a file with data")
    table, before = arranged(table)
    table = replace(table, limits=place.by_column | table.limits)
    twice = {} if place.data.blocks else _names_twice([str(name) for name in table.cells])
    legend, aside = legend_beside(table.cells)
    table = replace(table, cells=table.cells.drop(columns=aside))
    columns = kinds(table)
    keys = [*place.keys, *before]
    if holds_qif(path):
        return [_qif(path, columns, table)]
    across = "" if place.data.transpose else lies_across(columns, len(table.cells))
    if across:
        return _turned(path, place, across)
    measured = layout_of(columns, table.cells)
    layouts = [] if measured is None else [_layout(path, place, keys, measured, table)]
    listed = is_drawing(columns, table.cells)
    if layouts and not listed:
        return layouts
    if listed:
        drawing = Description(
            path.name,
            place.title,
            "drawing",
            "it lists characteristics with their nominals and tolerances",
            tuple(keys),
            (),
            rows=len(table.cells),
        )
        return [drawing, *layouts]
    linearity = masters_across(table.cells)
    guess = linearity or guess_role(columns, len(table.cells), path.name)
    if linearity is not None:
        table = replace(table, cells=table.cells.iloc[1:])
        columns = kinds(table)
    if guess.across and not place.data.transpose:
        return _turned(path, place, guess.across)
    around = place.limits or legend
    on_a_master(guess, around.get("reference"))
    guess.open[:0] = place.open
    in_order_of_size(table, guess)
    names = [name for source in guess.values.values() for name in _names(source)]
    names += [str(value) for key, value, _ in guess.keys if key == "reference"]
    names += [value["value"] for key, value, _ in guess.keys if key == "long"]
    written = [c.name for c in columns if c.kind == "numbers"]
    counters = [each for key, value, _ in guess.keys if key == "order" for each in _names(value)]
    spelt = [name for name in written if name in (*names, *counters)]
    marks_used = numbers_written(table, spelt or written)
    keys += marks_used
    columns = with_groups(table, columns, marks_used)
    known = {column.name: column for column in columns}
    beside = [c.name for c in columns if c.kind == "units"]
    own_units = units_named(table, [known[name] for name in names if name in known], beside)
    if not own_units and place.unit and len(guess.values) <= 1:
        own_units = [("unit", place.unit, "a line above the table says so")]
        columns = [replace(c, unit=place.unit) if c.name in names else c for c in columns]
        known = {column.name: column for column in columns}
    keys += own_units
    titles = levels_of(place.data)
    keys += [key for key in guess.keys if key[0] not in titles or key[1] != key[0]]
    # "none" is a grade, and no reading only among numbers.
    mine = [known[name] for name in names if name in known and known[name].kind == "numbers"]
    marks = marks_of_no_reading(table, mine)
    if marks:
        shown = ", ".join(
            f"{mark or 'empty'} {count} times" for mark, count in sorted(marks.items())
        )
        keys.append(("missing", sorted(marks), f"look like no reading: {shown}"))
    remarks = tuple(
        f"{counted(rows, 'row')} set aside and counted: {reason}"
        for reason, rows in table.set_aside.items()
    )
    remarks += tuple(item.sentence for item in table.seen)
    for column in mine:
        units = units_in_cells(table.cells[column.name].astype("string").fillna(""))
        if len(units) > 1:
            both = " and ".join(units)
            remarks += (
                f'"{column.name}" has cells in {both}; each is turned into the unit of the drawing',
            )
    guess.open += notes_on_cells(guess, table, [column.name for column in mine])
    guess.open += notes_on_columns(guess, columns, table.cells)
    formulas = table.beside.note_on_formulas() if table.beside else ""
    percent = table.beside.note_on_percent() if table.beside else ""
    guess.open += [formulas] if formulas else []
    remarks += (percent,) if percent else ()
    readings = tuple(
        replace(readings_of(label, source, known), limits=limits_of(label, source, table, guess))
        for label, source in guess.values.items()
    )
    reference = next(
        (
            readings_of("reference", value, known)
            for key, value, _ in guess.keys
            if key == "reference" and isinstance(value, str) and value in known
        ),
        None,
    )
    if len(readings) == 1 and around and readings[0].limits == (None, None, None):
        readings = (replace(readings[0], limits=complete(around)),)
    if aside:
        remarks += (
            f'"{aside[0]}" and "{aside[1]}" are a legend beside the table, and no readings',
        )
    long = next((value for key, value, _ in guess.keys if key == "long"), None)
    listed_of: tuple[Drawn, ...] = ()
    if long is not None:
        named = _names(long["characteristic"])
        cells = table.cells.assign(**{named[0]: joined_columns(table.cells, named)})
        guess.open += notes_on_units(cells, named[0]) if "unit" not in long else []
        listed_of = listed_in(cells.drop(columns=named[1:]), table.units, named[0], path.name)
        if place.unit:
            listed_of = tuple(replace(each, unit=each.unit or place.unit) for each in listed_of)
    return [
        Description(
            path.name,
            place.title,
            guess.role,
            guess.why,
            tuple(keys),
            readings,
            tuple(guess.open),
            len(table.cells),
            remarks,
            reference,
            parts=guess.parts,
            listed=listed_of,
            about=place.about,
            twofold=guess.twofold,
            twice=twice,
        )
    ]


def _names_twice(names: list[str]) -> dict[str, int]:
    """Return the names that stand there again, and the place of the first column with each, counted from 1."""
    return {name: at for at, name in enumerate(names, start=1) if f"{name} again" in names}


def _turned(path: Path, place: TablePlace, why: str) -> list[Description]:
    """Describe a table whose records lie across, once it is turned about."""
    turned = place.data.model_copy(update={"transpose": True})
    return _described(
        path, replace(place, data=turned, keys=(*place.keys, ("transpose", True, why)))
    )


def _layout(
    path: Path,
    place: TablePlace,
    keys: list[tuple[str, Any, str]],
    measured: dict[str, Any],
    table: TextTable,
) -> Description:
    """Describe a table of drawing characteristics with what was measured on one or a few parts."""
    rows = len(table.cells)
    written = numbers_written(table, [*_names(measured)])
    parts = counted(len(measured["values"]), "part")
    why = (
        f"limits, and beside them what was measured on {parts}: {', '.join(measured['values'][:6])}"
    )
    own = (*keys, *written, ("layout", measured, "names of the columns"))
    return Description(path.name, place.title, "layout", why, own, (), rows=rows)


#: Keys of a floor sheet's tags, where they are not called alike.
_KEYS = {"stroke": "order", "reading": "order", "coil": "levels"}


def _planned(path: Path, data: Data) -> Description | None:
    """Describe a floor sheet that came back by its own plan; None for any other file."""
    from linestudy.records.files import content
    from linestudy.records.formats.floor_sheet import is_floor_sheet, read_floor_sheet

    raw, suffix = content(path, data)
    if suffix not in (".xlsx", ".ods") or not is_floor_sheet(raw):
        return None
    filled = read_floor_sheet(raw, data, suffix)
    plan = filled.plan
    keys: list[tuple[str, Any, str]] = []
    for tag in plan.tags:
        if tag != "specimen":
            key = _KEYS.get(tag, tag)
            keys.append((key, [tag] if key == "levels" else tag, "the plan of the sheet"))
    readings: tuple[Readings, ...] = ()
    if plan.words:
        keys.append(("judgement", plan.columns[0], "the plan of the sheet"))
        keys.append(("accept", list(plan.words[:1]), "the plan of the sheet"))
        keys.append(("reject", list(plan.words[1:]), "the plan of the sheet"))
    else:
        if plan.unit:
            keys.append(("unit", plan.unit, "the plan of the sheet"))
        numbers = _numbers([cell for name in plan.columns for cell in filled.table[name]])
        source = list(plan.columns) if plan.role == "paired" else plan.columns[0]
        low, middle, high = _quantiles(numbers)
        readings = (
            Readings(plan.name, source, plan.unit or None, middle, low, high, numbers.size),
        )
    why = f"a floor sheet of the kit came back, plan {plan.code}"
    return Description(
        path.name, plan.name if plan.words else "", plan.role, why, tuple(keys), readings, tuple(filled.faults),
        len(filled.table), gauges=plan.gauges,
    )  # fmt: skip


def _numbers(cells: list[str]) -> NDArray[np.float64]:
    """Collect the numbers among cells of text."""
    found = []
    for cell in cells:
        try:
            found.append(float(cell))
        except ValueError:
            continue
    return np.array([number for number in found if np.isfinite(number)])


def _quantiles(values: NDArray[np.float64]) -> tuple[float, float, float]:
    """Compute the 1 %, 50 % and 99 % quantiles; NaN where there are no values."""
    if not values.size:
        return (float("nan"),) * 3
    low, middle, high = np.quantile(values, (0.01, 0.5, 0.99))
    return float(low), float(middle), float(high)


def _qif(path: Path, columns: list[ColumnKind], table: TextTable) -> Description:
    part = (
        next(c for c in columns if c.name == "part")
        if any(c.name == "part" for c in columns)
        else None
    )
    keys: list[tuple[str, Any, str]] = [
        ("long", {"characteristic": "characteristic", "value": "actual"}, "QIF results")
    ]
    moment = next((c for c in columns if c.name == "time" and c.kind == "times"), None)
    if moment is not None:
        keys.append(("time", "time", f"{moment.filled} of its cells are times"))
    why = "measured characteristics of one part after the other"
    if part is not None and part.kind != "empty":
        why += f" ({part.distinct} parts)"
    return Description(path.name, "", "run", why, tuple(keys), (), rows=len(table.cells))


def _names(source: Any) -> list[str]:
    from linestudy.records.headers import names_within

    return names_within(source)


def readings_of(label: str, source: Any, known: dict[str, ColumnKind]) -> Readings:
    """Sum up the readings in one column, or in several side by side."""
    columns = [known[name] for name in _names(source) if name in known]
    values = np.concatenate([c.numbers for c in columns]) if columns else np.empty(0)
    values = values[np.isfinite(values)]
    low, middle, high = _quantiles(values)
    units = {c.unit for c in columns}
    unit = units.pop() if len(units) == 1 else None
    return Readings(label, source, unit, middle, low, high, int(values.size))
