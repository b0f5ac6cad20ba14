"""Columns that no one reads although they hold what looks like readings of a characteristic: the other lane of a wide file.

Three grounds, kept separate because they weigh differently.

- *Another column of the same readings*: the name differs from that of a column that is read in one word only, and that word
  distinguishes sides, stations or numbers (Width_L and Width_R, Cav 1 and Cav 2), while the numbers lie where the characteristic's
  lie and do not follow them row by row. What is not read there is not judged.
- *What the readings were worked out of*: the numbers spread more, and the readings follow from them but for rounding, by a factor, by
  an average over neighbours, by a correction that holds for stretches of rows, or by putting other numbers in the place of some.
- *Numbers like the readings*: they lie and spread about as the characteristic's readings do, whatever the column is called. It may be
  another dimension of about that size, the same reading before a correction, or a lane: whoever knows the file can tell.

It misleads where two dimensions of nearly one size stand beside each other (reported, and nothing is asked for), and is silent
where a lane's column has a name and values of its own.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.records.conversions import to_numbers
from linestudy.records.headers import named_columns, names_within
from linestudy.records.stream_names import differ_by_stream_only
from linestudy.results import InputError, counted

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from linestudy.study.load import Study
    from linestudy.study.model import Data

#: What, whose, how many, in which line, and the sentence.
Noticed = tuple[str, str, int, int, str]
#: What is noticed: a column by its name and numbers, and by its numbers alone.
UNREAD_STREAM, UNREAD_NUMBERS = "column of readings not read", "numbers like the readings not read"
WORKED_OUT = "readings worked out of a column not read"
NAMESAKE = "column of the characteristic's name not read"
#: Readings from which columns are held against each other, kinds of them, and the share of a column's cells that are numbers.
_FEW, _KINDS, _NUMBERS = 20, 5, 0.9
#: Cells that are looked at before a whole column is converted.
_FIRST = 200
#: Correlation row by row from which two columns are two readings of one part.
_SAME_PART = 0.9
#: How much more a column spreads than what was worked out of it, and steps that the readings reach over at least.
_WIDER, _WIDE = 1.1, 20
#: Share of rows that are the column's own, that keep to one correction, and that follow from it by a formula.
_FOLLOWS, _HELD, _EXACT = 0.5, 0.9, 0.99
#: Columns that are listed by name.
_SHOWN = 6


def unread_readings(study: Study, data: Data, cells: pd.DataFrame) -> list[Noticed]:
    """Notice columns of a run that hold what looks like readings and that no one reads.

    Parameters
    ----------
    study : Study
        Its [[data]] tables name the columns that are read.
    data : linestudy.study.model.Data
        Of this file.
    cells : pandas.DataFrame of str
        The file as it came.

    Returns
    -------
    list of (str, str, int, int, str)
        What, the characteristic, how many readings or columns, no line, and a sentence: one for each column of another stream, and
        one for all columns whose numbers are like those of a characteristic.
    """
    if data.role not in ("run", "machine") or data.long or len(cells) < _FEW:
        return []
    of_file = [one for one in study.data if one.file == data.file]
    named = {name for one in of_file for name in named_columns(one)}
    left = [str(name) for name in cells.columns if str(name) not in named]
    if not left:
        return []
    known = {
        name: (key, values)
        for key, source in data.columns.items()
        for name in names_within(source)
        if name in cells and (values := _numbers(cells[name], data)) is not None
    }
    found = _namesakes(study, data, cells, left)
    alike: dict[str, list[tuple[str, str, float, NDArray[np.float64]]]] = {}
    for name in left:
        values = _numbers(cells[name], data)
        if values is None:
            continue
        like = ""
        for other, (key, theirs) in known.items():
            near, close = beside(values, theirs)
            stream = near and differ_by_stream_only(name, other)
            if stream and _correlation(values, theirs) < _SAME_PART:
                n = int(np.isfinite(values).sum())
                said = (
                    f'The column "{name}" is read by no characteristic, and by its name and numbers it holds '
                    f'{counted(n, "reading")} like those of "{other}"'
                )
                found.append((UNREAD_STREAM, key, n, 0, said))
                like = ""
                break
            like = like or (other if close else "")
        if like:
            key, theirs = known[like]
            how = _worked_out(theirs, values)
            if how:
                ratio = float(np.nanstd(values) / np.nanstd(theirs))
                said = f'"{like}" is "{name}" {how}; "{name}" spreads {ratio:.2f} times as much and is read by no characteristic'
                found.append((WORKED_OUT, key, int(np.isfinite(theirs).sum()), 0, said))
                continue
            alike.setdefault(key, []).append((name, like, _correlation(values, theirs), values))
    return found + [_by_numbers(key, columns) for key, columns in alike.items()]


def _namesakes(study: Study, data: Data, cells: pd.DataFrame, left: list[str]) -> list[Noticed]:
    """Notice unread columns with a characteristic's name and with numbers like its readings."""
    found: list[Noticed] = []
    for key, source in data.columns.items():
        called = {key.casefold(), study.characteristic(key).name.strip().casefold()}
        read = [name for name in names_within(source) if name in cells]
        for name in left:
            if name.strip().casefold() not in called or not read:
                continue
            values, theirs = _numbers(cells[name], data), _numbers(cells[read[0]], data)
            if values is None or theirs is None or not beside(values, theirs)[0]:
                continue
            said = f'{data.file} has a column "{name}", as the characteristic is called, which no one reads; "{read[0]}" is read for it'
            found.append((NAMESAKE, key, int(np.isfinite(values).sum()), 0, said))
    return found


