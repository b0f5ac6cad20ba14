"""What a chart found: its limits, its signals and how many of them chance would give."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

from linestudy.results import Finding, Interval, counted, plain, show
from linestudy.results.declared import Declaration

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from linestudy.results.picture import Picture

#: Charts that can be asked for.
KINDS = (
    "mean and standard deviation",
    "mean and range",
    "median and range",
    "individuals and moving range",
    "mean between and within",
)


@dataclass(frozen=True)
class ChartStudy(Finding):
    """A chart with its limits and what lies beyond them.

    Attributes
    ----------
    chart : str
        One of :data:`KINDS`.
    n : int
        Values on the chart.
    n_subgroups : int
        Points.
    subgroup_size : float
        Mean size of the subgroups.
    centre : float
        Grand mean of the points that set the limits, in the unit of the values.
    limits : tuple of float
        Lower and upper limit of the location at the usual subgroup size.
    sd_within : float
        Spread within subgroups.
    df_within : float
        Its degrees of freedom.
    within : Interval
        The same with its interval, which holds for independent normal parts.
    sd_overall : float
        Spread of all values on the chart.
    signals : tuple of dict
        ``point`` (from 1), ``order``, ``kind`` (what was charted), ``rule``, ``value``.
    expected_false_signals : float
        How many a process that holds still would give, all rules and both halves together.
    expected_by : str
        What that number rests on: ``"normal parts"``, or, where the values are not normal, ``"the same
        values in random order"``.
    rules : tuple of str
        Rules applied to the locations; the spread is held against its limits alone.
    run_length_at_rest : float or None
        Mean points to a false signal of the locations, limits known; None where a trend or an
        alternation is among the rules (``run_length`` simulates those).
    phases : tuple of dict
        ``first`` (order), ``points``, ``centre`` of each phase.
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
    expected_by: str
    rules: tuple[str, ...]
    run_length_at_rest: float | None
    phases: tuple[dict[str, Any], ...]
    unit: str
    cautions: tuple[str, ...]
    points: Any = field(repr=False, compare=False)
    title: ClassVar[str] = "Control chart of the run"

    @property
    def statement(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        what = "three-sigma signal" if self.rules == ("beyond",) else "signal"
        fine = self.sd_within / 50
        return (
            f"{self.n_subgroups:,} points ({self.chart}) give {counted(len(self.signals), what)} "
            f"where {self.expected_false_signals:.1f} are expected by chance. The spread within "
            f"subgroups is {show(self.sd_within, fine)}{unit}, that of all "
            f"values {show(self.sd_overall, fine)}{unit}."
        )

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        unit = f" ({self.unit})" if self.unit else ""
        fine = self.sd_within / 50
        low, high = (show(x, fine) for x in self.limits)
        rows = [
            (f"centre{unit}", show(self.centre, fine)),
            (f"limits of the location{unit}", f"{low} to {high}"),
            (f"SD within{unit}", show(self.within)),
            (f"SD of all values{unit}", show(self.sd_overall, fine)),
            ("rules", ", ".join(self.rules)),
            ("signals", f"{len(self.signals):,}"),
            ("signals expected by chance", f"{self.expected_false_signals:.1f}"),
        ]
        if self.run_length_at_rest is not None:
            rows.append(("mean points to a false signal", f"{self.run_length_at_rest:,.0f}"))
        if len(self.phases) > 1:
            rows += [
                (f"centre from order {p['first']:,.0f} on{unit}", show(p["centre"], fine))
                for p in self.phases
            ]
        return pd.DataFrame(rows, columns=["quantity", "value"])

    def _draw(
        self,
        ax: Axes | None = None,
        *,
        events: tuple[tuple[float, str], ...] = (),
        span: Any = None,
        **options: Any,
    ) -> Picture:
        """Draw the chart.

        Parameters
        ----------
        ax : matplotlib.axes.Axes, optional
            Where to draw; a new picture when absent.
        events : tuple of (float, str)
            Order numbers and names to be marked.
        span : tuple of float, optional
            First and last order number to be shown.

        Returns
        -------
        matplotlib.figure.Figure
        """
        from linestudy.figures.stability import control_chart

        return control_chart(self, events, span, ax=ax)

    def spread_figure(self) -> Figure:
        """The other half: the spread of each subgroup with its limits."""
        from linestudy.figures.stability import spread_chart

        figure = spread_chart(self)
        figure.alt_text = self.alt_text
        return figure

    def explore(self, events: tuple[tuple[float, str], ...] = ()) -> Any:
        """A chart with a slider for the part of the run to be looked at (notebook only).

        Parameters
        ----------
        ax : matplotlib.axes.Axes, optional
            Where to draw; a new picture when absent.
        events : tuple of (float, str)
            Order numbers and names to be marked.

        Returns
        -------
        ipywidgets.VBox
        """
        from linestudy.figures.stability import explorer

        return explorer(self, events)

    def record(self) -> dict[str, Any]:
        """Keys as in format 1; added: n, n_subgroups, subgroup_size, df_within, within,
        sd_overall, expected_false_signals, expected_by, rules, run_length_at_rest, phases, statement, cautions."""
        names = (
            "chart n n_subgroups subgroup_size centre limits sd_within df_within within sd_overall "
            "signals expected_false_signals expected_by rules run_length_at_rest phases statement cautions"
        )
        return {name: plain(getattr(self, name)) for name in names.split()}


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
