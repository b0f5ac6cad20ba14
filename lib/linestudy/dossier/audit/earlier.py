"""A dossier of an earlier format: its numbers are found under their names of today and recomputed.

Only numbers and decisions are held: words, page, PDF and workbook are those of the version that wrote them, which no
later version can set anew byte for byte. Whoever wants them held installs that version.
"""

from __future__ import annotations

from typing import Any

from linestudy.dossier.audit.numbers import (
    ABSENT,
    Comparison,
    Path,
    difference,
    leaf,
    leaves,
    room_of,
)
from linestudy.dossier.tolerances import allowed

#: Format that this kit writes.
FORMAT = 2

#: Decisions of format 1 in today's words.
_DECISIONS = {"needs agreement": "customer approval required"}

#: Places of format 1 and where the same number stands today; ``*`` stands for one key or number of a row.
#: The first that fits counts; what none fits keeps its place.
RENAMED: tuple[tuple[str, str], ...] = ()


def is_earlier(recorded: Any) -> bool:
    """Whether a content of results.json is of an earlier format.

    Parameters
    ----------
    recorded : dict
        Content of results.json.

    Returns
    -------
    bool

    Examples
    --------
    >>> is_earlier({"format": 1}), is_earlier({"format": 2})
    (True, False)
    """
    return isinstance(recorded, dict) and recorded.get("format") in range(1, FORMAT)


def today(path: Path, renamed: tuple[tuple[str, str], ...] = RENAMED) -> Path:
    """Return the place of today for a place of format 1.

    Parameters
    ----------
    path : tuple
        Keys and numbers of rows.
    renamed : tuple of (str, str)
        Old and new places.

    Returns
    -------
    tuple

    Examples
    --------
    >>> today(("characteristics", "a", "steps", 0, "at"), (("characteristics.*.steps", "characteristics.*.jumps"),))
    ('characteristics', 'a', 'jumps', 0, 'at')
    """
    for old, new in renamed:
        parts = old.split(".")
        if len(path) < len(parts):
            continue
        if not all(part in ("*", str(key)) for part, key in zip(parts, path, strict=False)):
            continue
        stars = iter(key for part, key in zip(parts, path, strict=False) if part == "*")
        made = tuple(next(stars) if part == "*" else part for part in new.split("."))
        # What follows may be renamed too.
        rest = (*made, *path[len(parts) :])
        return rest if rest == path else today(rest, renamed)
    return path


def compare_earlier(recorded: Any, recomputed: Any) -> tuple[Comparison, tuple[str, ...]]:
    """Hold the numbers and decisions of an earlier format against those of today.

    Parameters
    ----------
    recorded : dict
        Content of results.json, of format 1.
    recomputed : dict
        The same study evaluated today.

    Returns
    -------
    comparison : Comparison
        Numbers that both have, and decisions.
    remarks : tuple of str
        What was not held, and how many numbers have no place today.

    Examples
    --------
    >>> old = {"format": 1, "joint": {"n": 3.0, "was": 1.0}}
    >>> found, remarks = compare_earlier(old, {"format": 2, "joint": {"n": 3.0}})
    >>> found.compared, len(found.differences)
    ({'joint': 1}, 0)
    """
    found, gone = Comparison(), 0
    for path, old in leaves(recorded):
        place = today(path)
        new = leaf(recomputed, place)
        if place[-1:] == ("decision",) and isinstance(old, str):
            old = _DECISIONS.get(old, old)
        elif isinstance(old, bool) or not isinstance(old, int | float) or path[0] == "format":
            continue
        if new is ABSENT or isinstance(new, bool) or not isinstance(new, type(old) | float):
            gone += isinstance(old, int | float)
            continue
        dotted = ".".join(str(key) for key in place)
        room = room_of(dotted)
        found.compared[room] = found.compared.get(room, 0) + 1
        if isinstance(old, str):
            agrees = old == new
        else:
            beside = leaf(recomputed, place[:-1])
            agrees = abs(old - float(new)) <= allowed(dotted, float(new), beside).by
        if not agrees:
            found.differences.append(difference(place, old, new))
    version = leaf(recorded, ("kit", "linestudy"))
    remarks = [
        f"written by version {version} in an earlier format: numbers and decisions were held; words, page, PDF "
        "and workbook were not, for only that version sets them"
    ]
    if gone:
        remarks.append(f"{gone:,} of its numbers have no place in today's format and were not held")
    if found.differences:
        remarks.append(
            "numbers that later versions compute otherwise are named in the changelog; the version that wrote the "
            "dossier recomputes its own"
        )
    return found, tuple(remarks)
