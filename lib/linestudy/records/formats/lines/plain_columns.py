"""Text whose columns stand below each other, with blanks between: protocols of measuring machines, tables copied out of a page.

The header is the line of names above the first line of readings. It may come again with every part, as in a protocol that
measures one part after the other; lines such as "Part no: 12" between are then columns too, each as long as it says
something else from block to block. A line with fewer cells than the header is filled by the place of its cells; where cells
are separated by one blank, nothing shows which is missing: one such line in twenty is set aside, and more of them are refused.
"""

from __future__ import annotations

import itertools
import re
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from linestudy.records.conversions import most_odd
from linestudy.records.formats.stacked_tables import PAGE, is_number
from linestudy.records.headers import distinct_names
from linestudy.results import InputError

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.model import Data

#: ``delimiter`` of such a text.
BLANKS = " "
_WIDE = re.compile(r"\S+(?:[ ]\S+)*")
_NARROW = re.compile(r"\S+")
_RULE = re.compile(r"[\s\-=_*+|.~]+")
_LABEL = re.compile(r"([^\W\d](?:[^\s:=]|[ ](?![ ])){0,30})\s*(?::\s+|=\s*)(\S.*?)(?=\s{2,}|$)")
#: "DIM D1= LOCATION OF CIRCLE C1": what the rows below are of.
_FEATURE = re.compile(
    r"\s*(?:DIM|DIMENSION|FEATURE|MERKMAL|ELEMENT|COTE|MASS|MAß)\s+([^\s=:]+)\s*[=:]", re.IGNORECASE
)
#: "UNITS=MM" at the end of such a line.
_AT_THE_END = re.compile(r"\b([^\W\d]+)\s?=\s?(\S+)\s*$")
#: Lines that are looked at before a text is taken for one of this kind.
_LOOKED_AT = 400


@dataclass(frozen=True)
class _Cell:
    text: str
    begin: int
    end: int


@dataclass
class _Rows:
    """Lines sorted out: the header, and the rows below it with the labels that held for each."""

    names: list[str] = field(default_factory=list)
    header: int = 0
    rows: list[tuple[int, list[_Cell]]] = field(default_factory=list)
    labels: list[dict[str, str]] = field(default_factory=list)
    blocks: list[int] = field(default_factory=list)


def count_text_columns(lines: list[str]) -> int:
    """Count the columns of a text whose cells stand below each other, separated by blanks.

    Parameters
    ----------
    lines : list of str
        The first lines of the text.

    Returns
    -------
    int
        0 where it is no such text.

    Examples
    --------
    >>> count_text_columns(["Part   Width"] + [f"{i}      2.80{i}" for i in range(5)])
    2
    """
    found = _sorted_out(lines[:_LOOKED_AT])
    if len(found.rows) < _FEWEST or len(found.names) < 2:
        return 0
    whole = sum(len(cells) == len(found.names) for _, cells in found.rows)
    return len(found.names) if whole >= 0.3 * len(found.rows) else 0


#: Fewest lines of readings.
_FEWEST = 5


def lines_above(lines: list[str]) -> list[str]:
    """Give the lines above the readings: those above the first header, and between it and the first reading.

    Parameters
    ----------
    lines : list of str
        The first lines of the text.

    Returns
    -------
    list of str
    """
    found = _sorted_out(lines[:_LOOKED_AT])
    first = found.rows[0][0] - 1 if found.rows else 0
    return [line for at, line in enumerate(lines[:first]) if at != found.header - 1]


