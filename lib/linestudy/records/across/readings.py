"""The readings of a file, put together to one row each, and the account of its cells."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from linestudy.records import exclusions
from linestudy.records.across.slots import (
    Column,
    along,
    interleaved,
    labelled,
    numbered_through,
    slots_of,
)
from linestudy.records.ledger import MOST_CELLS, CellSetAside, ValueCount

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.model import Data

#: Reason of a cell in a file with one value per row, seen from the other characteristics.
FOREIGN = "value of another characteristic"


@dataclass
class Reading:
    """The numbers of one column of the file, and why some of them are none."""

    column: Column
    values: NDArray[np.float64]
    no_reading: NDArray[np.bool_]
    odd: NDArray[np.bool_]
    #: Deviations of a position in x and y.
    beside: dict[str, NDArray[np.float64]]
    why: exclusions.Reasons

    @property
    def slot(self) -> tuple[str, ...]:
        """Whose reading it is, across the file."""
        return self.column.slot


def counted_readings(readings: list[Reading], used: NDArray[np.bool_]) -> dict[str, ValueCount]:
    """Count the readings of each characteristic, over all columns that hold them."""
    found: dict[str, ValueCount] = {}
    for reading in readings:
        one = _count(reading.why, used)
        so_far = found.get(reading.column.key)
        found[reading.column.key] = one if so_far is None else so_far + one
    return found


def cells_set_aside(
    text: pd.DataFrame, readings: list[Reading], used: NDArray[np.bool_]
) -> tuple[CellSetAside, ...]:
    """Name the cells set aside in rows that are used, by line and column; the first of them where there are many."""
    found: list[CellSetAside] = []
    lines = text.index
    for reading in readings:
        shown = [name for name in reading.column.place.columns if not name.startswith("␟")]
        at = np.flatnonzero(~reading.why.unset & used)[:MOST_CELLS] if shown else ()
        for row in at:
            reason = reading.why.of(int(row))
            if reason == FOREIGN:
                continue
            entry = " and ".join(_entry(text[name].iloc[row]) for name in shown)
            found.append(CellSetAside(int(lines[row]), reading.column.place.named, entry, reason))
    return tuple(sorted(found, key=lambda cell: cell.line)[:MOST_CELLS])


def _entry(cell: object) -> str:
    """Normalise a cell so that it reads the same from text and from numbers."""
    text = "" if cell is None or cell != cell else str(cell).strip()
    try:
        return f"{float(text):.15g}"
    except ValueError:
        return text[:40]


def put_together(
    data: Data, frame: pd.DataFrame, readings: list[Reading], used: NDArray[np.bool_]
) -> tuple[pd.DataFrame, bool]:
    """Put tags and values side by side, one row for each reading."""
    import pandas as pd

    slots = slots_of(readings)
    renumbered = False
    if "order" in (data.across or ()):
        frame, renumbered = numbered_through(frame, data, 1 + max(along(slots, data)))
    keys = list(dict.fromkeys(reading.column.key for reading in readings))
    pieces = []
    for slot, place in zip(slots, along(slots, data), strict=True):
        held: dict[str, Any] = {}
        here = np.zeros(len(frame), dtype=bool)
        for reading in readings:
            if reading.slot != slot:
                continue
            good = reading.why.unset
            here |= good
            key = reading.column.key
            held[key] = reading.values if good.all() else np.where(good, reading.values, np.nan)
            held |= {f"{key}␟{axis}": values for axis, values in reading.beside.items()}
        held |= {key: np.full(len(frame), np.nan) for key in keys if key not in held}
        # Put beside each other without a copy of them all.
        piece = pd.concat([frame, pd.DataFrame(held, index=frame.index, copy=False)], axis=1)
        if place:
            piece["order"] = piece["order"] + place
        here &= used
        pieces.append((labelled(piece, data, slot), here))
    taken = interleaved([pd.DataFrame({"": here}) for _, here in pieces])[""].to_numpy()
    whole = interleaved([piece for piece, _ in pieces])
    return (whole if taken.all() else whole[taken]), renumbered


def _count(why: exclusions.Reasons, used: NDArray[np.bool_]) -> ValueCount:
    set_aside = why.counted(used)
    # In a long table every row is of one characteristic.
    read = int(used.sum()) - set_aside.pop(FOREIGN, 0)
    return ValueCount(read, read - sum(set_aside.values()), set_aside)
