"""Hold two results.json against each other, number by number, each with the tolerance of its kind."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from linestudy.dossier.tolerances import allowed

#: Marks a place where one side has nothing.
ABSENT = object()

Path = tuple[str | int, ...]

_PACKAGES = (
    "gauges",
    "agreement",
    "systems",
    "attribute",
    "stability",
    "shape",
    "capability",
    "verdict",
)


@dataclass(frozen=True)
class Difference:
    """One value that does not agree.

    Attributes
    ----------
    place : str
        Path in results.json, keys joined by dots.
    recorded, recomputed : str
        Both values.
    relative : float or None
        Relative difference, for numbers.
    """

    place: str
    recorded: str
    recomputed: str
    relative: float | None


@dataclass
class Comparison:
    """What came of it.

    Attributes
    ----------
    compared : dict of str to int
        Values compared, by package.
    near : dict of path to number
        Recorded numbers that agree within their tolerance without being the same.
    differences : list of Difference
    words : list of path
        Places whose words differ: to be held against what the recorded numbers say, before they count.
    """

    compared: dict[str, int] = field(default_factory=dict)
    near: dict[Path, float] = field(default_factory=dict)
    differences: list[Difference] = field(default_factory=list)
    words: list[Path] = field(default_factory=list)


def compare(recorded: Any, recomputed: Any) -> Comparison:
    """Compare two contents of results.json.

    Parameters
    ----------
    recorded, recomputed : dict
        The second decides on tolerances.

    Returns
    -------
    Comparison

    Examples
    --------
    >>> compare({"a": 1.0, "b": 2}, {"a": 1.0 + 1e-12, "b": 3}).differences[0].place
    'b'
    """
    found = Comparison()
    scales = _scales(recomputed)
    for path, old, new, beside in _pairs(recorded, recomputed, (), None):
        place = dotted(path)
        package = package_of(place)
        found.compared[package] = found.compared.get(package, 0) + 1
        if type(old) is type(new) and old == new:
            continue
        if isinstance(old, str) and isinstance(new, str):
            found.words.append(path)
        elif type(old) is float and type(new) is float:
            scale = scales.get(path[1], 1.0) if path[0] == "characteristics" else 1.0
            if abs(old - new) <= allowed(place, new, beside, scale).by:
                found.near[path] = old
            else:
                found.differences.append(difference(path, old, new))
        else:
            found.differences.append(difference(path, old, new))
    return found


def difference(path: Path, old: Any, new: Any) -> Difference:
    """Say how two values at a place differ.

    Parameters
    ----------
    path : tuple
    old, new : object

    Returns
    -------
    Difference
    """
    relative = None
    numbers = (int, float)
    if isinstance(old, numbers) and isinstance(new, numbers) and bool not in (type(old), type(new)):
        # A whole number of a thousand digits divides as itself.
        size = max(abs(old), abs(new)) or 1
        try:
            relative = float(abs(old - new) / size)
        except OverflowError:
            relative = math.inf
    return Difference(dotted(path), shown(old), shown(new), relative)


def dotted(path: Path) -> str:
    """Write a path as one word with dots."""
    return ".".join(str(key) for key in path)


def shown(value: Any) -> str:
    """Write one value as a line of the report shows it."""
    if value is ABSENT:
        return "nothing"
    text = json.dumps(value, ensure_ascii=True)
    return text if len(text) <= 120 else text[:117] + "…"


def leaf(tree: Any, path: Path) -> Any:
    """Return the value at a path, or ABSENT.

    Parameters
    ----------
    tree : object
    path : tuple

    Returns
    -------
    object
    """
    for key in path:
        # A word has letters by their place, and no leaves.
        if isinstance(tree, str):
            return ABSENT
        try:
            tree = tree[key]
        except (KeyError, IndexError, TypeError):
            return ABSENT
    return tree


def leaves(tree: Any, path: Path = ()) -> Iterator[tuple[Path, Any]]:
    """Yield every value of a tree with its path.

    Parameters
    ----------
    tree : object
    path : tuple

    Yields
    ------
    path, value
    """
    if isinstance(tree, dict):
        for key, value in tree.items():
            yield from leaves(value, (*path, key))
    elif isinstance(tree, list):
        for index, value in enumerate(tree):
            yield from leaves(value, (*path, index))
    else:
        yield path, tree


def package_of(place: str) -> str:
    """Name the package that a place in results.json belongs to."""
    parts = place.split(".")
    if parts[0] == "characteristics" and len(parts) > 2:
        return parts[2] if parts[2] in _PACKAGES else "characteristic"
    return parts[0]


def _pairs(old: Any, new: Any, path: Path, beside: Any) -> Iterator[tuple[Path, Any, Any, Any]]:
    """Yield the leaves of both trees side by side, each with the recomputed table it lies in."""
    if isinstance(old, dict) and isinstance(new, dict):
        for key in sorted({*old, *new}):
            yield from _pairs(old.get(key, ABSENT), new.get(key, ABSENT), (*path, key), new)
    elif isinstance(old, list) and isinstance(new, list):
        for index in range(max(len(old), len(new))):
            left = old[index] if index < len(old) else ABSENT
            right = new[index] if index < len(new) else ABSENT
            yield from _pairs(left, right, (*path, index), new)
    else:
        yield path, old, new, beside


def _scales(results: Any) -> dict[Any, float]:
    found = {}
    for key, facts in results.get("characteristics", {}).items():
        limits = [facts.get(name) for name in ("nominal", "lower", "upper")]
        found[key] = max((abs(x) for x in limits if isinstance(x, int | float)), default=1.0)
    return found