def cells_in_columns(text: str, data: Data) -> tuple[pd.DataFrame, int]:
    """Read a text whose columns stand below each other as cells below its header.

    Parameters
    ----------
    text : str
        With one kind of line end.
    data : linestudy.study.model.Data
        The names it asks for.

    Returns
    -------
    cells : pandas.DataFrame of str
        Its index is the line of the file.
    header : int
        Line of the first header, counted from 1.

    Raises
    ------
    InputError
        No header, or several lines of which nothing tells which cell is missing.
    """
    import pandas as pd

    found = _sorted_out(text.split("\n"))
    if not found.names:
        raise InputError(data.file, "has no header row", "name the columns above their numbers")
    width = len(found.names)
    places = _places([cells for _, cells in found.rows if len(cells) == width], width)
    body = []
    odd: list[tuple[int, int]] = []
    for line, cells in found.rows:
        row = _filled(cells, places)
        if row is None:
            odd.append((line, len(cells)))
            # A remark, which is counted as one.
            row = ["# " + " ".join(cell.text for cell in cells), *([""] * (width - 1))]
        body.append(row)
    if len(odd) > most_odd(len(body)):
        raise InputError(
            f"{data.file} line {odd[0][0]}",
            f"has {odd[0][1]} cells where the header has {width}, and nothing tells which is which",
            "give the file as csv or xlsx",
        )
    names = distinct_names(found.names, data, found.header)
    table = pd.DataFrame(body, columns=names, dtype=str)
    table.index = pd.Index([line for line, _ in found.rows])
    changing = _changing(found, taken=set(names))
    beside = pd.DataFrame(changing, index=table.index, dtype=str)
    return pd.concat([beside, table], axis=1), found.header


def _sorted_out(lines: list[str]) -> _Rows:
    shape = _cell_shape(lines)
    split = [
        [cell for m in shape.finditer(line.expandtabs()) for cell in _apart(m)] for line in lines
    ]
    first = next((at for at, cells in enumerate(split) if _holds_readings(cells)), None)
    found = _Rows()
    if first is None:
        return found
    # Names are above the readings; a rule or a row of units may be between.
    head = next(
        (
            at
            for at in range(first - 1, max(first - 5, -1), -1)
            if len(split[at]) >= 2
            and not _RULE.fullmatch(lines[at])
            and _names_more(split[at], split[at - 1] if at else [], len(split[first]))
        ),
        None,
    )
    if head is None:
        return found
    found.header, found.names = head + 1, [cell.text for cell in split[head]]
    labels: dict[str, str] = {}
    block, feature, first_feature = 0, "", ""
    for at, (line, cells) in enumerate(zip(lines, split, strict=True)):
        texts = [cell.text for cell in cells]
        if texts == found.names:
            # A header for each feature begins no other part.
            block += feature in ("", first_feature := first_feature or feature)
        elif not cells or _RULE.fullmatch(line) or PAGE.match(line.strip()):
            continue
        elif _holds_readings(cells) and at > head:
            if len(cells) > len(found.names) and not is_number(texts[0]):
                # A name of several words in front.
                more = len(cells) - len(found.names) + 1
                joined = " ".join(texts[:more])
                cells = [_Cell(joined, cells[0].begin, cells[more - 1].end), *cells[more:]]
            if feature and not is_number(cells[0].text):
                cells = [replace(cells[0], text=f"{feature} {cells[0].text}"), *cells[1:]]
            found.rows.append((at + 1, cells))
            found.labels.append(dict(labels))
            found.blocks.append(block)
        elif at > head and block and len(cells) == len(found.names) and not _LABEL.search(line):
            # A row of units, of limits, or one without a reading.
            found.rows.append((at + 1, cells))
            found.labels.append(dict(labels))
            found.blocks.append(block)
        elif (named := _FEATURE.match(line)) is not None:
            feature = named[1]
            labels |= dict(_AT_THE_END.findall(line[named.end() :]))
        else:
            labels |= {m[1].strip(): m[2].strip() for m in _LABEL.finditer(line.strip())}
    # A name at the right end below which nothing ever stands, as "Out" where every part is within.
    farthest = max((cell.end for _, cells in found.rows for cell in cells), default=0)
    while farthest and len(found.names) > 2 and split[head][len(found.names) - 1].begin >= farthest:
        found.names = found.names[:-1]
    return found


#: Numbers with decimals that stand one blank apart, for a minus sign took the other: "0.0500 -0.0500".
_SEVERAL = re.compile(r"[-+]?\d*[.,]\d+(?: [-+]?\d*[.,]\d+)+")


