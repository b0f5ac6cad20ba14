"""Wide files: one row of the file becomes as many readings as columns lie across it.

Numbers are made of each column of the file by itself, so that every cell is accounted for by its row and its
column; only then are the readings put under each other, row by row and within a row in the order of the columns.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.results import InputError
from linestudy.study.layout import Place, is_pair, places

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic, Data

#: Labels of the columns side by side that make one reading each of a row.
Slot = tuple[str, ...]


@dataclass(frozen=True)
class Column:
    """One column of a file that holds values, or two where these make one reading.

    Attributes
    ----------
    key : str
        What it is called in the frame: the characteristic's id, ``id␟first`` and ``id␟second`` for two gauges.
    characteristic : linestudy.study.model.Characteristic
    place : linestudy.study.layout.Place
        Its name in the file (two for a position), and whose reading it holds.
    gauge : str or None
        Id of its gauge.
    """

    key: str
    characteristic: Characteristic
    place: Place
    gauge: str | None

    @property
    def slot(self) -> Slot:
        """What it stands for across the file."""
        return self.place.labels


def value_columns(study: Study, data: Data) -> list[Column]:
    """List the columns of a file that hold values.

    Parameters
    ----------
    study : Study
    data : linestudy.study.model.Data

    Returns
    -------
    list of Column
        In the order of study.toml.
    """
    found: list[Column] = []
    positions = {item.id for item in study.characteristics if item.position is not None}
    for name, source in data.columns.items():
        item = study.characteristic(name)
        for place in places(source, is_pair(data, name, positions)):
            if data.gauges is None or isinstance(place.column, str):
                found.append(Column(name, item, place, data.gauge))
                continue
            for side, own, gauge in zip(
                ("first", "second"), place.column, data.gauges, strict=True
            ):
                found.append(Column(f"{name}␟{side}", item, Place(own, place.labels), gauge))
    return found


def slots_of(columns: list[Any]) -> list[Slot]:
    """List the labels that lie across a file, each once; without such labels one empty slot."""
    return list(dict.fromkeys(column.slot for column in columns))


def interleaved(pieces: list[pd.DataFrame]) -> pd.DataFrame:
    """Put pieces of equal length under each other, so that what is in one row of the file stays together.

    Parameters
    ----------
    pieces : list of pandas.DataFrame
        One for each slot, with the same index.

    Returns
    -------
    pandas.DataFrame
    """
    import pandas as pd

    if len(pieces) == 1:
        return pieces[0]
    n = len(pieces[0])
    order = np.arange(len(pieces) * n).reshape(len(pieces), n).T.ravel()
    return pd.concat(pieces).iloc[order]


def labelled(piece: pd.DataFrame, data: Data, slot: Slot) -> pd.DataFrame:
    """Give a piece the tags its slot stands for, beside those of its rows.

    Parameters
    ----------
    piece : pandas.DataFrame
        Tags and values of one slot, one row for each of the file.
    data : linestudy.study.model.Data
        Its ``across`` says what the labels are.
    slot : tuple of str

    Returns
    -------
    pandas.DataFrame
    """
    tags = dict(zip(data.across or (), slot, strict=True))
    # Specimens of one cell of a nested study repeat; they have no name of their own.
    tags.pop("specimen", None)
    tags.pop("order", None)
    if not tags:
        return piece
    piece = piece.assign(**tags)
    if "station" in tags and "␟subgroup" in piece and data.subgroup is None:
        # Parts of one row and one station make a subgroup, never those of two stations.
        piece["␟subgroup"] = piece["␟subgroup"] + f" {tags['station']}"
    for key in ("reference", "reference_uncertainty"):
        known = getattr(data, key)
        if isinstance(known, dict) and "part" in tags:
            if tags["part"] not in known:
                raise InputError(
                    data.file,
                    f'study.toml gives no {key.replace("_", " ")} of "{tags["part"]}"',
                    f"name it in {key} = {{ … }}",
                )
            piece[key] = float(known[tags["part"]])
    return piece


def numbered_through(frame: pd.DataFrame, data: Data, width: int) -> tuple[pd.DataFrame, bool]:
    """Give each reading of a row its own place in the production order, where parts lie across the columns.

    Parameters
    ----------
    frame : pandas.DataFrame
        Rows of the file, with ``order``.
    data : linestudy.study.model.Data
    width : int
        How many parts lie across.

    Returns
    -------
    frame : pandas.DataFrame
        ``order`` is that of the first part of each row, and ``␟subgroup`` the row where study.toml takes no other.
    renumbered : bool
        Whether the numbers of the file count rows, not parts.
    """
    order = frame["order"].to_numpy(dtype=float)
    rank = np.arange(len(order), dtype=float)
    known = np.sort(order[np.isfinite(order)])
    separate = known.size > 1 and bool((np.diff(known) >= width).all())
    counted = data.order is not None and not separate
    if data.order is None or not separate:
        # Rows are numbered 1, 2, 3: subgroups, not parts.
        place = np.full(len(order), np.nan)
        known_rows = np.isfinite(order)
        place[known_rows] = rank[: int(known_rows.sum())][
            np.argsort(np.argsort(order[known_rows], kind="stable"), kind="stable")
        ]
        frame = frame.assign(order=place * width + 1)
    if data.subgroup is None:
        frame = frame.assign(**{"␟subgroup": [str(int(row)) for row in rank]})
    return frame, counted


def along(slots: list[Slot], data: Data) -> Iterator[int]:
    """Yield how many places after the first part of its row each slot comes, in production order."""
    if "order" not in (data.across or ()):
        yield from (0 for _ in slots)
        return
    at = (data.across or ()).index("order")
    known = list(dict.fromkeys(slot[at] for slot in slots))
    yield from (known.index(slot[at]) for slot in slots)
