"""What belongs together: sizes that differ by a factor of units, files of one study; said before anything is computed."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.records.formats.stacked_tables import labels_of
from linestudy.records.infer.words import plain_name
from linestudy.records.stream_names import note_on_twins
from linestudy.records.units import factor_between, units_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    import pandas as pd

    from linestudy.records.read_files import Records
    from linestudy.study.model import Characteristic


def unit_doubts(records: Records) -> tuple[str, ...]:
    """Say where numbers that belong together differ by 25.4, 1,000 or 39.37.

    Parameters
    ----------
    records : Records
        From :func:`linestudy.read`.

    Returns
    -------
    tuple of str
        One sentence for each: readings against the drawing, masters' readings against their values, one gauge
        against another, a file against the others of the same characteristic, a station or an appraiser against
        the others of a file.

    Notes
    -----
    Medians are compared, in the unit into which files have been turned, within five per cent of a factor. Where the
    drawing says no size (an offset, a burr: only an upper limit), parts of two files may differ, and factors of 25.4 and
    1,000 are recognised within a third; and readings whose median is more than five times the upper limit are noticed whatever
    the factor. Inches beside a limit in millimetres look like very good parts there and cannot be distinguished from the
    readings alone. Common practice, no source.
    """
    found: list[str] = []
    for item in records.study.characteristics:
        sizes: list[tuple[str, float]] = []
        drawn = _drawn(item)
        loose = drawn is None
        for source in records.sources:
            frame, file = source.frame, source.data.file
            if _has_readings(frame, item.id):
                middle = _middle(frame[item.id])
                readings = (f"its readings in {file}", middle)
                if drawn is not None:
                    _compare(found, item.name, readings, ("the drawing", drawn))
                elif item.upper is not None and middle > 5 * abs(item.upper) > 0:
                    found.append(_beyond(item, file, middle))
                if source.data.role == "reference" and "reference" in frame:
                    known = _middle(frame["reference"])
                    _compare(found, item.name, readings, ("the masters' values there", known))
                for one, other in _groups(frame, item.id, file):
                    _compare(found, item.name, one, other, loose)
                sizes.append((file, middle))
            first, second = f"{item.id}␟first", f"{item.id}␟second"
            if first in frame and second in frame:
                pair = (_middle(frame[first]), _middle(frame[second]))
                _compare(
                    found,
                    item.name,
                    (f"the first gauge in {file}", pair[0]),
                    ("the second", pair[1]),
                )
                sizes.append((file, pair[0]))
        for file, middle in sizes[1:]:
            one, other = (
                (f"its readings in {file}", middle),
                (f"those in {sizes[0][0]}", sizes[0][1]),
            )
            _compare(found, item.name, one, other, loose)
    return tuple(dict.fromkeys(found))


def name_doubts(records: Records) -> tuple[str, ...]:
    """Say where names of parts or people in one file may mean one.

    Parameters
    ----------
    records : Records
        From :func:`linestudy.read`.

    Returns
    -------
    tuple of str
        One sentence for each file and kind of name. A part under two names counts as two, each read by fewer people.

    See Also
    --------
    unit_doubts : Sizes that differ by a factor of units.
    """
    found = []
    for source in records.sources:
        for column in ("part", "appraiser") if source.data.role in _WITH_NAMES else ():
            if column in source.frame:
                names = [str(name) for name in source.frame[column].dropna().unique()]
                note = note_on_twins(column, names)
                found += [f"{source.data.file}: {note}"] if note else []
    return tuple(found)


#: Roles in which every part is read several times, under its name.
_WITH_NAMES = ("crossed", "attribute", "paired", "reference")


def _has_readings(frame: pd.DataFrame, name: str) -> bool:
    """Check whether a column of numbers is there alone under this name; a characteristic may be called as a tag is."""
    return (frame.columns == name).sum() == 1 and frame[name].dtype.kind in "fiu"


#: What divides the rows of a file into those of one hand or one place.
_DIVIDES = {"station": "station", "appraiser": "appraiser"}
#: How far medians of what has no size of its own may lie from a factor.
_LOOSELY = 0.29


def _groups(
    frame: pd.DataFrame, name: str, file: str
) -> Iterator[tuple[tuple[str, float], tuple[str, float]]]:
    """Compare each station and appraiser of a file with the one with most readings."""
    for tag, word in _DIVIDES.items():
        if tag not in frame:
            continue
        by = frame.groupby(tag, observed=True, sort=True)[name]
        counts, middles = by.count(), by.median()
        if not 2 <= len(middles) <= 64:
            continue
        at = int(counts.to_numpy().argmax())
        most = middles.index[at]
        rest = (f"those of {word} {most}", float(middles.iloc[at]))
        for label, middle in middles.items():
            if label != most:
                yield (f"its readings of {word} {label} in {file}", float(middle)), rest


def _beyond(item: Characteristic, file: str, middle: float) -> str:
    assert item.upper is not None
    return (
        f"{item.name}: its readings in {file} have the median {middle:.4g}, {middle / item.upper:.3g} times the upper "
        f"limit {item.upper:g}; they may be in another unit than the limit. Name the unit in the [[data]] table."
    )


def _drawn(item: Characteristic) -> float | None:
    """Return its size on the drawing; None where that is nought or not given."""
    if item.nominal:
        return item.nominal
    if item.lower is not None and item.upper is not None and item.lower + item.upper:
        return (item.lower + item.upper) / 2
    return None


def _middle(values: object) -> float:
    numbers = np.asarray(values, dtype=float)
    numbers = numbers[np.isfinite(numbers)]
    return float(np.median(numbers)) if numbers.size else float("nan")


def _compare(
    found: list[str],
    name: str,
    this: tuple[str, float],
    that: tuple[str, float],
    loose: bool = False,
) -> None:
    factor = factor_between(this[1], that[1])
    if factor is None and loose:
        factor = factor_between(this[1], that[1], _LOOSELY)
    if factor is None:
        return
    one, other = units_of(factor)
    found.append(
        f"{name}: {this[0]} have the median {this[1]:.4g}, {that[0]} {that[1]:.4g}, which is {factor:.4g} times "
        f"as much; one may be in {one} and the other in {other}. Name the unit in its [[data]] table (unit, or "
        "units for single columns)."
    )


#: The keys of a [[data]] table, and the evidence for each.
Keys = tuple[dict[str, Any], dict[str, str]]
#: Words of a file's name that say a study was made before, or after, something was changed.
_BEFORE = frozenset(["before", "vor", "vorher", "old", "alt", "avant", "first", "1", "前", "旧"])
_AFTER = frozenset(
    ["after", "nach", "nachher", "new", "neu", "après", "apres", "last", "2", "后", "後", "新"]
)
#: Words of names that are no people's: sides of a tool, parts of a day.
_NOT_PEOPLE = frozenset([
    "left", "right", "links", "rechts", "gauche", "droite", "inner", "outer", "innen", "außen", "top", "bottom", "oben", "unten", "l", "r", "nok", "ok",
    "morning", "evening", "day", "night", "früh", "spät", "nacht", "matin", "soir", "nuit", "early", "late", "monday", "friday", "montag", "freitag",
])  # fmt: skip


def in_several_files(tables: list[Keys]) -> tuple[list[Keys], list[str]]:
    """Say how crossed studies of one gauge and characteristic in several files are related.

    Where no file says who read and the files bear names, each is the sheet of one appraiser; else they were made one
    after the other, and which came last decides.

    Parameters
    ----------
    tables : list of (dict, dict)
        Keys of each [[data]] table and their evidence.

    Returns
    -------
    tables : list of (dict, dict)
    notes : list of str
        What a person has to look at.
    """
    shared: dict[tuple[str, str], list[Keys]] = {}
    for table in tables:
        if table[0]["role"] == "crossed":
            for identity in table[0].get("columns", {}):
                shared.setdefault((str(table[0].get("gauge")), identity), []).append(table)
    several = [each for each in shared.values() if len({str(k["file"]) for k, _ in each}) > 1]
    notes: list[str] = []
    mine: list[Keys] = []
    for study in several:
        names = ", ".join(str(keys["file"]).removeprefix("data/") for keys, _ in study)
        people = _people(study)
        if people:
            for label, table in zip(people, study, strict=True):
                _give_to(label, table)
            notes.append(
                f"{names}: no column says who read, so each file is taken for the readings of one appraiser: {', '.join(people)}"
            )
            continue
        if all(not _says_who(keys) for keys, _ in study):
            notes.append(
                f"{names}: no column says who read; they are taken for studies made one after the other, of which the last is decided "
                "on. If each is another appraiser's, give the files the appraisers' names"
            )
        mine += [table for table in study if table not in mine]
    for keys, why in mine:
        keys["occasion"] = Path(str(keys["file"])).stem
        why["occasion"] = "studies of one gauge, one after the other: the last one is decided on"
    in_order = iter(sorted(mine, key=_rank))
    ids = {id(keys) for keys, _ in mine}
    return [next(in_order) if id(table[0]) in ids else table for table in tables], notes


def _rank(table: Keys) -> int:
    words = _words_of(table)
    return -1 if words & _BEFORE else 1 if words & _AFTER else 0


def _words_of(table: Keys) -> set[str]:
    return set(plain_name(Path(str(table[0]["file"])).stem).split())


def _says_who(keys: dict[str, Any]) -> bool:
    across = keys.get("across") or ()
    return "appraiser" in keys or keys.get("blocks") == "appraiser" or "appraiser" in across


def _people(study: list[Keys]) -> list[str]:
    """Find names by which files differ, if they may be people's; none for dates, numbers, before and after."""
    plain = all(
        not _says_who(keys)
        and "blocks" not in keys
        and keys.get("across") in (None, ["trial"])
        and all(isinstance(source, str | list) for source in keys["columns"].values())
        for keys, _ in study
    )
    stems = [re.sub(r"[_\-.]+", " ", Path(str(keys["file"])).stem).strip() for keys, _ in study]
    _, labels = labels_of(stems)
    # What all names end with says what was read: "Anna GRR", "Ben GRR".
    ends = [each.split() for each in labels]
    while all(len(each) > 1 for each in ends) and len({each[-1] for each in ends}) == 1:
        ends = [each[:-1] for each in ends]
    labels = [" ".join(each) for each in ends]
    changed = _BEFORE | _AFTER | _NOT_PEOPLE
    named = all(re.fullmatch(r"[^\W\d_]+(?: [^\W\d_]+)?", each) for each in labels)
    named &= not any(_words_of(table) & changed for table in study)
    return labels if plain and named and len(set(labels)) == len(study) >= 2 else []


def _give_to(label: str, table: Keys) -> None:
    """Say that all readings of a file are those of one appraiser."""
    keys, why = table
    if _says_who(keys):
        return
    inner = ["trial"] if any(isinstance(each, list) for each in keys["columns"].values()) else []
    keys["columns"] = {identity: {label: source} for identity, source in keys["columns"].items()}
    keys["across"] = ["appraiser", *inner]
    why["across"] = f"the name of the file says whose readings these are: {label}"
