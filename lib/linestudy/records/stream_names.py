"""What names of streams say: rows without one, one stream under two names, events of streams that are not there, columns of two sides."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from typing import TYPE_CHECKING

from linestudy.results import counted

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.events import Event

#: What parts the words of a name.
WORDS = re.compile(r"[\s_.\-/#:]+")
#: Ends of names that distinguish stations or sides of a tool.
SIDE_PAIRS = (
    ("l", "r"), ("left", "right"), ("links", "rechts"), ("li", "re"), ("gauche", "droite"), ("lh", "rh"),
    ("左", "右"), ("a", "b"), ("oben", "unten"), ("top", "bottom"), ("front", "rear"), ("in", "out"),
)  # fmt: skip
SIDES = {end for pair in SIDE_PAIRS for end in pair}
#: Words of one side in several languages.
_SAME_SIDE = (
    ("left", "links", "li", "lh", "gauche", "izquierda", "izq", "sinistra", "esquerda", "lewa", "lewy", "vlevo", "sol", "左", "왼쪽"),
    ("right", "rechts", "re", "rh", "droite", "derecha", "der", "destra", "direita", "prawa", "prawy", "vpravo", "sağ", "右", "오른쪽"),
)  # fmt: skip
_SIDE = {word: words[0] for words in _SAME_SIDE for word in words} | {"l": "left", "r": "right"}
#: Letters that name axes of a position, not sides of a tool.
_AXES = set("xyz")


def streams_noticed(
    frame: pd.DataFrame, parts: int, events: Sequence[Event]
) -> list[tuple[str, int, str]]:
    """Describe what is odd about the names of streams: kind, count and sentence of each.

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
    several = named_several_ways(names) or _sides_in_several_words(names)
    if several:
        sentence = (
            f"Names that may mean one stream are kept apart: {'; '.join(', '.join(group) for group in several)}; where they "
            "mean one, write them alike"
        )
        found.append(("streams named in several ways", len(several), sentence))
    elif len(names) > parts > 1:
        shown = ", ".join(names[:8]) + (", …" if len(names) > 8 else "")
        sentence = f"A stroke makes {parts} parts and {len(names):,} streams are named ({shown})"
        after = _one_after_the_other(frame)
        if after:
            sentence += f"; {after}: where it is one stream under a new name, write them alike"
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


def _sides_in_several_words(names: Sequence[str]) -> list[list[str]]:
    """Group names that call one side differently: "Left" and "links", "Nest L" and "Nest left"."""
    same: dict[str, list[str]] = {}
    for name in names:
        words = [_SIDE.get(word, word) for word in WORDS.split(name.casefold().strip())]
        same.setdefault(" ".join(words), []).append(name)
    return [group for group in same.values() if len(group) > 1]


def _one_after_the_other(frame: pd.DataFrame) -> str:
    """Say which stream ends where another begins, in the middle of the run."""
    reach = frame[frame["station"] != ""].groupby("station")["order"].agg(["min", "max"])
    first, last = reach["min"].min(), reach["max"].max()
    for name, (_, end) in reach.iterrows():
        if end >= last - 0.01 * (last - first):
            continue
        begin = reach["min"].drop(name)
        begin = begin[(begin > end) & (begin <= end + 0.01 * (last - first) + 1)]
        if len(begin) == 1:
            return f"{name} ends at stroke {end:,.0f} and {begin.index[0]} begins at {begin.iloc[0]:,.0f}"
    return ""


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
    """Remove from a name what people write inconsistently: case, blanks, leading and trailing zeros."""
    plain = re.sub(r"(?<![\d.,])0+(?=\d)", "", "".join(name.casefold().split()))
    if re.fullmatch(r"-?\d+[.,]\d+", plain):
        plain = plain.replace(",", ".").rstrip("0").rstrip(".")
    return plain


def note_on_twins(tag: str, names: Sequence[str]) -> str:
    """Say that names of a file may mean one part, or one person.

    Parameters
    ----------
    tag : str
        ``part`` or ``appraiser``.
    names : sequence of str
        Each once.

    Returns
    -------
    str
        Empty where none may.

    Examples
    --------
    >>> note_on_twins("part", ["P01", "1", "2"])
    'Names that may mean one part: P01, 1; where they mean one, write them alike.'
    """
    look = parts_named_several_ways if tag == "part" else people_named_several_ways
    groups = look([name for name in names if name])
    if not groups:
        return ""
    listed = "; ".join(", ".join(group) for group in groups[:_SHOWN])
    more = f" and {len(groups) - _SHOWN} more" if len(groups) > _SHOWN else ""
    whom = "part" if tag == "part" else "person"
    return f"Names that may mean one {whom}: {listed}{more}; where they mean one, write them alike."


