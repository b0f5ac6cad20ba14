"""Sources, components and wear of a line log, out of sums over quarter hours.

A cell is what one quarter hour made of one coil at one station between two stops or events: how many parts, and the
sums of their values, of their order numbers and of the products of both. Least squares on coil, station and
a slope, and nested components, need no more: their estimates equal those from the parts. What differs is
where the run is cut for intervals: at quarter hours, not between any two parts. How many parts
there are for one independent part is read off the spread of the quarter hours' means about the line (batch means:
Conway, *Management Science* 10 (1963), 47-61), times what neighbouring quarter hours still share. Misleads
where a movement begins and ends within a quarter of an hour: it then looks like spread.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.numerics.arrays import FloatArray
from linestudy.records.rows.again import turns_of_coils
from linestudy.results import CannotJudge
from linestudy.stability.movement.block_means import Blocks, correlation_time, stretch_of
from linestudy.stability.movement.nested_levels import Sums, VarianceComponentsStudy, levels_of
from linestudy.stability.movement.nested_levels import of_sums as components_of_sums
from linestudy.stability.movement.sources import (
    VarianceSourcesStudy,
    cautions_of,
    dummies_of,
    of_moments,
    strokes_since,
)
from linestudy.stability.movement.streams import compare_streams
from linestudy.stability.movement.streams_finding import StreamStudy
from linestudy.stability.movement.wear_rate import ToolWearStudy, of_blocks

if TYPE_CHECKING:
    import pandas as pd

#: Most stretches a log is cut into for intervals of its sources, as for a run.
STRETCHES = 60


@dataclass(frozen=True)
class QuarterHourSums:
    """Sums over cells, values and order numbers counted from near their means.

    Attributes
    ----------
    n, x, y, xx, xy, yy : numpy.ndarray of float, shape (cells,)
        Parts, and sums of order numbers, values and their products.
    tags : pandas.DataFrame
        ``quarter``, ``first`` (order number) and, if known, ``coil``, ``stop`` and ``station`` of each cell.
    level, origin : float
        What values and order numbers are counted from.
    """

    n: FloatArray
    x: FloatArray
    y: FloatArray
    xx: FloatArray
    xy: FloatArray
    yy: FloatArray
    tags: pd.DataFrame
    level: float
    origin: float

    @property
    def sums(self) -> Sums:
        """Return counts and sums of the values alone."""
        return Sums(self.n, self.y, self.yy)

    def without_stations(self) -> QuarterHourSums:
        """Return sums of values less their station's distance from the grand mean."""
        import pandas as pd

        if "station" not in self.tags:
            return self
        codes, names = pd.factorize(self.tags["station"])
        if len(names) < 2 or (codes < 0).any():
            return self
        grand = float(self.y.sum() / self.n.sum())
        by = (np.bincount(codes, self.y) / np.bincount(codes, self.n) - grand)[codes]
        less = self.sums.less(by)
        return replace(self, y=less.y, xy=self.xy - by * self.x, yy=less.yy)


def quarter_hour_sums_of(table: pd.DataFrame) -> QuarterHourSums:
    """Take sums over quarter hours out of a log's summary.

    Parameters
    ----------
    table : pandas.DataFrame
        As :meth:`linestudy.linelog.LogSummary.quarter_hour_sums` gives it.

    Returns
    -------
    QuarterHourSums
        A coil whose name comes back after fifty parts of others counts as another one there.

    Raises
    ------
    CannotJudge
        Fewer than 100 parts, or values that never differ.
    """
    n, x, y, xx, xy, yy = (
        table[name].to_numpy(dtype=float) for name in ("n", "x", "y", "xx", "xy", "yy")
    )
    if "coil" in table:
        turn = turns_of_coils(table, n)
        if turn.any():
            # One name may be that of several coils: what comes back after others is another one.
            again = [f"{name}, again {k}" for name, k in zip(table["coil"], turn, strict=True)]
            table = table.assign(coil=table["coil"].astype(object).mask(turn > 0, again))
    parts = n.sum()
    if parts < 100:
        raise CannotJudge(f"{parts:,.0f} parts are too few to separate sources of variation.")
    # Counted from near the middle of the log, squares of order numbers lose no digits.
    a, b = round(float(x.sum() / parts)), float(y.sum() / parts)
    centred = QuarterHourSums(
        n,
        x - a * n,
        y - b * n,
        xx - 2 * a * x + a * a * n,
        xy - a * y - b * x + a * b * n,
        yy - 2 * b * y + b * b * n,
        table,
        table.attrs["offset"] + b,
        float(table.attrs["origin"] + a),
    )
    if centred.yy.sum() <= 0:
        raise CannotJudge("The values never differ, so there is no variation to explain.")
    return centred


