"""What a reader answers, numbers as people write them (``3.25``, ``"3,25"``, ``"10 %"``, ``"about 3"``), and what is said back."""

from __future__ import annotations

import html
import math
import numbers
import re
from dataclasses import dataclass
from functools import cache
from typing import Any

#: A number with a point or a comma, and what may surround it.
_NUMBER = re.compile(r"[-+−]?\d+(?:[.,]\d+)?(?:[eE][-+]?\d+)?")

#: A fraction of whole numbers.
_FRACTION = re.compile(r"\s*(\d{1,9})\s*/\s*(\d{1,9})\s*")
#: Units that may follow a number, each with the word that a question has for it.
_UNITS = {
    **dict.fromkeys(
        ("mm", "µm", "μm", "um", "cm", "in", "inch", "N", "kN", "°", "g", "kg", "s"), ""
    ),
    "ppm": "per million",
    "min": "minutes",
    "h": "hours",
}
_UNIT = re.compile(r"\d\s*([A-Za-zµμ°]+)")


@cache
def numbers_of(lab: str, *settings: Any) -> dict[str, float]:
    """Return the numbers of a lab at some settings, kept so that repeated tries need not wait."""
    from linestudy.simulate import labs

    found: dict[str, float] = getattr(labs, lab)(*settings).numbers
    return found


def number_in(answer: Any) -> float | None:
    """Read a number as it was written, whatever the country.

    Parameters
    ----------
    answer : float, str or tuple
        ``3,25`` typed without quotes is a pair to Python, and meant as 3.25.

    Returns
    -------
    float or None
        None where no number, or more than one, can be read; a per cent sign is left out.

    Examples
    --------
    >>> [number_in(x) for x in ("3,25", "10 %", "about 3", (3, 25), "1/4", "2 or 3", None)]
    [3.25, 10.0, 3.0, 3.25, 0.25, None, None]
    """
    if isinstance(answer, bool) or answer is None:
        return None
    if isinstance(answer, numbers.Real):
        return float(answer) if math.isfinite(float(answer)) else None
    if isinstance(answer, tuple) and len(answer) == 2 and all(type(x) is int for x in answer):
        # A comma and no quotes. Zeros after the comma are lost, which changes no answer.
        return float(f"{answer[0]}.{answer[1]}") if answer[1] >= 0 else None
    if not isinstance(answer, str):
        return None
    fraction = _FRACTION.fullmatch(answer)
    if fraction and float(fraction[2]):
        return float(fraction[1]) / float(fraction[2])
    found = _NUMBER.findall(answer)
    return float(found[0].replace(",", ".").replace("−", "-")) if len(found) == 1 else None


#: Thousands set apart by a comma, a point, a blank or an apostrophe.
_GROUPED = re.compile(r"(?<![\d.,])[1-9]\d{0,2}(?:[,.'’ \u00a0\u202f]\d{3})+(?![\d.,])")


def numbers_meant(answer: Any) -> tuple[float, ...]:
    """Read a number in every way it may be meant: what is seven thousand to one reader is seven and a bit to another.

    Parameters
    ----------
    answer : float, str or tuple

    Returns
    -------
    tuple of float
        Of one number the likeliest reading first; empty where none, or more than one number, can be read.

    Examples
    --------
    >>> numbers_meant("7,933"), numbers_meant("about 66 000"), numbers_meant((7, 933)), numbers_meant("7,93")
    ((7.933, 7933.0), (66000.0,), (7.933, 7933.0), (7.93,))
    """
    first = number_in(answer)
    found = [] if first is None else [first]
    text = ",".join(map(str, answer)) if first is not None and isinstance(answer, tuple) else answer
    grouped = _GROUPED.findall(text) if isinstance(text, str) else []
    if len(grouped) == 1 and number_in(_GROUPED.sub("", text)) is None:
        whole = float(re.sub(r"\D", "", grouped[0]))
        found.append(-whole if first is not None and first < 0 else whole)
    return tuple(found)


def unit_not_asked(answer: Any, question: str) -> str:
    """Name the unit that an answer bears and its question does not ask for.

    Parameters
    ----------
    answer : float, str or tuple
    question : str

    Returns
    -------
    str
        Empty where there is none.

    Examples
    --------
    >>> unit_not_asked("0.1 µm", "How far off, in mm?"), unit_not_asked("0.1 mm", "How far off, in mm?")
    ('µm', '')
    """
    found = _UNIT.search(answer) if isinstance(answer, str) else None
    unit = found[1] if found else ""
    if unit not in _UNITS:
        return ""
    asked = {unit, _UNITS[unit]} - {""}
    return "" if any(re.search(rf"(?<!\w){word}(?!\w)", question) for word in asked) else unit


@dataclass(frozen=True)
class Reply:
    """What the reader is shown.

    Attributes
    ----------
    right : bool
    text : str
    waiting : bool
        Nothing was answered yet.
    """

    right: bool
    text: str
    waiting: bool = False

    def __repr__(self) -> str:
        return self.text

    def _repr_html_(self) -> str:
        mark = (
            "Right." if self.right else "Waiting for your answer." if self.waiting else "Not yet."
        )
        lines = html.escape(self.text).replace("\n", "<br>")
        return f"<p><b>{mark}</b> {lines}</p>"
