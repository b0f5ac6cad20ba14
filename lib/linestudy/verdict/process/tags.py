"""What is known of each value beside the value itself."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import ArrayLike


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
        Order numbers at which wear starts anew (named regrinds).
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
    events: tuple[tuple[float, str], ...] = ()

    def orders(self, n: int) -> Any:
        """Order numbers of `n` values."""
        if self.order is None:
            return np.arange(1.0, n + 1)
        return np.asarray(self.order, dtype=float)


def hours_and_days(clock: Any) -> tuple[float | None, int | None]:
    """Hours between the first and the last time of a clock, and days of the calendar that it names; None without one."""
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
    """Whole numbers from 0 for labels; -1 where one is missing."""
    import pandas as pd

    return np.asarray(pd.factorize(pd.array(labels))[0])


def subgroups_of(tags: Tags, n: int) -> Any:
    """Subgroup of each value, -1 where it belongs to none; neighbours by fives where none are named."""
    if tags.subgroup is not None:
        codes = coded(tags.subgroup)
        if (codes >= 0).any():
            return codes
    codes = np.arange(n) // NEIGHBOURS
    codes[codes == n // NEIGHBOURS] = -1
    return codes
