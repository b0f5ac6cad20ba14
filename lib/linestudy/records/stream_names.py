"""What names of streams say: rows without one, one stream under two names, events of streams that are not there, columns of two sides."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from linestudy.results import counted

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.events import Event

#: What parts the words of a name.
WORDS = re.compile(r"[\s_.\-/#:]+")
#: Ends of names that tell stations or sides of a tool apart.
SIDE_PAIRS = (
    ("l", "r"), ("left", "right"), ("links", "rechts"), ("li", "re"), ("gauche", "droite"), ("lh", "rh"),
    ("左", "右"), ("a", "b"), ("oben", "unten"), ("top", "bottom"), ("front", "rear"), ("in", "out"),
)  # fmt: skip
SIDES = {end for pair in SIDE_PAIRS for end in pair}
#: Letters that name axes of a position, not sides of a tool.
_AXES = set("xyz")


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


def tells_streams_apart(one: str, other: str) -> bool:
    """Whether two names of columns differ in nothing but a side, a station or a number.

    Parameters
    ----------
    one, other : str

    Returns
    -------
    bool

    Examples
    --------
    >>> tells_streams_apart("Width_L", "Width_R"), tells_streams_apart("Cav 1 [mm]", "Cav 7 [mm]")
    (True, True)
    >>> tells_streams_apart("Offset x", "Offset y"), tells_streams_apart("Width", "Height")
    (False, False)
    """
    words = [_split(name) for name in (one, other)]
    if len(words[0]) != len(words[1]):
        # Width and Width_2, Width and Width_R.
        short, long = sorted(words, key=len)
        rest = [word for word in long if word not in short]
        if len(long) != len(short) + 1 or len(rest) != 1 or not short:
            return False
        return rest[0].isdigit() or rest[0] in SIDES
    apart = [pair for pair in zip(*words, strict=True) if pair[0] != pair[1]]
    if len(apart) != 1 or len(words[0]) < 2:
        return False
    pair = apart[0]
    if all(word.isdigit() for word in pair):
        return True
    single = all(len(word) == 1 and word.isalpha() and word not in _AXES for word in pair)
    return single or any(set(pair) <= set(known) for known in SIDE_PAIRS)


def _split(name: str) -> list[str]:
    """Words of a column's name, without its unit: WidthL, Width_L and width l are the same two."""
    bare = re.sub(r"\s*[\[(][^\[\]()]*[\])]\s*$", "", name).strip()
    spaced = re.sub(r"(?<=[a-z])(?=[A-Z])|(?<=[^\W\d_])(?=\d)|(?<=\d)(?=[^\W\d_])", " ", bare)
    return [word for word in WORDS.split(spaced.casefold()) if word]
