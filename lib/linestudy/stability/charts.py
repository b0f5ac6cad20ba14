"""Mean-and-spread chart of a run: where is the process, how wide is it, what stands out.

Model of the limits: parts are independent and normal with one mean and one standard deviation,
estimated within subgroups. On a line of several parts a second neighbours are nearly the same
part, so the within-spread is smaller than the process and the limits too narrow: the chart then
signals all day although nothing is wrong. The finding counts the signals that chance alone would
give, and says when there are so many more that the limits, not the process, are to blame.

Sources: ISO 7870-2:2013 (Shewhart charts); ASTM MNL 7, 8th ed. (constants).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.core import CannotJudge, Finding, Interval, plain, show
from linestudy.core.normal_intervals import sd_interval
from linestudy.core.samples import as_sample, mean_and_sd
from linestudy.stability.constants import d2, sd_limits

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure


@dataclass(frozen=True)
class ChartStudy(Finding):
    """A chart with its limits and what lies beyond them.

    Attributes
    ----------
    chart : str
        ``"mean and standard deviation"`` or ``"individuals and moving range"``.
    n : int
        Values on the chart.
    n_subgroups : int
        Points.
    subgroup_size : float
        Mean size of the subgroups.
    centre : float
        Grand mean, in the unit of the values.
    limits : tuple of float
        Lower and upper limit of the means at the usual subgroup size.
    sd_within : float
        Spread within subgroups, pooled (or from the mean moving range).
    df_within : float
        Its degrees of freedom.
    within : Interval
        The same with its interval, which holds for independent normal parts.
    sd_overall : float
        Spread of all values on the chart.
    signals : tuple of dict
        ``point`` (from 1), ``order``, ``kind``, ``value``.
    expected_false_signals : float
        How many a process that holds still would give, on both halves together.
    """

    chart: str
    n: int
    n_subgroups: int
    subgroup_size: float
    centre: float
    limits: tuple[float, float]
    sd_within: float
    df_within: float
    within: Interval
    sd_overall: float
    signals: tuple[dict[str, Any], ...]
    expected_false_signals: float
    unit: str
    cautions: tuple[str, ...]
    points: Any = field(repr=False, compare=False)
    title: ClassVar[str] = "Control chart of the run"

    @property
    def statement(self) -> str:
        return (
            f"{self.n_subgroups} points ({self.chart}) give {len(self.signals)} three-sigma signals "
            f"where {self.expected_false_signals:.1f} are expected by chance. The spread within "
            f"subgroups is {show(self.sd_within, self.sd_within / 50)} {self.unit}, that of all "
            f"values {show(self.sd_overall, self.sd_overall / 50)} {self.unit}."
        ).replace("  ", " ")

    def table(self) -> pd.DataFrame:
        import pandas as pd

        unit = f" ({self.unit})" if self.unit else ""
        fine = self.sd_within / 50
        rows = [
            (f"centre{unit}", show(self.centre, fine)),
            (
                f"limits of the mean{unit}",
                f"{show(self.limits[0], fine)} to {show(self.limits[1], fine)}",
            ),
            (f"SD within{unit}", show(self.within)),
            (f"SD of all values{unit}", show(self.sd_overall, fine)),
            ("signals", str(len(self.signals))),
            ("signals expected by chance", f"{self.expected_false_signals:.1f}"),
        ]
        return pd.DataFrame(rows, columns=["quantity", "value"])

    def figure(self, events: tuple[tuple[float, str], ...] = ()) -> Figure:
        """The chart; `events` are (order number, name) pairs to be marked."""
        from linestudy.figures.stability import control_chart

        figure = control_chart(self, events)
        figure.alt_text = self.alt_text
        return figure

    def record(self) -> dict[str, Any]:
        """Keys as in format 1; added: n, n_subgroups, subgroup_size, df_within, sd_overall, …"""
        return {
            "chart": self.chart,
            "n": self.n,
            "n_subgroups": self.n_subgroups,
            "subgroup_size": self.subgroup_size,
            "centre": self.centre,
            "limits": list(self.limits),
            "sd_within": self.sd_within,
            "df_within": self.df_within,
            "within": self.within.record(),
            "sd_overall": self.sd_overall,
            "signals": plain(self.signals),
            "expected_false_signals": self.expected_false_signals,
            "statement": self.statement,
            "cautions": list(self.cautions),
        }


def chart(
    values: Any,
    subgroup: Any = None,
    order: Any = None,
    confidence: float = 0.95,
    sigmas: float = 3.0,
    unit: str = "",
) -> ChartStudy:
    """Chart a run by subgroups, or by single values where there are none.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In production order.
    subgroup : array_like, shape (n,), optional
        Subgroup of each value; values whose subgroup is missing are left out.
        Without it every value is a point.
    order : array_like of float, shape (n,), optional
        Order number of each value; 1, 2, … when absent.
    confidence : float
    sigmas : float
        Distance of the limits in standard errors.
    unit : str

    Returns
    -------
    ChartStudy

    Raises
    ------
    CannotJudge
        Fewer than two points, or values that never differ within subgroups.

    Examples
    --------
    >>> study = chart([1.0, 1.2, 1.1, 1.3, 1.0, 1.2], [0, 0, 1, 1, 2, 2])
    >>> round(study.sd_within, 4)
    0.1414
    """
    y = as_sample(values, least=2)
    position = np.arange(1.0, y.size + 1) if order is None else np.asarray(order, dtype=float)
    groups = None if subgroup is None else _codes(subgroup)
    if groups is None or (groups < 0).all() or np.bincount(groups[groups >= 0]).max() == 1:
        return _individuals(y, position, confidence, sigmas, unit)
    inside = groups >= 0
    return _subgrouped(y[inside], groups[inside], position[inside], confidence, sigmas, unit)


def _codes(subgroup: Any) -> Any:
    import pandas as pd

    return np.asarray(pd.factorize(pd.array(subgroup))[0])


def _subgrouped(
    y: Any, groups: Any, position: Any, confidence: float, sigmas: float, unit: str
) -> ChartStudy:
    _, groups = np.unique(groups, return_inverse=True)
    sizes = np.bincount(groups)
    if sizes.size < 2:
        raise CannotJudge("There is one subgroup only; a chart needs several.")
    offset = y.mean()
    means = np.bincount(groups, y - offset) / sizes
    squares = np.bincount(groups, (y - offset - means[groups]) ** 2)
    means = means + offset
    df = float((sizes - 1).sum())
    if squares.sum() <= 0:
        raise CannotJudge("Values within subgroups never differ; resolution hides their spread.")
    within = math.sqrt(float(squares.sum()) / df)
    centre, overall = mean_and_sd(y)
    starts = position[np.unique(groups, return_index=True)[1]]
    half = sigmas * within / np.sqrt(sizes)
    several = sizes > 1
    sds = np.sqrt(squares[several] / (sizes[several] - 1))
    sd_low, sd_high, false = _sd_limits(sizes[several], within, sigmas)
    from scipy.special import ndtr

    false += 2 * float(ndtr(-sigmas)) * sizes.size
    signals = _signals("mean", means, centre - half, centre + half, starts, np.arange(sizes.size))
    signals += _signals(
        "standard deviation", sds, sd_low, sd_high, starts[several], np.flatnonzero(several)
    )
    usual = float(np.median(sizes))
    wide = sigmas * within / math.sqrt(usual)
    return ChartStudy(
        chart="mean and standard deviation",
        n=int(y.size),
        n_subgroups=int(sizes.size),
        subgroup_size=float(sizes.mean()),
        centre=float(centre),
        limits=(float(centre) - wide, float(centre) + wide),
        sd_within=within,
        df_within=df,
        within=sd_interval(within, df, confidence),
        sd_overall=float(overall),
        signals=tuple(signals),
        expected_false_signals=false,
        unit=unit,
        cautions=_cautions(sizes, len(signals), false, within, float(overall)),
        points={
            "order": starts,
            "mean": means,
            "low": centre - half,
            "high": centre + half,
            "sd_order": starts[several],
            "sd": sds,
            "sd_low": sd_low,
            "sd_high": sd_high,
        },
    )


def _sd_limits(sizes: Any, within: float, sigmas: float) -> tuple[Any, Any, float]:
    """Limits of each subgroup's standard deviation, and expected false signals of that half."""
    from scipy.stats import chi2

    lows, highs, false = np.empty(sizes.size), np.empty(sizes.size), 0.0
    for n in np.unique(sizes):
        low, _, high = sd_limits(int(n), sigmas)
        own = sizes == n
        lows[own], highs[own] = low * within, high * within
        rate = chi2.cdf((n - 1) * low**2, n - 1) + chi2.sf((n - 1) * high**2, n - 1)
        false += float(rate) * int(own.sum())
    return lows, highs, false


