"""Take every run of a study through the package: record, charts, correlation, sources, wear, change points, model.

One list says what is judged of a run; its place in results.json is declared with its class. Runs whose parts
are at hand and line logs go through the same list (see ``runs``).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from linestudy.results import CannotJudge, Finding, Findings
from linestudy.results.declared import Declaration
from linestudy.stability.charts.attribute_charts import (
    BIN_CHART,
    AttributeChartStudy,
    attribute_chart,
)
from linestudy.stability.charts.chart_study import (
    BETWEEN_WITHIN,
    BY_EVENT,
    CHART,
    CHART_WITH_SET_ASIDE,
    STREAM_CHART,
    TREND_CHART,
    ChartStudy,
)
from linestudy.stability.charts.residuals import RESIDUAL_CHART, residual_chart
from linestudy.stability.charts.run_lengths import RUN_LENGTH, RunLengthStudy, run_length
from linestudy.stability.charts.small_shift_charts import SMALL_SHIFTS, SmallShiftStudy, ewma_chart
from linestudy.stability.model.time_dependent_model import TIME_MODEL
from linestudy.stability.movement.change_point_search import CHANGE_POINTS
from linestudy.stability.movement.nested_levels import VARIANCE_COMPONENTS
from linestudy.stability.movement.serial_correlation import AUTOCORRELATION, AutocorrelationStudy
from linestudy.stability.movement.sources import VARIANCE_SOURCES
from linestudy.stability.movement.spread_equality import EQUAL_SPREAD, equal_spread
from linestudy.stability.movement.streams_finding import COILS, STATIONS
from linestudy.stability.movement.wear_rate import TOOL_WEAR
from linestudy.stability.record_checks import DATA_QUALITY, data_quality
from linestudy.stability.runs import Run, RunOfParts
from linestudy.stability.sampling_plans import SAMPLING_PLAN, SamplingPlan, sampling_plan
from linestudy.stability.side_by_side.extremes import GROUP_CHART, group_chart_of_summaries
from linestudy.stability.side_by_side.reached import REACHED, ReachedStations, sampled_stations

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records import Records
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic

#: Mean minutes from a shift to its signal that the sampling plan aims at; one hour of production is
#: what a plant can still sort (common practice, no source).
MINUTES_TO_SIGNAL = 60.0


def evaluate(study: Study, records: Records, findings: Findings | None = None) -> Findings:
    """Evaluate whether the process is in statistical control, for every characteristic with a run.

    Parameters
    ----------
    study : Study
        What study.toml says.
    records : Records
        What its files hold.
    findings : Findings, optional
        Ignored: stability needs no gauge findings.

    Returns
    -------
    Findings
        At ``("stability",)`` the control chart, and below it what :data:`METHODS` lists:
        ``data_quality``, ``autocorrelation``, ``variance_sources``, ``variance_components``,
        ``stations`` and ``coils`` (where there are several), ``group_chart`` and ``sampled_stations``, ``tool_wear``, ``change_points``, ``time_model``, ``between_within``, ``small_shifts``,
        ``residual_chart`` (where subgroup means correlate), ``by_event`` (a centre for each phase, where
        events are named), ``run_length`` and ``sampling_plan``; where study.toml sets
        periods aside, ``with_set_aside`` holds the chart of all parts. Bin counts: at
        ``("bin_chart",)`` of the study.

    See Also
    --------
    explore : The chart under a slider.

    Examples
    --------
    See ``notebooks/submission/4_stability.ipynb``.
    """
    new = Findings()
    for item in study.characteristics:
        new.update(of_characteristic(study, records, item))
    new.update(of_study(records))
    new.tell_over_one_number()
    return new


def of_characteristic(
    study: Study, records: Records, item: Characteristic, findings: Findings | None = None
) -> Findings:
    """Evaluate one characteristic; no other characteristic's findings are needed for it."""
    new = Findings()
    table = records.table("run", item.id)
    if table is not None:
        new.update(judge(RunOfParts(records.timed(study), item, table)))
    return new


def of_study(records: Records) -> Findings:
    """Evaluate what concerns the study as a whole."""
    new = Findings()
    bins = records.table("bins", None)
    if bins is not None:
        new.evaluate(None, BIN_CHART, partial(_bins, bins))
    return new


