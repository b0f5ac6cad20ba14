"""Numbers, times and judgements out of text cells; what is none of them is named by its line."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from linestudy.records.cells.fractions import inches_as_decimals
from linestudy.records.cells.moments import plain_times
from linestudy.records.cells.signs import plain_signs
from linestudy.records.files import line_of
from linestudy.records.units import INCHES, is_unit, unit_factor, unit_in_head
from linestudy.results import InputError

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.model import Data

_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d{1,3})?"
NUMBER = re.compile(_NUMBER)
_WITH_UNIT = re.compile(rf"({_NUMBER})\s*([A-Za-zµμ°ΩΩ·⋅%\"]{{1,12}})")
_PARENTHESES = rf"\(\s*{_NUMBER}\s*\)"
_SPACES = ("\u00a0", "\u202f", "\u2009")


class Numbers(NamedTuple):
    """Cells as numbers.

    Attributes
    ----------
    values : numpy.ndarray of float, shape (n,)
        NaN where there is no reading.
    no_reading : numpy.ndarray of bool, shape (n,)
        Where there is a mark of none.
    odd : numpy.ndarray of bool, shape (n,)
        Where there is something that is neither a number nor a mark of none.
    """

    values: NDArray[np.float64]
    no_reading: NDArray[np.bool_]
    odd: NDArray[np.bool_]


def to_numbers(cells: pd.Series, data: Data, unit: str | None = None) -> Numbers:
    """Convert text cells to numbers.

    Parameters
    ----------
    cells : pandas.Series of str, shape (n,)
        Or of float where the reader made numbers of them, NaN for a mark of no reading.
    data : linestudy.study.model.Data
        Sentinels for "no reading", decimal and thousands marks, and the unit of the
        file or of the column; a unit written in the cell ("2,801 mm") overrides it for that cell.
    unit : str, optional
        Unit the numbers are wanted in; none is converted when absent.

    Returns
    -------
    Numbers
        Values, where there is no reading, and where there is something that is no number: few such cells are
        set aside, one by one.

    Raises
    ------
    InputError
        More cells that are neither a number nor a sentinel than a slip of the hand explains.
    """
    own = data.units.get(str(cells.name), data.unit)
    factor = 1.0 if unit is None else unit_factor(own, unit, data.file)
    none = np.zeros(len(cells), dtype=bool)
    if cells.dtype == np.float64:
        numbers = cells.to_numpy()
        missing = _by_number(numbers, np.isnan(numbers), data)
        if not missing.any() and factor == 1.0:
            return Numbers(numbers, missing, none)
        with np.errstate(over="ignore"):
            return Numbers(np.where(missing, np.nan, numbers * factor), missing, none)
    clean = _clean_numbers(cells, data)
    if clean is not None:
        empty = np.isnan(clean)
        missing = _by_number(clean, empty, data)
        with np.errstate(over="ignore"):
            values = clean if factor == 1.0 else clean * factor
        values = values if missing is empty else np.where(missing, np.nan, values)
        return Numbers(values, missing, none)
    text = plain_signs(cells.str.strip())
    missing = text.isin([mark.strip() for mark in data.missing]).to_numpy(dtype=bool)
    inches = (unit_in_head(str(cells.name)) or own) in INCHES
    text = inches_as_decimals(_plain(text, data), inches)
    numbers = _parsed(text.where(~missing, None))
    missing = _by_number(numbers, missing, data)
    wrong = ~np.isfinite(numbers) & ~missing
    if wrong.any():
        wrong &= ~_in_parentheses(text, numbers)
    with np.errstate(over="ignore", invalid="ignore"):
        numbers = numbers * factor
    odd = none
    if wrong.any():
        numbers[wrong], odd[wrong] = _cells_with_units(
            text[wrong], cells[wrong], data, unit, most_odd(int((~missing).sum()))
        )
    return Numbers(np.where(missing | odd, np.nan, numbers), missing, odd)


def _in_parentheses(text: pd.Series, numbers: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Fill in numbers in parentheses as negative ones, as book-keepers write them; where they are.

    Beside readings that lie within six standard deviations of nought; far from it a number in parentheses is a doubtful
    reading, and stays odd.
    """
    found = text.str.fullmatch(_PARENTHESES, na=False).to_numpy(dtype=bool)
    plain = numbers[np.isfinite(numbers)]
    with np.errstate(over="ignore"):
        # Beside a number that no part has, the spread is beyond all bounds.
        near = plain.size > 1 and abs(float(np.median(plain))) < 6 * float(plain.std())
    if not found.any() or not near:
        return np.zeros(len(text), dtype=bool)
    numbers[found] = -_parsed(text[found].str.strip("() "))
    return found & np.isfinite(numbers)