def _individuals(y: Any, position: Any, confidence: float, sigmas: float, unit: str) -> ChartStudy:
    moves = np.abs(np.diff(y))
    if moves.size == 0 or moves.sum() == 0:
        raise CannotJudge(
            "Values never differ from one to the next; resolution hides their spread."
        )
    within = float(moves.mean()) / d2(2)
    # Degrees of freedom of a mean moving range of two; its ranges overlap (ISO 7870-2 uses the
    # same estimate without stating them). Cryer & Ryan, JQT 22 (1990): variance 0.826 sigma^2 / n.
    df = (y.size - 1) / (2 * 0.8264)
    centre, overall = mean_and_sd(y)
    from scipy.special import ndtr

    half = sigmas * within
    false = 2 * float(ndtr(-sigmas)) * y.size
    index = np.arange(y.size)
    signals = _signals(
        "value", y, np.full(y.size, centre - half), np.full(y.size, centre + half), position, index
    )
    return ChartStudy(
        chart="individuals and moving range",
        n=int(y.size),
        n_subgroups=int(y.size),
        subgroup_size=1.0,
        centre=float(centre),
        limits=(centre - half, centre + half),
        sd_within=within,
        df_within=df,
        within=sd_interval(within, df, confidence),
        sd_overall=float(overall),
        signals=tuple(signals),
        expected_false_signals=false,
        unit=unit,
        cautions=_cautions(np.ones(y.size), len(signals), false, within, float(overall)),
        points={
            "order": position,
            "mean": y,
            "low": np.full(y.size, centre - half),
            "high": np.full(y.size, centre + half),
            "sd_order": position[1:],
            "sd": moves,
            "sd_low": np.zeros(moves.size),
            "sd_high": np.full(moves.size, _moving_range_factor(sigmas) * float(moves.mean())),
        },
    )


