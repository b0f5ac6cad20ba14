"""What recurs in a run: a coil's name after other coils, an order number in rows that a column distinguishes, one stream's readings as another's."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.records.headers import named_columns
from linestudy.results import counted

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from linestudy.study.model import Data

#: Parts of a stream that make a stretch of one coil: fewer are rows of the next coil that came early, or of a mistake.
_STRETCH = 50
#: Pairs of streams that are compared, and fewest strokes of both.
_PAIRS, _FEWEST = 120, 30
#: Most labels of a column that may distinguish rows of one number, most columns tried in pairs, share of the rows that they
#: are to distinguish, and share of excluded rows from which they are looked for.
_MOST, _PAIRED, _ALL, _MANY = 64, 8, 0.99, 0.01


def coils_again(frame: pd.DataFrame) -> tuple[NDArray[Any] | None, list[tuple[str, int, str]]]:
    """Distinguish coils of one name, such as a number that two suppliers, or two deliveries, use.

    Parameters
    ----------
    frame : pandas.DataFrame
        Rows of a run in production order.

    Returns
    -------
    coil : numpy.ndarray of str or None
        Names, with the number of the stretch behind those that come again; None where none does.
    notices : list of (str, int, str)
        Kind, count and sentence of what is to be said.

    Notes
    -----
    A name that comes back in a stream after fifty parts or more of other coils is taken for another coil. Where a coil that was
    taken off came back indeed, its two stretches count as two coils that happen to be alike.
    """
    import pandas as pd

    if "coil" not in frame:
        return None, []
    codes, names = pd.factorize(frame["coil"])
    if len(names) < 2 or int((np.diff(codes) != 0).sum()) < len(names):
        return None, []
    turn = turns_of_coils(frame)
    again = sorted({str(names[code]) for code in np.unique(codes[turn > 0]) if names[code]})
    if not again:
        return None, []
    labels = frame["coil"].astype(str).to_numpy(dtype=object)
    late = (turn > 0) & (labels != "")
    labels[late] = [f"{name} ({k + 1})" for name, k in zip(labels[late], turn[late], strict=True)]
    shown = ", ".join(again[:8]) + (", …" if len(again) > 8 else "")
    sentence = f"{counted(len(again), 'name')} of coils ({shown}) come again after other coils; each stretch counts as a coil of its own"
    if len(again) == 1:
        sentence = sentence.replace("come again", "comes again")
    return labels, [("coils of one name", len(again), sentence)]


def turns_of_coils(frame: pd.DataFrame, parts: NDArray[Any] | None = None) -> NDArray[np.int64]:
    """Count the stretches of its own coil that came before that of each row.

    Parameters
    ----------
    frame : pandas.DataFrame
        ``coil`` and, if known, ``station``, in production order.
    parts : numpy.ndarray, optional
        Parts that each row represents; one when absent.

    Returns
    -------
    numpy.ndarray of int
        Nought where no coil is named.
    """
    import pandas as pd

    codes = pd.factorize(frame["coil"])[0]
    lanes = pd.factorize(frame["station"])[0] if "station" in frame else np.zeros(codes.size, int)
    parts = np.ones(codes.size) if parts is None else parts
    turn = np.zeros(codes.size, dtype=np.int64)
    for lane in np.unique(lanes):
        rows = np.flatnonzero(lanes == lane)
        turn[rows] = _stretch(codes[rows], parts[rows])
    turn[codes < 0] = 0
    return turn


def _stretch(codes: NDArray[Any], parts: NDArray[Any]) -> NDArray[np.int64]:
    """Number each row's stretch of its own coil within one stream; short stretches do not count."""
    edges = np.flatnonzero(np.diff(codes) != 0) + 1
    starts, ends = np.concatenate([[0], edges]), np.append(edges, codes.size)
    turns = np.zeros(codes.size, dtype=np.int64)
    number: dict[int, int] = {}
    last: int | None = None
    for begin, end in zip(starts, ends, strict=True):
        code = int(codes[begin])
        if parts[begin:end].sum() >= _STRETCH and code != last:
            number[code] = number.get(code, -1) + 1
            last = code
        turns[begin:end] = max(number.get(code, 0), 0)
    return turns


def streams_alike(frame: pd.DataFrame, keys: Sequence[str]) -> list[tuple[str, int, str]]:
    """Tell of two streams that read alike in most strokes, as a camera does that looks at one part twice.

    Parameters
    ----------
    frame : pandas.DataFrame
        Rows of a run, ``order`` and ``station`` among them.
    keys : sequence of str
        Columns of readings.

    Returns
    -------
    list of (str, int, str)
        Kind, count and sentence of the first two that do, of each characteristic.
    """
    if "station" not in frame:
        return []
    notices = []
    for key in keys:
        lanes = {
            str(name): part.drop_duplicates("order").set_index("order")[key].dropna()
            for name, part in frame.groupby("station")
            if name
        }
        for one, two in itertools.islice(itertools.combinations(lanes, 2), _PAIRS):
            first, second = lanes[one].align(lanes[two], join="inner")
            n, same = len(first), int((first.to_numpy() == second.to_numpy()).sum())
            # Readings in coarse steps are equal now and then.
            chance = float((first.value_counts(normalize=True) ** 2).sum()) if same else 0.0
            if n >= _FEWEST and same > 0.5 * n and same > 2 * chance * n:
                sentence = f"Streams {one} and {two} read alike in {same:,} of {n:,} strokes: see whether one part was read twice"
                notices.append(("streams that read alike", same, sentence))
                break
    return notices


def distinguishing_columns(
    data: Data, text: pd.DataFrame, frame: pd.DataFrame, reused: NDArray[np.bool_]
) -> list[tuple[str, int, str]]:
    """Name the columns that distinguish rows of one order number, where many rows are excluded for it.

    Parameters
    ----------
    data : linestudy.study.model.Data
    text : pandas.DataFrame of str
        The file as it came.
    frame : pandas.DataFrame
        ``order`` and, where it is named, ``station`` of each row.
    reused : numpy.ndarray of bool
        Rows left out because their number was there before.

    Returns
    -------
    list of (str, int, str)
        Kind, count and sentence; empty where no column or pair of columns does.
    """
    import pandas as pd

    n = int(reused.sum())
    if n <= _MANY * reused.size:
        return []
    known = {*named_columns(data), data.subgroup} - {data.coil, data.stop}
    kinds = {}
    for name in text.columns:
        if name not in known and not str(name).startswith("␟"):
            codes, labels = pd.factorize(text[name].str.strip())
            if 1 < len(labels) <= _MOST:
                kinds[str(name)] = codes
    tags = [name for name in ("order", "station") if name in frame]
    for number in (1, 2):
        for names in itertools.combinations(list(kinds)[: _PAIRED if number > 1 else None], number):
            key = frame[tags].assign(**{name: kinds[name] for name in names})
            if 1 - float(key.duplicated().mean()) >= _ALL:
                station = (data.station,) if isinstance(data.station, str) else data.station or ()
                listed = " and ".join(f'"{name}"' for name in names)
                written = ", ".join(f'"{name}"' for name in (*station, *names))
                if len(station) + len(names) > 1:
                    written = f"[{written}]"
                tell = f"column {listed} tells" if number == 1 else f"columns {listed} tell"
                sentence = (
                    f"The {tell} the rows of one order number apart: where "
                    f"these are streams of one tool, write station = {written}; where they are jobs, put the column before the "
                    "counter in order; where they are tools, keep a study for each (only)"
                )
                return [("rows of one order number", n, sentence)]
    return []
