"""What each day, coil and stream of a line log made: parts, mean, SD, Ppk, points out of control and yield, from sums."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.linelog.frozen import FrozenLimits, beyond

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.linelog.summary import LogSummary
    from linestudy.study.model import Characteristic

_NAMES = {"file": "day", "coil": "coil", "station": "stream"}


def made_by_group(
    summary: LogSummary,
    characteristic: Characteristic,
    *,
    limits: Mapping[str, FrozenLimits] | None = None,
    words: Mapping[str, bool] | None = None,
) -> pd.DataFrame:
    """Count, mean, SD, Ppk, points out of control and yield of each daily file, coil and stream.

    Parameters
    ----------
    summary : LogSummary
        Of a log.
    characteristic : Characteristic
        With its limits.
    limits : mapping of str to FrozenLimits, optional
        Control limits frozen from the study, by stream ("" of all).
    words : mapping of str to bool, optional
        Verdicts of the log: whether they accept.

    Returns
    -------
    pandas.DataFrame
        Columns ``day``, ``coil`` and ``stream`` as far as known, ``n``, ``mean`` and ``SD`` (unit of the characteristic), ``Ppk`` by
        mean and SD, missing where there is no limit or no spread, ``points`` and ``out`` (subgroups, and those beyond the frozen
        limits; missing where subgroups mix streams) and ``yield`` as far as limits and verdicts are known; in order of
        production.

    See Also
    --------
    evaluate_log : Charts and tests of the whole log.

    Notes
    -----
    Ppk here is that of a normal distribution and has no interval: it compares days, coils and streams of one
    characteristic with each other. Misleads as the index of a process.

    Examples
    --------
    See ``linestudy log FOLDER --study STUDY --evidence FILE``, which prints it.
    """
    table = summary.quarter_hour_sums(characteristic.id)
    keys = [name for name in _NAMES if name in table]
    sums = table.groupby(keys, sort=False, dropna=False)[["n", "y", "yy"]].sum().reset_index()
    sums = sums[sums["n"] > 0].reset_index(drop=True)
    n = sums["n"].to_numpy(dtype=float)
    away = sums["y"].to_numpy(dtype=float) / n
    mean = table.attrs["offset"] + away
    squares = sums["yy"].to_numpy(dtype=float) - n * away**2
    sd = np.sqrt(np.maximum(squares, 0.0) / np.maximum(n - 1, 1))
    with np.errstate(divide="ignore", invalid="ignore"):
        sides = []
        if characteristic.upper is not None:
            sides.append((characteristic.upper - mean) / (3 * sd))
        if characteristic.lower is not None:
            sides.append((mean - characteristic.lower) / (3 * sd))
        index = np.min(sides, axis=0) if sides else np.full(n.size, np.nan)
    found = sums[keys].assign(
        n=n.astype(int), mean=mean, SD=sd, Ppk=np.where(np.isfinite(index), index, np.nan)
    )
    for more in (_points(summary, characteristic, limits), _yields(summary, words)):
        if more is not None and set(more.index.names) <= set(keys):
            whole = list(more.index.names) == keys
            found = found.join(more, on=list(more.index.names)) if whole else found
    found = found.rename(columns=_NAMES)
    found["day"] = found["day"] + 1
    return found


def _points(
    summary: LogSummary, characteristic: Characteristic, limits: Mapping[str, FrozenLimits] | None
) -> pd.DataFrame | None:
    """Subgroups, and those beyond frozen limits, by file, coil and stream as far as subgroups know them."""
    if not limits:
        return None
    table = summary.subgroups(characteristic.id)
    table["out"] = beyond(table, limits)
    keys = [name for name in _NAMES if name in table]
    return table.groupby(keys, dropna=False)["out"].agg(points="size", out="sum")


def _yields(summary: LogSummary, words: Mapping[str, bool] | None) -> pd.DataFrame | None:
    """Share of accepted parts among those with a verdict, by file, coil and stream."""
    import pandas as pd

    rows: list[dict[str, Any]] = [
        {**row, "file": number}
        for number, part in enumerate(summary.parts)
        for row in part.short["counts"]
    ]
    if not words or not rows or "verdict" not in rows[0]:
        return None
    table = pd.DataFrame(rows)
    table["good"] = table["verdict"].map(words)
    table = table[table["good"].notna()]
    table["accepted"] = table["rows"] * table["good"].astype(float)
    keys = [name for name in _NAMES if name in table]
    sums = table.groupby(keys, dropna=False)[["accepted", "rows"]].sum()
    return (sums["accepted"] / sums["rows"]).to_frame("yield")


#: Most rows of a table for a terminal.
_MOST = 40


def shown_by_group(found: pd.DataFrame) -> pd.DataFrame:
    """The table of :func:`made_by_group` for a terminal: numbers as text, the last days of a long log."""
    found = found.tail(_MOST).astype({"n": object})
    found["n"] = [f"{n:,}" for n in found["n"]]
    for name in ("mean", "SD"):
        found[name] = [f"{value:.5g}" for value in found[name]]
    for name, form in (("Ppk", ".2f"), ("points", ",.0f"), ("out", ",.0f"), ("yield", ".2%")):
        if name in found:
            found[name] = ["" if np.isnan(value) else f"{value:{form}}" for value in found[name]]
    return found