class Before:
    """What was found of a run before, by declaration."""

    def __init__(self) -> None:
        self._found: dict[str, Finding] = {}

    def keep(self, declared: Declaration, finding: Finding) -> None:
        """Keep a finding for the methods below it."""
        self._found[declared.key] = finding

    def __contains__(self, declared: Declaration) -> bool:
        return declared.key in self._found

    def __getitem__(self, declared: Declaration) -> Finding:
        return self._found[declared.key]

    def get(self, declared: Declaration) -> Finding | None:
        """Return the finding, or None where its method did not apply."""
        return self._found.get(declared.key)


@dataclass(frozen=True)
class Method:
    """One thing that is judged of a run.

    Attributes
    ----------
    declared : Declaration
        Place and heading of its finding.
    judge : callable
        From the run and what was found before to the finding; raises CannotJudge.
    applies : callable
        Whether the run is one to be judged so at all.
    """

    declared: Declaration
    judge: Callable[[Run, Before], Finding]
    applies: Callable[[Run], bool] = lambda run: True


def judge(run: Run) -> Findings:
    """Judge one run by every method that applies to it.

    Parameters
    ----------
    run : Run
        Of parts, or of the sums of a log.

    Returns
    -------
    Findings
        At ``("stability", ...)`` of its characteristic, and the chart of each stream at ``("streams", name, "chart")``.
    """
    new, found = Findings(), Before()
    for method in METHODS:
        if method.applies(run):
            compute = partial(method.judge, run, found)
            found.keep(method.declared, new.evaluate(run.item.id, method.declared, compute))
    if isinstance(run, RunOfParts):
        for name, one in run.by_stream.items():
            worn = TREND_CHART in found and isinstance(found[TREND_CHART], ChartStudy)
            chart = partial(one.chart_about_trend, found[TOOL_WEAR]) if worn else one.chart
            new.evaluate(run.item.id, STREAM_CHART, chart, stream=name)
    return new


def _has_parts(run: Run) -> bool:
    return run.has_parts


def _takes_turns(run: Run) -> bool:
    """Check whether subgroups are taken from parts of several stations."""
    return run.has_streams("station") and bool(run.parts["subgroup"].notna().any())


def _with_set_aside(run: Run) -> ChartStudy:
    assert isinstance(run, RunOfParts)
    return _noted(run.whole.chart(), run.notes)


def _by_event(run: Run) -> ChartStudy:
    return run.chart(phases=tuple(at for at, _ in run.events))


def _residual_chart(run: Run) -> Finding:
    groups = run.groups()
    return residual_chart(groups.mean, groups.order, unit=run.unit)


def _noted(study: ChartStudy, notes: tuple[str, ...]) -> ChartStudy:
    return replace(study, cautions=study.cautions + notes) if notes else study


def _small_shifts(run: Run, between: Finding) -> SmallShiftStudy:
    if not isinstance(between, ChartStudy):
        raise CannotJudge("There is no chart of subgroup means to take the spread of means from.")
    # The spread of the means themselves, so that their usual movement does not signal.
    error = (between.limits[1] - between.limits[0]) / 6
    groups = run.groups()
    return ewma_chart(groups.mean, between.centre, error, order=groups.order, unit=run.unit)


def _means_correlate(run: Run) -> bool:
    try:
        means = run.groups().mean
    except CannotJudge:
        return False
    if means.size < 30 or means.size > 2000 or np.ptp(means) == 0:
        return False
    z = means - means.mean()
    return bool(abs(float(z[1:] @ z[:-1]) / float(z @ z)) > 2 / np.sqrt(means.size))


def _run_length(study: Study, main: Finding) -> RunLengthStudy:
    if not isinstance(main, ChartStudy):
        raise CannotJudge("There is no chart, so its rules have no run length.")
    size = max(round(main.subgroup_size), 1)
    return run_length(main.rules, n=size, confidence=study.confidence, seed=study.seed)


