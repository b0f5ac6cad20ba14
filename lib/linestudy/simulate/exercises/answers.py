"""What a reader answers, numbers as people write them (``3.25``, ``"3,25"``, ``"10 %"``, ``"about 3"``), and what is said back."""

from __future__ import annotations

import html
import math
import numbers
import re
import unicodedata
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Any

_DIGITS = r"(?:\d+(?:[.,]\d+)?|(?<!\w)[.,]\d+)"
#: A number with a point or a comma, and what may surround it.
_NUMBER = re.compile(rf"[-+]?{_DIGITS}(?:[eE][-+]?\d+)?")
#: A fraction, alone or behind a whole number ("1 1/2").
_FRACTION = re.compile(
    rf"(?<![\d/.,])([-+]?)(?:(\d{{1,9}}) +)?({_DIGITS}) ?/ ?({_DIGITS})(?![\d/.,])"
)
#: A power of ten, alone or behind a factor.
_POWER = re.compile(rf"(?:({_DIGITS}) ?[·×x*] ?)?(?<!\d)10 ?(?:\^|\*\*) ?([-+]?\d{{1,3}})")
#: What people write for a minus sign.
_MINUS = re.compile(r"(?<![\w.,)])[\u2010-\u2015\u2212] ?(?=[\d.,])")
_RAISED = re.compile("[\u2070\u00b9\u00b2\u00b3\u2074-\u2079\u207a\u207b]+")
#: Units that may follow a number, each with the word that a question has for it.
_UNITS = {
    **dict.fromkeys(
        ("mm", "µm", "μm", "um", "cm", "in", "inch", "N", "kN", "°", "g", "kg", "s"), ""
    ),
    "ppm": "per million",
    "min": "minutes",
    "h": "hours",
    "‰": "per thousand",
}
_UNIT = re.compile(r"\d\s*([A-Za-zµμ°]+|‰)")


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
    >>> [number_in(x) for x in ("3,25", "10 %", "about 3", (3, 25), "1/4", ".5", "2 or 3", None)]
    [3.25, 10.0, 3.0, 3.25, 0.25, 0.5, None, None]
    """
    if isinstance(answer, bool) or answer is None:
        return None
    if isinstance(answer, (numbers.Real, Decimal)):
        return _finite(answer)
    if isinstance(answer, tuple) and len(answer) == 2 and all(type(x) is int for x in answer):
        # A comma and no quotes. Zeros after the comma are lost, which changes no answer.
        return _finite(f"{answer[0]}.{answer[1]}") if answer[1] >= 0 else None
    if not isinstance(answer, str):
        return None
    text = _POWER.sub(lambda power: f" {power[1] or 1}e{power[2]}", typed(answer))
    fraction = _FRACTION.search(text)
    if fraction and not _NUMBER.search(text[: fraction.start()] + " " + text[fraction.end() :]):
        sign, whole, above, below = fraction.groups()
        if not _plain(below):
            return None
        share = _plain(whole or "0") + _plain(above) / _plain(below)
        return -share if sign == "-" else share
    found = _NUMBER.findall(text)
    # Another power than one of ten is a calculation, not a number.
    return _finite(found[0].replace(",", ".")) if len(found) == 1 and "^" not in text else None


def typed(answer: str) -> str:
    """Return what somebody typed with the signs of a plain keyboard: digits, minus signs and powers of any shape.

    Parameters
    ----------
    answer : str

    Returns
    -------
    str

    Examples
    --------
    >>> typed("３．２５"), typed("–0,3"), typed("2½"), typed("10⁻³")
    ('3.25', '-0,3', '2 1/2', '10^-3')
    """
    # A raised digit would become one of the same number, and so would a fraction in one sign.
    text = _RAISED.sub(lambda raised: f"^{unicodedata.normalize('NFKC', raised[0])}", answer)
    text = "".join(
        f" {c}" if unicodedata.decomposition(c).startswith("<fraction>") else c for c in text
    )
    text = unicodedata.normalize("NFKC", text).replace("\u2044", "/").replace("^\u2212", "^-")
    return _MINUS.sub("-", text.strip())


def _plain(number: str) -> float:
    return float(number.replace(",", "."))


def _finite(number: Any) -> float | None:
    try:
        found = float(number)
    except (OverflowError, ValueError):
        return None
    return found if math.isfinite(found) else None


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
    text = typed(text) if isinstance(text, str) else text
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
    # The plain form of the micro sign is the Greek letter.
    found = _UNIT.search(typed(answer).replace("μ", "µ")) if isinstance(answer, str) else None
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
