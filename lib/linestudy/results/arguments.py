"""The door of a function: what was asked for wrongly is refused before anything is computed.

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
from numpy.typing import ArrayLike, NDArray

from linestudy.results.errors import CannotJudge, did_you_mean

if TYPE_CHECKING:
    import pandas as pd


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
    if any(value is item or value == item for item in allowed):
        return value
    words = [repr(item) for item in allowed]
    raise ValueError(
        f"{name} = {value!r} is not known{_nearest(value, allowed)} Allowed are {', '.join(words)}."
    )


def column(data: pd.DataFrame, name: str, argument: str, *, hint: str = "") -> pd.Series[Any]:
    """Return the column of a table that an argument names.

    Parameters
    ----------
    data : pandas.DataFrame
        One row for each reading.
    name : str
        Name of the column.
    argument : str
        Argument that names it, for the message.
    hint : str
        A sentence for somebody who meant that there is none.

    Returns
    -------
    pandas.Series
        The column.

    Raises
    ------
    TypeError
        `data` is no DataFrame.
    ValueError
        It has no such column, or more than one column of one name.

    Examples
    --------
    >>> import pandas as pd
    >>> column(pd.DataFrame({"part": [1], "value": [2.0]}), "prat", "part")
    Traceback (most recent call last):
    ValueError: part = 'prat': the table has no such column; did you mean 'part'? Its columns are 'part', 'value'.
    """
    table(data)
    if name not in data.columns:
        text = (
            f"{argument} = {name!r}: the table has no such column{_nearest(name, data.columns)} "
            f"Its columns are {', '.join(repr(c) for c in data.columns)}. {hint}"
        )
        raise ValueError(text.rstrip())
    return data[name]


def table(data: Any, argument: str = "data") -> pd.DataFrame:
    """Return `data` if it is a table with one column of each name.

    Parameters
    ----------
    data : pandas.DataFrame
        What was given.
    argument : str
        Name of the argument, for the message.

    Returns
    -------
    pandas.DataFrame
        `data` itself.

    Raises
    ------
    TypeError
        It is no DataFrame.
    ValueError
        A column's name stands twice.
    """
    import pandas as pd

    if not isinstance(data, pd.DataFrame):
        raise TypeError(
            f"{argument} must be a pandas DataFrame with one row for each reading, not {_kind(data)}."
        )
    twice = data.columns[data.columns.duplicated()]
    if len(twice):
        raise ValueError(f"{argument} has the column {twice[0]!r} more than once.")
    return data


def one_dimensional(
    values: ArrayLike, *, name: str = "values", least: int = 0, what: str = "value"
) -> NDArray[np.float64]:
    """Return values as a one-dimensional array of finite floats; nothing is flattened.

    Parameters
    ----------
    values : array_like, shape (n,)
        Numbers in any unit.
    name : str
        Name of the argument.
    least : int
        Fewest values the method can use.
    what : str
        What one value is, for a sentence about the data.

    Returns
    -------
    numpy.ndarray of float, shape (n,)
        The values, all finite.

    Raises
    ------
    TypeError
        A table, or something that holds no numbers.
    ValueError
        An array of other than one dimension.
    CannotJudge
        Fewer values than needed, or values that are missing or infinite, with their number.

    Examples
    --------
    >>> one_dimensional([[1, 2], [3, 4]])
    Traceback (most recent call last):
    ValueError: values has shape (2, 2); one dimension is needed: give one column, or one row at a time.
    """
    import pandas as pd

    if isinstance(values, pd.DataFrame):
        raise TypeError(
            f"{name} is a table with columns {', '.join(repr(c) for c in values.columns[:8])}; "
            "give the one column that holds the readings."
        )
    try:
        array = np.asarray(values, dtype=float)
    except (TypeError, ValueError):
        raise TypeError(
            f"{name} holds something that is not a number: {_first_other(values)}."
        ) from None
    if array.ndim != 1:
        raise ValueError(
            f"{name} has shape {array.shape}; one dimension is needed: give one column, or one row at a time."
            if array.ndim
            else f"{name} is a single number; a sequence of numbers is needed."
        )
    if array.size < least:
        have = {0: f"There is no {what}", 1: f"There is one {what}"}.get(
            array.size, f"There are {array.size} {what}s"
        )
        raise CannotJudge(f"{have} where at least {least} are needed.")
    bad = int((~np.isfinite(array)).sum())
    if bad:
        are = "is" if bad == 1 else "are"
        raise CannotJudge(
            f"{bad} of {array.size} {what}s {are} missing or infinite; exclude them first, with the reason."
        )
    return array


def readings(
    values: ArrayLike, *, name: str = "readings", least: int = 2, what: str = "reading"
) -> NDArray[np.float64]:
    """Return readings as a one-dimensional array of floats whose squares a double can hold.

    Parameters
    ----------
    values : array_like, shape (n,)
        Readings in any unit.
    name : str
        Name of the argument.
    least : int
        Fewest readings the method can use.
    what : str
        What one reading is, for a sentence about the data.

    Returns
    -------
    numpy.ndarray of float, shape (n,)

    Raises
    ------
    TypeError, ValueError, CannotJudge
        As :func:`one_dimensional` and :func:`computable`.

    Examples
    --------
    >>> readings([1, 2]).tolist()
    [1.0, 2.0]
    """
    found = one_dimensional(values, name=name, least=least, what=what)
    computable(found, what=what)
    return found


def for_each(value: ArrayLike, n: int, *, name: str, what: str = "reading") -> NDArray[np.float64]:
    """Return one number for each reading, given as one for all or as one each.

    Parameters
    ----------
    value : float or array_like, shape (n,)
        What was given.
    n : int
        Number of readings.
    name : str
        Name of the argument.
    what : str
        What there are n of, for the message.

    Returns
    -------
    numpy.ndarray of float, shape (n,)

    Raises
    ------
    TypeError, ValueError, CannotJudge
        As :func:`one_dimensional` and :func:`computable`; ValueError also where the number is another.

    Examples
    --------
    >>> for_each(6.0, 3, name="reference").tolist()
    [6.0, 6.0, 6.0]
    >>> for_each([6.0, 7.0], 3, name="reference")
    Traceback (most recent call last):
    ValueError: reference has 2 entries for 3 readings; give one for each, or one number for all.
    """
    if np.ndim(value) == 0:  # type: ignore[arg-type]
        return np.full(n, number(name, value))
    found = readings(value, name=name, least=1, what=name.replace("_", " "))
    if found.size != n:
        raise ValueError(
            f"{name} has {found.size} entries for {n} {what}s; give one for each, or one number for all."
        )
    return found


#: Sizes and differences within this of one, up or down, have fourth powers that a double holds.
_WIDEST = 1e70


def computable(values: NDArray[np.float64], *, what: str = "reading") -> None:
    """Refuse numbers so large, or so close together, that their squares are beyond a double.

    Parameters
    ----------
    values : numpy.ndarray of float
        Finite values.
    what : str
        What one value is, for the message.

    Raises
    ------
    CannotJudge
        A number above 1e70, or numbers that differ by less than 1e-70.

    Examples
    --------
    >>> computable(np.array([1.0, 1e200]))
    Traceback (most recent call last):
    linestudy.results.errors.CannotJudge: A reading of 1e+200 is beyond what can be computed with; ...
    """
    if not values.size:
        return
    largest = float(values.flat[np.argmax(np.abs(values))])
    if abs(largest) > _WIDEST:
        raise CannotJudge(
            f"A {what} of {largest:g} is beyond what can be computed with; is it a mark of no reading, "
            "or in another unit?"
        )
    spread = float(np.ptp(values))
    if 0 < spread < 1 / _WIDEST:
        raise CannotJudge(
            f"The {what}s differ by no more than {spread:g}, which is beyond what can be computed with; "
            "give them in another unit."
        )


def width(name: str, value: Any) -> float | None:
    """Return a number above zero, or None where none was given: a tolerance, a step.

    Parameters
    ----------
    name : str
        Name of the argument.
    value : float or None
        What was given.

    Returns
    -------
    float or None

    Raises
    ------
    TypeError, ValueError
        It is no number, or not above zero.

    Examples
    --------
    >>> width("tolerance", None), width("tolerance", 0.2)
    (None, 0.2)
    """
    return None if value is None else number(name, value, above=0)


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
        raise TypeError(f"{name} must be a single number, not {_kind(value)}.")
    try:
        found = float(value)
    except (TypeError, ValueError):
        raise TypeError(f"{name} must be a single number, not {_kind(value)}.") from None
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
    ValueError
        Their lengths differ.

    Examples
    --------
    >>> same_length(values=[1, 2, 3], order=[1, 2])
    Traceback (most recent call last):
    ValueError: values has 3 entries and order 2; each value needs one of each.
    """
    sizes = {name: len(value) for name, value in arrays.items() if value is not None}
    if len(set(sizes.values())) > 1:
        (first, n), *others = sizes.items()
        other, m = next((name, size) for name, size in others if size != n)
        raise ValueError(f"{first} has {n} entries and {other} {m}; each value needs one of each.")
    return next(iter(sizes.values()), 0)


def _nearest(value: Any, known: Collection[Any]) -> str:
    """Proposal of the nearest, as the end of a sentence."""
    near = did_you_mean(value, known)
    return f";{near}" if near else "."


def _first_other(values: Any) -> str:
    """The first entry that is not a number, with its place; the whole where no single one is to blame."""
    try:
        entries = enumerate(np.asarray(values, dtype=object).ravel())
        for place, entry in entries:
            try:
                float(entry)
            except (TypeError, ValueError):
                return f"{entry!r} at place {place}"[:80]
    except (TypeError, ValueError):
        pass
    return _kind(values)


def _kind(value: Any) -> str:
    text = repr(value)
    return f"{type(value).__name__} {text if len(text) <= 40 else text[:39] + '…'}"