def components_of_quarter_hours(
    cells: QuarterHourSums, *, confidence: float = 0.95, seed: int | None = None, unit: str = ""
) -> VarianceComponentsStudy:
    """Estimate variance components of coil, stop-to-stop run, quarter hour and within, stations beside them.

    Parameters
    ----------
    cells : QuarterHourSums
        Of the log.
    confidence : float
        Of the intervals.
    seed : int, optional
        Of the pivots.
    unit : str
        Of the values.

    Returns
    -------
    VarianceComponentsStudy
        As from the parts.

    Raises
    ------
    CannotJudge
        No level with two groups.
    """
    table = cells.tags.rename(columns={"quarter": "quarter hour"})
    names, codes = levels_of(table, ("coil", "stop", "quarter hour"), None, cells.n.sum())
    return components_of_sums(
        cells.sums, names, codes, table.get("station"), confidence=confidence, seed=seed, unit=unit
    )


def sources_of_quarter_hours(
    cells: QuarterHourSums,
    *,
    resets: tuple[float, ...] = (),
    confidence: float = 0.95,
    seed: int | None = None,
    unit: str = "",
) -> VarianceSourcesStudy:
    """Compute shares of coil, station, wear and the rest; 400 resamples of up to 60 stretches of the log.

    Parameters
    ----------
    cells : QuarterHourSums
        Of the log.
    resets : tuple of float
        Order numbers at which wear starts anew.
    confidence : float
        Of the intervals.
    seed : int, optional
        Of the resampling.
    unit : str
        Of the values.

    Returns
    -------
    VarianceSourcesStudy
        Estimates as from the parts; intervals from stretches of whole quarter hours.

    Raises
    ------
    CannotJudge
        Fewer than ten quarter hours.
    """
    factors = ("coil", "station")
    _, dummies, blocks_of = dummies_of(cells.tags, factors)
    k = dummies.shape[1]
    blocks_of["wear"] = [k]
    first = cells.tags["first"].to_numpy(dtype=float)
    since = strokes_since(first, first.min(), first.max(), resets)
    # Strokes since the last reset are order numbers less a start that all parts of a cell share.
    start = first - since - cells.origin
    x = cells.x - start * cells.n
    xx = cells.xx - 2 * start * cells.x + start * start * cells.n
    xy = cells.xy - start * cells.y
    quarters, quarter = np.unique(cells.tags["quarter"].to_numpy(), return_inverse=True)
    pieces = min(STRETCHES, quarters.size)
    piece = quarter * pieces // quarters.size
    moments = np.zeros((pieces, k + 2, k + 2))
    for at in range(pieces):
        own = piece == at
        rows = dummies[own]
        moments[at, :k, :k] = rows.T @ (cells.n[own, None] * rows)
        moments[at, k, :k] = moments[at, :k, k] = rows.T @ x[own]
        moments[at, k + 1, :k] = moments[at, :k, k + 1] = rows.T @ cells.y[own]
        moments[at, k, k] = xx[own].sum()
        moments[at, k, k + 1] = moments[at, k + 1, k] = xy[own].sum()
        moments[at, k + 1, k + 1] = cells.yy[own].sum()
    if pieces < 10:
        raise CannotJudge(
            f"{pieces} quarter hours are too few to resample; a run's sources are judged from its parts."
        )
    return of_moments(
        moments,
        blocks_of,
        int(cells.n.sum()),
        confidence=confidence,
        resamples=400,
        seed=seed,
        unit=unit,
        cautions=cautions_of(cells.tags, factors),
    )