def _sampling_plan(run: Run, found: Before) -> SamplingPlan:
    main, between, correlated = found[CHART], found[BETWEEN_WITHIN], found[AUTOCORRELATION]
    if not isinstance(main, ChartStudy) or not isinstance(between, ChartStudy):
        raise CannotJudge("Without a chart there is no spread to plan by.")
    distances = []
    if run.item.upper is not None:
        distances.append(run.item.upper - main.centre)
    if run.item.lower is not None:
        distances.append(main.centre - run.item.lower)
    if not distances:
        raise CannotJudge("Without a tolerance limit no shift matters more than another.")
    shift = min(distances) - 3 * main.sd_overall
    if shift < main.sd_overall / 4:
        raise CannotJudge(
            "Three standard deviations leave next to no margin to the nearer limit, so there is no "
            "shift that could be allowed."
        )
    means = ((between.limits[1] - between.limits[0]) / 6) ** 2
    extra = max(means - main.sd_within**2 / main.subgroup_size, 0.0) ** 0.5
    spacing = correlated.spacing_minutes if isinstance(correlated, AutocorrelationStudy) else None
    reached = found.get(REACHED)
    return sampling_plan(
        shift,
        main.sd_within,
        turn=reached.turn if isinstance(reached, ReachedStations) else None,
        minutes_to_signal=MINUTES_TO_SIGNAL,
        sd_between=extra,
        line_rate=run.parts_per_minute,
        spacing_minutes=spacing,
        unit=run.unit,
    )


def _bins(table: pd.DataFrame) -> AttributeChartStudy:
    bad = table["rejected"].to_numpy(dtype=float)
    size = bad + table["accepted"].to_numpy(dtype=float)
    plain = attribute_chart(bad, size, kind="p")
    return attribute_chart(bad, size, kind="p widened") if plain.spreads_more else plain


#: In this order; a method may look at what those above it found.
METHODS = (
    Method(CHART, lambda run, found: _noted(run.chart(), run.notes)),
    Method(DATA_QUALITY, lambda run, found: data_quality(run.parts, unit=run.unit), _has_parts),
    Method(AUTOCORRELATION, lambda run, found: run.autocorrelation()),
    Method(VARIANCE_SOURCES, lambda run, found: run.variance_sources()),
    Method(VARIANCE_COMPONENTS, lambda run, found: run.variance_components()),
    Method(
        STATIONS, lambda run, found: run.streams("station"), lambda run: run.has_streams("station")
    ),
    Method(COILS, lambda run, found: run.streams("coil"), lambda run: run.has_streams("coil")),
    Method(
        EQUAL_SPREAD,
        lambda run, found: equal_spread(run.parts["value"], run.parts["station"], unit=run.unit),
        lambda run: run.has_streams("station"),
    ),
    Method(
        GROUP_CHART,
        lambda run, found: group_chart_of_summaries(run.stream_groups(), unit=run.unit),
        lambda run: run.has_streams("station"),
    ),
    Method(
        REACHED,
        lambda run, found: sampled_stations(
            run.parts["station"], run.parts["subgroup"], run.parts.get("order")
        ),
        lambda run: run.has_parts and run.parts_per_stroke == 1 and _takes_turns(run),
    ),
    Method(TOOL_WEAR, lambda run, found: run.tool_wear()),
    Method(CHANGE_POINTS, lambda run, found: run.change_points(found[TOOL_WEAR])),
    Method(TIME_MODEL, lambda run, found: run.time_model()),
    Method(BETWEEN_WITHIN, lambda run, found: run.chart(kind="mean between and within")),
    Method(SMALL_SHIFTS, lambda run, found: _small_shifts(run, found[BETWEEN_WITHIN])),
    Method(RESIDUAL_CHART, lambda run, found: _residual_chart(run), _means_correlate),
    Method(BY_EVENT, lambda run, found: _by_event(run), lambda run: bool(run.events)),
    Method(
        TREND_CHART,
        lambda run, found: run.chart_about_trend(found[TOOL_WEAR]),
        lambda run: run.has_parts and bool(run.resets),
    ),
    Method(RUN_LENGTH, lambda run, found: _run_length(run.study, found[CHART])),
    Method(SAMPLING_PLAN, lambda run, found: _sampling_plan(run, found)),
    Method(
        CHART_WITH_SET_ASIDE, lambda run, found: _with_set_aside(run), lambda run: run.set_aside > 0
    ),
)
