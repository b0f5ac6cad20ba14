"""Floor sheets that come back: workbooks with their plan inside, read without any mapping, faults reported cell by cell.

A floor sheet has pages to fill in, each for one person and round, and a hidden sheet with the plan: what is measured by
which gauge, and for every page which row is which part. A code made of the plan is printed on each page, so that pages
of another plan, rows that were sorted and labels that were changed are noticed.
"""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from linestudy.results import InputError

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.model import Data

#: Name of the hidden sheet, and what its first cell says.
PLAN, MARK = "linestudy plan", "linestudy floor sheet, format 1"
#: Row of the page (counted from nought) that names the columns; above it are the fields.
HEADER = 6
#: Fields of a page: label, row and column of the cell to fill in.
FIELDS = {"Appraiser": (3, 1), "Date": (4, 1), "Part lot": (3, 4), "Gauge number": (4, 4)}
#: Fields without which readings cannot be traced.
NEEDED = ("Appraiser", "Date")
CODE = (1, 1)
#: Head of the running numbers of a page.
ORDER = "In this order"


@dataclass(frozen=True)
class FloorPlan:
    """What a floor sheet is about.

    Attributes
    ----------
    role : str
    characteristic, name : str
        Id and name.
    unit : str
        Empty for judgements.
    gauges : tuple of str
        Names; two where two gauges measure the same parts, none for judgements.
    columns : tuple of str
        Columns to fill in.
    words : tuple of str
        What may be filled in, for judgements: accepted first.
    tags : tuple of str
        What the rows are: part, appraiser, trial …
    rows : tuple of dict
        ``page``, ``row`` (counted from nought below the header) and a value for each tag.
    """

    role: str
    characteristic: str
    name: str
    unit: str
    gauges: tuple[str, ...]
    columns: tuple[str, ...]
    words: tuple[str, ...]
    tags: tuple[str, ...]
    rows: tuple[dict[str, Any], ...]

    def text(self) -> str:
        """Write the plan as the hidden sheet holds it."""
        return json.dumps(self.__dict__, ensure_ascii=False, sort_keys=True)

    @property
    def code(self) -> str:
        """What ties pages to it."""
        return hashlib.sha256(self.text().encode()).hexdigest()[:10].upper()


@dataclass
class Filled:
    """A floor sheet that came back.

    Attributes
    ----------
    plan : FloorPlan
    table : pandas.DataFrame of str
        Tags and what was filled in; one row for each row of the plan.
    faults : list of str
        One sentence for each cell that is not as it has to be.
    """

    plan: FloorPlan
    table: pd.DataFrame
    faults: list[str] = field(default_factory=list)


def is_floor_sheet(raw: bytes) -> bool:
    """Check whether a workbook carries a plan of the kit."""
    import io
    import zipfile
    import zlib

    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as bundle:
            # Another program may have saved it as an OpenDocument workbook.
            part = "content.xml" if "content.xml" in bundle.namelist() else "xl/workbook.xml"
            return f'name="{PLAN}"'.encode() in bundle.read(part)
    except (zipfile.BadZipFile, zlib.error, KeyError, OSError, EOFError, ValueError, RuntimeError):
        # What is damaged is reported by the reader of workbooks.
        return False


def is_page_of_text(text: str) -> bool:
    """Check whether a text is a floor sheet's page saved as csv, without its plan."""
    lines = text.split("\n", HEADER + 2)
    if len(lines) <= HEADER:
        return False
    return bool(re.match(r'"?Plan"?[;,\t]"?[0-9A-F]{10}\b', lines[CODE[0]])) and (
        ORDER in lines[HEADER]
    )


