"""Find the tool life of a run: its wear, its regrinds, named or found, and the gauge's own drift."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.capability.wear.bent import bend_of
from linestudy.capability.wear.study import PLANNED, tool_life
from linestudy.capability.wear.tool_life_finding import (
    STREAM_TOOL_LIFE,
    TOOL_LIFE,
    ToolLifeStudy,
)
from linestudy.capability.wear.trend import sawtooth
from linestudy.results import CannotJudge, Findings, Interval
from linestudy.results.rounding import show_in
from linestudy.results.tables import over_strokes
from linestudy.stability.movement.block_means import without_stations
from linestudy.stability.movement.coil_levels import coils_of
from linestudy.stability.said_of_run import events_of, names_streams, resets_of

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.numerics.arrays import FloatArray
    from linestudy.records import Records
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic

#: Fewest parts of a run that is looked at, blocks it is cut into, and most regrinds that are sought.
_LEAST, _BLOCKS, _MOST = 400, 80, 8
#: Said where not every part names its coil; measured over simulated runs with coils of up to half a standard deviation.
_NO_COILS = (
    "Not every part names its coil, so what coils differ by is in the interval of the wear, and of the strokes until the limit, in "
    "part only: where coils differ by half a standard deviation it holds in 63 to 93 % of runs instead of 95 %. Name the coils "
    "before resets are planned by it."
)
#: Share of the wear before it that a step must take back to be a regrind, and by as much less than twice.
_TAKEN_BACK = 0.4
#: Share of the run within which a reset that was found is one that is named: two of the blocks it is found in.
_NEAR = 2 / _BLOCKS


def of_tool_life(
    records: Records,
    item: Characteristic,
    table: pd.DataFrame,
    findings: Findings,
    new: Findings,
    streams: Mapping[str, pd.DataFrame] | None = None,
) -> None:
    """Find the tool life where the run wears; stream by stream where regrinds are named for some of them.

    Parameters
    ----------
    records : Records
        Its study, with the strokes of events.
    item : Characteristic
    table : pandas.DataFrame
        Parts without the periods set aside.
    findings : Findings
        Of stability and gauges.
    new : Findings
        Where it is kept.
    streams : mapping of str to pandas.DataFrame, optional
        Parts of each stream.
    """
    if "order" not in table or len(table) < _LEAST:
        return
    compute = partial(_life, records, item, findings)
    if streams and names_streams(records.study, item):
        of_each = {
            name: and_found(part, resets_of(records.study, item, name))
            for name, part in streams.items()
        }
        _of_each(item, of_each, streams, compute, new, "Regrinds are named by stream")
        return
    worn: Any = findings.get(item.id, "stability", "tool_wear")
    named = resets_of(records.study, item)
    resets, unnamed = and_found(table, named)
    if streams and wear_differently(streams, resets):
        alike = dict.fromkeys(streams, (resets, unnamed))
        _of_each(item, alike, streams, compute, new, "The streams wear differently")
        return
    # One lane's sawtooth is hardly seen among the others.
    own = {} if resets or not streams else _found_in_streams(streams)
    if streams and any(own.values()):
        of_each = {name: (marks, len(marks)) for name, marks in own.items()}
        why = "Resets were found in the values of single streams"
        _of_each(item, of_each, streams, compute, new, why)
        return
    # A sawtooth that nobody named has no slope from end to end.
    if not unnamed and not getattr(worn, "slope_p", 1.0) < PLANNED and not _bend(table, named):
        return
    new.evaluate(item.id, TOOL_LIFE, partial(compute, table, resets, unnamed))


def and_found(table: pd.DataFrame, named: tuple[float, ...]) -> tuple[tuple[float, ...], int]:
    """Find resets in the values that nobody named, beside those that are.

    Parameters
    ----------
    table : pandas.DataFrame
        Parts, with ``value``, ``order`` and, if known, ``station``.
    named : tuple of float
        Strokes of named resets.

    Returns
    -------
    resets : tuple of float
        All of them, in order.
    found : int
        How many nobody named; one that was found within a fortieth of the run of a named one is that one.
    """
    y = without_stations(table["value"].to_numpy(dtype=float), table.get("station"))
    order = table["order"].to_numpy(dtype=float)
    if order.size < _LEAST:
        return named, 0
    near = _NEAR * float(np.ptp(order))
    found = [at for at in found_resets(y, order) if all(abs(at - mark) > near for mark in named)]
    return tuple(sorted([*named, *found])), len(found)


def _life(
    records: Records,
    item: Characteristic,
    findings: Findings,
    table: pd.DataFrame,
    resets: tuple[float, ...],
    unnamed: int = 0,
    own: bool = False,
) -> ToolLifeStudy:
    """Judge the life of the whole tool, or of one stream by its own regrinds and its own slope."""
    study = records.study
    worn: Any = findings.get(item.id, "stability", "tool_wear")
    taking = records.subgroups(item.id)
    station = table["station"] if "station" in table and table["station"].nunique() > 1 else None
    between = getattr(worn, "slope_per_thousand", None)
    events = {at for at, _ in events_of(study, item)} - set(resets)
    bent = _bend(table, resets, item.unit or "")
    try:
        found = tool_life(
            table["value"],
            table["order"],
            item.lower,
            item.upper,
            resets=resets,
            unnamed=unnamed,
            station=station,
            batch=coils_of(table),
            subgroup_size=5 if taking is None else taking.size,
            drift=_drift(records, findings, item),
            over=getattr(worn, "over", None),
            confidence=study.confidence,
            seed=study.seed,
            unit=item.unit or "",
        )
    except CannotJudge as why:
        if bent:
            raise CannotJudge(bent) from why
        if events and not own and isinstance(between, Interval) and 0 not in between:
            slope, over = over_strokes(between, over=worn.over)
            raise CannotJudge(
                f"Between the named events the tool wears by {show_in(slope, item.unit or '')} {over}, and over the "
                "run it does not: something takes the wear back, and no event is said to set the tool anew."
            ) from why
        raise
    if bent:
        found = replace(found, cautions=(bent, *found.cautions))
    if unnamed:
        found = replace(found, cautions=(*found.cautions, *_at_events(study, item, table, resets)))
    if "coil" not in table or table["coil"].isin(["", None]).any():
        found = replace(found, cautions=(*found.cautions, _NO_COILS))
    known = {at for at, _ in events_of(study, item)} == set(resets)
    if own or known or not isinstance(between, Interval):
        return found
    slope, over = over_strokes(between, over=worn.over)
    note = (
        f"Over the run as it went, with a level of its own between all named events, the slope is {show_in(slope, found.unit)} "
        f"{over} (tool wear, under stability); that of the tool life counts resets alone as a new beginning and "
        "coils as chance, and is the one to plan resets by."
    )
    return replace(found, cautions=(*found.cautions, note))


def _at_events(
    study: Study, item: Characteristic, table: pd.DataFrame, resets: Sequence[float]
) -> list[str]:
    """Say which events that are not said to set the tool anew lie where a reset was found."""
    named = set(resets_of(study, item))
    near = _NEAR * float(np.ptp(table["order"].to_numpy(dtype=float)))
    at = [
        (place, name)
        for place, name in events_of(study, item)
        if place not in named and any(abs(place - mark) <= near for mark in set(resets) - named)
    ]
    if not at:
        return []
    names = ", ".join(dict.fromkeys(name for _, name in at))
    return [
        f"Of these {len(at)} {'lies' if len(at) == 1 else 'lie'} at an event that is not said to set the tool anew ({names})."
    ]


def _bend(table: pd.DataFrame, resets: Sequence[float], unit: str = "") -> str:
    """Say that wear is not straight; empty where it is not seen to be bent."""
    y = without_stations(table["value"].to_numpy(dtype=float), table.get("station"))
    bend = bend_of(y, table["order"].to_numpy(dtype=float), resets)
    if bend is None:
        return ""
    return (
        f"Wear is not straight: the mean moves by {show_in(bend.first, unit, abs(bend.second - bend.first) / 50)} in the first half "
        f"of a tool's life and by {show_in(bend.second, unit, abs(bend.second - bend.first) / 50)} in the second (mean of "
        f"{bend.lives} lives), so a straight line does not say when the limit is reached."
    )


def _of_each(
    item: Characteristic,
    resets: Mapping[str, tuple[tuple[float, ...], int]],
    streams: Mapping[str, pd.DataFrame],
    compute: Any,
    new: Findings,
    why: str,
) -> None:
    """Find the life of every stream between its own regrinds, and of how many nobody said; the worst stream's is the tool's."""
    lives: dict[str, ToolLifeStudy] = {}
    for name, part in streams.items():
        own = partial(compute, part, *resets[name], own=True)
        one = new.evaluate(item.id, STREAM_TOOL_LIFE, own, stream=name)
        if isinstance(one, ToolLifeStudy):
            lives[name] = one
    if lives:
        worst = min(lives, key=lambda name: lives[name].Ppk_whole.estimate)
        of = "the only stream" if len(lives) == 1 else f"the worst of {len(lives)} streams"
        note = f"{why}; this is the life of {worst}, {of} that {'wears' if len(lives) == 1 else 'wear'}."
        life = replace(lives[worst], cautions=(note, *lives[worst].cautions))
        new.evaluate(item.id, TOOL_LIFE, lambda: life)


def _found_in_streams(streams: Mapping[str, pd.DataFrame]) -> dict[str, tuple[float, ...]]:
    """Find resets in each stream's values; of three or more, less the mean of all in the same stroke."""
    import pandas as pd

    stroke = pd.concat(streams.values()).groupby("order")["value"].mean()
    found = {}
    for name, part in streams.items():
        values, order = (part[key].to_numpy(dtype=float) for key in ("value", "order"))
        if len(streams) > 2:
            # Coils move all streams; of two nothing would tell which of them wears.
            values = values - stroke.loc[order].to_numpy()
        found[name] = found_resets(values, order) if len(part) >= _LEAST else ()
    return found


