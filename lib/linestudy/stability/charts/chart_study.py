"""What a chart found: its limits, its signals and how many of them chance would give."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

from linestudy.numerics.arrays import BoolArray, FloatArray
from linestudy.results import Finding, Interval, show
from linestudy.results.declared import Declaration
from linestudy.results.tables import Quantity, Rows

if TYPE_CHECKING:
    from matplotlib.figure import Figure

#: Charts that can be asked for.
CONTROL_CHARTS = (
    "mean and standard deviation",
    "mean and range",
    "median and range",
    "individuals and moving range",
    "mean between and within",
)


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """What a chart shows along the run: one entry for each point.

    Attributes
    ----------
    what : str
        What is charted, as in :class:`ChartSignal`.
    order : numpy.ndarray of float
        Order number of its first part.
    value : numpy.ndarray of float
        What was charted, in the unit of the values.
    low, high : numpy.ndarray of float
        Its limits.
    """

    what: str
    order: FloatArray
    value: FloatArray
    low: FloatArray
    high: FloatArray

    @property
    def out(self) -> BoolArray:
        """Which points lie beyond their limits."""
        return (self.value < self.low) | (self.value > self.high)

    def within(self, span: tuple[float, float] | None) -> Course:
        """Return the points of a part of the run, all where `span` is None."""
        if span is None:
            return self
        keep = (self.order >= span[0]) & (self.order <= span[1])
        return Course(
            self.what, self.order[keep], self.value[keep], self.low[keep], self.high[keep]
        )


@dataclass(frozen=True, slots=True)
class ChartSignal:
    """One signal of a control chart.

    Attributes
    ----------
    point : int
        Number of the point, from 1.
    order : float
        Order number of its first part.
    kind : str
        What was charted: ``"mean"``, ``"median"``, ``"value"``, ``"standard deviation"``, ``"range"`` or
        ``"moving range"``.
    rule : str
        Key of the rule that signals there.
    value : float
        What was charted at that point, in the unit of the values.
    """

    point: int
    order: float
    kind: str
    rule: str
    value: float


@dataclass(frozen=True, slots=True)
class ChartPhase:
    """One phase of a control chart, with a centre of its own.

    Attributes
    ----------
    first : float
        Order number of its first point.
    points : int
        How many points it has.
    centre : float
        Its centre, in the unit of the values.
    """

    first: float
    points: int
    centre: float


@dataclass(frozen=True)
class ChartStudy(Finding):
    """A control chart with its limits and the points that signal.

    Attributes
    ----------
    chart : str
        One of :data:`CONTROL_CHARTS`.
    n : int
        Values on the chart.
    n_subgroups : int
        Points.
    subgroup_size : float
        Mean size of the subgroups.
    centre : float
        [unit of the values] Mean of the points that set the limits, weighted by the size of their
        subgroups; unweighted for medians, single values and the chart between and within.
    limits : tuple of float
        [unit of the values] Lower and upper limit of the location at the usual subgroup size.
        Formula: ``centre ± sigmas * sd_within / sqrt(n)``.
    sd_within : float
        [unit of the values] Standard deviation within subgroups.
    df_within : float
        Its degrees of freedom.
    within : Interval
        [unit of the values] The same with its interval, which holds for independent normal parts.
    sd_overall : float
        [unit of the values] Standard deviation of all values on the chart, divisor n - 1.
    signals : tuple of ChartSignal
        In the order of points.
    expected_false_signals : float
        How many a process in statistical control would give, all rules and both halves of the chart together.
    expected_by : str
        What that number rests on: ``"normal parts"``, or, where the values are not normal, ``"the same
        values in random order"``.
    rules : tuple of str
        Rules applied to the locations; the spread is held against its limits alone.
    in_control_run_length : float or None
        Mean points to a false signal of the locations, limits known; None where a trend or an
        alternation is among the rules (``run_length`` simulates those).
    phases : tuple of ChartPhase
        One where no phase was asked for.
    unit : str
        Of the values.
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
    signals: tuple[ChartSignal, ...]
    expected_false_signals: float
    expected_by: str
    rules: tuple[str, ...]
    in_control_run_length: float | None
    phases: tuple[ChartPhase, ...]
    unit: str
    cautions: tuple[str, ...]
    points: Course = field(repr=False, compare=False)
    spread_points: Course = field(repr=False, compare=False)
    title: ClassVar[str] = "Control chart of the run"
    picture: ClassVar[str] = "stability:control_chart"

    @property
    def points_out(self) -> int:
        """How many points signal; one whose mean and spread do, or by which several rules do, is one point."""
        return len({signal.point for signal in self.signals})

    @property
    def statement(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        fine = self.sd_within
        return (
            f"{self.points_out:,} of {self.n_subgroups:,} points out of control "
            f"({self.expected_false_signals:.1f} false alarms expected; {self.chart}). Within-subgroup SD "
            f"{show(self.sd_within, fine)}{unit}, SD of the values on the chart {show(self.sd_overall, fine)}{unit}."
        )

    def _rows(self) -> Rows:
        fine = self.sd_within
        rows = [
            Quantity("CL", self.centre, self.unit, fine),
            Quantity("LCL", self.limits[0], self.unit, fine),
            Quantity("UCL", self.limits[1], self.unit, fine),
            Quantity("within-subgroup SD", self.within, self.unit),
            Quantity("SD of the values on the chart", self.sd_overall, self.unit, fine),
            Quantity("rules", ", ".join(self.rules)),
            Quantity("points out of control", self.points_out),
            Quantity("false alarms expected", self.expected_false_signals, "", 1.0),
        ]
        if self.in_control_run_length is not None:
            rows.append(
                Quantity(
                    "average run length in control (ARL)", self.in_control_run_length, "", 10.0
                )
            )
        if len(self.phases) > 1:
            rows += [
                Quantity(f"centre from order {p.first:,.0f} on", p.centre, self.unit, fine)
                for p in self.phases
            ]
        return rows

    def spread_figure(self) -> Figure:
        """Draw the other half: the spread of each subgroup with its limits.

        Returns
        -------
        matplotlib.figure.Figure
        """
        from linestudy.figures.stability.charts import spread_chart

        figure = spread_chart(self)
        figure.alt_text = self.alt_text
        return figure

    def explore(self, events: tuple[tuple[float, str], ...] = ()) -> Any:
        """Show the chart with a slider for the part of the run to be looked at (notebook only).

        Parameters
        ----------
        events : tuple of (float, str)
            Order numbers and names to be marked.

        Returns
        -------
        ipywidgets.VBox
        """
        from linestudy.figures.stability.charts import explorer

        return explorer(self, events)


CHART = Declaration(
    "stability",
    ChartStudy,
    "Control chart",
    part="characteristic",
    question="control",
    order=10,
    picture=84,
    own="chart",
)


STREAM_CHART = Declaration(
    "streams.{stream}.chart", ChartStudy, "Control chart of one stream", part="none"
)


CHART_WITH_SET_ASIDE = Declaration(
    "stability.with_set_aside",
    ChartStudy,
    "Control chart with the periods set aside",
    part="characteristic",
    question="set aside",
    order=10,
)


BETWEEN_WITHIN = Declaration("stability.between_within", ChartStudy, "Chart between and within")


BY_EVENT = Declaration("stability.by_event", ChartStudy, "Chart by phases")
TREND_CHART = Declaration("stability.trend_chart", ChartStudy, "Chart about the trend of wear")
