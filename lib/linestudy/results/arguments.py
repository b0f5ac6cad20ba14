"""Checks of a function's arguments, made before anything is computed.

Three kinds of refusal are kept apart. Misuse (a wrong name, an argument out of its range, limits
that are swapped) is a :class:`ValueError` or :class:`TypeError` that names the argument, what was
got and what is allowed. Data that cannot be judged raise :class:`~linestudy.results.CannotJudge`, with
counts. Files that cannot be used raise :class:`~linestudy.results.InputError`.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.results.errors import did_you_mean
from linestudy.running.door import kind_of

if TYPE_CHECKING:
    pass


def one_of(name: str, value: Any, allowed: Collection[Any]) -> Any:
    """Return `value` if it is one of the words allowed.

    Parameters
    ----------
    name : str
        Name of the argument.
    value : object
        What was given.
    allowed : collection
        What may be given.

    Returns
    -------
    object
        `value` itself.

    Raises
    ------
    ValueError
        It is none of them; the nearest is proposed.

    Examples
    --------
    >>> one_of("method", "pivotl", ("pivotal", "MLS"))
    Traceback (most recent call last):
    ValueError: method = 'pivotl' is not known; did you mean 'pivotal'? Allowed are 'pivotal', 'MLS'.
    """
    # An array is equal to nothing: it compares entry by entry.
    if not hasattr(value, "__array__") and any(value is item or value == item for item in allowed):
        return value
    words = [repr(item) for item in allowed]
    raise ValueError(
        f"{name} = {value!r} is not known{nearest(value, allowed)} Allowed are {', '.join(words)}."
    )


def limits(
    lower: float | None, upper: float | None, *, needed: bool = True
) -> tuple[float | None, float | None]:
    """Return a lower and an upper limit in order.

    Parameters
    ----------
    lower, upper : float or None
        Tolerance limits in the unit of the values; either may be absent.
    needed : bool
        Whether at least one must be given.

    Returns
    -------
    lower, upper : float or None
        Both limits as they were given, as floats; None where there is none.

    Raises
    ------
    TypeError
        A limit is no number.
    ValueError
        Both are absent though one is needed, one is not finite, or they are not in order.

    Examples
    --------
    >>> limits(24, 8)
    Traceback (most recent call last):
    ValueError: lower = 24 is not below upper = 8; are they swapped?
    """
    low = None if lower is None else number("lower", lower)
    high = None if upper is None else number("upper", upper)
    if needed and low is None and high is None:
        raise ValueError("lower and upper are both absent; at least one limit is needed.")
    if low is not None and high is not None and low >= high:
        raise ValueError(f"lower = {low:g} is not below upper = {high:g}; are they swapped?")
    return low, high


def number(
    name: str,
    value: Any,
    *,
    above: float | None = None,
    least: float | None = None,
    below: float | None = None,
    most: float | None = None,
) -> float:
    """Return a finite number within its range.

    Parameters
    ----------
    name : str
        Name of the argument.
    value : float
        What was given.
    above, least, below, most : float, optional
        It must be greater than `above`, at least `least`, less than `below`, at most `most`.

    Returns
    -------
    float
        The number as a float.

    Raises
    ------
    TypeError
        It is no number.
    ValueError
        It is not finite, or outside its range.

    Examples
    --------
    >>> number("tolerance", -1, above=0)
    Traceback (most recent call last):
    ValueError: tolerance = -1 cannot be used; it must be greater than 0.
    """
    if isinstance(value, bool | str) or np.ndim(value) != 0:
        raise TypeError(f"{name} must be a single number, not {kind_of(value)}.")
    try:
        found = float(value)
    except (TypeError, ValueError):
        raise TypeError(f"{name} must be a single number, not {kind_of(value)}.") from None
    if not math.isfinite(found):
        raise ValueError(f"{name} = {found} cannot be used; it must be a finite number.")
    rules = (
        (
            above is not None and not found > above,
            f"greater than {above:g}" if above is not None else "",
        ),
        (
            least is not None and not found >= least,
            f"at least {least:g}" if least is not None else "",
        ),
        (
            below is not None and not found < below,
            f"less than {below:g}" if below is not None else "",
        ),
        (most is not None and not found <= most, f"at most {most:g}" if most is not None else ""),
    )
    broken = [text for fails, text in rules if fails]
    if broken:
        raise ValueError(f"{name} = {found:g} cannot be used; it must be {' and '.join(broken)}.")
    return found


def positive(**values: float | None) -> None:
    """Check that numbers are above nought; those that are None are passed over.

    Parameters
    ----------
    **values : float or None
        Arguments by name.

    Raises
    ------
    TypeError, ValueError
        One is no number, or not above nought.

    Examples
    --------
    >>> positive(n_eff=None, line_rate=0.0)
    Traceback (most recent call last):
    ValueError: line_rate = 0 cannot be used; it must be greater than 0.
    """
    for name, value in values.items():
        if value is not None:
            number(name, value, above=0)


def share(name: str, value: Any) -> float:
    """Return a number between 0 and 1, both left out: a confidence, a level, a content.

    Parameters
    ----------
    name : str
        Name of the argument, for the message.
    value : float
        What was given, a share of one.

    Returns
    -------
    float
        The share as a float.

    Raises
    ------
    TypeError, ValueError
        It is no number, or not between 0 and 1; a percentage is recognised as such.

    Examples
    --------
    >>> share("confidence", 95)
    Traceback (most recent call last):
    ValueError: confidence = 95 cannot be used; it must be between 0 and 1 (0.95 for 95 %).
    """
    found = number(name, value)
    if 0 < found < 1:
        return found
    hint = f" ({found / 100:g} for {found:g} %)" if 1 < found < 100 else ""
    raise ValueError(f"{name} = {found:g} cannot be used; it must be between 0 and 1{hint}.")


def whole(name: str, value: Any, *, least: int | None = None, most: int | None = None) -> int:
    """Return a whole number within its range.

    Parameters
    ----------
    name : str
        Name of the argument, for the message.
    value : int
        What was given.
    least, most : int, optional
        Smallest number allowed.

    Returns
    -------
    int
        The number as an int.

    Raises
    ------
    TypeError, ValueError
        It is no number, not whole, or outside its range.

    Examples
    --------
    >>> whole("size", 2.5)
    Traceback (most recent call last):
    ValueError: size = 2.5 cannot be used; it must be a whole number.
    """
    found = number(name, value, least=least, most=most)
    if found != int(found):
        raise ValueError(f"{name} = {found:g} cannot be used; it must be a whole number.")
    return int(found)


def same_length(**arrays: Any) -> int:
    """Return the common length of several arguments.

    Parameters
    ----------
    **arrays : array_like, shape (n,)
        Arguments by name; those that are None are passed over.

    Returns
    -------
    int
        The common number of entries.

    Raises
    ------
    TypeError, ValueError
        One is a single value, or their lengths differ.

    Examples
    --------
    >>> same_length(values=[1, 2, 3], order=[1, 2])
    Traceback (most recent call last):
    ValueError: values has 3 entries and order 2; each value needs one of each.
    """
    for name, value in arrays.items():
        if value is not None and np.ndim(value) == 0:
            raise TypeError(f"{name} must have one entry for each value, not {kind_of(value)}.")
    sizes = {name: len(value) for name, value in arrays.items() if value is not None}
    if len(set(sizes.values())) > 1:
        (first, n), *others = sizes.items()
        other, m = next((name, size) for name, size in others if size != n)
        raise ValueError(f"{first} has {n} entries and {other} {m}; each value needs one of each.")
    return next(iter(sizes.values()), 0)


def nearest(value: Any, known: Collection[Any]) -> str:
    """Propose the nearest known word, as the end of a sentence."""
    near = did_you_mean(value, known)
    return f";{near}" if near else "."