def wear_differently(streams: Mapping[str, pd.DataFrame], resets: Sequence[float]) -> bool:
    """Tell whether streams wear by different amounts, so that one slope of them all is that of none.

    Parameters
    ----------
    streams : mapping of str to pandas.DataFrame
        Parts of each stream, ``value`` and ``order``.
    resets : sequence of float
        Strokes at which the tool was ground.

    Returns
    -------
    bool
        Whether the steepest slope and the flattest differ (Welch's t, p below 0.001 shared among the pairs), and by more
        than a fifth of the steeper one.
    """
    from scipy.special import stdtrit

    slopes = []
    for part in streams.values():
        if len(part) < _LEAST // 2:
            continue
        y, x = (part[name].to_numpy(dtype=float) for name in ("value", "order"))
        try:
            one = sawtooth(y, x, resets, None, coils_of(part))
        except CannotJudge:
            continue
        slopes.append((one.slope, one.slope_error, one.df))
    if len(slopes) < 2:
        return False
    slopes.sort()
    (low, low_error, low_df), (high, high_error, high_df) = slopes[0], slopes[-1]
    error = np.hypot(low_error, high_error)
    pairs = len(slopes) * (len(slopes) - 1) / 2
    far = stdtrit(min(low_df, high_df), 1 - 0.0005 / pairs) * error
    return bool(high - low > max(far, 0.2 * max(abs(low), abs(high))))


