"""Data at the door of a function: tables, columns, arrays of readings; nothing is flattened, nothing guessed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from linestudy.results.arguments import nearest, number, same_length
from linestudy.results.errors import CannotJudge
from linestudy.running.door import kind_of

if TYPE_CHECKING:
    import pandas as pd


#: Sizes and differences within this of one, up or down, have fourth powers that a double holds.
_WIDEST = 1e70


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
            f"{argument} = {name!r}: the table has no such column{nearest(name, data.columns)} "
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
        A column's name occurs twice.
    """
    import pandas as pd

    if not isinstance(data, pd.DataFrame):
        raise TypeError(
            f"{argument} must be a pandas DataFrame with one row for each reading, not {kind_of(data)}."
        )
    twice = data.columns[data.columns.duplicated()]
    if len(twice):
        raise ValueError(f"{argument} has the column {twice[0]!r} more than once.")
    return data


def numbers(values: ArrayLike, dimensions: int, *, name: str = "values") -> NDArray[np.float64]:
    """Return an array of floats of so many dimensions; some may be missing, and nothing is flattened.

    Parameters
    ----------
    values : array_like
        Numbers in any unit.
    dimensions : int
        How many it must have.
    name : str
        Name of the argument.

    Returns
    -------
    numpy.ndarray of float

    Raises
    ------
    TypeError
        It holds something that is no number: text, times.
    ValueError
        It has another number of dimensions.

    Examples
    --------
    >>> numbers(["a"], 1, name="below")
    Traceback (most recent call last):
    TypeError: below holds something that is not a number: str 'a'.
    """
    try:
        given = np.asarray(values)
        # NumPy makes numbers of text, of times and of truths without a word.
        text = given.dtype.kind == "O" and any(isinstance(one, str) for one in given.flat)
        if text or given.dtype.kind in "USMmcb":
            raise TypeError
        # What is masked is missing: without its mask it would count as measured.
        array = np.ma.filled(np.ma.asarray(values).astype(float), np.nan)
    except (TypeError, ValueError):
        raise TypeError(
            f"{name} holds something that is not a number: {_first_other(values)}."
        ) from None
    if array.ndim != dimensions:
        raise ValueError(f"{name} has shape {array.shape}; {_DIMENSIONS[dimensions]}")
    return array


_DIMENSIONS = {
    1: "one dimension is needed: give one column, or one row at a time.",
    2: "two dimensions are needed, one sample in each row.",
    4: "four dimensions are needed: studies, parts, appraisers, trials.",
}


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
    if np.ndim(values) == 0 and not isinstance(values, str):
        raise ValueError(f"{name} is a single number; a sequence of numbers is needed.")
    array = numbers(values, 1, name=name)
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
    if np.ndim(value) == 0:
        return np.full(n, number(name, value))
    found = readings(value, name=name, least=1, what=name.replace("_", " "))
    if found.size != n:
        raise ValueError(
            f"{name} has {found.size} entries for {n} {what}s; give one for each, or one number for all."
        )
    return found


def by_label(values: ArrayLike, **labels: ArrayLike) -> dict[str, NDArray[np.float64]]:
    """Return the values of each label, in the order in which labels first appear.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        What is to be divided.
    **labels : array_like, shape (n,)
        One argument, under its name in the calling function; a value without a label is left out.

    Returns
    -------
    dict of str to numpy.ndarray of float
        By label.

    Raises
    ------
    TypeError, ValueError, CannotJudge
        As :func:`one_dimensional`; ValueError also where values and labels differ in number.

    Examples
    --------
    >>> {name: part.tolist() for name, part in by_label([1, 2, 3], station=["b", "a", "b"]).items()}
    {'b': [1.0, 3.0], 'a': [2.0]}
    """
    import pandas as pd

    ((_, of),) = labels.items()
    y = one_dimensional(values, least=2)
    same_length(values=y, **labels)
    names = pd.Series(np.asarray(of))
    if names.dtype == object:
        # A sheet may hold one label as a number here and as text there.
        names = names.map(str, na_action="ignore")
    groups = pd.Series(y).groupby(names, sort=False)
    return {str(name): np.asarray(part, dtype=float) for name, part in groups}


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


def _first_other(values: Any) -> str:
    """Describe the first entry that is not a number, with its place; if there is none, the whole argument."""
    try:
        entries = list(np.asarray(values, dtype=object).ravel())
    except (TypeError, ValueError):
        return kind_of(values)
    for place, entry in enumerate(entries):
        try:
            float(entry)
        except (TypeError, ValueError):
            return f"{entry!r} at place {place}"[:80]
    for place, entry in enumerate(entries):
        if isinstance(entry, str | bool | np.bool_):
            what = "text" if isinstance(entry, str) else "truth value"
            return f"the {what} {entry!r} at place {place}"[:80]
    return kind_of(values)