def _signals(
    kind: str, values: Any, low: Any, high: Any, order: Any, index: Any
) -> list[dict[str, Any]]:
    beyond = np.flatnonzero((values < low) | (values > high))
    return [
        {
            "point": int(index[i]) + 1,
            "order": float(order[i]),
            "kind": kind,
            "value": float(values[i]),
        }
        for i in beyond
    ]


def _cautions(
    sizes: Any, signals: int, expected: float, within: float, overall: float
) -> tuple[str, ...]:
    notes = []
    if sizes.size < 25:
        notes.append(f"{sizes.size} points are few to set limits by; 25 are usual.")
    if len(set(sizes.tolist())) > 1:
        notes.append("Subgroups are of unequal size; each has limits of its own.")
    if signals > max(5.0, 4 * expected) and overall > 1.15 * within:
        notes.append(
            f"There are {signals} signals where {expected:.1f} are expected: neighbours are more alike "
            f"than parts of different times (spread of all values {overall / within:.2f} times that "
            "within), so limits from the within-spread cry wolf and Cpk from it would flatter."
        )
    return tuple(notes)


def _moving_range_factor(sigmas: float) -> float:
    """Upper limit of a moving range of two, as a multiple of the mean moving range."""
    from linestudy.stability.constants import d3

    return 1 + sigmas * d3(2) / d2(2)
