"""Logs in which each value follows its name: "stroke=1 width=2.801 verdict=OK", or "Width: 2.801 mm; Gap: 1.002 mm".

A line with pairs is a row. The clock may come before its first pair; other text beside pairs is a column of its own, as
far as it changes from line to line. Pairs one below the other are a row from one of a name to the next of that name.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from linestudy.records.headers import distinct_names
from linestudy.results import InputError

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.model import Data

#: ``delimiter`` of such a text.
PAIRS = "="
_WORD = r"[^\W\d][\w.\-/%\[\]()µ]{0,40}"
#: A word and =, or up to three and a colon with a blank. Bounded throughout, so that no line takes long.
_NAME = re.compile(
    rf"(?<![\w.])(?:({_WORD})[ ]{{0,3}}=[ ]{{0,3}}|({_WORD}(?:[ ]{_WORD}){{0,2}})[ ]{{0,3}}:[ ]{{1,9}})"
)
#: Where a value ends before the next name does.
_END = re.compile(r"[;|\t]|,(?=\s|$)")
#: No log has longer lines.
_LONGEST = 4_000
#: When a line was written, in front of its pairs.
_MOMENT = re.compile(
    r"\[?(\d{1,4}[-./]\d{1,2}[-./]\d{1,4}(?:[T ]+\d{1,2}:\d{2}(?::\d{2}(?:[.,]\d+)?)?(?:Z|[+-]\d\d:?\d\d)?)?|\d{1,2}:\d{2}:\d{2}(?:[.,]\d+)?)\]?"
)
#: Columns of the moments, and of other text beside pairs.
MOMENT, BESIDE = "time", "text"
#: Numbers with decimals: a line of them without names is one of a table.
_DECIMALS = re.compile(r"(?<![\w.,])[-+]?\d*[.,]\d+(?![\w.,])")
#: Fewest rows, and lines that are looked at.
_FEWEST, _LOOKED_AT = 5, 400


def pairs_in(lines: list[str]) -> list[str]:
    """Name the values of a log in which each follows its name.

    Parameters
    ----------
    lines : list of str
        The first lines of the text.

    Returns
    -------
    list of str
        Names in the order in which they come; empty where it is no such log.

    Examples
    --------
    >>> pairs_in([f"22:0{i}:00 stroke={i} width=2.80{i} ok=yes" for i in range(6)])
    ['time', 'stroke', 'width', 'ok']
    """
    rows = _rows(lines[:_LOOKED_AT])
    # A rule between two records is no line of either.
    filled = sum(1 for line in lines[:_LOOKED_AT] if re.search(r"\w", line))
    rows = [(at, {n: v for n, v in row.items() if n != BESIDE}) for at, row in rows]
    names = _names(rows)
    numbered = {n for _, row in rows for n, value in row.items() if re.match(r"[-+]?[\d.,]", value)}
    alike = sum(set(row) == set(names) for _, row in rows)
    each = max(filled / max(len(rows), 1), 1.0)
    bare = sum(len(_DECIMALS.findall(line)) > 1 and not _pairs(line) for line in lines[:_LOOKED_AT])
    if bare > 0.05 * len(rows):
        return []
    # Most lines belong to rows of the same names, and several of these are numbers.
    known = len(rows) >= _FEWEST and alike >= 0.6 * len(rows) and each <= len(names)
    return names if known and len(numbered - {MOMENT}) >= 1 and len(names) >= 2 else []


def cells_of_pairs(text: str, data: Data) -> tuple[pd.DataFrame, int]:
    """Read a log of pairs as cells, a column for each name.

    Parameters
    ----------
    text : str
        With one kind of line end.
    data : linestudy.study.model.Data
        Names the file.

    Returns
    -------
    cells : pandas.DataFrame of str
        Its index is the line of the file in which each row begins.
    header : int
        1, for there is none.

    Raises
    ------
    InputError
        No line holds a pair.
    """
    import pandas as pd

    rows = _rows(text.split("\n"))
    if not rows:
        raise InputError(data.file, "has no line with a name and its value", "check delimiter")
    beside = {row.get(BESIDE, "") for _, row in rows}
    names = [name for name in _names(rows) if name != BESIDE or len(beside) > 1]
    body = [[row.get(name, "") for name in names] for _, row in rows]
    table = pd.DataFrame(body, columns=distinct_names(names, data, 1), dtype=str)
    table.index = pd.Index([line for line, _ in rows])
    return table, 1


def _names(rows: list[tuple[int, dict[str, str]]]) -> list[str]:
    return list(dict.fromkeys(name for _, row in rows for name in row))


def _rows(lines: list[str]) -> list[tuple[int, dict[str, str]]]:
    """Collect rows with their first line: lines of several pairs, or one pair a line until a name recurs."""
    found: list[tuple[int, dict[str, str]]] = []
    pairs = [_pairs(line) for line in lines]
    several = [len(set(each) - {MOMENT, BESIDE}) for each in pairs]
    below = several.count(1) > sum(n > 1 for n in several)
    for at, row in enumerate(pairs, start=1):
        if not row or (several[at - 1] == 1 and not below):
            continue
        if below and found and not set(row) & set(found[-1][1]):
            found[-1][1].update(row)
        else:
            found.append((at, row))
    return found


def _pairs(line: str) -> dict[str, str]:
    """Read names and values of a line, with its moment and the text beside them."""
    if len(line) > _LONGEST:
        return {}
    moment = _MOMENT.match(line)
    rest = line[moment.end() :] if moment else line
    found: dict[str, str] = {}
    beside, at = [], 0
    name = _NAME.search(rest)
    while name is not None:
        beside.append(rest[at : name.start()])
        begin, at = name.end(), name.end()
        if rest[begin : begin + 1] == '"' and (end := rest.find('"', begin + 1)) > 0:
            value, at = rest[begin + 1 : end], end + 1
            name_after = _NAME.search(rest, at)
        else:
            name_after = _NAME.search(rest, at)
            stop = name_after.start() if name_after else len(rest)
            ended = _END.search(rest, begin, stop)
            at = ended.start() if ended else stop
            value = rest[begin:at]
        found.setdefault(name[1] or name[2], value.strip(" ,"))
        name = name_after
    if not found:
        return {}
    text = " ".join(each for part in (*beside, rest[at:]) if (each := part.strip(" ;,|\t-:")))
    return ({MOMENT: moment[1]} if moment else {}) | found | ({BESIDE: text} if text else {})