def found_resets(values: FloatArray, order: FloatArray) -> tuple[float, ...]:
    """Find the strokes at which wear was taken back, where nobody named them.

    Parameters
    ----------
    values, order : numpy.ndarray of float, shape (n,)
        In production order, streams brought to one level.

    Returns
    -------
    tuple of float
        Empty where no slope runs between steps that all go against it.

    Notes
    -----
    Model: one slope, a level for each life. Lives are added one by one where they lower the sum of squares of
    block means most, as long as Schwarz's criterion falls by three times its usual margin; what is found
    counts only where every step takes back a good part of the wear before it, and levels alone, at half that
    margin, do not describe the run as well: coils that nobody named make steps both ways. Of 1,500 runs of one stream that do not
    wear, with such coils in two of three, 16 had resets found.
    """
    blocks = np.array_split(np.arange(values.size), _BLOCKS)
    y = np.array([values[rows].mean() for rows in blocks])
    x = np.array([order[rows].mean() for rows in blocks])
    cuts: list[int] = []
    best = tried = _squares(x, y, cuts)
    score = lowest = _BLOCKS * np.log(max(tried[0], 1e-300))
    chosen: list[int] = []
    # One more reset may gain nothing while two gain much, so the way goes on to the end.
    for number in range(1, _MOST + 1):
        options = {
            k: _squares(x, y, sorted([*cuts, k]))
            for k in range(4, _BLOCKS - 3)
            if all(abs(k - cut) > 3 for cut in cuts)
        }
        if not options:
            break
        k = min(options, key=lambda cut: options[cut][0])
        cuts, tried = sorted([*cuts, k]), options[k]
        score = _BLOCKS * np.log(max(tried[0], 1e-300)) + 3 * 2 * number * np.log(_BLOCKS)
        if score < lowest:
            chosen, best, lowest = cuts, tried, score
    cuts = chosen
    if not cuts or lowest >= _of_levels(y):
        return ()
    _, slope, levels = best
    edges = [0, *cuts]
    for i in range(1, len(edges)):
        gone = slope * (x[edges[i]] - x[edges[i - 1]])
        step = levels[i] - levels[i - 1] - gone
        if step * slope >= 0 or not _TAKEN_BACK <= abs(step / gone) <= 2 - _TAKEN_BACK:
            return ()
    return tuple(float(order[blocks[k][0]]) for k in cuts)