def most_odd(filled: int) -> int:
    """Return how many cells of a column may be no number before it counts as misread."""
    # One of five; one in twenty of many. Two rows with one of them odd say nothing of what the column is.
    return max(filled // 20, 1) if filled >= 5 else 0


def _clean_numbers(cells: pd.Series, data: Data) -> NDArray[np.float64] | None:
    """Convert a column of plain numbers and marks of no reading (NaN); return None for any other.

    What a camera writes needs no strip and no replacing, which would take four times as long.
    """
    import pyarrow as pa
    import pyarrow.compute as pc

    if _marks(data):
        return None
    column = pa.array(cells, type=pa.large_string())
    marks = pa.array([mark.strip() for mark in data.missing], type=pa.large_string())
    try:
        kept = pc.if_else(pc.is_in(column, value_set=marks), None, column) if len(marks) else column
        found = kept.cast(pa.float64())
    except (pa.ArrowInvalid, pa.ArrowTypeError):
        return None
    # "nan" and "inf" are for the way below to refuse, with their line.
    if pc.all(pc.is_finite(found)).as_py() is False:
        return None
    return np.asarray(found.to_numpy(zero_copy_only=False), dtype=float)


def _by_number(
    numbers: NDArray[np.float64], missing: NDArray[np.bool_], data: Data
) -> NDArray[np.bool_]:
    """Count as missing also a sentinel written 9999 in study.toml and 9999.000 in the file."""
    for mark in data.missing:
        number = as_number(mark, data)
        if number is not None:
            missing = missing | (numbers == number)
    return missing


def as_number(mark: str, data: Data) -> float | None:
    """Give the number that a sentinel is with the file's marks, else by itself; None where it is none.

    Parameters
    ----------
    mark : str
        One of ``missing``.
    data : linestudy.study.model.Data
        Its ``decimal`` and ``thousands``.

    Returns
    -------
    float or None
        The number, in the unit of the file.
    """
    plain = mark
    for old, new in _marks(data):
        plain = plain.replace(old, new)
    for text in (plain, mark):
        try:
            return float(text)
        except ValueError:
            continue
    return None


def _parsed(text: pd.Series) -> NDArray[np.float64]:
    """Convert cells to numbers; NaN where a cell is none."""
    import pandas as pd
    import pyarrow as pa

    try:
        # Ten times as fast as pandas; it refuses the whole column for one cell, and a leading plus.
        column = pa.array(text, type=pa.large_string()).cast(pa.float64())
        return np.array(column.to_numpy(zero_copy_only=False), dtype=float, copy=True)
    except (pa.ArrowInvalid, pa.ArrowTypeError):
        numbers = pd.to_numeric(text.where(text.notna(), "nan"), errors="coerce")
        return np.array(numbers, dtype=float, copy=True)


def _plain(text: pd.Series, data: Data) -> pd.Series:
    """Replace the file's own number marks so that a number reads as one everywhere."""
    for old, new in _marks(data):
        text = text.str.replace(old, new, regex=False)
    return text


def _marks(data: Data) -> list[tuple[str, str]]:
    """List the replacements, in order, that make the file's numbers readable."""
    found = []
    if data.thousands:
        signs = (data.thousands, *_SPACES) if data.thousands == " " else (data.thousands,)
        found += [(sign, "") for sign in signs]
    if data.decimal == "both":
        found.append((",", "."))
    if data.decimal == ",":
        # A point in a file with decimal commas is no decimal mark; it must not be read as one.
        found += [(".", "\x00"), (",", ".")]
    return found


def _cells_with_units(
    text: pd.Series, cells: pd.Series, data: Data, unit: str | None, most_odd: int
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Read cells with number and unit; raise an error naming the line if too many are odd."""
    values = np.full(len(text), np.nan)
    odd = np.zeros(len(text), dtype=bool)
    first: InputError | None = None
    own = data.units.get(str(cells.name), data.unit)
    for position, plain in enumerate(text.tolist()):
        if re.fullmatch(_NUMBER, plain):
            # A number that no double holds; screening sets it aside as no measurement.
            values[position] = -np.inf if plain.startswith("-") else np.inf
            continue
        match = _WITH_UNIT.fullmatch(plain)
        number = float(match[1]) if match else np.nan
        where = f"{data.file} line {line_of(data, int(cells.index[position]))}"
        try:
            given = match[2] if match else ""
            if not np.isfinite(number) or (given not in (unit, own) and not is_unit(given)):
                raise _no_number(cells, position, data)
            values[position] = number * unit_factor(given, unit or own or given, where)
        except InputError as error:
            first = first or error
            odd[position] = True
    if first is not None and int(odd.sum()) > most_odd:
        raise first
    return values, odd


def _no_number(cells: pd.Series, position: int, data: Data) -> InputError:
    found = str(cells.iloc[position])
    todo = "correct it, or list it under missing = [...] in study.toml"
    if re.match(r"\s*[<>≤≥]\s*[-+]?[\d.,]+", found):
        todo = (
            "it says no more than that the reading lies beyond the number: take the reading itself from the gauge; "
            "listed under missing these parts are left out, and the others are no fair sample"
        )
    elif re.fullmatch(r"\d{4}-\d\d-\d\d(?:[T ][\d:.]+)?", found.strip()):
        todo = (
            "a spreadsheet program has made a date of it, as of 2.8 or 3-5: type the number anew in a cell that is formatted "
            "as a number, or list it under missing = [...]"
        )
    elif (word := re.fullmatch(rf"\s*{_NUMBER}\s*([^\W\d_]{{2,12}})\.?\s*", found)) is not None:
        todo = f'"{word[1]}" is no unit known here: give the number alone, and the word in a column of its own'
    elif data.decimal == "." and re.fullmatch(r"\s*[-+]?\d+,\d+\s*", found):
        todo = 'write decimal = "," (or thousands = ",") in its [[data]] table'
    elif data.decimal == "," and re.fullmatch(r"\s*[-+]?\d+\.\d+\s*", found):
        todo = 'take decimal = "," out of its [[data]] table, or write thousands = "."'
    return InputError(
        f"{data.file} line {line_of(data, int(cells.index[position]))}",
        f'"{found[:40]}" stands in column "{cells.name}" where a number belongs',
        todo,
    )


def as_written(number: str, data: Data) -> str:
    """Write a number of a binary format with the number marks that study.toml declares for text.

    So that marks which study.toml names for the text of a file do not change what is no text.

    Parameters
    ----------
    number : str
        With a point, as Python writes it; anything else stays as it is.
    data : linestudy.study.model.Data
        Its ``decimal`` and ``thousands``.

    Returns
    -------
    str
        The same number in the writing of the file.
    """
    if not re.fullmatch(_NUMBER, number):
        return number
    text = number.replace(".", "," if data.decimal == "," else ".")
    if data.thousands is None or data.thousands not in text:
        return text
    # One sign for both: without any, digits and the power of ten say the same.
    sign, digits, exponent = Decimal(number).as_tuple()
    return f"{'-' * sign}{''.join(map(str, digits))}e{exponent}"


def cell_as_text(value: object, data: Data) -> str:
    """Write a cell of a format that knows numbers from text as study.toml says that text is written."""
    if value is None or value != value:
        return ""
    if isinstance(value, float | Decimal):
        return as_written(repr(value) if isinstance(value, float) else str(value), data)
    return str(value)


def to_times(cells: pd.Series, data: Data) -> pd.Series:
    """Convert text cells to clock times; times with an offset are put in UTC, and cells that are times stay.

    Raises
    ------
    InputError
        Cells that are no times, and more of them than a slip of the hand explains.
    """
    import pandas as pd

    if cells.dtype.kind == "M":
        return cells
    layout = data.time_format or "ISO8601"
    cells = plain_times(plain_signs(cells), layout)
    try:
        try:
            times = pd.to_datetime(cells, format=layout, errors="coerce")
        except ValueError:
            times = pd.to_datetime(cells, format=layout, errors="coerce", utc=True)
        if not isinstance(times.dtype, np.dtype):
            times = pd.to_datetime(times, utc=True).dt.tz_localize(None)
    except (ValueError, TypeError, OverflowError, re.error):
        raise InputError(
            data.file, f'time_format "{layout}" cannot be used', "write it as strptime reads it"
        ) from None
    wrong = times.isna().to_numpy() & (cells.str.strip() != "").to_numpy(dtype=bool)
    if int(wrong.sum()) > most_odd(int((cells.str.strip() != "").sum())):
        row = int(np.flatnonzero(wrong)[0])
        raise InputError(
            f"{data.file} line {line_of(data, int(cells.index[row]))}",
            f'"{str(cells.iloc[row])[:40]}" in column "{cells.name}" is not a time',
            'name the format, for example time_format = "%d.%m.%Y %H:%M:%S"',
        )
    return times


def to_judgements(cells: pd.Series, data: Data) -> NDArray[np.bool_]:
    """Convert text cells to True where they say accepted.

    Raises
    ------
    InputError
        A judgement that study.toml lists neither under accept nor under reject.
    """
    text = cells.str.strip()
    accepted = text.isin(list(data.accept or ()))
    if data.reject is not None:
        known = [*data.reject, *(data.purge or ()), *data.set_aside_verdict]
        unknown = ~accepted & ~text.isin(known)
        if unknown.any():
            row = int(np.flatnonzero(unknown.to_numpy())[0])
            raise InputError(
                f"{data.file} line {line_of(data, int(cells.index[row]))}",
                f'the judgement "{str(text.iloc[row])[:40]}" is neither in accept nor in reject',
                "add it to one of the lists in study.toml",
            )
    return accepted.to_numpy(dtype=bool)
