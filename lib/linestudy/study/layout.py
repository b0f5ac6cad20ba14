"""Wide files: which column holds whose reading, where one row of a file holds several of them.

A source is what study.toml says of a characteristic in `columns` (or of judgements in `judgement`): the
name of a column, or names within lists and tables, as deep as the sheet nests. `across` says what the levels
of nesting are, outermost first; a list numbers its columns 1, 2, 3.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from linestudy.study.model import Data

#: What may lie across the columns of a sheet, by role.
ACROSS: dict[str, tuple[str, ...]] = {
    "run": ("station", "coil", "stop", "order"),
    "machine": ("station", "order"),
    "crossed": ("station", "part", "appraiser", "trial", "factor"),
    "nested": ("station", "specimen"),
    "reference": ("station", "part", "trial"),
    "drift": ("station", "trial"),
    "paired": ("station", "trial"),
    "attribute": ("station", "part", "appraiser", "trial"),
    "bins": (),
    "layout": (),
}

#: Levels by depth where study.toml does not name them: last a list of columns, or a table of them.
_USUAL: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "run": (("station", "order"), ("station",)),
    "machine": (("station", "order"), ("station",)),
    "crossed": (("station", "appraiser", "trial"), ("station", "appraiser", "trial")),
    "attribute": (("station", "appraiser", "trial"), ("station", "appraiser", "trial")),
    "reference": (("station", "part", "trial"), ("station", "part", "trial")),
    "drift": (("station", "trial"), ("station",)),
    "paired": (("station", "trial"), ("station",)),
    "bins": ((), ()),
    "layout": ((), ()),
}
#: What a single table of columns lies across, where the level that is usual for the depth is another.
_ALONE = {"crossed": "appraiser", "attribute": "appraiser", "reference": "part"}

#: Sheets nest three deep, files of a study hardly ever four.
_DEEPEST = 4


@dataclass(frozen=True)
class Place:
    """One column of a file (two for a position or a pair of gauges) and whose reading it holds.

    Attributes
    ----------
    column : str or (str, str)
    labels : tuple of str
        What it means on each level of nesting, outermost first; empty for a column on its own.
    """

    column: str | tuple[str, str]
    labels: tuple[str, ...] = ()

    @property
    def columns(self) -> tuple[str, ...]:
        """The column, or both."""
        return (self.column,) if isinstance(self.column, str) else self.column

    @property
    def named(self) -> str:
        """The column in words."""
        return " and ".join(self.columns)


def places(source: Any, pair: bool = False) -> tuple[Place, ...]:
    """List the columns a source names, in its order.

    Parameters
    ----------
    source : str, list or dict
        As it is in study.toml.
    pair : bool
        Whether two columns make one reading, as for a position or two gauges.

    Returns
    -------
    tuple of Place

    Raises
    ------
    ValueError
        Names that nest unevenly, too deeply, or are none.

    Examples
    --------
    >>> [place.labels for place in places({"A": ["A1", "A2"], "B": ["B1", "B2"]})]
    [('A', '1'), ('A', '2'), ('B', '1'), ('B', '2')]
    """
    found = tuple(_walk(source, pair, ()))
    if len({len(place.labels) for place in found}) != 1:
        raise ValueError("names of columns nest unevenly: all of them lie on the same level")
    names = [name for place in found for name in place.columns]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise ValueError(f'the column "{twice}" is named twice')
    return found


def _walk(source: Any, pair: bool, labels: tuple[str, ...]) -> Iterator[Place]:
    if len(labels) > _DEEPEST:
        raise ValueError("names of columns nest too deeply")
    two = (
        isinstance(source, list)
        and len(source) == 2
        and all(isinstance(name, str) for name in source)
    )
    if pair and two:
        yield Place((source[0], source[1]), labels)
    elif isinstance(source, str) and source and not pair:
        yield Place(source, labels)
    elif isinstance(source, dict) and source:
        for name, inner in source.items():
            yield from _walk(inner, pair, (*labels, str(name).strip()))
    elif isinstance(source, list) and source:
        for number, inner in enumerate(source, start=1):
            yield from _walk(inner, pair, (*labels, str(number)))
    else:
        raise ValueError("two names of columns belong here" if pair else "is not a name")


def usual_levels(
    role: str, source: Any, depth: int, levels: tuple[str, ...] | None
) -> tuple[str, ...]:
    """Return what the levels of nesting are where study.toml does not say so.

    Parameters
    ----------
    role : str
        Of the file.
    source : str, list or dict
        One of its sources.
    depth : int
        How deep it nests.
    levels : tuple of str, optional
        Those of nested readings.

    Returns
    -------
    tuple of str
        As many as `depth`, or fewer where the role knows no more.
    """
    numbered = _innermost_is_list(source, depth)
    if role == "nested":
        inner = ("specimen",) if numbered else ()
        named = depth - len(inner)
        return (*(levels or ())[len(levels or ()) - named :], *inner) if named else inner
    if depth == 1 and not numbered and role in _ALONE:
        return (_ALONE[role],)
    usual = _USUAL[role][0 if numbered else 1]
    return usual[len(usual) - depth :] if depth <= len(usual) else usual


def _innermost_is_list(source: Any, depth: int) -> bool:
    for _ in range(depth - 1):
        source = next(iter(source.values())) if isinstance(source, dict) else source[0]
    return isinstance(source, list)


def laid_out(data: Data, positions: set[str]) -> Data:
    """Check how the names of columns nest, and fill in what the levels are.

    Parameters
    ----------
    data : linestudy.study.model.Data
        As it is in study.toml.
    positions : set of str
        Characteristics whose reading is two columns.

    Returns
    -------
    linestudy.study.model.Data
        With ``across`` where names nest, unchanged where they do not.

    Raises
    ------
    ValueError
        Names that nest unevenly, or levels that the role does not know.
    """
    depths: dict[str, int] = {}
    sources = dict(data.columns)
    if data.judgement is not None:
        sources["judgement"] = data.judgement
    for name, source in sources.items():
        if name in positions and not is_pair(data, name, positions) and not data.across:
            _refuse_two_axes(data, name, source)
        try:
            depths[name] = len(places(source, is_pair(data, name, positions))[0].labels)
        except ValueError as error:
            raise ValueError(_what_is_needed(data, name, str(error), positions)) from None
    if len(set(depths.values())) > 1:
        deep = max(depths, key=lambda name: depths[name])
        raise ValueError(
            f'the columns of "{deep}" nest deeper than the others; give it a [[data]] table of its own'
        )
    depth = next(iter(depths.values()), 0)
    if not depth:
        if data.across:
            raise ValueError("across names levels, and no names of columns nest")
        return data
    across = data.across or usual_levels(
        data.role, next(iter(sources.values())), depth, data.levels
    )
    _check_levels(data, across, depth)
    return data.model_copy(update={"across": across})


def _refuse_two_axes(data: Data, name: str, source: Any) -> None:
    """Refuse two columns of a position, which a gauge study would take for two trials."""
    while isinstance(source, Mapping):
        source = next(iter(source.values()))
    if not isinstance(source, str) and len(source) == 2:
        raise ValueError(
            f'role "{data.role}" takes the position "{name}" as one column, the diameter on which the axis lies, not as x and '
            "y: study these as characteristics of their own, and where two columns are repeated readings say so in across"
        )


def is_pair(data: Data, name: str, positions: set[str]) -> bool:
    """Check whether two columns of the file make one reading of a characteristic."""
    return data.role == "paired" or (data.role in ("run", "machine") and name in positions)


def _what_is_needed(data: Data, name: str, what: str, positions: set[str]) -> str:
    if data.role == "paired":
        return (
            f'role "paired" needs two column names for "{name}"; '
            f'write {name} = ["column of the first gauge", "column of the second"]'
        )
    if is_pair(data, name, positions):
        return f'the position "{name}" needs two column names; write {name} = ["column of x", "column of y"]'
    if what == "is not a name":
        return f'the column of "{name}" is not a name; write {name} = "name of the column"'
    return f'"{name}": {what}'


def _check_levels(data: Data, across: tuple[str, ...], depth: int) -> None:
    if len(across) != depth:
        raise ValueError(
            f"names of columns nest {depth} deep and across names {len(across)} of the levels; "
            'name all of them, outermost first, as in across = ["appraiser", "trial"]'
        )
    known = (*ACROSS[data.role], *(data.levels or ()))
    for at, level in enumerate(across):
        if level not in known:
            raise ValueError(
                f'"{level}" cannot lie across the columns of role "{data.role}"; '
                f"known: {', '.join(known) or 'none'}"
            )
        if level in across[:at]:
            raise ValueError(f'across names "{level}" twice')
        # Parts across still follow each other within the production order of their rows.
        if level != "order" and getattr(data, level, None) is not None:
            raise ValueError(
                f'"{level}" lies across the columns and is named as a column of its own; leave one out'
            )