def compare_quarter_hours(
    cells: QuarterHourSums, by: str, *, confidence: float = 0.95, unit: str = ""
) -> StreamStudy:
    """Compare stations, or coils, by what each made in every quarter hour.

    Parameters
    ----------
    cells : QuarterHourSums
        Of the log.
    by : str
        ``"station"`` or ``"coil"``.
    confidence : float
        Of the intervals.
    unit : str
        Of the values.

    Returns
    -------
    StreamStudy
        As from the parts; blocks are whole quarter hours.

    Raises
    ------
    CannotJudge
        Too few quarter hours of two streams.
    """
    if by != "station":
        cells = cells.without_stations()
    sums = cells.tags[[by, "quarter"]].assign(n=cells.n, y=cells.y)
    sums = sums.groupby([by, "quarter"], sort=False, as_index=False, observed=True).sum()
    means = cells.level + sums["y"] / sums["n"]
    return compare_streams(means, sums[by], by=by, size=sums["n"], confidence=confidence, unit=unit)


def wear_of_quarter_hours(
    cells: QuarterHourSums,
    *,
    marks: tuple[float, ...] = (),
    lower: float | None = None,
    upper: float | None = None,
    margin: float = 3.0,
    confidence: float = 0.95,
    unit: str = "",
) -> ToolWearStudy:
    """Estimate tool wear over a log, from blocks of whole quarter hours.

    Parameters
    ----------
    cells : QuarterHourSums
        Of the log.
    marks : tuple of float
        Order numbers at which the level may change; cells must not straddle them.
    lower, upper : float, optional
        Tolerance limits.
    margin : float
        Standard deviations of single parts that must stay between mean and limit.
    confidence : float
        Of the intervals.
    unit : str
        Of the values.

    Returns
    -------
    ToolWearStudy
        As from the parts; blocks are whole quarter hours.

    Raises
    ------
    CannotJudge
        A log too short against its serial correlation.
    """
    cells = cells.without_stations()
    first = cells.tags["first"].to_numpy(dtype=float)
    stretch = stretch_of(first, marks)
    parts = float(cells.n.sum())
    n, x, y = (np.bincount(stretch, a) for a in (cells.n, cells.x, cells.y))
    sxx = float(cells.xx.sum() - (x * x / n).sum())
    sxy = float(cells.xy.sum() - (x * y / n).sum())
    syy = float(cells.yy.sum() - (y * y / n).sum())
    slope = sxy / sxx if sxx > 0 else 0.0
    sd = math.sqrt(max(syy - slope * sxy, 0.0) / (parts - 1))
    if sd == 0:
        raise CannotJudge("The values never differ about the line, so no wear can be judged.")
    quarter = _joined(stretch, cells.tags["quarter"].to_numpy())
    size = np.bincount(quarter, cells.n)
    across, up = (np.bincount(quarter, a) / size for a in (cells.x, cells.y))
    of = stretch[np.unique(quarter, return_index=True)[1]]
    rest = (up - (y / n)[of]) - slope * (across - (x / n)[of])
    full = float(np.median(size))
    # Parts per independent part: what the spread of quarter hours says, and what they still share.
    time = correlation_time(rest) * max(float((size * rest**2).sum() / parts) * full / sd**2, 1.0)
    length = max(math.ceil(10 * time / full), math.ceil(parts / 120 / full), 1)
    inside = np.arange(size.size) - np.searchsorted(of, of, side="left")
    block = _joined(of, inside // length)
    held = np.bincount(block, size).astype(float)
    keep = held >= full * length / 2
    if not keep.any():
        raise CannotJudge("The log is too short against its own serial correlation.")
    of_block = of[np.unique(block, return_index=True)[1]]
    blocks = Blocks(
        (cells.origin + np.bincount(block, size * across) / held)[keep],
        (cells.level + np.bincount(block, size * up) / held)[keep],
        held[keep],
        of_block[keep],
        int(length * full),
    )
    # Parts of the last cell are spread evenly from its first on, also where other stations' parts lie between them.
    at = int(np.argmax(first))
    ends = (float(first.min()), float(2 * (cells.origin + cells.x[at] / cells.n[at]) - first[at]))
    return of_blocks(
        blocks, sd, ends, lower=lower, upper=upper, margin=margin, confidence=confidence, unit=unit
    )


def _joined(outer: Any, inner: Any) -> Any:
    """Number each pair of codes, in the order of the outer, then of the inner."""
    inner = np.unique(inner, return_inverse=True)[1]
    return np.unique(outer * (int(inner.max()) + 1) + inner, return_inverse=True)[1]
