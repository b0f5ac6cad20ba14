"""What is known of each value beside the value itself."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from linestudy.stability.model.named_wear import without_wear


@dataclass(frozen=True)
class Tags:
    """Columns of a run, each as long as the values or absent.

    Attributes
    ----------
    order : numpy.ndarray of float, optional
        Stroke or part number; 1, 2, 3 ... when absent.
    time : numpy.ndarray, optional
        Clock, as text or as it is.
    coil, stream, subgroup : numpy.ndarray, optional
        Coil or batch; station, cavity or feed; subgroup (missing where a value belongs to none).
    lots : tuple of numpy.ndarray
        Lot of each value and what is below it, outermost first; the coils when absent.
    resets : tuple of float
        Order numbers at which wear starts anew (named regrinds) in every stream.
    stream_resets : mapping of str to tuple of float
        The same of each stream, where some are named for streams alone; `resets` then says nothing.
    events : tuple of (float, str)
        Order numbers and names of what happened during the run.
    """

    order: ArrayLike | None = field(default=None, repr=False, compare=False)
    time: ArrayLike | None = field(default=None, repr=False, compare=False)
    coil: ArrayLike | None = field(default=None, repr=False, compare=False)
    stream: ArrayLike | None = field(default=None, repr=False, compare=False)
    subgroup: ArrayLike | None = field(default=None, repr=False, compare=False)
    lots: tuple[ArrayLike, ...] = field(default=(), repr=False, compare=False)
    resets: tuple[float, ...] = ()
    stream_resets: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    events: tuple[tuple[float, str], ...] = ()

    @property
    def timed(self) -> bool:
        """Whether a counter or a clock says in which order the values were made."""
        return self.order is not None or self.time is not None

    def orders(self, n: int) -> Any:
        """Return order numbers of `n` values."""
        if self.order is None:
            return np.arange(1.0, n + 1)
        return np.asarray(self.order, dtype=float)

    @property
    def wears(self) -> bool:
        """Whether wear is named: a reset in some stream."""
        return bool(self.resets) or any(self.stream_resets.values())

    def without_wear(self, y: Any) -> Any:
        """Subtract the slope of wear since the last reset of the value's stream."""
        stream, own = (self.stream, self.stream_resets) if self.stream_resets else (None, None)
        return without_wear(y, self.orders(y.size), self.resets, stream, own)[0]

    def regrinds(self, n: int) -> int | None:
        """Count named resets within a run of `n` values, of the stream with fewest; None where none are named."""
        order = self.orders(n)
        named = [r for r in self.stream_resets.values() if r] or (
            [self.resets] if self.resets else []
        )
        return min((sum(bool(order[0] < at <= order[-1]) for at in r) for r in named), default=None)


def hours_and_days(clock: Any) -> tuple[float | None, int | None]:
    """Count hours between the first and the last time of a clock, and days of the calendar; None without a clock."""
    times = np.asarray(clock)
    if times.dtype.kind != "M":
        return None, None
    times = times[~np.isnat(times)]
    if times.size < 2:
        return None, None
    hours = float((times.max() - times.min()) / np.timedelta64(1, "ms")) / 3.6e6
    return hours, int(np.unique(times.astype("datetime64[D]")).size)


#: Parts that neighbours are taken together in where the study forms no subgroups.
NEIGHBOURS = 5


def coded(labels: Any) -> Any:
    """Number labels from 0; -1 where one is missing or empty: an empty cell names nothing."""
    import pandas as pd

    named = pd.Series(pd.array(labels))
    return np.asarray(pd.factorize(named.mask(named.eq("")))[0])


#: Most streams that are taken as made side by side (a serial number put into the column names no stream).
MOST_STREAMS = 64
#: Stretches into which the parts of a stream fall, on average, below which stream and time cannot be separated.
LEAST_STRETCHES = 3


def subgroups_of(tags: Tags, n: int) -> Any:
    """Number the subgroup of each value, -1 where it belongs to none; neighbours by fives where none are named.

    A subgroup is of neighbours: a name that comes again far away (subgroups counted anew in each shift) is another subgroup,
    and where hardly two of a name are neighbours the names form none. Subgroups of a part of the run alone speak for that
    part, so none are taken from them. Specimens of lots are in no order, and keep theirs.
    """
    if tags.subgroup is not None:
        codes = coded(tags.subgroup)
        if (codes >= 0).any():
            kinds = 1 if tags.stream is None else np.unique(coded(tags.stream)).size
            streams = kinds if kinds <= MOST_STREAMS else 1
            found = codes if tags.lots else _together(codes, streams)
            if found is not None and (tags.lots or _over_all(found)):
                return found
    codes = np.arange(n) // NEIGHBOURS
    codes[codes == n // NEIGHBOURS] = -1
    return codes


def _over_all(codes: Any) -> bool:
    """Check that no stretch without subgroups is longer than a tenth of the run and three times as long as between others."""
    rows = np.flatnonzero(codes >= 0)
    between = np.diff(np.concatenate([[-1], rows, [codes.size]])) - 1
    without = between[between > 0]
    if not without.size:
        return True
    usual = float(np.median(without))
    return bool(without.max() <= max(0.1 * codes.size, 3 * usual if without.size > 2 else 0.0))


def _together(codes: Any, streams: int) -> Any:
    """Split subgroups between whose values far more others lie than with streams side by side; None if hardly any hold."""
    place = np.argsort(codes[codes >= 0], kind="stable")
    rows = np.flatnonzero(codes >= 0)[place]
    label = codes[rows]
    same = label[1:] == label[:-1]
    torn = same & (np.diff(place) > 1 + 2 * streams * np.bincount(label)[label[1:]])
    if not torn.any():
        return codes
    pieces = np.concatenate([[0], np.cumsum(~same | torn)])
    if np.median(np.bincount(pieces)) < 2:
        return None
    found = np.full(codes.size, -1)
    found[rows] = pieces
    found[codes >= 0] = coded(found[codes >= 0])
    return found


def in_stretches(stream: Any) -> bool:
    """Check whether streams were made one after the other, so that level and time cannot be separated."""
    changes = int((np.diff(stream) != 0).sum())
    return changes + 1 < LEAST_STRETCHES * np.unique(stream).size