def _by_numbers(key: str, columns: list[tuple[str, str, float, Any]]) -> Noticed:
    """Word the note on columns whose numbers lie where one characteristic's readings do."""
    low = min(float(np.nanmin(values)) for *_, values in columns)
    high = max(float(np.nanmax(values)) for *_, values in columns)
    listed = ", ".join(
        f'"{name}"' + (f" (row by row, r = {r:.2f})" if r >= _SAME_PART else "")
        for name, _, r, _ in columns[:_SHOWN]
    )
    one = len(columns) == 1
    who = f"The column {listed} is" if one else f"The columns {listed} are"
    if len(columns) > _SHOWN:
        who = f"The columns {listed} and {len(columns) - _SHOWN} more are"
    said = (
        f"{who} read by no characteristic and {'holds' if one else 'hold'} numbers from {low:g} to {high:g}, where the "
        f'readings of "{columns[0][1]}" lie'
    )
    return UNREAD_NUMBERS, key, len(columns), 0, said


def _numbers(cells: pd.Series, data: Data) -> NDArray[np.float64] | None:
    """Convert a column to numbers; None where most cells are not, or too few or alike."""
    try:
        if len(cells) > _FIRST and _mostly(cells.iloc[:_FIRST], data) is None:
            return None
        return _mostly(cells, data)
    except InputError:
        return None


def _mostly(cells: pd.Series, data: Data) -> NDArray[np.float64] | None:
    values = to_numbers(cells, data).values
    there = values[np.isfinite(values)]
    if there.size < max(_NUMBERS * len(cells) / 2, _FEW) or np.unique(there).size < _KINDS:
        return None
    return values


def beside(values: Any, others: Any) -> tuple[bool, bool]:
    """Check whether two columns may hold one quantity, and whether their numbers alone suffice to say so."""
    middle, spread = _middle_and_spread(values)
    theirs, their_spread = _middle_and_spread(others)
    if spread <= 0 or their_spread <= 0:
        return False, False
    off, times = abs(middle - theirs), max(spread / their_spread, their_spread / spread)
    near = off <= 12 * their_spread or off <= 0.2 * abs(theirs)
    return near and times <= 8, off <= 3 * max(spread, their_spread) and times <= 3


def _middle_and_spread(values: Any) -> tuple[float, float]:
    low, middle, high = np.nanquantile(values, [0.16, 0.5, 0.84])
    return float(middle), float(high - low) / 2 or float(np.nanstd(values))


def _worked_out(readings: Any, raw: Any) -> str:
    """Describe how readings follow from numbers that spread more; empty where they do not."""
    both = np.isfinite(readings) & np.isfinite(raw)
    y, x = readings[both], raw[both]
    if y.size < 5 * _FEW or np.std(x) < _WIDER * np.std(y) or not np.ptp(y):
        return ""
    # Rounding of both, where each reading lies on a grid of its own.
    error = 1.01 * max(_step(y), _step(x), 1e-9 * float(np.std(x)))
    # On a coarse grid two readings of one part are equal, or follow each other, by chance.
    if np.ptp(y) <= _WIDE * error:
        return ""
    off = np.abs(y - x)
    other = off > error / 100
    if 1 - other.mean() >= _FOLLOWS and np.median(off[other]) > 3 * error:
        return "with other numbers in the place of some"
    held = float((np.abs(np.diff(y - x)) <= error).mean())
    if held >= _HELD and np.ptp(y - x) > 3 * error:
        return "less a correction that holds for stretches of rows"
    around = np.column_stack([x[2:-2], x[1:-3], x[3:-1], x[:-4], x[4:], np.ones(y.size - 4)])
    for columns, how in (
        (around[:, [0, 5]], "times a factor"),
        (around, "averaged over neighbours"),
        (np.column_stack([around[:, [0, 5]], y[1:-3]]), "averaged with the readings before"),
    ):
        wanted = y[2:-2]
        rest = wanted - columns @ np.linalg.lstsq(columns, wanted, rcond=None)[0]
        if float((np.abs(rest) <= error).mean()) >= _EXACT:
            return how
    return ""


def _step(values: Any) -> float:
    """Estimate the step of values from small distances between them; 0 where all are equal."""
    steps = np.diff(np.unique(values))
    return float(np.quantile(steps, 0.05)) if steps.size else 0.0


def _correlation(one: Any, other: Any) -> float:
    both = np.isfinite(one) & np.isfinite(other)
    one, other = one[both], other[both]
    if one.size < _FEW or not np.ptp(one) or not np.ptp(other):
        return 0.0
    return float(np.corrcoef(one, other)[0, 1])