def _of_levels(y: FloatArray) -> float:
    """Compute the lowest criterion of levels without slope, at half the margin and up to twice as many steps."""
    total, square = (np.concatenate([[0.0], np.cumsum(part)]) for part in (y, y**2))

    def squares(begin: Any, end: Any) -> Any:
        return square[end] - square[begin] - (total[end] - total[begin]) ** 2 / (end - begin)

    edges, scores = [0, y.size], []
    for steps in range(2 * _MOST + 1):
        pieces = list(itertools.pairwise(edges))
        rest = max(float(sum(squares(*piece) for piece in pieces)), 1e-300)
        scores.append(y.size * np.log(rest) + 3 * steps * np.log(y.size))
        gains = [
            (float(squares(begin, end) - squares(begin, at) - squares(at, end)), at)
            for begin, end in pieces
            for at in range(begin + 2, end - 1)
        ]
        if not gains:
            break
        edges = sorted([*edges, max(gains)[1]])
    return float(min(scores))


def _squares(x: FloatArray, y: FloatArray, cuts: list[int]) -> tuple[float, float, FloatArray]:
    """Compute the sum of squares about one slope with a level for each life, that slope, and the levels at each life's begin."""
    life = np.searchsorted(cuts, np.arange(x.size), side="right")
    design = np.zeros((x.size, len(cuts) + 2))
    design[np.arange(x.size), life] = 1.0
    begins = x[[0, *cuts]]
    design[:, -1] = x - begins[life]
    found, *_ = np.linalg.lstsq(design, y, rcond=None)
    rest = y - design @ found
    return float(rest @ rest), float(found[-1]), np.asarray(found[:-1], dtype=float)


def _drift(records: Records, findings: Findings, item: Characteristic) -> Interval | None:
    """Return the drift of the gauge that read the run, on its master."""
    for gauge in records.gauges("run", item.id)[:1]:
        found: Any = findings.get(item.id, "gauges", gauge, "drift")
        slope = getattr(found, "slope_per_thousand", None)
        return slope if isinstance(slope, Interval) else None
    return None
