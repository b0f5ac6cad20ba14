"""Numbers, times and judgements out of text cells; what is none of them is named by its line."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from linestudy.core import InputError
from linestudy.records.files import line_of

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.model import Data

#: Factors to millimetre, for lengths only; other units must already agree.
_TO_MM = {
    "mm": 1.0,
    "µm": 1e-3,
    "μm": 1e-3,
    "um": 1e-3,
    "in": 25.4,
    "inch": 25.4,
    "m": 1e3,
    "cm": 10.0,
}


def unit_factor(given: str | None, wanted: str | None, file: str) -> float:
    """What a file's numbers are multiplied by to be in the characteristic's unit.

    Parameters
    ----------
    given, wanted : str or None
        Unit of the file and of the characteristic; None or equal units give 1.
    file : str
        For the message.

    Returns
    -------
    float

    Raises
    ------
    InputError
        The units cannot be converted into each other.

    Examples
    --------
    >>> unit_factor("inch", "mm", "run.csv")
    25.4
    """
    if given is None or wanted is None or given == wanted:
        return 1.0
    if given in _TO_MM and wanted in _TO_MM:
        return _TO_MM[given] / _TO_MM[wanted]
    raise InputError(
        file, f'unit "{given}" is not that of the characteristic, "{wanted}"', "mend the unit"
    )


def to_numbers(
    cells: pd.Series, data: Data, factor: float = 1.0
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Text cells as numbers.

    Parameters
    ----------
    cells : pandas.Series of str, shape (n,)
    data : linestudy.study.model.Data
        Sentinels for "no reading", decimal and thousands marks.
    factor : float
        Multiplies every number (unit conversion).

    Returns
    -------
    values : numpy.ndarray of float, shape (n,)
        NaN where there is no reading.
    no_reading : numpy.ndarray of bool, shape (n,)

    Raises
    ------
    InputError
        A cell that is neither a number nor a sentinel.
    """
    import pandas as pd

    text = cells.str.strip()
    missing = text.isin([mark.strip() for mark in data.missing])
    if data.thousands:
        text = text.str.replace(data.thousands, "", regex=False)
    if data.decimal != ".":
        text = text.str.replace(data.decimal, ".", regex=False)
    numbers = pd.to_numeric(text.where(~missing, "nan"), errors="coerce").to_numpy(dtype=float)
    # A sentinel may be written 9999 in study.toml and 9999.000 in the file.
    for mark in data.missing:
        try:
            missing |= numbers == float(mark)
        except ValueError:
            continue
    wrong = ~np.isfinite(numbers) & ~missing.to_numpy()
    if wrong.any():
        row = int(np.flatnonzero(wrong)[0])
        found = str(cells.iloc[row])
        raise InputError(
            f"{data.file} line {line_of(data, int(cells.index[row]))}",
            f'"{found[:40]}" stands in column "{cells.name}" where a number belongs',
            "correct it, or list it under missing = [...] in study.toml",
        )
    none = missing.to_numpy(dtype=bool)
    return np.where(none, np.nan, numbers * factor), none


def to_times(cells: pd.Series, data: Data) -> pd.Series:
    """Text cells as clock times.

    Raises
    ------
    InputError
        A cell that is not a time.
    """
    import pandas as pd

    times = pd.to_datetime(cells, format=data.time_format or "ISO8601", errors="coerce")
    wrong = times.isna().to_numpy() & (cells.str.strip() != "").to_numpy()
    if wrong.any():
        row = int(np.flatnonzero(wrong)[0])
        raise InputError(
            f"{data.file} line {line_of(data, int(cells.index[row]))}",
            f'"{str(cells.iloc[row])[:40]}" in column "{cells.name}" is not a time',
            'name the format, for example time_format = "%d.%m.%Y %H:%M:%S"',
        )
    return times


def to_judgements(cells: pd.Series, data: Data) -> NDArray[np.bool_]:
    """Text cells as True where they say accepted.

    Raises
    ------
    InputError
        A judgement that study.toml lists neither under accept nor under reject.
    """
    text = cells.str.strip()
    accepted = text.isin(list(data.accept or ()))
    if data.reject is not None:
        unknown = ~accepted & ~text.isin([*data.reject, *(data.purge or ())])
        if unknown.any():
            row = int(np.flatnonzero(unknown.to_numpy())[0])
            raise InputError(
                f"{data.file} line {line_of(data, int(cells.index[row]))}",
                f'the judgement "{str(text.iloc[row])[:40]}" is neither in accept nor in reject',
                "add it to one of the lists in study.toml",
            )
    return accepted.to_numpy(dtype=bool)
