"""Streams that nobody named: parts that take turns and differ, by a column that study.toml leaves out or by their place in the stroke.

Of a lane in eight that spreads more than the others all parts together show an eighth: their index looks better than that
lane's own. Where labels take turns from part to part, time moves all of them alike, so a difference between them is one
between streams. It is reported where it is beyond doubt (Kruskal and Wallis for the level, Fligner and Killeen for the spread,
shared among all that were tried) and where the stream with the smallest margin to a limit has clearly less than all together.
Correlated neighbours make such tests reject too often where a turn takes long, so a stream is to differ in stretch after stretch
of the run as well (Student's t over up to twenty). Misleads where the labels follow from the reading itself (classes of
size): labels that lie beside each other on the scale are left alone, and so would be streams that overlap nowhere, which
show in the index of all parts.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.records.across.beside import BESIDE
from linestudy.results import counted

if TYPE_CHECKING:
    from linestudy.records import Records
    from linestudy.study.model import Characteristic

#: Chance of one false report for a characteristic, and share of the index of all parts below which the worst stream is to be.
_LEVEL, _CLEARLY = 1e-4, 0.9
#: Most parts of a stroke that are tried, fewest parts of a stream, and most parts that are looked at.
_MOST, _LEAST, _LOOKED_AT = 16, 30, 20_000
#: Most stretches of the run in which a stream is to differ, and chance of one false report about all of its labels.
_STRETCHES, _LASTING = 20, 1e-4
#: Share of the parts at which labels must change to be in turns.
_TURNS = 0.25


def streams_not_named(records: Records, key: str) -> str:
    """Find streams of a run that study.toml does not name.

    Parameters
    ----------
    records : Records
    key : str
        Characteristic id.

    Returns
    -------
    str
        What begins after "but" in a sentence; empty where nothing shows.
    """
    item = records.study.characteristic(key)
    for source in records.sources:
        if source.data.role != "run" or key not in source.frame:
            continue
        frame = source.frame[source.frame[key].notna()].iloc[:_LOOKED_AT]
        if item.position is None and len(frame) >= 2 * _LEAST:
            found = _described(frame, key, item)
            if found:
                return found
    return ""


def _described(frame: Any, key: str, item: Characteristic) -> str:
    from scipy.stats import fligner, kruskal

    y = frame[key].to_numpy(dtype=float)
    own = _codes(frame["station"]) if "station" in frame else np.zeros(y.size, dtype=int)
    if np.unique(own).size > _MOST:
        return ""
    flat = _standardised(y, own)
    # Equal values have a deviation in their last digits only, which is none.
    if not np.ptp(y) > 0 or not np.ptp(flat) > 0:
        return ""
    tried = list(_candidates(frame, own))
    all_together = _lowest_index(y, own, item)
    found: list[tuple[float, float, str]] = []
    for said, label in tried:
        groups = [flat[label == k] for k in np.unique(label)]
        if min(map(len, groups)) < _LEAST or _follows(label, y):
            continue
        index = _lowest_index(y, own * (label.max() + 1) + label, item)
        if not index < _CLEARLY * all_together:
            continue
        p = min(float(kruskal(*groups).pvalue), float(fligner(*groups).pvalue))
        if p < _LEVEL / (2 * len(tried)) and _lasts(flat, label):
            found.append((_schwarz(groups), max(index, 0.0), said))
    if not found:
        return ""
    # Half as many turns as there are show a part of it, twice as many no more.
    _, index, said = min(found)
    return (
        f"{said} and no stream is named for it: the worst has an index of about {index:.2f} by itself (normal), which all "
        "together do not show"
    )


def _candidates(frame: Any, own: Any) -> Iterator[tuple[str, Any]]:
    for column in frame.columns:
        if str(column).startswith(BESIDE):
            label = frame[column].to_numpy(dtype=int)
            if (np.diff(label) != 0).sum() >= _TURNS * label.size:
                name = str(column).removeprefix(BESIDE)
                kinds = counted(int(np.unique(label).size), "label")
                yield f'readings differ by the column "{name}" ({kinds})', label
    order = frame["order"].to_numpy(dtype=float)
    several = np.unique(own).size > 1
    # Parts of one stroke whose stream nobody names are side by side in its rows.
    whole = np.all(order == np.round(order)) and (several or np.unique(order).size == order.size)
    place = (order - order[0]).astype(np.int64) if whole else np.arange(order.size)
    what = "strokes" if whole and np.unique(order).size < order.size else "parts"
    for turns in range(2, _MOST + 1):
        yield f"readings differ by their place among every {turns} {what}", place % turns


def _codes(labels: Any) -> Any:
    return np.unique(np.asarray(labels, dtype=str), return_inverse=True)[1]


def _standardised(y: Any, own: Any) -> Any:
    """Standardise values by median and SD of their named stream."""
    out = np.empty(y.size)
    for k in np.unique(own):
        part = y[own == k]
        out[own == k] = (part - np.median(part)) / (part.std() or 1.0)
    return out


def _lowest_index(y: Any, label: Any, item: Characteristic) -> float:
    """Compute the least index towards a limit among streams with enough parts."""
    found = [np.inf]
    for k in np.unique(label):
        part = y[label == k]
        if part.size < _LEAST or not part.std() > 0:
            continue
        sides = [abs(part.mean() - x) for x in (item.lower, item.upper) if x is not None]
        inside = all(
            sign * (part.mean() - x) > 0
            for sign, x in ((1, item.lower), (-1, item.upper))
            if x is not None
        )
        found += [side / (3 * part.std()) if inside else 0.0 for side in sides]
    return float(min(found))


def _schwarz(groups: list[Any]) -> float:
    """Compute Schwarz's criterion of a mean and a standard deviation for each group."""
    n = sum(part.size for part in groups)
    fit = sum(part.size * np.log(max(float(part.var()), 1e-12)) for part in groups)
    return float(fit + 2 * len(groups) * np.log(n))


def _lasts(y: Any, label: Any) -> bool:
    """Check whether one label differs from all others in level or spread in stretch after stretch of the run.

    What moves within a few turns, as neighbours that are alike do, differs here and there; a stream does so throughout.
    """
    from scipy.stats import ttest_1samp

    smallest = int(np.bincount(label)[np.unique(label)].min())
    pieces = np.array_split(np.arange(y.size), min(_STRETCHES, smallest // 5))
    kinds = np.unique(label)
    for k in kinds:
        level, spread = [], []
        for rows in pieces:
            mine, rest = y[rows][label[rows] == k], y[rows][label[rows] != k]
            if min(mine.size, rest.size) < 3:
                continue
            level.append(mine.mean() - rest.mean())
            wide = [abs(part - np.median(part)).mean() for part in (mine, rest)]
            if min(wide) > 0:
                spread.append(np.log(wide[0] / wide[1]))
        for each in (level, spread):
            if len(each) > 4 and 2 * kinds.size * float(ttest_1samp(each, 0.0).pvalue) < _LASTING:
                return True
    return False


def _follows(label: Any, y: Any) -> bool:
    """Check whether labels lie beside each other on the scale of the readings, as classes of size do."""
    place = np.argsort(y, kind="stable")
    return int((np.diff(label[place]) != 0).sum()) <= 2 * np.unique(label).size
