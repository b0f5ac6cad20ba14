"""What is odd about the names of streams: rows without one, one stream under two names, events of streams that are not there."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from linestudy.results import counted

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.events import Event


def streams_noticed(
    frame: pd.DataFrame, parts: int, events: Sequence[Event]
) -> list[tuple[str, int, str]]:
    """What is to be said of the names of streams: kind, count and sentence of each.

    Parameters
    ----------
    frame : pandas.DataFrame
        Rows that repeat none.
    parts : int
        Per stroke.
    events : sequence of linestudy.study.events.Event
        Of the study.

    Returns
    -------
    list of (str, int, str)
        Rows without a name, names that may mean one stream, more names than a stroke makes parts, and events of
        streams that the file does not have.
    """
    if "station" not in frame:
        return []
    sizes = frame["station"].value_counts()
    names = sorted(str(name) for name in sizes.index if name)
    nameless = int(sizes.get("", 0))
    found = []
    if nameless and names:
        sentence = f"{counted(nameless, 'row')} of {len(frame):,} names no stream; it counts for the whole tool alone"
        sentence = (
            sentence
            if nameless == 1
            else sentence.replace("names", "name").replace("it counts", "they count")
        )
        found.append(("rows without a stream", nameless, sentence))
    several = named_several_ways(names)
    if several:
        sentence = (
            f"Names that may mean one stream are kept apart: {'; '.join(', '.join(group) for group in several)}; where they "
            "mean one, write them alike"
        )
        found.append(("streams named in several ways", len(several), sentence))
    elif len(names) > parts > 1:
        shown = ", ".join(names[:8]) + (", …" if len(names) > 8 else "")
        sentence = f"A stroke makes {parts} parts and {len(names):,} streams are named ({shown})"
        found.append(("more streams than parts", len(names), sentence))
    for event in events:
        unknown = [name for name in event.streams if names and name not in names]
        if unknown:
            sentence = (
                f'The event "{event.name}" names {", ".join(unknown)}, which is no stream of this file '
                f"({', '.join(names[:8])}): it concerns none of them"
            )
            found.append(("event of an unknown stream", len(unknown), sentence))
    return found


def named_several_ways(names: Sequence[str]) -> list[list[str]]:
    """Group names that people may have written for one thing: "A" and "a ", "3" and "03" and "3.0", "P3" and "P03".

    Parameters
    ----------
    names : sequence of str
        Each once.

    Returns
    -------
    list of list of str
        Groups of two names and more, in the order of their first.

    Examples
    --------
    >>> named_several_ways(["1", "2", "01", "P3", "p03", "B"])
    [['1', '01'], ['P3', 'p03']]
    """
    same: dict[str, list[str]] = {}
    for name in names:
        same.setdefault(_plain(name), []).append(name)
    return [group for group in same.values() if len(group) > 1]


def _plain(name: str) -> str:
    """A name without what people write now one way and now the other: case, blanks, leading zeros, decimals of nought."""
    plain = re.sub(r"(?<![\d.,])0+(?=\d)", "", "".join(name.casefold().split()))
    if re.fullmatch(r"-?\d+[.,]\d+", plain):
        plain = plain.replace(",", ".").rstrip("0").rstrip(".")
    return plain
