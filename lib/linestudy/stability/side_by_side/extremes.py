"""Group chart of a tool with several streams: the largest and the smallest stream mean of each subgroup, with run counts."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from linestudy.numerics.arrays import FloatArray
from linestudy.results import CannotJudge, Finding, arguments, counted, data_arguments
from linestudy.results.declared import Declaration
from linestudy.results.rounding import with_unit
from linestudy.results.tables import Rows, listed, named

if TYPE_CHECKING:
    import pandas as pd

#: Share of false alarms of a point on either side, that of three standard errors, and mean points to a false run.
_SHARE, _RUN_LENGTH = 0.00135, 370.0
#: Fewest points, and most streams (more are no stations).
_LEAST, _MOST = 8, 64


@dataclass(frozen=True, slots=True)
class StreamRun:
    """One stream on the group chart.

    Attributes
    ----------
    name : str
        Of the stream.
    mean : float
        [unit of the values] Of its subgroups.
    largest, smallest : int
        Subgroups in which it had the largest and the smallest mean.
    run_largest, run_smallest : int
        The most of them in a row.
    above, below : int
        Subgroups in which it had the largest mean beyond the upper limit, or the smallest below the lower.
    """

    name: str
    mean: float
    largest: int
    smallest: int
    run_largest: int
    run_smallest: int
    above: int
    below: int


@dataclass(frozen=True)
class GroupChartStudy(Finding):
    """The extremes of all streams, subgroup by subgroup.

    Attributes
    ----------
    streams : tuple of StreamRun
        By name.
    n_subgroups : int
        Points: subgroups in which every stream has parts.
    subgroup_size : float
        Mean parts of a stream in a subgroup.
    centre : float
        [unit of the values] Mean of all streams' means.
    limits : tuple of float
        [unit of the values] Of the smallest and the largest mean. Formula: ``centre ± z * sd_within / sqrt(n)`` with
        ``z = Phi^-1(1 - 0.00135 / k)`` for k streams.
    sd_within : float
        [unit of the values] Standard deviation within the subgroups of the streams.
    signals : int
        Points with the largest or the smallest mean beyond its limit.
    expected_false_signals : float
        How many a process in statistical control with streams alike would give, at most.
    run_limit : int
        As many subgroups in a row with the same stream at one end are a signal.
    run_length : float
        Mean subgroups to such a run where streams are alike. Formula: ``(k^r - 1) / (k - 1)``.
    unit : str
        Of the values.
    """

    streams: tuple[StreamRun, ...]
    n_subgroups: int
    subgroup_size: float
    centre: float
    limits: tuple[float, float]
    sd_within: float
    signals: int
    expected_false_signals: float
    run_limit: int
    run_length: float
    unit: str
    cautions: tuple[str, ...]
    order: FloatArray = field(repr=False, compare=False)
    high: FloatArray = field(repr=False, compare=False)
    low: FloatArray = field(repr=False, compare=False)
    title: ClassVar[str] = "Group chart of all streams"
    picture: ClassVar[str] = "stability:group_chart_extremes"

    @property
    def said_of_extremes(self) -> tuple[str, ...]:
        """What is said of each stream that stays at one end."""
        found = []
        for one in self.streams:
            for run, end in ((one.run_largest, "largest"), (one.run_smallest, "smallest")):
                if run >= self.run_limit:
                    found.append(
                        f"{named('stream', one.name)} has the {end} mean {run:,} times in a row"
                    )
        return tuple(found)

    @property
    def statement(self) -> str:
        text = (
            f"{self.signals:,} of {self.n_subgroups:,} points {'has' if self.signals == 1 else 'have'} a stream mean beyond the limits of the group chart "
            f"({self.expected_false_signals:.1f} false alarms expected). "
        )
        runs = self.said_of_extremes
        if not runs:
            return f"{text}No stream stays at one end (limit: {self.run_limit} in a row)."
        text += f"{'; '.join(runs)}, where {self.run_limit} are a signal: the streams do not have one level."
        ends = [
            named("stream", one.name)
            for one in self.streams
            if min(one.run_largest, one.run_smallest) >= self.run_limit
        ]
        if len(ends) < 2:
            return text
        return f"{text} {listed(ends)} change ends: their names were exchanged, or what moves them is not the same."

    def _rows(self) -> Rows:
        return [
            {
                "stream": one.name,
                with_unit("mean", self.unit): one.mean,
                "largest": one.largest,
                "in a row": one.run_largest,
                "beyond UCL": one.above,
                "smallest": one.smallest,
                "smallest in a row": one.run_smallest,
                "beyond LCL": one.below,
            }
            for one in self.streams
        ]


GROUP_CHART = Declaration("stability.group_chart", GroupChartStudy, picture=60, with_table=True)


def group_chart(
    values: ArrayLike,
    station: ArrayLike,
    subgroup: ArrayLike,
    order: ArrayLike | None = None,
    *,
    unit: str = "",
) -> GroupChartStudy:
    r"""Chart the largest and the smallest stream mean of each subgroup.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In production order.
    station : array_like, shape (n,)
        Stream of each value: station, lane, cavity, head.
    subgroup : array_like, shape (n,)
        Subgroup of each value, the same for all streams that are sampled together; values whose subgroup is missing
        are left out.
    order : array_like of float, shape (n,), optional
        Order number of each value; 1, 2, … when absent.
    unit : str
        Of the values.

    Returns
    -------
    GroupChartStudy
        Limits, points beyond them, and how often and how long each stream stayed at an end.

    Raises
    ------
    CannotJudge
        Fewer than two streams, eight subgroups in which every stream has parts, or no spread within subgroups.
    ValueError, TypeError
        Lengths that differ, or values of more than one dimension.

    See Also
    --------
    compare_streams : Differences of streams, with intervals.
    control_chart : The chart of one stream.

    Notes
    -----
    Model: k streams with one mean and one standard deviation; the means of the n parts of each are independent. Only
    the largest and the smallest of the k means are charted. Each of the two passes
    :math:`\bar{\bar x} \pm z\,\hat\sigma / \sqrt n` with :math:`z = \Phi^{-1}(1 - 0.00135/k)` at most as often as one mean
    passes three standard errors. Where streams are alike each has the largest mean equally often, and the same
    one r times in a row is met once in :math:`(k^r - 1)/(k - 1)` subgroups on average; the run limit is the smallest r
    with at least 370. Ties end a run. Misleads where neighbours are alike, for the spread within subgroups is then too small
    (the chart of all parts says so), and where what moves all streams together is large: then the
    chart says less of the streams than of the movement, and the run counts, which it does not touch, are what to read.

    References
    ----------
    Boyd, *Industrial Quality Control* 7 (1950), 22-25. Nelson, *Journal of Quality Technology* 18 (1986),
    255-256 (run counts). Montgomery, *Introduction to Statistical Quality Control*, section on multiple-stream processes.

    Examples
    --------
    >>> rng = np.random.default_rng(1)
    >>> lane = np.tile(["a", "b", "c", "d"], 400)
    >>> y = rng.normal(10, 1, 1600) + 1.5 * (lane == "d")
    >>> found = group_chart(y, lane, np.repeat(np.arange(80), 20))
    >>> found.run_limit, found.said_of_extremes[0].split(" mean")[0]
    (6, 'd has the largest')
    """
    import pandas as pd

    y = data_arguments.one_dimensional(values, least=2)
    arguments.same_length(values=y, station=station, subgroup=subgroup, order=order)
    place = np.arange(1.0, y.size + 1) if order is None else np.asarray(order, dtype=float)
    names: Any = station
    labels: Any = subgroup
    table = pd.DataFrame(
        {"window": pd.array(labels), "station": pd.array(names), "value": y, "order": place}
    ).dropna()
    groups = table.groupby(["window", "station"], sort=False)["value"].agg(["size", "mean", "std"])
    first = table.groupby("window", sort=False)["order"].min().rename("order")
    found = (
        groups.rename(columns={"size": "n", "std": "sd"}).reset_index().merge(first, on="window")
    )
    return group_chart_of_summaries(found, unit=unit)


def group_chart_of_summaries(table: pd.DataFrame, *, unit: str = "") -> GroupChartStudy:
    """Make the group chart from means and standard deviations of subgroups.

    Parameters
    ----------
    table : pandas.DataFrame
        One row for each stream in each subgroup: ``window`` (the subgroup, the same for all streams), ``station``, ``n``,
        ``mean``, ``sd`` and ``order``.
    unit : str
        Of the values.

    Returns
    -------
    GroupChartStudy

    Raises
    ------
    CannotJudge
        Fewer than two streams, eight subgroups in which every stream has parts, or no spread within subgroups.

    See Also
    --------
    group_chart : The same from the values.

    Notes
    -----
    As in :func:`group_chart`.

    Examples
    --------
    See ``linestudy log FOLDER --study STUDY --evidence FILE``.
    """
    wide = table.pivot_table(index="window", columns="station", values="mean", aggfunc="mean")
    names, k = [str(name) for name in wide.columns], wide.shape[1]
    if not 2 <= k <= _MOST:
        raise CannotJudge(
            f"The run names {counted(k, 'stream')}; a group chart is of two to {_MOST}."
        )
    whole = wide.dropna()
    if len(whole) < _LEAST:
        raise CannotJudge(
            f"Every stream has parts in {counted(len(whole), 'subgroup')}; {_LEAST} are needed."
        )
    freedom = table["n"].to_numpy(float) - 1
    spread = np.nan_to_num(table["sd"].to_numpy(float))
    squares = float(freedom @ spread**2)
    if freedom.sum() <= 0 or squares <= 0:
        raise CannotJudge("Subgroups of the streams have no spread of their own to set limits by.")
    sd, size = math.sqrt(squares / freedom.sum()), float(table["n"].mean())
    order = table.groupby("window")["order"].min().loc[whole.index].to_numpy(dtype=float)
    at = np.argsort(order, kind="stable")
    means = whole.to_numpy(dtype=float)[at]
    centre, limits = _limits(means, sd, size, k)
    high, low = means.max(axis=1), means.min(axis=1)
    top, bottom = _owner(means, high), _owner(means, low)
    above, below = high > limits[1], low < limits[0]
    rows, length = run_limit(k)
    return GroupChartStudy(
        streams=tuple(
            StreamRun(
                name,
                float(means[:, j].mean()),
                int((top == j).sum()),
                int((bottom == j).sum()),
                _longest(top == j),
                _longest(bottom == j),
                int((above & (means[:, j] > limits[1])).sum()),
                int((below & (means[:, j] < limits[0])).sum()),
            )
            for j, name in enumerate(names)
        ),
        n_subgroups=len(means),
        subgroup_size=size,
        centre=centre,
        limits=limits,
        sd_within=sd,
        signals=int((above | below).sum()),
        expected_false_signals=2 * _SHARE * len(means),
        run_limit=rows,
        run_length=length,
        unit=unit,
        cautions=_cautions(len(wide) - len(whole)),
        order=order[at],
        high=high,
        low=low,
    )


def run_limit(streams: int) -> tuple[int, float]:
    """Find how many subgroups in a row with one stream at an end are a signal, and how often chance gives that many.

    Parameters
    ----------
    streams : int
        At least two.

    Returns
    -------
    in_a_row : int
    run_length : float
        Mean subgroups to such a run where streams are alike.

    See Also
    --------
    group_chart : Uses it.

    Notes
    -----
    The first of r names a stream, each of the others is the same with probability 1/k: :math:`(k^r - 1)/(k - 1)`
    subgroups on average (Nelson 1986).

    Examples
    --------
    >>> run_limit(6)
    (5, 1555.0)
    """
    rows = 2
    while (streams**rows - 1) / (streams - 1) < _RUN_LENGTH:
        rows += 1
    return rows, float((streams**rows - 1) / (streams - 1))


def _limits(means: Any, sd: float, size: float, k: int) -> tuple[float, tuple[float, float]]:
    from scipy.special import ndtri

    centre = float(means.mean())
    reach = -float(ndtri(_SHARE / k)) * sd / math.sqrt(size)
    return centre, (centre - reach, centre + reach)


def _owner(means: Any, extreme: Any) -> Any:
    """Return which stream is at the end; -1 where several are."""
    there = means == extreme[:, None]
    return np.where(there.sum(axis=1) == 1, there.argmax(axis=1), -1)


def _longest(mask: Any) -> int:
    """Return the longest stretch of true."""
    ends = np.flatnonzero(np.diff(np.concatenate([[0], mask.astype(np.int8), [0]])))
    return int((ends[1::2] - ends[::2]).max(initial=0))


def _cautions(left_out: int) -> tuple[str, ...]:
    if not left_out:
        return ()
    return (
        f"{counted(left_out, 'subgroup')} in which a stream has no part {'is' if left_out == 1 else 'are'} left out.",
    )
