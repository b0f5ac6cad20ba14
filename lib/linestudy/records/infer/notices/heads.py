"""Which row of a file names its columns, and whether it takes two."""

from __future__ import annotations

import re
from collections import Counter
from itertools import pairwise, zip_longest

from linestudy.records.cells.limit_words import said_of_limits
from linestudy.records.formats.stacked_tables import is_number, width
from linestudy.records.infer.words import named_alone, says
from linestudy.records.units import is_unit

#: Most rows that a header is looked for in.
LOOKED_AT = 400
#: Fewest rows below a header.
FEWEST = 5


def usual_width(rows: list[list[str]]) -> int:
    counts = Counter(width(row) for row in rows[:LOOKED_AT] if width(row))
    return max(counts.items(), key=lambda item: (item[1] * item[0], item[0]))[0] if counts else 0


def header_row(rows: list[list[str]]) -> int:
    """Find the row that names the columns: the first that is about as full as most, and no row of numbers.

    Parameters
    ----------
    rows : list of list of str

    Returns
    -------
    int
        Counted from nought.
    """
    usual = max(usual_width(rows), 1)
    head = rows[:LOOKED_AT]
    for i, row in enumerate(head):
        if not width(row) or sum(map(is_number, row)) > width(row) / 2 or _is_pair(head, i):
            continue
        # A line of the preamble names fewer things; only the upper row of two has gaps.
        if rows_of_header(rows, i) > 1 or (_extent(row) >= usual and width(row) > usual / 2):
            return _below_pairs(head, i)
    return next((i for i, row in enumerate(head) if width(row) > usual / 2), 0)


#: "DIM L1= DISTANCE UNITS=MM": the unit behind what a row of a protocol is of.
_UNITS = re.compile(r"\S\s+units?\s*[=:]\s*(mm|inch|in|um|µm|deg)\b", re.IGNORECASE)


def said_above(rows: list[list[str]]) -> tuple[str, str]:
    """Find what lines such as "Characteristic: Width" and "Unit; mm" above a table say of its readings.

    Parameters
    ----------
    rows : list of list of str
        The rows above the names of the columns.

    Returns
    -------
    about : str
        The characteristic; empty where no line says it, or several say different things.
    unit : str
        Its unit, likewise.
    """
    abouts, units = [], []
    for row in rows:
        units += [found[1].casefold() for cell in row if (found := _UNITS.search(cell))]
        cells = [
            part.strip() for cell in row for part in re.split(r"\s*[:=]\s+|[:=]$|\s*=\s*", cell)
        ]
        filled = [cell for cell in cells if cell]
        for label, cell in pairwise(filled):
            if "characteristic" in named_alone(label) and len(label) > 2 and not is_number(cell):
                abouts.append(cell)
            elif said_of_limits(label) == "unit" and is_unit(cell.casefold()):
                units.append(cell.casefold() if cell.isupper() else cell)
    return tuple(each[0] if len(set(each)) == 1 else "" for each in (abouts, units))  # type: ignore[return-value]


def _is_pair(rows: list[list[str]], at: int) -> bool:
    """Check whether a row is a word and its number, "Reference; 2.8003", above column names and readings."""
    row, *below = (*rows[at : at + 3], [], [])[:3]
    if width(row) != 2 or not re.fullmatch(
        r"[-+]?\d+[.,]\d+", [c for c in row if c.strip()][-1].strip()
    ):
        return False
    names, readings = below
    return (
        width(names) >= 2 and not any(map(is_number, names)) and sum(map(is_number, readings)) >= 2
    )


def _below_pairs(rows: list[list[str]], at: int) -> int:
    """Find the header below a preamble of pairs, "Machine; 4", where the table has two columns too."""
    body = [i for i in range(at + 1, len(rows)) if width(rows[i])]
    for i in body[:_DEEPEST_PREAMBLE]:
        row, below = rows[i], [rows[each] for each in body if each > i][:FEWEST]
        if any(map(is_number, row)) or width(row) < 2 or len(below) < FEWEST:
            continue
        between = [rows[each] for each in body if each < i] or [rows[at]]
        named = not any(row[0].strip() == "" or is_number(row[0]) for row in (rows[at], *between))
        counted = all(each and is_number(each[0]) and width(each) >= 2 for each in below)
        if named and counted and (i > at + 1 or not any(width(each) for each in rows[at + 1 : i])):
            return i if i > at + 1 else at
    return at


