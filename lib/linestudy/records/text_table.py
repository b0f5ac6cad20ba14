"""Any file of a study as one table of text, with rows that are no data counted and put aside.

Nothing is converted here. What is found by itself (encoding, delimiter, header row, a row
of units, blank rows, totals at the end) is decided by evidence in the file, counted, and
reported; whatever study.toml states wins.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from linestudy.records.across.elsewhere import chosen_part, columns_beyond, rows_elsewhere
from linestudy.records.conversions import as_written
from linestudy.records.files import column, content
from linestudy.records.formats.floor_sheet import is_floor_sheet, read_floor_sheet
from linestudy.records.headers import columns_of_values, named_columns
from linestudy.records.rows.between import (
    heads_above,
    rows_of_limits,
    rows_of_names,
    rows_of_remarks,
)
from linestudy.records.rows.limits import limits_below
from linestudy.records.rows.totals import totals_below, totals_between

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd

    from linestudy.records.across.elsewhere import Elsewhere, Page
    from linestudy.records.formats.sheet_marks import SheetNotes
    from linestudy.records.screening import Seen
    from linestudy.study.model import Data

BLANK = "blank row"
TOTALS = "row of totals at the end of the file"
TOTALS_BETWEEN = "row of averages or ranges between the readings"
UNITS_ROW = "row of units below the header"
LIMITS_ROW = "row of nominals, limits or units below the header"
SKIPPED = "row below the header, skipped on purpose"
NAMES_AGAIN = "row of names of the columns, repeated"
REMARK = "row of a remark or a page break"


@dataclass
class TextTable:
    """A file's cells as text.

    Attributes
    ----------
    cells : pandas.DataFrame of str
        Data rows; the index is the line of the file each is in. Columns of a run that hold nothing but
        numbers and marks of no reading may be numbers already, NaN where there is no reading, and its clock
        may be times.
    set_aside : dict of str to int
        Rows that are no data, by reason.
    units : dict of str to str
        Column → unit, where the file has a row of units.
    notes : list of str
        What was found out by itself.
    seen : list of Seen
        What was noticed in how the file is made, and left as it is.
    beside : SheetNotes or None
        Of a workbook: what a reader of its values does not see.
    limits : dict of str to dict
        Nominal, lower limit and their kin → column → cell, where rows below the header say so.
    sheet : str
        Name of the sheet that is read, where study.toml says which part of a file is.
    elsewhere : list of Elsewhere
        Rows with readings outside of that part.
    beyond : pandas.DataFrame of str or None
        The data rows with the columns that a range of cells leaves out.
    """

    cells: pd.DataFrame
    set_aside: dict[str, int] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    seen: list[Seen] = field(default_factory=list)
    beside: SheetNotes | None = None
    limits: dict[str, dict[str, str]] = field(default_factory=dict)
    sheet: str = ""
    elsewhere: list[Elsewhere] = field(default_factory=list)
    beyond: pd.DataFrame | None = None

    @property
    def rows_read(self) -> int:
        """Rows below the header, data or not."""
        return len(self.cells) + sum(self.set_aside.values())


def read_text_table(path: Path, data: Data) -> TextTable:
    """Read a file's cells as text, one column per header, nothing converted.

    Parameters
    ----------
    path : pathlib.Path
        csv, tsv or text (also as gz or zip), JSON lines, parquet, a workbook, or QIF.
    data : linestudy.study.model.Data
        How the file is written.

    Returns
    -------
    TextTable
        The cells, what was put aside, and what was found out by itself.

    Raises
    ------
    InputError
        Not readable as a table.
    """
    raw, suffix = content(path, data)
    if suffix in (".parquet", ".feather"):
        from linestudy.records.formats.parquet import parquet_cells

        return TextTable(parquet_cells(raw, data, *_kept_as_they_are(data)))
    if suffix in (".qif", ".xml"):
        from linestudy.records.formats.qif import read_qif

        table = read_qif(raw, data)
        unit = str(table.attrs.pop("unit", ""))
        return TextTable(table, units={"actual": unit} if unit else {})
    if suffix in (".xlsx", ".ods") and data.sheet is None and is_floor_sheet(raw):
        return _floor_sheet(raw, data, suffix)
    if suffix in (".xlsx", ".xlsm", ".ods", ".xls"):
        from linestudy.records.formats.workbook import sheet_cells, whole_sheets, workbook_rows

        cells, header, beside = sheet_cells(raw, data, suffix)
        found = _without_extras(cells, header, data)
        found = replace(found, seen=_hidden(beside, found.cells, data), beside=beside)
        if not chosen_part(data):
            return found
        pages = [
            (s.name, list(enumerate(s.rows, s.first))) for s in whole_sheets(raw, data, suffix)
        ]
        sheet = data.sheet or workbook_rows(raw, data, suffix).name
        # A header over two rows: the last row stands one further down than rows are counted.
        end = int(cells.index[-1]) if len(cells) and not data.transpose else header + len(cells)
        return _and_elsewhere(found, pages, data, sheet, range(header, end + 1))
    if suffix in (".jsonl", ".ndjson", ".json"):
        from linestudy.records.formats.json_lines import json_cells

        return TextTable(json_cells(raw, data))
    from linestudy.records.formats.delimited import rows_of_text, text_cells

    cells, header = text_cells(raw, data)
    found = _without_extras(cells, header, data)
    if not chosen_part(data) or not len(cells):
        return found
    read = range(header, int(cells.index[-1]) + 1)
    return _and_elsewhere(found, [("", rows_of_text(raw, data))], data, "", read)


def _and_elsewhere(
    found: TextTable, pages: list[Page], data: Data, sheet: str, read: range
) -> TextTable:
    """Add what the file contains outside the part that is read."""
    own = next(page for page in pages if page[0] == sheet)
    return replace(
        found,
        sheet=sheet,
        elsewhere=rows_elsewhere(pages, data, sheet, read),
        beyond=columns_beyond(own, found.cells, read.start, data),
    )


def _floor_sheet(raw: bytes, data: Data, suffix: str) -> TextTable:
    """Read a floor sheet that came back; its plan says what its cells are."""
    filled = read_floor_sheet(raw, data, suffix)
    table = filled.table
    for name in (*filled.plan.columns, "reference"):
        if name in table:
            table[name] = [as_written(cell, data) for cell in table[name]]
    more = len(filled.faults) - 20
    notes = [f"{fault}." for fault in filled.faults[:20]]
    return TextTable(
        table,
        notes=[*notes, f"{more} more cells are not as they have to be."] if more > 0 else notes,
    )


def _kept_as_they_are(data: Data) -> tuple[frozenset[str], str | None]:
    """Choose the columns of a parquet run that may stay numbers, and the one that may stay a clock."""
    if data.role != "run" or data.long is not None:
        return frozenset(), None
    # A column that is a tag as well stays text.
    tags: set[Any] = {data.coil, data.stop, data.image, data.reason, data.subgroup}
    tags |= {data.verdict} if isinstance(data.verdict, str) else set(data.verdict or ())
    tags |= set(data.station) if isinstance(data.station, tuple) else {data.station}
    job, counter = data.order[:-1] if isinstance(data.order, tuple) else (), data.order
    counter = counter[-1] if isinstance(counter, tuple) else counter
    tags |= set(job)
    clock = {data.time} if isinstance(data.time, str) else set(data.time or ())
    numbers = {counter, *columns_of_values(data)} - tags - clock - {None}
    alone = data.time if isinstance(data.time, str) and data.time_format != "serial" else None
    return frozenset(map(str, numbers)), None if alone in tags | {counter} else alone


def _without_extras(table: pd.DataFrame, header: int, data: Data) -> TextTable:
    """Take out rows that are no data; each is counted. The header is in line `header`."""
    import pandas as pd

    counts: dict[str, int] = {}
    if data.skip_rows_after_header:
        skipped = min(data.skip_rows_after_header, len(table))
        if skipped:
            counts[SKIPPED] = skipped
        table = table.iloc[skipped:]
    # Blank lines at the end of a text are no rows; blank rows between rows are counted.
    if not (table.iloc[-1:] != "").to_numpy().any():
        filled = (table != "").any(axis=1).to_numpy().nonzero()[0]
        table = table.iloc[: filled[-1] + 1] if filled.size else table.iloc[:0]
    units = _units_row(table.iloc[0]) if len(table) else {}
    if units:
        counts[UNITS_ROW] = 1
        table = table.iloc[1:]
    again = rows_of_names(table, data)
    above = heads_above(table, again) if again.any() else again
    if again.any():
        counts[NAMES_AGAIN] = int(again.sum())
        table = table[~(again | above)]
    remarks = rows_of_remarks(table)
    if remarks.any() or above.any():
        counts[REMARK] = int(remarks.sum()) + int(above.sum())
        table = table[~remarks]
    limits: dict[str, dict[str, str]] = {}
    limit_rows = rows_of_limits(table)
    if limit_rows:
        counts[LIMITS_ROW] = len(limit_rows)
        for at, said in limit_rows.items():
            limits[said] = {
                str(name): str(cell).strip() for name, cell in table.iloc[at, 1:].items()
            }
        units = _units_row(pd.Series(limits.pop("unit"))) if "unit" in limits else units
        table = table.iloc[len(limit_rows) :]
    if len(table) and not units:
        units = _units_row(table.iloc[0])
        if units:
            counts[UNITS_ROW] = 1
            table = table.iloc[1:]
    if len(table) and (table.iloc[:, 0] == "").any():
        blank = (table.apply(lambda cells: cells.str.strip()) == "").all(axis=1).to_numpy()
        if blank.any():
            counts[BLANK] = int(blank.sum())
            table = table[~blank]
    totals = totals_below(table)
    if totals:
        counts[TOTALS] = totals
        limits = limits or limits_below(table.tail(totals))
        table = table.iloc[: len(table) - totals]
    between = totals_between(table, data)
    if between.any():
        counts[TOTALS_BETWEEN] = int(between.sum())
        table = table[~between]
    for name in data.fill_down:
        cells = column(table, name, data).str.strip()
        table = table.assign(**{name: cells.mask(cells == "").ffill().fillna("")})
    table.attrs = {"header_line": header}
    found_in = header > 1 and data.header_row is None
    notes = [f"The header was found in line {header}."] if found_in else []
    return TextTable(table, counts, units, notes, limits=limits)


#: Kinds of what was noticed about hidden parts of a workbook; the decision sheet tells of them.
HIDDEN_ROWS, HIDDEN_COLUMN, HIDDEN_SHEET = "hidden rows", "hidden column", "hidden sheet"
#: What a person marked by hand; beyond this share of a column its colour is a design.
STRUCK, COLOURED, _FEW_COLOURED = "cells struck through", "coloured cells", 0.1


def _hidden(beside: SheetNotes, cells: pd.DataFrame, data: Data) -> list[Seen]:
    """Notice rows, columns and sheets that are hidden in the workbook and yet are read."""
    from linestudy.records.screening import Seen
    from linestudy.results import counted

    found = []
    rows = [int(row) for row in cells.index if row in beside.rows] if beside.rows else []
    if rows:
        verb = "is" if len(rows) == 1 else "are"
        pronoun = "it counts" if len(rows) == 1 else "they count"
        sentence = f"{len(rows):,} of {counted(len(cells), 'row')} {verb} hidden in the workbook; {pronoun}"
        found.append(Seen(HIDDEN_ROWS, "", len(rows), rows[0], sentence))
    named = set(named_columns(data))
    mine = [name for name in beside.columns if name in named or not named]
    if mine:
        listed = ", ".join(f'"{name}"' for name in mine[:6])
        verb, pronoun = ("is", "it counts") if len(mine) == 1 else ("are", "they count")
        what = "column" if len(mine) == 1 else "columns"
        sentence = f"the {what} {listed} {verb} hidden in the workbook; {pronoun}"
        found.append(Seen(HIDDEN_COLUMN, "", len(mine), 0, sentence))
    for what, kind, cells_of in (
        (STRUCK, "struck through", beside.struck),
        (COLOURED, "coloured", beside.coloured),
    ):
        for name, rows_of in cells_of.items():
            # Where most are coloured the colour says nothing of single readings.
            here = [row for row in rows_of if row in cells.index]
            few = kind != "coloured" or len(here) <= _FEW_COLOURED * len(cells)
            if here and few and (name in named or not named):
                verb, pronoun = ("is", "it counts") if len(here) == 1 else ("are", "they count")
                listed = f"{', '.join(map(str, here[:6]))}{' …' if len(here) > 6 else ''}"
                sentence = f'{counted(len(here), "cell")} of "{name}" {verb} {kind} in the workbook (rows {listed}); {pronoun}'
                found.append(Seen(what, "", len(here), here[0], sentence))
    if beside.sheet:
        sentence = f'the sheet "{beside.sheet}" is hidden in the workbook; it counts'
        found.append(Seen(HIDDEN_SHEET, "", 1, 0, sentence))
    return found


#: Entries of a row of units above columns that have none: n°, hh:mm:ss.
_HOW_WRITTEN = re.compile(
    r"(?i)n[°ro]?\.?|#|pcs|ea|stk\.?|[hmsdjtya]{1,4}(?:[:./ -][hmsdjtya]{1,4})+"
)


def _units_row(row: pd.Series) -> dict[str, str]:
    """Map columns to units if every filled cell of the row is a unit or a dash, and one is a unit."""
    from linestudy.records.units import is_unit

    found: dict[str, str] = {}
    for name, cell in row.items():
        text = str(cell).strip()
        bare = text[1:-1].strip() if text[:1] + text[-1:] in ("[]", "()") else text
        if bare in ("", "-", "–") or _HOW_WRITTEN.fullmatch(bare):
            continue
        if len(bare) > 12 or not is_unit(bare):
            return {}
        found[str(name)] = bare
    return found
