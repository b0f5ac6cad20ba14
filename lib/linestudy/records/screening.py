"""What looks wrong in a file although each value could be a measurement; nothing is changed.

Every check compares the file with itself or with what study.toml says, and reports how
often, since which line, and the evidence. Checks and when they mislead:

- *frozen values*: a run of equal values longer than independent readings with the observed
  share p of that value would show once in a million files (n p^L < 1e-6). Readings that
  follow each other closely (coarse resolution, slow drift) make longer runs honestly.
- *range ends*: the smallest or largest value occurs at least ten times and three times as
  often as the mean of the three values next to it. One-sided sorting upstream looks the same.
- *unit slips*: single values that come to lie inside the bulk of the others when multiplied
  by 25.4, 1000 or their inverses, or a whole column whose median does so with the nominal.
- *change of scale*: one place in the file where the typical value changes by a factor near
  10, 25.4, 1000 and stays. *Change of resolution*: the count of decimals changes and stays.
- *clock*: steps back, and steps forward between neighbouring parts more than fifty times the
  usual one where no stop is recorded.

Common practice, no source; the thresholds are choices made here so that clean data of any
distribution met in practice stay silent (tested by simulation).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np
from numpy.typing import NDArray

from linestudy.records import exclusions
from linestudy.records.strokes import by_stream, stream_codes
from linestudy.results import Finding, counted
from linestudy.results.tables import Rows

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.model import Characteristic, Data, Gauge

_FACTORS = (1 / 1000, 1 / 25.4, 25.4, 1000.0)
_SCALES = (10.0, 25.4, 100.0, 1000.0)
_LIKELY_UNITS = {25.4: "inch", 1 / 25.4: "mm read as inch", 1000.0: "m", 1 / 1000: "µm"}


@dataclass(frozen=True)
class Seen:
    """One thing noticed in one file.

    Attributes
    ----------
    what : str
        Kind, in the trade's words.
    characteristic : str
        Its id; empty where the whole row is meant.
    count : int
        How many rows, values or places.
    line : int
        Line of the file where it is first seen; 0 where there is no single place.
    evidence : str
        One sentence with the numbers.
    """

    what: str
    characteristic: str
    count: int
    line: int
    evidence: str

    @property
    def sentence(self) -> str:
        """The evidence, with the characteristic and the line."""
        who = f"{self.characteristic}: " if self.characteristic else ""
        where = f" (first in line {self.line})" if self.line else ""
        return f"{who}{self.evidence.rstrip('.')}{where}."


@dataclass(frozen=True)
class Screening(Finding):
    """Everything noticed in all files of a study and left as it is.

    Attributes
    ----------
    seen : tuple of (str, Seen)
        File and what was noticed in it.
    """

    seen: tuple[tuple[str, Seen], ...]
    cautions: tuple[str, ...] = ()
    title: ClassVar[str] = "Screening of the records"

    @property
    def statement(self) -> str:
        if not self.seen:
            return "Screening noticed nothing unusual in the files beyond the rows set aside."
        files = len({file for file, _ in self.seen})
        return (
            f"Screening noticed {counted(len(self.seen), 'thing')} in {counted(files, 'file')}; each is "
            "listed with its evidence and nothing was changed because of it."
        )

    def _rows(self) -> Rows:
        names = ("file", "characteristic", "noticed", "count", "first line", "evidence")
        return [
            dict(
                zip(names, (f, s.characteristic, s.what, s.count, s.line, s.evidence), strict=True)
            )
            for f, s in self.seen
        ]


@dataclass
class Look:
    """One column of numbers to be looked at: key, characteristic, gauge, values (NaN = none)."""

    key: str
    characteristic: Characteristic
    gauge: Gauge | None
    values: NDArray[np.float64]


class _Column:
    """The readings of one column, as they came and in ascending order."""

    def __init__(self, look: Look, values: NDArray[np.float64], lines: NDArray[np.int64]) -> None:
        self.name = look.key.split("␟")[0]
        self.characteristic = look.characteristic
        self.values, self.lines = values, lines
        self.ordered = np.sort(values)
        first = np.flatnonzero(np.concatenate(([True], self.ordered[1:] != self.ordered[:-1])))
        self.unique = self.ordered[first]
        self.counts = np.diff(np.append(first, values.size))

    def quantile(self, probability: float) -> float:
        """Interpolate linearly between order statistics, without sorting again."""
        at = probability * (self.ordered.size - 1)
        low = int(at)
        pair = self.ordered[low : low + 2]
        return float(np.interp(at, np.arange(low, low + pair.size), pair))


def look_at(
    data: Data,
    frame: pd.DataFrame,
    looks: list[Look],
    rows: exclusions.Reasons,
    parts: int = 1,
) -> list[Seen]:
    """Look through one file.

    Parameters
    ----------
    data : linestudy.study.model.Data
        What study.toml says of the file.
    frame : pandas.DataFrame
        Its tags, all rows, indexed by line.
    looks : list of Look
        Its columns of numbers, all rows.
    rows : linestudy.records.exclusions.Reasons
        Why rows are set aside.
    parts : int
        Parts per stroke: order, clock and repeats run within a stream where it makes several.

    Returns
    -------
    list of Seen
        In the order of the checks; empty where nothing is odd.
    """
    lines = frame.index.to_numpy()
    seen: list[Seen] = []
    kept = ~rows.are(exclusions.REPEATED, exclusions.REUSED)
    own = by_stream(frame) if parts > 1 else np.arange(len(frame))
    if data.role == "run":
        seen += _order(
            frame["order"].to_numpy()[kept],
            lines[kept],
            stream_codes(frame)[kept] if parts > 1 else None,
        )
        if "time" in frame:
            first = own[kept[own]]
            seen += _clock(frame.iloc[first], lines[first], data.order is not None, parts > 1)
        seen += _purged(data, frame, rows, lines)
    for look in looks:
        usable = kept & np.isfinite(look.values)
        if not usable.any():
            continue
        # The whole of it is not copied.
        taken: Any = slice(None) if usable.all() else usable
        column = _Column(look, look.values[taken], lines[taken])
        seen += _unit_of_column(column)
        if data.role == "run" and column.values.size >= 20:
            seen += _frozen(
                column
                if parts == 1
                else _Column(look, look.values[own[usable[own]]], lines[own[usable[own]]])
            )
            seen += _ends(column)
            seen += _far_off(column)
            seen += _change(column)
    return seen


def _order(
    order: NDArray[np.float64], lines: NDArray[np.int64], stream: NDArray[np.int64] | None
) -> list[Seen]:
    seen = []
    if stream is not None:
        at = np.argsort(stream, kind="stable")
        order, lines, stream = order[at], lines[at], stream[at]
    steps = np.diff(order)
    if stream is not None:
        steps = np.where(np.diff(stream) == 0, steps, 1.0)
    back = np.flatnonzero(steps < 0)
    if back.size:
        text = f"The order numbers go back {counted(back.size, 'time')}; rows were put in production order"
        seen.append(Seen("order goes back", "", int(back.size), int(lines[back[0] + 1]), text))
    ahead = np.diff(np.sort(order))
    gaps = ahead[ahead > 1] - 1
    if gaps.size:
        text = (
            f"Missing: {counted(gaps.sum(), 'order number')} in {counted(gaps.size, 'gap')}, "
            f"the longest of {int(gaps.max()):,}"
        )
        first = np.flatnonzero(steps > 1)
        line = int(lines[first[0] + 1]) if first.size else 0
        seen.append(Seen("gap in order numbers", "", int(gaps.size), line, text))
    return seen


def _clock(
    frame: pd.DataFrame, lines: NDArray[np.int64], numbered: bool = True, streams: bool = False
) -> list[Seen]:
    if len(frame) < 3:
        return []
    seconds = frame["time"].diff().dt.total_seconds().to_numpy()[1:]
    order = frame["order"].to_numpy()
    # From one stream to the next the clock begins anew, and so does the order.
    seconds = np.where(np.diff(order) < 0, np.nan, seconds) if streams else seconds
    seen = []
    back = np.flatnonzero(seconds < 0)
    if back.size:
        trusted = (
            "order numbers are trusted instead"
            if numbered
            else "rows are taken in the order of the file, for no order numbers are named"
        )
        text = (
            f"The clock goes back {counted(back.size, 'time')}, by {-seconds[back].min() / 60:.3g} minutes "
            f"at most; {trusted}"
        )
        seen.append(Seen("clock goes back", "", int(back.size), int(lines[back[0] + 1]), text))
    usual = float(np.nanmedian(seconds)) if np.isfinite(seconds).any() else 0.0
    neighbours = np.diff(frame["order"].to_numpy()) == 1
    if "stop" in frame:
        stop = frame["stop"].to_numpy()
        neighbours &= stop[1:] == stop[:-1]
    ahead = np.flatnonzero((seconds > 50 * usual) & neighbours) if usual > 0 else np.array([], int)
    if ahead.size:
        what = "clock jumps ahead" if "stop" in frame else "pause or clock jump"
        text = (
            f"{counted(ahead.size, 'step')} of the clock, of more than 50 times the usual "
            f"{usual:.3g} s between neighbouring parts, the longest {seconds[ahead].max():,.0f} s"
        )
        seen.append(Seen(what, "", int(ahead.size), int(lines[ahead[0] + 1]), text))
    return seen


def _purged(
    data: Data, frame: pd.DataFrame, rows: exclusions.Reasons, lines: NDArray[np.int64]
) -> list[Seen]:
    if not data.purge or "verdict" not in frame:
        return []
    purged = frame["verdict"].isin(list(data.purge)).to_numpy(dtype=bool)
    used = np.flatnonzero(purged & rows.unset)
    if not used.size:
        return []
    text = (
        f"Used like product: {counted(used.size, 'purged part')}; set_aside_verdict in study.toml "
        "sets such parts aside"
    )
    return [Seen("purged parts in use", "", int(used.size), int(lines[used[0]]), text)]


def _frozen(column: _Column) -> list[Seen]:
    values = column.values
    starts = np.flatnonzero(np.concatenate(([True], values[1:] != values[:-1])))
    lengths = np.diff(np.append(starts, values.size))
    longest = lengths.max()
    if longest < 8 or longest == values.size:
        return []
    long = lengths >= 8
    starts, lengths = starts[long], lengths[long]
    share = column.counts[np.searchsorted(column.unique, values[starts])] / values.size
    # The frozen stretch itself must not excuse itself by the share it adds.
    share = np.maximum((share * values.size - lengths) / values.size, 1.0 / values.size)
    chance = np.log(values.size) + lengths * np.log(share)
    hits = np.flatnonzero(chance < np.log(1e-6))
    if not hits.size:
        return []
    worst = hits[np.argmax(lengths[hits])]
    text = (
        f"{counted(hits.size, 'stretch')} of equal values, the longest {lengths[worst]} times "
        f"{values[starts[worst]]:g}: a frozen reading, unless neighbours really are that alike"
    )
    place = int(column.lines[starts[hits[0]]])
    return [Seen("frozen values", column.name, int(hits.size), place, text)]


def _ends(column: _Column) -> list[Seen]:
    unique, counts = column.unique, column.counts
    if unique.size < 5:
        return []
    seen = []
    ends = ((0, slice(1, 4), "smallest"), (-1, slice(-4, -1), "largest"))
    for end, inner, word in ends:
        natural = word == "smallest" and column.characteristic.bound == unique[end]
        near = float(counts[inner].mean())
        if counts[end] >= 10 and counts[end] >= 3 * near and not natural:
            text = (
                f"The {word} value {unique[end]:g} occurs {counts[end]} times, the three "
                f"values next to it {near:.3g} times each: an end of the gauge's range"
            )
            first = int(column.lines[np.flatnonzero(column.values == unique[end])[0]])
            seen.append(Seen("values at a range end", column.name, int(counts[end]), first, text))
    return seen


def _far_off(column: _Column) -> list[Seen]:
    """Notice values far from all others: wrong units, and impossible values left in."""
    values, lines, ordered = column.values, column.lines, column.ordered
    low, middle, high = column.quantile(0.01), column.quantile(0.5), column.quantile(0.99)
    width = high - low
    if width <= 0 or max(ordered[-1] - middle, middle - ordered[0]) <= 10 * width:
        return []
    plausible = column.characteristic.plausible
    far = np.flatnonzero(np.abs(values - middle) > 10 * width)
    seen = []
    slips = np.zeros(far.size, dtype=bool)
    for factor in _FACTORS:
        back = values[far] * factor
        hit = (back >= low - width) & (back <= high + width) & ~slips
        slips |= hit
        if hit.any():
            text = (
                f"A slip of the unit: {counted(hit.sum(), 'value')} such as {values[far][hit][0]:g}, "
                f"among the others only when multiplied by {factor:.4g}"
            )
            place = int(lines[far[hit][0]])
            seen.append(Seen("unit slip", column.name, int(hit.sum()), place, text))
    rest = far[~slips]
    if plausible is not None:
        rest = rest[(values[rest] >= plausible[0]) & (values[rest] <= plausible[1])]
    if rest.size:
        text = (
            f"{counted(rest.size, 'value')} such as {values[rest[0]]:g}, more than ten times the width of "
            f"the middle 98 % from the median {middle:g}; plausible in study.toml sets such values aside"
        )
        place = int(lines[rest[0]])
        seen.append(Seen("far from all others", column.name, int(rest.size), place, text))
    return seen


def _unit_of_column(column: _Column) -> list[Seen]:
    nominal = column.characteristic.nominal
    middle = column.quantile(0.5)
    if not nominal or not middle or nominal / middle <= 0:
        return []
    ratio = nominal / middle
    for factor in _FACTORS:
        if abs(np.log(ratio / factor)) < 0.05:
            text = (
                f"The median {middle:g} is {1 / factor:.4g} times the nominal {nominal:g}: the file "
                f"may hold {_LIKELY_UNITS[factor]}; declare unit in its [[data]] table"
            )
            return [Seen("unit suspected", column.name, int(column.values.size), 0, text)]
    return []


def _change(column: _Column) -> list[Seen]:
    """Notice a place from which the scale or the resolution differs."""
    n = column.values.size
    blocks = np.array_split(column.values, min(50, n // 10))
    if len(blocks) < 2:
        return []
    starts = np.cumsum([0, *(block.size for block in blocks[:-1])])
    scale = _scale_change(column, blocks)
    if scale is not None:
        split, ratio = scale
        text = (
            f"From about here on values are {ratio:.4g} times what they were before: the "
            "scale of the column changes"
        )
        return [Seen("change of scale", column.name, n, int(column.lines[starts[split]]), text)]
    places = _decimals(column, starts)
    change = np.flatnonzero(np.diff(places))
    if change.size != 1:
        return []
    split = int(change[0]) + 1
    text = f"Values have {places[0]} decimals up to about here and {places[-1]} after"
    return [Seen("change of resolution", column.name, n, int(column.lines[starts[split]]), text)]


def _scale_change(column: _Column, blocks: list[NDArray[np.float64]]) -> tuple[int, float] | None:
    """Find the first block of another scale, and the factor; None where the scale stays."""
    least = column.ordered[0]
    if least > 0 and column.ordered[-1] < min(_SCALES) / 2 * least:
        return None
    medians = np.array([np.median(np.sort(block)) for block in blocks])
    if not (medians > 0).all():
        return None
    split = 1 + int(np.argmax(np.abs(np.diff(np.log(medians)))))
    ratio = float(np.median(medians[split:]) / np.median(medians[:split]))
    near = (abs(abs(np.log(ratio)) - np.log(scale)) < 0.1 for scale in _SCALES)
    return (split, ratio) if any(near) else None


def _decimals(column: _Column, starts: NDArray[np.int64]) -> NDArray[np.int64]:
    """Find the fewest decimals that represent every value of each block beginning at `starts`."""
    fewest = np.full(starts.size, 7)
    few = starts[:, None] + np.arange(10)
    for places in range(6, -1, -1):
        # What holds all values of the column holds those of every block.
        if not _rough(column.unique, places).any():
            fewest[:] = places
            continue
        # Mostly the first few of every block already need more.
        if _rough(column.values[few], places).any(axis=1).all():
            break
        rough = np.add.reduceat(_rough(column.values, places), starts) > 0
        fewest[~rough] = places
        # More decimals than these are needed everywhere, so fewer are not enough either.
        if rough.all():
            break
    return fewest


def _rough(values: NDArray[np.float64], places: int) -> NDArray[np.bool_]:
    """Find values that need more decimals than these."""
    scaled = values * 10.0**places
    found: NDArray[np.bool_] = np.abs(scaled - np.rint(scaled)) > 1e-9 * np.maximum(
        np.abs(scaled), 10.0**places
    )
    return found
