"""Names of columns that belong together: A1, A2, A3, B1 …; Width_L, Width_R; 1, 2, 3."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from linestudy.records.infer.words import plain_name, says
from linestudy.records.stream_names import SIDE_PAIRS, SIDES, WORDS

_NUMBERED = re.compile(r"^(.*?)[\s_.\-/#:]*(?:\(\s*)?(\d{1,2})(?:\s*\))?$", re.DOTALL)
_FIRST_NUMBER = re.compile(r"^(\d{1,2})\s*[._\-/#:)]?\s+(\D.*)$")
#: "Anna 1st trial", "2. Messung", "1er essai".
_ORDINAL = re.compile(
    r"^(.*?)[\s_.\-/#:]*(\d{1,2})(?:st|nd|rd|th|er|re|ère|ème|e|º|ª|a)?\.?\s+(\D+)$", re.DOTALL
)
#: "1차", "第2次", "3回目".
_EASTERN_ORDINAL = re.compile(
    r"^(.*?)[\s_]*第?(\d{1,2})(?:차|회차|회|回目|回|次)(?:测量|測定|측정)?$", re.DOTALL
)
#: "Pomiar II".
_ROMAN = re.compile(r"^(.*?\w)[\s_.\-]+(I|II|III|IV|V|VI)$", re.DOTALL)
_ROMANS = ("I", "II", "III", "IV", "V", "VI")
#: "Station L width", "Cavity 3: width".
_STATION_FIRST = re.compile(
    r"(?i)(?:station|cavity|nest|lane|spur|kavität|kopf|seite|side|head|empreinte)[\s_]+(\w{1,6})[\s_\-:/]+(\D.*)"
)
_STATION_WORD = re.compile(
    r"^(?:s|st|stat|station|cav|cavity|nest|n|lane|spur|head|kopf|k|h)\s*\d{1,2}$"
)


@dataclass(frozen=True)
class Nest:
    """Columns that hold one quantity several times.

    Attributes
    ----------
    source : list or dict
        As study.toml would name them.
    levels : int
        How deep it nests.
    names : tuple of str
        All its columns.
    labels : tuple of str
        Labels of the outermost level.
    numbered : bool
        Whether the innermost level counts 1, 2, 3.
    """

    source: Any
    levels: int
    names: tuple[str, ...]
    labels: tuple[str, ...]
    numbered: bool


def nest(names: list[str]) -> Nest | None:
    """Find how names of columns nest, if they all belong together.

    Parameters
    ----------
    names : list of str
        Columns that hold the same kind of thing.

    Returns
    -------
    Nest or None
        None where they are different quantities.

    Examples
    --------
    >>> nest(["A1", "A2", "B1", "B2"]).source
    {'A': ['A1', 'A2'], 'B': ['B1', 'B2']}
    """
    if len(names) < 2:
        return None
    split = [_numbered(name) for name in names]
    if any(item is None for item in split):
        return None
    stems: dict[str, list[tuple[int, str]]] = {}
    for name, item in zip(names, split, strict=True):
        assert item is not None
        stems.setdefault(item[0], []).append((item[1], name))
    counts = {tuple(sorted(number for number, _ in group)) for group in stems.values()}
    if len(counts) != 1:
        return None
    (numbers,) = counts
    if numbers != tuple(range(numbers[0], numbers[0] + len(numbers))) or numbers[0] > 1:
        # One stem and numbers with gaps are names of places, as Point 3, Point 7.
        return None
    ordered = {stem: [name for _, name in sorted(group)] for stem, group in stems.items()}
    if len(numbers) == 1:
        return None
    if len(ordered) == 1:
        (only,) = ordered.values()
        return Nest(only, 1, tuple(names), (), True)
    grid = _grid(list(ordered))
    if grid is not None:
        source: dict[str, dict[str, list[str]]] = {}
        for stem, (outer, inner) in grid.items():
            source.setdefault(outer, {})[inner] = ordered[stem]
        return Nest(source, 3, tuple(names), tuple(source), True)
    return Nest(ordered, 2, tuple(names), tuple(ordered), True)


def by_quantity(names: list[str]) -> dict[str, Nest] | None:
    """Find several quantities side by side, each read by the same people in the same trials.

    Parameters
    ----------
    names : list of str

    Returns
    -------
    dict of str to Nest
        Quantity → how its columns nest; None where names are not so.

    Examples
    --------
    >>> found = by_quantity(["Width A1", "Width A2", "Width B1", "Width B2", "Gap A1", "Gap A2", "Gap B1", "Gap B2"])
    >>> found["Gap"].source
    {'A': ['Gap A1', 'Gap A2'], 'B': ['Gap B1', 'Gap B2']}
    """
    ends: dict[str, dict[str, str]] = {}
    for name in names:
        bare = re.sub(r"\s*[\[(][^\[\]()]*[\])]\s*$", "", name).strip()
        words = WORDS.split(bare)
        # A number by itself belongs to the word before it: Width Anna 1.
        cut = -2 if words[-1].isdigit() and len(words) > 2 else -1
        quantity, end = " ".join(words[:cut]), " ".join(words[cut:])
        if not quantity or end in ends.setdefault(quantity, {}):
            return None
        ends[quantity][end] = name
    if len(ends) < 2 or len({tuple(sorted(each)) for each in ends.values()}) != 1:
        return None
    found = {}
    for quantity, each in ends.items():
        inner = nest(list(each))
        if inner is None or inner.levels != 2:
            return None
        source = {who: [each[end] for end in trials] for who, trials in inner.source.items()}
        found[quantity] = Nest(source, 2, tuple(each.values()), inner.labels, True)
    return found


def _numbered(name: str) -> tuple[str, int] | None:
    bare = re.sub(r"\s*\[[^\[\]]*\]\s*$", "", name).strip()
    found = _NUMBERED.match(bare)
    if found and found[2]:
        return found[1].strip(" _.-/#:("), int(found[2])
    eastern = _EASTERN_ORDINAL.match(bare)
    if eastern:
        return eastern[1].strip(" _.-/#:("), int(eastern[2])
    roman = _ROMAN.match(bare)
    if roman:
        return roman[1], _ROMANS.index(roman[2]) + 1
    counted = _ORDINAL.match(bare)
    if counted and says(counted[3], "trial", "value"):
        return counted[1].strip(" _.-/#:("), int(counted[2])
    first = _FIRST_NUMBER.match(bare)
    return (first[2].strip(), int(first[1])) if first else None


def _grid(stems: list[str]) -> dict[str, tuple[str, str]] | None:
    """Split stems of two words that form a full grid, as L A, L B, R A, R B; else None."""
    words = {stem: WORDS.split(stem) for stem in stems}
    if any(len(each) != 2 for each in words.values()):
        return None
    outer = {each[0] for each in words.values()}
    inner = {each[1] for each in words.values()}
    if len(outer) < 2 or len(inner) < 2 or len(outer) * len(inner) != len(stems):
        return None
    return {stem: (each[0], each[1]) for stem, each in words.items()}


def by_station(names: list[str]) -> dict[str, dict[str, str]] | None:
    """Find columns that hold each quantity once for every station, as Width_L, Width_R, Gap_L, Gap_R.

    Parameters
    ----------
    names : list of str

    Returns
    -------
    dict or None
        Quantity → station → column; None where names do not pair up.
    """
    if len(names) < 2:
        return None
    found: dict[str, dict[str, str]] = {}
    for name in names:
        bare = re.sub(r"\s*[\[(][^\[\]()]*[\])]\s*$", "", name).strip()
        named = _STATION_FIRST.match(bare)
        parts = WORDS.split(f"{named[2]} {named[1]}" if named else bare)
        if len(parts) < 2:
            return None
        quantity, station = " ".join(parts[:-1]), parts[-1]
        if plain_name(parts[0]) in SIDES and plain_name(parts[-1]) not in SIDES:
            quantity, station = " ".join(parts[1:]), parts[0]
        found.setdefault(quantity, {})[station] = name
    stations = {tuple(sorted(each)) for each in found.values()}
    if len(stations) != 1:
        return None
    (ends,) = stations
    plain = tuple(end.casefold() for end in ends)
    known = tuple(sorted(plain)) in {tuple(sorted(pair)) for pair in SIDE_PAIRS}
    first = all(_STATION_FIRST.match(name) for name in names)
    known = known or first
    return found if len(ends) > 1 and (known or all(map(_STATION_WORD.match, plain))) else None


def xy_pairs(names: list[str]) -> dict[str, tuple[str, str]]:
    """Find pairs of columns that are x and y of one position.

    Parameters
    ----------
    names : list of str

    Returns
    -------
    dict of str to (str, str)
        What the pair is called → its two columns.
    """
    found: dict[str, dict[str, str]] = {}
    for name in names:
        words = plain_name(name).split()
        axis = next((word for word in words if word in ("x", "y", "dx", "dy")), None)
        if axis is not None:
            rest = " ".join(word for word in words if word != axis)
            found.setdefault(rest, {})[axis[-1]] = name
    return {
        rest or "position": (each["x"], each["y"]) for rest, each in found.items() if len(each) == 2
    }


#: Columns of averages and ranges beside the readings.
_TOTALS = frozenset([
    "average", "avg", "mean", "range", "mittelwert", "spannweite", "sum", "total", "sd", "std", "stdev", "s", "x̄", "xbar",
    "x bar", "r", "moyenne", "étendue", "min", "max", "平均", "平均值", "平均値", "极差", "範囲",
])  # fmt: skip


def is_total_name(name: str) -> bool:
    """Check whether a column is called an average, a range or another sum of the readings beside it."""
    plain = plain_name(name)
    return plain in _TOTALS or bool(set(plain.split()) & (_TOTALS - {"r", "s", "min", "max"}))
