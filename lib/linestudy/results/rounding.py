"""Numbers as a report shows them: as many digits as the uncertainty allows.

The rule is that of GUM (JCGM 100:2008, 7.2.6): an uncertainty is given with two
significant digits and the value is rounded to the same decimal place. Full
precision stays in results.json.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable

from linestudy.results.interval import Absent, Interval

#: Decimals never shown beyond this; a double holds no more.
#: Fewer parts per million than this are not distinguished.
_LEAST_PPM = 0.001
_MOST_DECIMALS = 12
#: Smaller numbers without a unit of their own are not distinguished.
_TINY = 1e-6


def decimals_for(uncertainty: float, /, *, digits: int = 2) -> int:
    """Count the decimal places that show `uncertainty` with `digits` significant digits.

    Parameters
    ----------
    uncertainty : float
        Half-width or standard uncertainty, in the unit of the value.
    digits : int
        Significant digits kept of the uncertainty.

    Returns
    -------
    int
        Zero or more; a large uncertainty gives 0, never a negative number.

    Examples
    --------
    >>> decimals_for(0.0123)
    3
    >>> decimals_for(12.3)
    0
    """
    if not math.isfinite(uncertainty) or uncertainty <= 0:
        return 4
    exponent = math.floor(math.log10(uncertainty))
    # 0.0999 rounds up to 0.10, one digit shorter than its exponent says.
    if round(uncertainty / 10.0**exponent, digits - 1) >= 10:
        exponent += 1
    return int(min(max(digits - 1 - exponent, 0), _MOST_DECIMALS))


def show(
    value: Interval | Absent | float | int | str | None, /, uncertainty: float | None = None
) -> str:
    """Write a number, interval or absent value as text for a reader.

    Parameters
    ----------
    value : Interval, Absent, float, int, str or None
        What is to be shown; text passes unchanged.
    uncertainty : float, optional
        Half-width to round a bare number by. Without it four significant digits are shown.

    Returns
    -------
    str
        Text with as many digits as the uncertainty allows.

    Examples
    --------
    >>> show(Interval(1.23456, 1.1, 1.4, 0.95, "example"))
    '1.23 (1.10 to 1.40)'
    >>> show(0.123456)
    '0.1235'
    """
    if value is None:
        return ""
    if isinstance(value, str):
        return value
    if isinstance(value, Absent):
        return str(value)
    if isinstance(value, Interval):
        return _show_interval(value)
    if isinstance(value, int):
        return f"{value:,d}"
    number = float(value)
    if not math.isfinite(number):
        return "not determined"
    if uncertainty is not None:
        return _fixed(number, decimals_for(uncertainty))
    if abs(number) >= 1e6:
        return f"{number:,.0f}"
    if 0 < abs(number) < _TINY:
        return f"less than {_TINY:.6f}" if number > 0 else f"above -{_TINY:.6f}"
    return _significant(number, 4 if number == 0 or abs(number) >= 1e-4 else 2)


def show_in(
    value: Interval | Absent | float | int | str | None,
    unit: str,
    /,
    uncertainty: float | None = None,
) -> str:
    """Write a value with its unit as text, for a sentence that is complete without a unit too.

    Parameters
    ----------
    value : Interval, Absent, float, int, str or None
        What is to be shown.
    unit : str
        Empty where there is none.
    uncertainty : float, optional
        As for :func:`show`.

    Returns
    -------
    str

    Examples
    --------
    >>> show_in(0.123456, "mm"), show_in(0.123456, "")
    ('0.1235 mm', '0.1235')
    """
    text = show(value, uncertainty)
    return f"{text} {unit}" if unit else text


def signed(value: Interval, unit: str = "", /) -> str:
    """Write an interval with the sign of its estimate, a positive one too.

    Parameters
    ----------
    value : Interval
    unit : str
        Empty where there is none.

    Returns
    -------
    str

    Examples
    --------
    >>> signed(Interval(0.0011, 0.0008, 0.0014, 0.9, "example"), "mm")
    '+0.00110 (0.00080 to 0.00140) mm'
    >>> signed(Interval(0.0, -1.0, 1.0, 0.9, "example"))
    '0.0 (-1.0 to 1.0)'
    """
    text = show_in(value, unit)
    plain = text.startswith(("-", "−")) or not value.estimate > 0
    return text if plain else f"+{text}"


def with_unit(name: str, unit: str, /) -> str:
    """Write what a column or an axis holds, with its unit in brackets where it has one.

    Parameters
    ----------
    name : str
        What it is.
    unit : str
        Its unit; empty where there is none.

    Returns
    -------
    str

    Examples
    --------
    >>> with_unit("SD", "mm"), with_unit("SD", "")
    ('SD (mm)', 'SD')
    """
    return f"{name} ({unit})" if unit else name


def show_ppm(ppm: Interval | float, /) -> str:
    """Write parts per million as text, with the interval where there is one.

    Parameters
    ----------
    ppm : Interval or float
        In parts per million.

    Returns
    -------
    str
        Text with two digits, or whole numbers where they are large.

    Examples
    --------
    >>> show_ppm(12345.6), show_ppm(0.0123), show_ppm(1e-9)
    ('12,346', '0.012', 'less than 0.001')
    >>> show_ppm(Interval(20.0, 1e-9, 40.0, 0.95, "exact")), show_ppm(Interval(1e-9, 0.0, 0.0029, 0.95, "exact"))
    ('20 (0 to 40)', 'less than 0.001 (0 to 0.0029)')
    """
    if not isinstance(ppm, Interval):
        if ppm == 0:
            return "0"
        if ppm < _LEAST_PPM:
            return f"less than {_LEAST_PPM:g}"
        return f"{ppm:,.0f}" if ppm >= 10 else f"{ppm:.2g}"
    if 0 < ppm.high < _LEAST_PPM:
        return show_ppm(ppm.high)
    low, high = ("0" if end < _LEAST_PPM else show_ppm(end) for end in (ppm.low, ppm.high))
    return f"{show_ppm(ppm.estimate)} ({low} to {high})"


def show_p(p: Interval | float) -> str:
    """Write the p-value of a test as text; a small one is not written with an exponent.

    Parameters
    ----------
    p : Interval or float
        Of a test, from 0 to 1.

    Returns
    -------
    str
        Text with two significant digits; very small ones as a bound.

    Examples
    --------
    >>> show_p(0.03127), show_p(3e-12)
    ('0.031', '< 0.001')
    """
    if isinstance(p, Interval):
        return show(p)
    return "< 0.001" if p < 0.001 else _significant(p, 2)


def p_text(p: float, /) -> str:
    """Write the p-value of a test for a sentence.

    Parameters
    ----------
    p : float
        Of a test, from 0 to 1.

    Returns
    -------
    str

    Examples
    --------
    >>> p_text(0.03127), p_text(3e-12)
    ('p = 0.031', 'p < 0.001')
    """
    shown = show_p(p)
    return f"p {shown}" if shown.startswith("<") else f"p = {shown}"


def counted_size(size: float, word: str) -> str:
    """Write a size with its word in the singular only where it is one.

    Parameters
    ----------
    size : float
    word : str
        In the singular; its plural takes an s.

    Returns
    -------
    str

    Examples
    --------
    >>> counted_size(1.0, "standard error"), counted_size(0.5, "standard error")
    ('1 standard error', '0.5 standard errors')
    """
    return f"{size:.3g} {word}{'' if size == 1 else 's'}"


def as_given(number: float, /, *, digits: int = 6) -> str:
    """Write a number that somebody gave or read, without an exponent and without zeros at its end.

    Parameters
    ----------
    number : float
        In any unit.
    digits : int
        Most significant digits.

    Returns
    -------
    str

    Examples
    --------
    >>> as_given(1e-05), as_given(2.80), as_given(12500), as_given(-1234.5)
    ('0.00001', '2.8', '12,500', '−1,234.5')
    """
    import numpy as np

    text = np.format_float_positional(abs(number), precision=digits, fractional=False, trim="-")
    whole, point, rest = text.partition(".")
    grouped = f"{int(whole):,d}" if whole.isdigit() else whole
    return f"{'−' if number < 0 else ''}{grouped}{point}{rest}"


#: A unit that is a word in the plural, such as "cycles"; names and signs of units do not end so, save two.
_IN_PLURAL = re.compile(r"(?!celsius|siemens)[a-z]{3,}[a-rt-z]s")


def in_short(number: float, unit: str = "", /) -> str:
    """Write a number that has no interval beside it, with its unit: three digits and no zeros at its end.

    Parameters
    ----------
    number : float
    unit : str
        Empty where there is none.

    Returns
    -------
    str

    Examples
    --------
    >>> in_short(0.0017, "mm"), in_short(0.00091502, "mm"), in_short(0.4), in_short(1, "cycles")
    ('0.0017 mm', '0.000915 mm', '0.4', '1 cycle')
    """
    text = as_given(number, digits=3)
    if text in ("1", "−1") and _IN_PLURAL.fullmatch(unit):
        unit = unit[:-1]
    return f"{text} {unit}" if unit else text


def alike(numbers: Iterable[float], /, most: int = _MOST_DECIMALS) -> list[str]:
    """Write numbers that somebody gave or read with equally many decimals.

    Parameters
    ----------
    numbers : iterable of float
        In one unit.
    most : int
        Most decimals.

    Returns
    -------
    list of str

    Examples
    --------
    >>> alike([12.0106, 12.01, 12]), alike([0.1132081, 0.002], 4)
    (['12.0106', '12.0100', '12.0000'], ['0.1132', '0.0020'])
    """
    known = list(numbers)
    places = max((len(as_given(one).partition(".")[2]) for one in known), default=0)
    return [_fixed(one, min(places, most)).replace("-", "−", 1) for one in known]


def _show_interval(interval: Interval) -> str:
    finite_ends = [end for end in (interval.low, interval.high) if math.isfinite(end)]
    spread = max((abs(end - interval.estimate) for end in finite_ends), default=0.0)
    if len(finite_ends) == 2:
        spread = interval.half_width
    if not math.isfinite(interval.estimate):
        return "not determined"
    # What subtractions leave, as of two columns that differ by one amount, is no uncertainty.
    places = decimals_for(spread) if spread > 1e-12 * abs(interval.estimate) else 4
    centre = _fixed(interval.estimate, places)
    if not finite_ends:
        return centre
    if interval.high == math.inf:
        return f"{centre} (at least {_fixed(interval.low, places)})"
    if interval.low == -math.inf:
        return f"{centre} (at most {_fixed(interval.high, places)})"
    return f"{centre} ({_fixed(interval.low, places)} to {_fixed(interval.high, places)})"


def _fixed(number: float, places: int) -> str:
    text = f"{number:,.{places}f}"
    # A value that rounds to nothing is not negative.
    return text[1:] if text.startswith("-") and not text.strip("-0.") else text


def _significant(number: float, digits: int) -> str:
    if number == 0:
        return "0"
    exponent = math.floor(math.log10(abs(number)))
    return _fixed(number, max(digits - 1 - exponent, 0))


def time_between(minutes: float, /) -> str:
    """Write the time between two samples: in seconds below two minutes, else in minutes.

    Parameters
    ----------
    minutes : float

    Returns
    -------
    str

    Examples
    --------
    >>> time_between(0.82), time_between(35.2)
    ('49 s', '35 min')
    """
    return f"{60 * minutes:.0f} s" if minutes < 2 else f"{minutes:,.0f} min"


def counted(number: float, word: str, /) -> str:
    """Write a whole number with its word in the singular or plural.

    Parameters
    ----------
    number : float
        A whole number.
    word : str
        In the singular; its plural takes an s, es after a hissing sound, ies for a y after a consonant.

    Returns
    -------
    str
        Number and word, as "3 signals".

    Examples
    --------
    >>> counted(1, "signal"), counted(1200, "signal")
    ('1 signal', '1,200 signals')
    >>> counted(2, "stretch"), counted(3, "laboratory"), counted(4, "day")
    ('2 stretches', '3 laboratories', '4 days')
    """
    if number != 1:
        if word.endswith("y") and word[-2:-1] not in "aeiou":
            word = f"{word[:-1]}ies"
        else:
            word += "es" if word.endswith(("s", "x", "ch", "sh")) else "s"
    return f"{number:,.0f} {word}"
