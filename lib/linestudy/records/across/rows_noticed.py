"""Rows of a run that together say something: rejected parts without a reading, and rows that somebody sorted.

The readings that are left where rejected ones are missing are those of the better parts. Where a line's verdict is on every row, readings that are missing say nothing only if they are missing in accepted and in rejected
parts alike. They are held against each other by Fisher's exact test (one-sided). It misleads nowhere so much as to accuse: parts
that an earlier station rejected, or in which a camera found nothing, are missing for good reasons, which a column of
reasons names.

A sheet that somebody sorted by a reading has its counter in no order, and yet the counter may be that of production: rows in the order
of a reading say nothing against it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from linestudy.records import exclusions
from linestudy.results import counted

if TYPE_CHECKING:
    from collections.abc import Iterable

    import pandas as pd

    from linestudy.records.across.readings import Reading
    from linestudy.study.model import Data

#: What is noticed: rows in the order of a reading, rejected parts without one, without and with reasons for all of them.
SORTED = "rows in the order of a reading"
REJECTED_UNREAD, REJECTED_FOR = "rejected parts without a reading", "rejected for other reasons"
#: Chance of as many in rejected parts by accident, and reasons that are listed.
_BY_CHANCE, _SHOWN = 0.001, 4
#: Rows from which an order by a reading is no accident, and the share of steps that must keep to it.
_FEW, _KEPT = 20, 0.99


def rejected_unread(
    data: Data, frame: pd.DataFrame, readings: list[Reading], rows: exclusions.Reasons
) -> list[tuple[str, str, int, int, str]]:
    """Notice that readings are missing in rejected parts and not in accepted ones.

    Parameters
    ----------
    data : linestudy.study.model.Data
    frame : pandas.DataFrame
        Tags of all rows, ``verdict`` among them.
    readings : list of Reading
        Of all rows.
    rows : linestudy.records.exclusions.Reasons
        Why rows are set aside.

    Returns
    -------
    list of (str, str, int, int, str)
        What, the characteristic, how many readings, no line, and a sentence.
    """
    if data.role != "run" or data.long or "verdict" not in frame or not data.reject:
        return []
    verdict = frame["verdict"].astype(str)
    of_run = rows.unset | rows.are(exclusions.NOTHING_USABLE, exclusions.BEYOND, exclusions.ODD)
    bad = verdict.isin(list(data.reject)).to_numpy(dtype=bool) & of_run
    good = verdict.isin(list(data.accept or ())).to_numpy(dtype=bool) & of_run
    if not bad.any() or not good.any():
        return []
    found = []
    for reading in readings:
        none = ~reading.why.unset
        counts = [int((rows_of & none).sum()) for rows_of in (bad, good)]
        sizes = [int(bad.sum()), int(good.sum())]
        table = np.array([counts, [n - k for n, k in zip(sizes, counts, strict=True)]])
        if not counts[0]:
            continue
        # Heavy, and wanted in few files.
        from scipy.stats import fisher_exact

        if fisher_exact(table, alternative="greater")[1] >= _BY_CHANCE:
            continue
        why = _reasons(frame, bad & none)
        said = (
            f"Of {counted(sizes[0], 'rejected part')} {counts[0]:,} {'has' if counts[0] == 1 else 'have'} no reading, of "
            f"{counted(sizes[1], 'accepted part')} {counts[1]:,}"
        )
        what = REJECTED_FOR if why else REJECTED_UNREAD
        found.append((what, reading.column.key.split("␟")[0], counts[0], 0, f"{said}{why}"))
    return found


def _reasons(frame: pd.DataFrame, where: np.ndarray) -> str:
    """List the reasons that the file gives for these rows; empty where one row has none."""
    if "reason" not in frame:
        return ""
    given = frame["reason"][where].fillna("").astype(str).str.strip()
    if (given == "").any():
        return ""
    counts = given.value_counts()
    listed = ", ".join(f"{reason} {n:,}" for reason, n in list(counts.items())[:_SHOWN])
    return f" (reasons: {listed}{', …' if len(counts) > _SHOWN else ''})"


def sorted_by_reading(frame: pd.DataFrame, keys: Iterable[str]) -> list[tuple[str, int, str]]:
    """Notice that the rows of a file are sorted by a reading, of the whole file or of each stream.

    Parameters
    ----------
    frame : pandas.DataFrame
        Rows that are used, in the file's order.
    keys : iterable of str
        Columns of readings.

    Returns
    -------
    list of (str, int, str)
        What, how many rows, and a sentence; for the first such reading alone.
    """
    stream = frame["station"].astype(str).to_numpy() if "station" in frame else None
    for key in dict.fromkeys(keys):
        y = frame[key].to_numpy(dtype=float)
        known = np.isfinite(y)
        if known.sum() < _FEW or np.unique(y[known]).size < _FEW / 2:
            continue
        steps = np.diff(y[known])
        inside = np.ones(steps.size, dtype=bool)
        if stream is not None:
            inside = stream[known][1:] == stream[known][:-1]
        for word, up in (("ascending", steps >= 0), ("descending", steps <= 0)):
            # Streams in turns are no blocks, and few steps within them no order.
            if up.mean() >= _KEPT or (inside.mean() > 0.5 and up[inside].mean() >= _KEPT):
                said = f"The rows stand in {word} order of {key}, as somebody sorted them"
                return [(SORTED, len(frame), said)]
    return []