def _apart(found: re.Match[str]) -> list[_Cell]:
    """Split one stretch of a line into cells: several numbers with decimals are as many cells."""
    if _SEVERAL.fullmatch(found[0]) is None:
        return [_Cell(found[0].strip('"'), *found.span())]
    begin = found.start()
    return [
        _Cell(each[0], begin + each.start(), begin + each.end())
        for each in _NARROW.finditer(found[0])
    ]


def _names_more(cells: list[_Cell], above: list[_Cell], width: int) -> bool:
    """Check whether a line is the header; below a line of names, a second one holds units."""
    texts = [cell.text for cell in cells]
    if any(map(is_number, texts)) or len(texts) < 0.5 * width:
        return False
    upper = [cell.text for cell in above]
    return (
        len(upper) != len(texts) or any(map(is_number, upper)) or any(":" in each for each in upper)
    )


def _cell_shape(lines: list[str]) -> re.Pattern[str]:
    """Choose what separates cells: two blanks and more where most lines of readings have them, else one."""
    wide = [len(_WIDE.findall(line.expandtabs())) for line in lines if _NUMBERED.search(line)]
    return _WIDE if wide and sum(n > 1 for n in wide) > 0.6 * len(wide) else _NARROW


_NUMBERED = re.compile(r"\d\s+[-+]?\d*[.,]?\d")


def _holds_readings(cells: list[_Cell]) -> bool:
    """Check whether a line has at least two cells, a number with decimal mark, and no label."""
    numbers = [cell.text for cell in cells if is_number(cell.text)]
    return (
        len(cells) >= 2
        and any(re.search(r"[.,]\d", number) for number in numbers)
        and not any(cell.text.endswith((":", "=")) or ": " in cell.text for cell in cells)
    )


def _places(rows: list[list[_Cell]], width: int) -> list[tuple[int, int]]:
    """Find where each column begins and ends."""
    return [
        (min(row[at].begin for row in rows), max(row[at].end for row in rows)) if rows else (0, 0)
        for at in range(width)
    ]


def _filled(cells: list[_Cell], places: list[tuple[int, int]]) -> list[str] | None:
    """Put the cells of a line into their columns; None where the columns are ambiguous."""
    if len(cells) == len(places):
        return [cell.text for cell in cells]
    separate = all(a[1] < b[0] for a, b in itertools.pairwise(places))
    found = [""] * len(places)
    for cell in cells:
        mine = [
            at for at, (begin, end) in enumerate(places) if cell.begin < end and begin < cell.end
        ]
        if not separate or len(mine) != 1 or found[mine[0]]:
            return None
        found[mine[0]] = cell.text
    return found


#: Labels that say a date, and names that say a time of day.
_DATE = re.compile(r"(?:date|datum|fecha|data|tarih|日期|日付)\b", re.IGNORECASE)
_TIME = re.compile(r"(?:time|zeit|uhrzeit|heure|hora|ora|saat|時刻|时间)\b", re.IGNORECASE)


def _changing(found: _Rows, taken: set[str]) -> dict[str, list[str]]:
    """Collect labels that change from block to block; add the block's number where none counts parts."""
    names = list(dict.fromkeys(name for labels in found.labels for name in labels))
    columns = {name: [labels.get(name, "") for labels in found.labels] for name in names}
    # A day of readings has one date, without which its times of day are of no day.
    clocked = any(_TIME.match(name) for name in (*columns, *found.names))
    changing = {
        name: cells
        for name, cells in columns.items()
        if name not in taken and (len(set(cells)) > 1 or (clocked and _DATE.match(name)))
    }
    if found.blocks and max(found.blocks) > 1:
        counts = any(
            all(cell.isdigit() for cell in cells) and len(set(cells)) == max(found.blocks)
            for cells in changing.values()
        )
        if not counts and "block" not in taken:
            changing["block"] = [str(block) for block in found.blocks]
    return changing