def read_floor_sheet(raw: bytes, data: Data, suffix: str = ".xlsx") -> Filled:
    """Read a floor sheet, filled in or not.

    Parameters
    ----------
    raw : bytes
        The workbook.
    data : linestudy.study.model.Data
        Names the file, and marks of no reading.
    suffix : str
        Its kind.

    Returns
    -------
    Filled

    Raises
    ------
    InputError
        Its plan is missing or damaged.
    """
    import pandas as pd

    from linestudy.records.formats.workbook import sheet_names, workbook_rows

    def page_of(name: str) -> list[list[str]]:
        # Numbers of a workbook have no marks of their own.
        plain = {"decimal": ".", "thousands": None, "block": None}
        own = data.model_copy(update={"sheet": name, "cells": None, **plain})
        return workbook_rows(raw, own, suffix).rows

    plan = _plan(page_of(PLAN), data)
    found = Filled(plan, pd.DataFrame())
    pages = list(dict.fromkeys(str(row["page"]) for row in plan.rows))
    there = sheet_names(raw, data, suffix)
    cells = {page: page_of(page) for page in pages if page in there}
    others = {page: page_of(page) for page in there if page not in (*pages, PLAN)}
    for page in [page for page in pages if page not in cells]:
        cells[page] = _renamed(found, page, others)
    found.faults += [
        f'the page "{page}" is not in the plan and is not read'
        for page, rows in others.items()
        if any(map(any, rows))
    ]
    for page in pages:
        if cells[page]:
            cells[page] = _shifted_back(found, page, cells[page])
            _check_page(found, page, cells[page])
            cells[page] = _in_planned_order(found, page, cells[page])
            _check_beyond(found, page, cells[page])
    rows = [_row(found, cells[str(row["page"])], row) for row in plan.rows]
    found.table = pd.DataFrame(rows, columns=[*plan.tags, *plan.columns], dtype=str)
    found.table.index = pd.RangeIndex(1, len(rows) + 1)
    return found


def _plan(rows: list[list[str]], data: Data) -> FloorPlan:
    from pydantic import TypeAdapter

    problem = InputError(
        data.file,
        "carries a plan that is not whole",
        "write the floor sheet again, and copy the readings into it",
    )
    if len(rows) < 3 or not rows[0] or rows[0][0] != MARK:
        raise problem
    try:
        # A cell holds 32,767 signs at most. What is not of its type (a number for a plan, words for a list) is damage.
        plan = TypeAdapter(FloorPlan).validate_json("".join(row[0] for row in rows[2:] if row))
    except ValueError:
        raise problem from None
    whole = _fits(plan) and all(_is_row(row, plan) for row in plan.rows)
    places = [(row["page"], row["row"]) for row in plan.rows] if whole else []
    whole = whole and len(set(places)) == len(places)
    if not whole or not plan.rows or rows[1][:1] != [plan.code]:
        raise problem
    return plan


#: Most columns to fill in, and the last row of a sheet.
_MOST_COLUMNS, _LAST_ROW = 16_000, 1_048_000


def _fits(plan: FloorPlan) -> bool:
    """Check whether a plan has what a sheet needs: rows, columns with own names, words to choose from."""
    names = [*plan.tags, *plan.columns]
    needed = plan.tags and 1 <= len(plan.columns) <= _MOST_COLUMNS and all(names)
    words = not plan.words or len(plan.words) > 1
    gauges = len(plan.gauges) == (2 if plan.role == "paired" else 1) or bool(plan.words)
    return bool(needed) and len(set(names)) == len(names) and words and gauges


def _is_row(row: dict[str, Any], plan: FloorPlan) -> bool:
    if not {"page", "row", *plan.tags} <= set(row) or not isinstance(row["page"], str):
        return False
    at = row["row"]
    labels = all(isinstance(row[tag], str | int | float) for tag in plan.tags)
    return type(at) is int and 0 <= at <= _LAST_ROW and labels


def _cell(rows: list[list[str]], row: int, column: int) -> str:
    return rows[row][column].strip() if row < len(rows) and column < len(rows[row]) else ""


def _name(row: int, column: int) -> str:
    letters = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return f"{letters}{row + 1}"


def _check_page(found: Filled, page: str, rows: list[list[str]]) -> None:
    code = _cell(rows, *CODE)
    if code != found.plan.code:
        fault = f'says "{code}"' if code else "is empty"
        found.faults.append(
            f'page "{page}", cell {_name(*CODE)} {fault} where the code of the plan, {found.plan.code}, belongs'
        )
    for label in NEEDED:
        if not _cell(rows, *FIELDS[label]):
            found.faults.append(
                f'page "{page}", cell {_name(*FIELDS[label])}: {label.lower()} is not filled in'
            )


def _planned(found: Filled, page: str) -> dict[int, str]:
    """Map the rows of a page to the labels that the plan gives them."""
    tag = found.plan.tags[0]
    return {
        HEADER + 1 + int(row["row"]): str(row[tag])
        for row in found.plan.rows
        if row["page"] == page
    }


def _shifted_back(found: Filled, page: str, rows: list[list[str]]) -> list[list[str]]:
    """Put a page back in which somebody inserted or took out rows or columns; the head of the running numbers tells."""
    places = [
        (at, column)
        for at, row in enumerate(rows[: 3 * HEADER])
        for column, cell in enumerate(row[:HEADER])
        if cell.strip() == ORDER
    ]
    if len(places) != 1 or places[0] == (HEADER, 0):
        return rows
    ((down, right),) = places
    found.faults.append(
        f'page "{page}": rows or columns were inserted or taken out; it is read from where "{ORDER}" stands, in cell '
        f"{_name(down, right)}"
    )
    above = [[""]] * max(HEADER - down, 0)
    return above + [row[right:] for row in rows[max(down - HEADER, 0) :]]


