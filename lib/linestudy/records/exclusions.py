"""Which rows and values of a file are not measurements, and why; nothing is changed silently."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.model import Characteristic, Data, Gauge

NO_READING = "no reading"
BELOW_BOUND = "below the physical bound"
ABOVE_BOUND = "above the physical bound"
IMPLAUSIBLE = "outside the range in which readings of this part can lie"
OUT_OF_RANGE = "outside the gauge's range"
BEYOND = "no measurement: far beyond the size on the drawing, or nought but for rounding"
ODD = "no number where one belongs"
ODD_JUDGEMENT = "a judgement that neither accepts nor rejects"
NO_ORDER = "no order number"
SET_ASIDE_ON_PURPOSE = "in a period excluded on purpose"
REPEATED = "repeated row: same order number, same content"
ELSEWHERE = f"{REPEATED}, in a file before"
REUSED = "order number used again with other content"
TOO_MANY_PARTS = "more parts of one stroke than the tool makes"
NOTHING_USABLE = "no usable value in the row"
#: How reasons begin of rows that ``only`` leaves out.
OTHER_PARTS, OTHER_KIND, CHOSEN = (
    "belongs to other parts",
    "row of another kind",
    "left out by a choice of rows",
)


class Reasons:
    """Why each of `n` rows or values is set aside: a small number each, for a day has many of them.

    Parameters
    ----------
    n : int
    """

    def __init__(self, n: int) -> None:
        self._words: list[str] = []
        self._code = np.zeros(n, dtype=np.int16)

    def __len__(self) -> int:
        return self._code.size

    @property
    def unset(self) -> NDArray[np.bool_]:
        """Where no reason has been found yet."""
        unset: NDArray[np.bool_] = self._code == 0
        return unset

    def give(self, where: NDArray[np.bool_], reason: str) -> None:
        """Give a reason to those rows that have none yet."""
        where = where & (self._code == 0)
        if where.any():
            if reason not in self._words:
                self._words.append(reason)
            self._code[where] = self._words.index(reason) + 1

    def of(self, row: int) -> str:
        """Return the reason of one row; empty where it has none."""
        code = int(self._code[row])
        return self._words[code - 1] if code else ""

    def are(self, *reasons: str) -> NDArray[np.bool_]:
        """Find the rows excluded for one of these reasons."""
        codes = [self._words.index(reason) + 1 for reason in reasons if reason in self._words]
        found = np.zeros(self._code.size, dtype=bool)
        for code in codes:
            found |= self._code == code
        return found

    def counted(self, among: NDArray[np.bool_] | None = None) -> dict[str, int]:
        """Count how often each reason occurs, in the order of first occurrence."""
        if not self._words:
            return {}
        code = self._code if among is None else self._code[among]
        found, first, counts = np.unique(code[code > 0], return_index=True, return_counts=True)
        return {self._words[found[at] - 1]: int(counts[at]) for at in np.argsort(first)}


def judge_values(
    reasons: Reasons,
    values: NDArray[np.float64],
    no_reading: NDArray[np.bool_],
    characteristic: Characteristic,
    gauge: Gauge | None,
) -> None:
    """Add a reason for each value that cannot be a measurement.

    Parameters
    ----------
    reasons : Reasons
        Of n values.
    values : numpy.ndarray of float, shape (n,)
        In the characteristic's unit.
    no_reading : numpy.ndarray of bool, shape (n,)
        Where the file says that there is none.
    characteristic : Characteristic
        Its ``bound`` and ``plausible``.
    gauge : Gauge or None
        Its ``range``.
    """
    reasons.give(no_reading, NO_READING)
    reasons.give(beyond(values, characteristic), BEYOND)
    if characteristic.bound_above is not None:
        reasons.give(values > characteristic.bound_above, ABOVE_BOUND)
    if characteristic.bound_below is not None:
        reasons.give(values < characteristic.bound_below, BELOW_BOUND)
    if characteristic.plausible is not None:
        low, high = characteristic.plausible
        reasons.give((values < low) | (values > high), IMPLAUSIBLE)
    if gauge is not None and gauge.range is not None:
        reasons.give((values < gauge.range[0]) | (values > gauge.range[1]), OUT_OF_RANGE)


#: Beyond these magnitudes squares and their sums leave what a double holds.
_SMALLEST, _LARGEST = 1e-30, 1e30
#: So many times the size on the drawing a reading shares no digit with its neighbours.
_TIMES_THE_SIZE = 1e9


def beyond(values: NDArray[np.float64], characteristic: Characteristic) -> NDArray[np.bool_]:
    """Find numbers too large or too small to be a measurement of this characteristic.

    Parameters
    ----------
    values : numpy.ndarray of float, shape (n,)
        In the characteristic's unit.
    characteristic : Characteristic
        Its limits and nominal give its size, where there are any.

    Returns
    -------
    numpy.ndarray of bool, shape (n,)
        True where it cannot be one.
    """
    drawn = (characteristic.nominal, characteristic.lower, characteristic.upper)
    size = max((abs(number) for number in drawn if number is not None), default=0.0)
    return beyond_any(values, _TIMES_THE_SIZE * size if size else _LARGEST)


def beyond_any(values: NDArray[np.float64], largest: float = _LARGEST) -> NDArray[np.bool_]:
    """Find numbers too large or too small to be a measurement of any manufactured part.

    Parameters
    ----------
    values : numpy.ndarray of float, shape (n,)
        In any unit.
    largest : float
        Largest magnitude that may be.

    Returns
    -------
    numpy.ndarray of bool, shape (n,)
        True where it cannot be one.
    """
    magnitude = np.abs(values)
    # Two passes over a day's readings, hardly ever a third.
    wrong: NDArray[np.bool_] = magnitude > min(largest, _LARGEST)
    small = magnitude < _SMALLEST
    if small.any():
        wrong |= small & (values != 0)
    return wrong


def judge_verdicts(reasons: Reasons, verdict: pd.Series, data: Data) -> None:
    """Add a reason for each row whose verdict study.toml sets aside."""
    text = verdict.str.strip().to_numpy()
    for word, reason in data.set_aside_verdict.items():
        reasons.give(text == word, f"verdict {word}: {reason}")


def repeated_rows(
    order: NDArray[np.float64],
    content: pd.DataFrame,
    owner: pd.Series | None = None,
    *,
    stream: Any = None,
    parts: int = 1,
) -> Reasons:
    """Find reasons for the rows whose part has been seen before.

    Parameters
    ----------
    order : numpy.ndarray of float, shape (n,)
        Order number of each row, NaN where there is none.
    content : pandas.DataFrame, n rows
        The cells that distinguish two rows.
    owner : pandas.Series of str, optional
        Whose value a row holds, in a file with one value per row: a part then has a row for each.
    stream : array_like of shape (n,), optional
        Stream of each row.
    parts : int
        Parts per stroke.

    Returns
    -------
    Reasons
        One entry for each row.
    """
    import pandas as pd

    reasons = Reasons(order.size)
    # A row without a number repeats none.
    numbered = ~np.isnan(order)
    reasons.give(~numbered, NO_ORDER)
    if owner is None and bool((np.diff(order) > 0).all()):
        return reasons
    key = pd.DataFrame({"order": order})
    if owner is not None:
        key["owner"] = owner.to_numpy()
    whole = list(key)
    if parts > 1 and stream is not None:
        key["stream"] = np.asarray(stream)
        again = key.duplicated().to_numpy() & numbered
        same = _same_content(content, key, again)
        reasons.give(again & same, REPEATED)
        reasons.give(again, REUSED)
        key = key[reasons.unset]
        over = np.zeros(order.size, dtype=bool)
        over[reasons.unset] = key.groupby(whole, sort=False).cumcount().to_numpy() >= parts
        reasons.give(over & numbered, TOO_MANY_PARTS)
        return reasons
    # Rows of one stroke that no column distinguishes are its parts, as many as it makes.
    again = (key.groupby(whole, sort=False).cumcount().to_numpy() >= parts) & numbered
    if again.any():
        same = _same_content(content, key, again)
        reasons.give(again & same, REPEATED)
        reasons.give(again, REUSED)
    return reasons


def _same_content(content: pd.DataFrame, key: pd.DataFrame, again: NDArray[np.bool_]) -> Any:
    """Find rows that repeat an earlier one cell by cell."""
    if not again.any():
        return again
    return (
        content.assign(**{f"\x00{name}": key[name].to_numpy() for name in key})
        .duplicated()
        .to_numpy()
    )


#: Roles whose files are stretches of one sequence.
_SEQUENCES = ("run", "machine")
#: Of the rows that two files share by number and clock, the share whose readings are the same, for rows to be the
#: same rows; and the fewest of them where there is no clock. A counter that begins anew shares numbers, not readings.
_ALIKE, _FEWEST = 0.9, 5


def in_other_files(sources: list[Any]) -> list[Any]:
    """Leave out rows that a file before holds already: a day exported twice, shifts that overlap.

    Parameters
    ----------
    sources : list of linestudy.records.Source
        In the order of study.toml.

    Returns
    -------
    list of linestudy.records.Source
        The rows are in the account, as repeated ones.
    """
    found: list[Any] = []
    for source in sources:
        frame, again = source.frame, np.zeros(len(source.frame), dtype=bool)
        for other in found if source.data.role in _SEQUENCES else ():
            if (other.data.role, other.data.gauge) == (source.data.role, source.data.gauge):
                again |= _held(source, other)
        found.append(_without(source, again) if again.any() and len(frame) else source)
    return found


def _held(source: Any, other: Any) -> NDArray[np.bool_]:
    """Find rows of a file that another file contains too."""
    mine, theirs = source.frame, other.frame
    items = [name for name in mine.attrs["characteristics"] if name in theirs]
    none = np.zeros(len(mine), dtype=bool)
    shared = [tag for tag in ("order", "station", "time") if tag in mine and tag in theirs]
    if source.data.order is None or other.data.order is None:
        shared.remove("order")
    clocked = "time" in shared
    if not items or not ({"order", "time"} & set(shared)) or mine[items].isna().all(axis=None):
        return none
    if clocked and (
        mine["time"].min() > theirs["time"].max() or mine["time"].max() < theirs["time"].min()
    ):
        return none
    there = theirs[[*shared, *items]].drop_duplicates(shared)
    both = mine[[*shared, *items]].merge(
        there, on=shared, how="left", suffixes=("", "␟other"), indicator=True
    )
    met = (both["_merge"] == "both").to_numpy(dtype=bool)
    same = met & ~both[shared].isna().any(axis=1).to_numpy(dtype=bool)
    known = np.zeros(len(mine), dtype=bool)
    for name in items:
        one, two = (both[column].to_numpy(dtype=float) for column in (name, f"{name}␟other"))
        same &= (one == two) | (np.isnan(one) & np.isnan(two))
        known |= np.isfinite(one)
    same &= known
    if same.sum() < _ALIKE * met.sum():
        # Files of two stations share strokes and times, and a reading now and then.
        return none
    differ = any(both.loc[same, name].nunique() > 1 for name in items)
    return same if clocked or (differ and same.sum() >= _FEWEST) else none


def _without(source: Any, again: NDArray[np.bool_]) -> Any:
    from dataclasses import replace

    account, frame = source.account, source.frame
    attrs = dict(frame.attrs)
    # A row of a wide file holds several readings of its sequence.
    rows = round(int(again.sum()) * account.rows_used / len(frame))
    values = dict(account.values)
    for name in attrs["characteristics"]:
        if name in values:
            gone = int(np.isfinite(frame[name].to_numpy(dtype=float)[again]).sum())
            held = values[name]
            values[name] = replace(held, read=held.read - gone, used=held.used - gone)
    left = frame[~again].reset_index(drop=True)
    left.attrs = attrs
    aside = {**account.set_aside, ELSEWHERE: rows}
    known = replace(account, rows_used=account.rows_used - rows, set_aside=aside, values=values)
    return replace(source, frame=left, account=known)
