"""What each day, coil and stream of a line log made: parts, mean, SD and Ppk, out of the sums of quarter hours."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.linelog.summary import LogSummary
    from linestudy.study.model import Characteristic

_NAMES = {"file": "day", "coil": "coil", "station": "stream"}


def made_by_group(summary: LogSummary, characteristic: Characteristic) -> pd.DataFrame:
    """Count, mean, SD and Ppk of each daily file, coil and stream.

    Parameters
    ----------
    summary : LogSummary
        Of a log.
    characteristic : Characteristic
        With its limits.

    Returns
    -------
    pandas.DataFrame
        Columns ``day``, ``coil`` and ``stream`` as far as known, ``n``, ``mean`` and ``SD`` (unit of the characteristic), and ``Ppk`` by
        mean and SD, missing where there is no limit or no spread; in order of production.

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
    found = sums[keys].rename(columns=_NAMES)
    found["day"] = found["day"] + 1
    return found.assign(
        n=n.astype(int), mean=mean, SD=sd, Ppk=np.where(np.isfinite(index), index, np.nan)
    )


#: Most rows of a table for a terminal.
_MOST = 40


def shown_by_group(summary: LogSummary, characteristic: Characteristic) -> pd.DataFrame:
    """The same for a terminal: numbers as text, the last days of a long log."""
    found = made_by_group(summary, characteristic).tail(_MOST).astype({"n": object})
    found["n"] = [f"{n:,}" for n in found["n"]]
    for name in ("mean", "SD"):
        found[name] = [f"{value:.5g}" for value in found[name]]
    found["Ppk"] = ["" if np.isnan(value) else f"{value:.2f}" for value in found["Ppk"]]
    return found