#: Most lines of a preamble below what could be a header.
_DEEPEST_PREAMBLE = 20


def _extent(row: list[str]) -> int:
    return max((i for i, cell in enumerate(row, start=1) if cell.strip()), default=0)


def rows_of_header(rows: list[list[str]], at: int) -> int:
    """Return 2 or 3 if the header takes so many rows, names with gaps and names below that distinguish them, else 1."""
    if at + 2 >= len(rows):
        return 1
    if _three(rows[at : at + 4]):
        return 3
    upper, lower, below = rows[at], rows[at + 1], rows[at + 2]
    names = [cell.strip() for cell in lower if cell.strip()]
    if _parts_under(upper, lower):
        return 2
    if _repeated_above(upper, lower):
        return 2 if any(is_number(cell) for cell in below) else 1
    if _words_under(upper, lower, below):
        return 2
    if len(names) < 3 or not 0 < width(upper) < width(lower):
        return 1
    small = [cell for cell in names if re.fullmatch(r"\d{1,2}", cell)]
    words = [cell for cell in names if not is_number(cell)]
    distinguished = len(set(names)) < len(names)
    if not distinguished or len(small) + len(words) < len(names):
        return 1
    # Readings below have decimals, or are many more different ones.
    return 2 if any(is_number(cell) for cell in below) or any(cell.strip() for cell in below) else 1


def _three(rows: list[list[str]]) -> bool:
    """Check whether trials are counted below people, and these stand below characteristics, each with gaps behind."""
    if len(rows) < 4 or any(map(is_number, [*rows[0], *rows[1]])):
        return False
    top, middle, last = ([i for i, cell in enumerate(row) if cell.strip()] for row in rows[:3])
    names = [rows[2][i].strip() for i in last]
    counted = [name for name in names if re.fullmatch(r"\D{0,12}\d{1,2}", name)]
    return (
        2 <= len(top) < len(middle) < len(counted) >= len(last) - 2
        and len(set(counted)) < len(counted)
        and set(top) - {0} <= set(middle)
        and sum(map(is_number, rows[3])) >= len(counted)
    )


def _parts_under(upper: list[str], lower: list[str]) -> bool:
    """Check whether parts are numbered 1, 2, 3 under one name, as in the form of a gauge study."""
    numbered = [i for i, cell in enumerate(lower) if cell.strip()]
    first = numbered[0] if numbered else 0
    counted = [lower[i].strip() for i in numbered] == [str(n + 1) for n in range(len(numbered))]
    together = numbered == list(range(first, first + len(numbered)))
    return (
        len(numbered) >= 3
        and counted
        and together
        and 0 < first < len(upper)
        and says(upper[first], "part")
        and any(cell.strip() for cell in upper[:first])
        and not any(cell.strip() for cell in upper[first + 1 : first + len(numbered)])
    )


def _words_under(upper: list[str], lower: list[str], below: list[str]) -> bool:
    """Check whether one name is over two words or more, as Width over L and R, and numbers follow."""
    named = [i for i, cell in enumerate(upper) if cell.strip()]
    filled = [i for i, cell in enumerate(lower) if cell.strip()]
    if len(named) < 2 or len(filled) < 2 or any(map(is_number, [*upper, *lower])):
        return False
    ends = [*named[1:], max(len(upper), len(lower))]
    spans = [
        [i for i in filled if begin <= i < end] for begin, end in zip(named, ends, strict=True)
    ]
    over = [span for span in spans if span]
    return (
        len(over) < len(spans)
        and not spans[0]
        and filled[0] >= named[0]
        and all(len(span) > 1 for span in over)
        and all(i < len(below) and is_number(below[i]) for i in filled)
    )


def _repeated_above(upper: list[str], lower: list[str]) -> bool:
    """Check whether repeated names, A A A B B B, have distinguishing small numbers below, others blanks."""
    pairs = [
        (above.strip(), below.strip())
        for above, below in zip_longest(upper, lower, fillvalue="")
        if above.strip() or below.strip()
    ]
    counts = Counter(above for above, _ in pairs)
    again = [(above, below) for above, below in pairs if counts[above] > 1]
    small = all(above and re.fullmatch(r"\d{1,2}", below) for above, below in again)
    return (
        len(again) >= 4
        and small
        and len(set(again)) == len(again)
        and all(not below for above, below in pairs if counts[above] == 1)
    )
