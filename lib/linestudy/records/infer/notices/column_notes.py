"""Notes on the columns of a table that a person must read: a clock nobody can read, labels that join several things, tables side by side."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from linestudy.records.formats.stacked_tables import is_number
from linestudy.records.headers import names_within
from linestudy.records.infer.words import is_nameless, says
from linestudy.results import counted

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records.infer.column_kinds import ColumnKind
    from linestudy.records.infer.guesses import Guess

#: Fewest rows that show how a label is made.
_ENOUGH = 12
#: Signs between the pieces of a label.
_BETWEEN = re.compile(r"[\s\-_/.,;:|#+]+")


def notes_on_columns(guess: Guess, columns: list[ColumnKind], cells: pd.DataFrame) -> list[str]:
    """Collect notes on columns of a table that a person has to look at.

    Parameters
    ----------
    guess : Guess
        What the columns are taken for.
    columns : list of ColumnKind
    cells : pandas.DataFrame of str

    Returns
    -------
    list of str
        One sentence each.
    """
    used = {each for key, value, _ in guess.keys for each in _names(value)}
    used |= {each for source in guess.values.values() for each in names_within(source)}
    words = [c for c in columns if c.kind == "words" and c.name not in used]
    return [
        *_clocks(words, cells),
        *(_joined(words, cells) if guess.role in ("run", "machine") else []),
        *_side_by_side(columns, cells),
        *_nothing(guess, columns, cells),
    ]


def _names(value: object) -> list[str]:
    """Collect the column names in a key's value, which may hold numbers too."""
    if isinstance(value, dict):
        return [each for inner in (value, value.values()) for one in inner for each in _names(one)]
    if isinstance(value, list):
        return [each for one in value for each in _names(one)]
    return [value] if isinstance(value, str) else []


def _first(cells: pd.DataFrame, name: str) -> str:
    """Return an entry of a column, one that is no number where there is one."""
    text = [each for each in cells[name].astype("string").fillna("").str.strip() if each]
    return str(next((each for each in text if not is_number(each)), (text or [""])[0]))[:40]


def _clocks(words: list[ColumnKind], cells: pd.DataFrame) -> list[str]:
    """Report columns that are called a time but whose cells are not readable as times."""
    found = []
    for column in words:
        text = cells[column.name].astype("string").fillna("").str.strip()
        text = text[text != ""].head(500)
        if says(column.name, "time") and text.str.contains(r"\d", regex=True).mean() > 0.9:
            found.append(
                f'"{column.name}" is called a time, and cells such as "{_first(cells, column.name)}" are read as none: say how '
                "they are written with time and time_format, or write 2026-03-31 14:05:00"
            )
    return found


def _joined(words: list[ColumnKind], cells: pd.DataFrame) -> list[str]:
    """Report labels such as "Anna-P01-1", one for every row, whose pieces come in every combination."""
    found = []
    for column in words:
        text = cells[column.name].astype("string").fillna("").str.strip().tolist()
        if len(text) < _ENOUGH or len(set(text)) < len(text):
            continue
        pieces = [_BETWEEN.split(each) for each in text]
        if len({len(each) for each in pieces}) != 1:
            continue
        entries = [list(dict.fromkeys(each)) for each in zip(*pieces, strict=True)]
        several = [each for each in entries if len(each) > 1]
        if len(several) < 2 or math.prod(map(len, several)) != len(text):
            continue
        shown = "; ".join(", ".join(each[:3]) + (" …" if each[3:] else "") for each in several)
        found.append(
            f'"{column.name}" joins {len(several)} things in one label ({shown}): give each a column of its own, such as part, '
            "appraiser and trial"
        )
    return found


def _side_by_side(columns: list[ColumnKind], cells: pd.DataFrame) -> list[str]:
    """Report a second column of parts or strokes that differs from the first: tables side by side."""
    counts = [c for c in columns if c.kind in ("numbers", "words") and not is_nameless(c.name)]
    first: dict[str, str] = {}
    found: list[str] = []
    for column in counts:
        last = re.sub(r"( again)+$", "", column.name).split()[-1:]
        if not last or not says(last[0], "part", "order", "number"):
            continue
        known = first.setdefault(last[0], column.name)
        if known == column.name:
            continue
        one, other = (
            cells[name].astype("string").fillna("").str.strip() for name in (known, column.name)
        )
        differ = int(((one != other) & (one != "") & (other != "")).sum())
        if differ and not any(f'than "{known}"' in each for each in found):
            found.append(
                f'"{column.name}" holds other entries than "{known}" in {counted(differ, "row")}: these are tables side by side, '
                "whose rows do not belong together; give each a sheet or a file of its own"
            )
    return found


def _nothing(guess: Guess, columns: list[ColumnKind], cells: pd.DataFrame) -> list[str]:
    """Report that no column holds plain numbers, with examples of what the cells look like."""
    elsewhere = {"long", "judgement", "layout", "accepted"} & {key for key, _, _ in guess.keys}
    shown = [c for c in columns if c.kind == "words"][:3]
    if guess.values or elsewhere or not shown:
        return []
    such = ", ".join(f'"{_first(cells, c.name)}" in "{c.name[:40]}"' for c in shown)
    return [
        f"no column holds plain numbers that could be readings, only texts such as {such}: put readings into columns of their own, "
        "as decimal numbers below a row of names"
    ]