def _renamed(found: Filled, page: str, others: dict[str, list[list[str]]]) -> list[list[str]]:
    """Find a page under another name: of the same plan, with this page's labels in order."""
    planned = _planned(found, page)
    same = [
        name
        for name, rows in others.items()
        if _cell(rows, *CODE) == found.plan.code
        and all(_cell(rows, at, 1) == label for at, label in planned.items())
    ]
    if len(same) != 1:
        found.faults.append(f'the page "{page}" is missing')
        return []
    found.faults.append(f'the page "{page}" was renamed to "{same[0]}"; it is read by its order')
    return others.pop(same[0])


def _in_planned_order(found: Filled, page: str, rows: list[list[str]]) -> list[list[str]]:
    """Put rows that somebody sorted back by their labels, where every label occurs once."""
    planned = _planned(found, page)
    there = {_cell(rows, at, 1): at for at in planned}
    # A master that is read repeatedly occurs as often.
    once = len(there) == len(planned) and set(there) == set(planned.values())
    sorted_by_hand = once and list(there) != list(planned.values())
    # Where the head is gone, the labels may be another column.
    if not sorted_by_hand or _cell(rows, HEADER, 0) != ORDER:
        return rows
    found.faults.append(
        f'page "{page}": its rows stand in another order than the plan has, and are read by their labels'
    )
    sorted_back = list(rows)
    for at, label in planned.items():
        sorted_back[at] = rows[there[label]]
    return sorted_back


def _check_beyond(found: Filled, page: str, rows: list[list[str]]) -> None:
    """Tell of entries that the plan has no place for: another trial beside, more parts below."""
    planned, width = _planned(found, page), 2 + len(found.plan.columns)
    for at, row in enumerate(rows[HEADER + 1 :], start=HEADER + 1):
        first = width if at in planned else 2
        for column, entry in enumerate(row[first:], start=first):
            if entry.strip():
                found.faults.append(
                    f'page "{page}", cell {_name(at, column)} says "{entry.strip()[:30]}", for which the plan has no '
                    "place; it is not read"
                )


def _number(found: Filled, entry: str) -> str:
    """Convert a number as typed ("2,80", "2.80 mm") to the plan's unit; leave what is none."""
    from linestudy.records.units import unit_factor

    plain = entry.translate(_WIDE).strip()
    match = re.fullmatch(
        r"([-+]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][-+]?\d+)?)\s*([A-Za-zµμ°%\"]{0,8})", plain
    )
    if match is None:
        return entry
    number = match[1].replace(",", ".")
    if not match[2] or match[2] == found.plan.unit:
        return number
    try:
        return repr(float(number) * unit_factor(match[2], found.plan.unit, "floor sheet"))
    except InputError:
        return entry


#: Digits and signs of East Asian keyboards, and the minus sign of typography.
_WIDE = str.maketrans("０１２３４５６７８９．，－−", "0123456789.,--")


def _row(found: Filled, rows: list[list[str]], planned: dict[str, Any]) -> list[str]:
    plan, page = found.plan, str(planned["page"])
    at = HEADER + 1 + int(planned["row"])
    label = str(planned[plan.tags[0]])
    entries = []
    if rows and _cell(rows, at, 1) != label:
        found.faults.append(
            f'page "{page}", cell {_name(at, 1)} says "{_cell(rows, at, 1)}" where the plan has "{label}": rows keep '
            "their order"
        )
        entries = [""] * len(plan.columns)
    for number, column in enumerate(plan.columns[len(entries) :]):
        entry = _cell(rows, at, 2 + number)
        place = f'page "{page}", cell {_name(at, 2 + number)}'
        if not entry:
            if rows:
                found.faults.append(f"{place} ({column}) is empty")
        elif plan.words:
            if entry.casefold() not in {word.casefold() for word in plan.words}:
                found.faults.append(
                    f'{place} says "{entry[:30]}"; it takes {" or ".join(plan.words)}'
                )
            entry = next(
                (word for word in plan.words if word.casefold() == entry.casefold()), entry
            )
        else:
            entry = _number(found, entry)
            if not re.fullmatch(r"[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?", entry, re.IGNORECASE):
                found.faults.append(f'{place} says "{entry[:30]}", which is no number')
        entries.append(entry)
    return [*(str(planned[tag]) for tag in plan.tags), *entries]