#: Groups of names that are printed.
_SHOWN = 6
#: What people write before the number of a part.
_PART_WORDS = frozenset(
    ["", "p", "part", "no", "nr", "nº", "n°", "#", "teil", "teilnr", "pièce", "piece", "sample", "muster", "部品", "样品", "零件", "부품"]
)  # fmt: skip


def parts_named_several_ways(names: Sequence[str]) -> list[list[str]]:
    """Group names of parts that may mean one: as other names, and "P01", "p1" and "1".

    Parameters
    ----------
    names : sequence of str
        Each once.

    Returns
    -------
    list of list of str
        Groups of two names and more, in the order of their first. Letters that distinguish parts, A1 and B1, stay.

    Examples
    --------
    >>> parts_named_several_ways(["P01", "p1", "1", "A2", "B2"])
    [['P01', 'p1', '1']]
    """
    split = {name: re.fullmatch(r"(\D*?)0*(\d+)", _plain(name)) for name in names}
    before = {found[1].strip("._-:/") for found in split.values() if found}
    same: dict[str, list[str]] = {}
    for name, found in split.items():
        word = found[1].strip("._-:/") if found else ""
        # One word before some of the numbers says no more than the number.
        bare = found is not None and (word in _PART_WORDS or before == {"", word})
        same.setdefault(str(int(found[2])) if found and bare else _plain(name), []).append(name)
    return [group for group in same.values() if len(group) > 1]


def people_named_several_ways(names: Sequence[str]) -> list[list[str]]:
    """Group names of people that may mean one: "Ana Souza", "A. Souza", "SOUZA, Ana", "Souza", "AS".

    Parameters
    ----------
    names : sequence of str
        Each once.

    Returns
    -------
    list of list of str
        Groups of two names and more, in the order of their first. A short name that may mean two people is in no group.

    Examples
    --------
    >>> people_named_several_ways(["Ana Souza", "A. Souza", "B. Lima", "Bruno Lima", "Eva"])
    [['Ana Souza', 'A. Souza'], ['B. Lima', 'Bruno Lima']]
    """
    groups: list[list[str]] = []
    # The longest first: a short name joins the one person it may mean.
    for name in sorted(names, key=lambda each: -len(_words_of(each))):
        mine = [group for group in groups if any(_one_person(name, other) for other in group)]
        if len(mine) == 1:
            mine[0].append(name)
        else:
            groups.append([name])
    place = {name: at for at, name in enumerate(names)}
    found = [sorted(group, key=place.__getitem__) for group in groups if len(group) > 1]
    return sorted(found, key=lambda group: place[group[0]])


def _words_of(name: str) -> list[str]:
    """Split a person's name into words without accents: Müller and Mueller become equal."""
    plain = unicodedata.normalize("NFKD", name.casefold().replace("ß", "ss"))
    bare = "".join(sign for sign in plain if not unicodedata.combining(sign))
    for pair in ("ae", "oe", "ue"):
        bare = bare.replace(pair, pair[0])
    return [word for word in re.split(r"[\s.,;_\-/]+", bare) if word]


def _one_person(one: str, other: str) -> bool:
    short, long = sorted((_words_of(one), _words_of(other)), key=lambda words: sum(map(len, words)))
    if not short or not long or any(word.isdigit() for word in (*short, *long)):
        return _plain(one) == _plain(other)
    if sorted(short) == sorted(long):
        return True
    if len(short) == 1:
        initials = "".join(word[0] for word in long)
        return len(long) > 1 and (
            (short[0] in long and len(short[0]) > 1) or short[0] in (initials, initials[::-1])
        )
    # Every word of the one is a word of the other, or its first letter.
    left = list(long)
    for word in sorted(short, key=len, reverse=True):
        mine = next(
            (each for each in left if each == word or (len(word) == 1 and each[0] == word)), None
        )
        if mine is None:
            return False
        left.remove(mine)
    return any(len(word) > 1 for word in short)


def differ_by_stream_only(one: str, other: str) -> bool:
    """Check whether two column names differ only in a side, a station or a number.

    Parameters
    ----------
    one, other : str

    Returns
    -------
    bool

    Examples
    --------
    >>> differ_by_stream_only("Width_L", "Width_R"), differ_by_stream_only("Cav 1 [mm]", "Cav 7 [mm]")
    (True, True)
    >>> differ_by_stream_only("Offset x", "Offset y"), differ_by_stream_only("Width", "Height")
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
    """Split a column's name, without unit, into words: WidthL, Width_L and width l become equal."""
    bare = re.sub(r"\s*[\[(][^\[\]()]*[\])]\s*$", "", name).strip()
    spaced = re.sub(r"(?<=[a-z])(?=[A-Z])|(?<=[^\W\d_])(?=\d)|(?<=\d)(?=[^\W\d_])", " ", bare)
    return [word for word in WORDS.split(spaced.casefold()) if word]
