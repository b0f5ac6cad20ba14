"""What a public function of the room asks of its arguments before it computes anything.

Wrong use is a ValueError or TypeError that names the argument, what was given and what is allowed; data
that are well formed and say nothing are a CannotJudge, elsewhere.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.numerics.samples import FloatArray, as_sample
from linestudy.results import CannotJudge

if TYPE_CHECKING:
    import pandas as pd

#: Sizes and differences within this of one, up or down, have fourth powers that a double holds.
_WIDEST = 1e70


def check_column(data: pd.DataFrame, name: Any, argument: str, hint: str = "") -> None:
    """Refuse a column that a table does not have.

    Parameters
    ----------
    data : pandas.DataFrame
    name : str
        Column that is asked for.
    argument : str
        Name of the argument that asks for it.
    hint : str
        A sentence for somebody who meant that there is none.

    Raises
    ------
    TypeError
        `data` is no DataFrame.
    ValueError
        There is no such column, or more than one.

    Examples
    --------
    >>> import pandas as pd
    >>> check_column(pd.DataFrame({"part": [1], "value": [2.0]}), "prat", "part")
    Traceback (most recent call last):
    ValueError: part="prat": there is no such column. Columns are: part, value. Did you mean "part"?
    """
    if not hasattr(data, "columns"):
        raise TypeError(f"data must be a pandas.DataFrame, not {type(data).__name__}")
    if name in data:
        if list(data.columns).count(name) > 1:
            raise ValueError(f'{argument}="{name}": there is more than one column of that name.')
        return
    from difflib import get_close_matches

    known = [str(column) for column in data.columns]
    near = get_close_matches(str(name).lower(), [column.lower() for column in known], n=1)
    meant = next((column for column in known if near and column.lower() == near[0]), None)
    text = f'{argument}="{name}": there is no such column. Columns are: {", ".join(known)}.'
    if meant:
        text += f' Did you mean "{meant}"?'
    raise ValueError(f"{text} {hint}".rstrip())


def check_choice(value: Any, allowed: Sequence[str], argument: str) -> None:
    """Refuse a word that is not one of a few.

    Parameters
    ----------
    value : object
    allowed : sequence of str
    argument : str

    Raises
    ------
    ValueError
        It is another.

    Examples
    --------
    >>> check_choice("MLS", ("pivotal", "mls"), "method")
    Traceback (most recent call last):
    ValueError: method='MLS': it must be one of 'pivotal', 'mls'.
    """
    if value not in allowed:
        raise ValueError(
            f"{argument}={value!r}: it must be one of {', '.join(map(repr, allowed))}."
        )


def check_between(
    value: float | None, argument: str, low: float = 0.0, high: float = math.inf
) -> None:
    """Refuse a number that does not lie strictly between two; None passes.

    Parameters
    ----------
    value : float or None
    argument : str
    low, high : float

    Raises
    ------
    ValueError
        It lies elsewhere, or is not a number.

    Examples
    --------
    >>> check_between(-1.0, "tolerance")
    Traceback (most recent call last):
    ValueError: tolerance=-1.0: it must be above 0.
    """
    if value is None:
        return
    if not low < float(value) < high:
        asked = f"above {low:g}" if math.isinf(high) else f"between {low:g} and {high:g}"
        raise ValueError(f"{argument}={value!r}: it must be {asked}.")


def check_range(values: FloatArray, name: str = "reading") -> None:
    """Refuse numbers so large, or so close together, that their squares are beyond a double.

    Parameters
    ----------
    values : numpy.ndarray of float
    name : str
        What one value is, for the message.

    Raises
    ------
    CannotJudge
        A number above 1e70, or numbers that differ by less than 1e-70.

    Examples
    --------
    >>> import numpy as np
    >>> check_range(np.array([1.0, 1e200]))
    Traceback (most recent call last):
    linestudy.results.errors.CannotJudge: A reading of 1e+200 is beyond what can be computed with; ...
    """
    if not values.size:
        return
    largest = float(values[np.argmax(np.abs(values))])
    if abs(largest) > _WIDEST:
        raise CannotJudge(
            f"A {name} of {largest:g} is beyond what can be computed with; is it a mark of no reading, "
            "or in another unit?"
        )
    spread = float(np.ptp(values))
    if 0 < spread < 1 / _WIDEST:
        raise CannotJudge(
            f"The {name}s differ by no more than {spread:g}, which is beyond what can be computed with; "
            "give them in another unit."
        )


def as_readings(values: Any, least: int = 2, name: str = "reading") -> FloatArray:
    """Return readings as an array of floats that can be computed with.

    Parameters
    ----------
    values : array_like of float, shape (n,)
    least : int
        Fewest values the method can use.
    name : str
        What one value is, for the message.

    Returns
    -------
    numpy.ndarray of float, shape (n,)

    Raises
    ------
    CannotJudge
        As `linestudy.numerics.samples.as_sample` and `check_range`.

    Examples
    --------
    >>> as_readings([1, 2]).tolist()
    [1.0, 2.0]
    """
    found = as_sample(values, least=least, name=name)
    check_range(found, name)
    return found
