"""Bounds on the size, depth and spacing of what study.toml says.

A study.toml is written by hand, about parts that somebody made and measured. Numbers of three hundred
digits, keys of thousands of parts and a resolution a million times the tolerance are slips of the hand
or attacks; each is refused in one line before anything is computed from it. The bounds are choices made
here: wide enough that no study of parts touches them, narrow enough that squares and fourth powers of a
number, and sums of them, still fit into a double.
"""

from __future__ import annotations

import datetime
import math
import re
from typing import TYPE_CHECKING, Any

from linestudy.results import InputError

if TYPE_CHECKING:
    from linestudy.study.model import Characteristic, StudyFile

#: Magnitudes of a number that is not nought.
SMALLEST, LARGEST = 1e-30, 1e30
#: Whole numbers beyond this are no doubles any more.
_LARGEST_WHOLE = 2**53
#: Tables within tables; format 1 needs four.
_DEEPEST = 12
#: Parts of a key with dots between them; readers of TOML take quadratic time for them.
_MOST_PARTS = 32
#: A tolerance narrower than this against its limits is lost in the last digits of a double.
_NARROWEST = 1e-9
#: A resolution this many times wider or finer than the tolerance is in another unit.
_COARSEST, _FINEST = 1e4, 1e-9

_PART = r"""(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')"""
_LONG_KEY = re.compile(rf"(?<![\w\"'.-]){_PART}(?:[ \t]*+\.[ \t]*+{_PART}){{{_MOST_PARTS}}}")


def too_deep() -> InputError:
    """Make the refusal of a file whose tables or keys are nested too deeply."""
    return InputError("study.toml", "is nested too deeply", "write it as FORMAT.md shows")


def check_text(text: str) -> None:
    """Refuse what a reader of TOML would take minutes over.

    Parameters
    ----------
    text : str
        All of study.toml.

    Raises
    ------
    InputError

    Examples
    --------
    >>> check_text("a.b.c = 1")
    """
    found = _LONG_KEY.search(text)
    if found is not None:
        line = text.count("\n", 0, found.start()) + 1
        raise InputError(
            f"study.toml line {line}",
            f"has a key of more than {_MOST_PARTS} parts",
            "write it as FORMAT.md shows",
        )


def check_values(content: Any, key: str = "", depth: int = 0) -> None:
    """Refuse numbers and depths that no study has.

    Parameters
    ----------
    content : object
        What a reader of TOML made of the file.
    key : str
        Where in it, for the message.
    depth : int
        How deep in it.

    Raises
    ------
    InputError

    Examples
    --------
    >>> check_values({"upper": 1e308})
    Traceback (most recent call last):
    linestudy.results.errors.InputError: study.toml: upper = 1e+308 is beyond what is measured; ...
    """
    if depth > _DEEPEST:
        raise too_deep()
    if isinstance(content, dict):
        for name, value in content.items():
            check_values(value, name, depth + 1)
    elif isinstance(content, list):
        for value in content:
            check_values(value, key, depth + 1)
    elif isinstance(content, bool):
        return
    elif isinstance(content, int):
        if abs(content) > _LARGEST_WHOLE:
            raise InputError(
                "study.toml",
                f"{key[:60]} is a whole number of about {math.ceil(content.bit_length() / 3.33)} digits",
                "write a number that a study may have",
            )
    # What is not finite is refused by its key, which knows its line.
    elif isinstance(content, float) and (
        0 < abs(content) < SMALLEST or LARGEST < abs(content) < math.inf
    ):
        raise InputError(
            "study.toml",
            f"{key[:60]} = {content:g} is beyond what is measured",
            f"numbers lie between {SMALLEST:g} and {LARGEST:g}",
        )


def check_against_each_other(file: StudyFile) -> None:
    """Refuse limits closer together than a double can tell, and a resolution in another unit than they.

    Parameters
    ----------
    file : StudyFile
        All of study.toml.

    Raises
    ------
    InputError
    """
    for item in file.characteristic:
        width = item.tolerance
        if width is None:
            continue
        size = max(abs(item.lower or 0.0), abs(item.upper or 0.0))
        if width < _NARROWEST * size:
            raise InputError(
                f'study.toml, characteristic "{item.id}"',
                f"its limits {item.lower!r} and {item.upper!r} are too close to be told apart",
                "write both in full",
            )
        for gauge in _gauges_of(file, item):
            step = gauge.resolution
            if step is None or gauge.unit not in (None, item.unit):
                continue
            if not _FINEST * width <= step <= _COARSEST * width:
                raise InputError(
                    f'study.toml, gauge "{gauge.id}"',
                    f'its resolution {step:g} cannot be in the unit of "{item.id}", whose tolerance is {width:g}',
                    "give both in one unit, or name the gauge's unit",
                )


def _gauges_of(file: StudyFile, item: Characteristic) -> list[Any]:
    names = set()
    for data in file.data:
        if item.id in data.columns or data.characteristic == item.id or data.long is not None:
            names |= {data.gauge, *(data.gauges or ())}
    return [gauge for gauge in file.gauge if gauge.id in names]


#: Codecs that turn bytes into bytes, or undo escapes, are no writing of text.
_NO_WRITING = ("idna", "punycode", "undefined", "unicode-escape", "raw-unicode-escape")


def writing(name: str) -> str:
    """Return the codec's own name of an encoding that files are saved in.

    Parameters
    ----------
    name : str
        As study.toml has it.

    Returns
    -------
    str

    Raises
    ------
    ValueError
        A name of no encoding, or of one that is not for text.
    """
    import codecs

    try:
        known = codecs.lookup(name).name
        "".encode(known)
    except (LookupError, ValueError, UnicodeError):
        raise ValueError(f'"{name[:40]}" is no encoding of text') from None
    if known in _NO_WRITING:
        raise ValueError(f'"{name[:40]}" is no encoding that files are saved in')
    return known


def dates_as_text(content: Any) -> Any:
    """Write dates and times, which TOML knows as such, as anybody would write them into quotes."""
    if isinstance(content, dict):
        return {key: dates_as_text(value) for key, value in content.items()}
    if isinstance(content, list):
        return [dates_as_text(value) for value in content]
    if isinstance(content, datetime.datetime | datetime.date | datetime.time):
        return content.isoformat()
    return content
