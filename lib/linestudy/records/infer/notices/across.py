"""Whether the records of a file lie across: a column for each day, or for each part with its features below each other."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from linestudy.records.formats.times_written import how_written
from linestudy.records.infer.wide_names import nest
from linestudy.records.infer.words import meanings, says

if TYPE_CHECKING:
    from linestudy.records.infer.column_kinds import ColumnKind

#: Fewest columns that make records, and most rows of a table that lies across.
_FEWEST, _MOST_ROWS = 3, 60
#: Parts side by side in a list of the drawing's dimensions are few; more of them are records of a run.
_MANY = 13
#: "SN001", "Part 12", "0012".
_NUMBERED = re.compile(r"(\D{0,20}?)(\d{1,8})")


def lies_across(columns: list[ColumnKind], rows: int) -> str:
    """Say what tells that the records of a table lie across.

    Parameters
    ----------
    columns : list of ColumnKind
    rows : int
        Rows of data.

    Returns
    -------
    str
        Evidence; empty where the records stand below each other.

    Notes
    -----
    A column for each day has a date or a time of day for its name, and all hold numbers of one size. A column for each
    part has a running number for its name, and the rows, which a column of words names, hold numbers of different
    sizes. Parts of a gauge study side by side are alike in size and stay as they are. Common practice, no source.
    """
    values = [
        c
        for c in columns
        if c.kind == "numbers"
        and (not meanings(c.name) or (_NUMBERED.fullmatch(c.name) and says(c.name, "part")))
    ]
    if not 2 <= rows <= _MOST_ROWS or len(values) < _FEWEST:
        return ""
    dated = [c for c in values if _is_moment(c.name)]
    others = [c for c in columns if c not in dated and c.kind != "empty"]
    if len(dated) >= _FEWEST and len(others) <= 1 and _alike(dated):
        return f'"{dated[0].name}", "{dated[1].name}" and others are dates or times, so the readings of each lie in a column'
    return _readings_by_person(columns) or _parts(columns, values)


def _readings_by_person(columns: list[ColumnKind]) -> str:
    """Say that people and trials stand below each other in one column of names, "Anna / 1", over parts side by side."""
    names = [c for c in columns if c.kind == "words"]
    parts = [c for c in columns if c.kind == "numbers"]
    if len(names) != 1 or len(names) + len(parts) != sum(c.kind != "empty" for c in columns):
        return ""
    label, numbered = names[0], [_NUMBERED.fullmatch(c.name.strip()) for c in parts]
    said = [match[1] for match in numbered if match]
    found = nest(list(label.entries)) if label.distinct == label.filled else None
    stems = {stem.strip() for stem in said}
    if found is None or found.levels != 2 or len(said) != len(parts) or len(stems) != 1:
        return ""
    if not says(stems.pop(), "part") or not _alike(parts):
        return ""
    shown = ", ".join(list(label.entries)[:3])
    return (
        f'{shown} name rows by person and trial, and each part, as "{parts[0].name}", has a column'
    )


def _parts(columns: list[ColumnKind], values: list[ColumnKind]) -> str:
    numbered = [
        (c, match) for c in values if (match := _NUMBERED.fullmatch(c.name.strip())) is not None
    ]
    stems = {match[1] for _, match in numbered}
    numbers = [int(match[2]) for _, match in numbered]
    rest = [c for c in columns if c not in [each for each, _ in numbered] and c.kind != "empty"]
    label = next((c for c in rest if c.kind == "words"), None)
    if label is None or len(stems) != 1 or len(numbered) < _MANY or numbers != sorted(set(numbers)):
        return ""
    limits = [c for c in rest if c is not label and says(c.name, *_LIMITS)]
    named = all(re.search(r"[^\W\d_]{2}", entry) for entry in label.entries)
    if len(limits) + 1 != len(rest) or not named or label.distinct < label.filled:
        return ""
    sizes = np.array([c.numbers for c, _ in numbered]).T
    middles = np.array(
        [np.median(row[np.isfinite(row)]) for row in sizes if np.isfinite(row).any()]
    )
    differ = middles.size >= 2 and float(np.ptp(middles)) > 0.2 * float(np.abs(middles).max())
    if not (limits or differ):
        return ""
    first = numbered[0][0].name
    return f'"{label.name}" stands over {", ".join(sorted(label.entries)[:3])}, and each part, as "{first}", has a column'


_LIMITS = (
    "nominal", "lower limit", "upper limit", "lower tolerance", "upper tolerance", "tolerance", "specification",
)  # fmt: skip


def _is_moment(name: str) -> bool:
    import pandas as pd

    if not re.search(r"\d[./:-]\d", name):
        return False
    layout, _, _ = how_written(pd.Series([name], dtype="string"))
    return bool(layout)


def _alike(columns: list[ColumnKind]) -> bool:
    middles = np.array([c.middle for c in columns])
    spread = max(float(np.nanstd(c.numbers)) for c in columns)
    return bool(np.ptp(middles) <= max(0.2 * np.abs(middles).max(), 6 * spread))
