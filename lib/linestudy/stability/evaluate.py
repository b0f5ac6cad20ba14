"""Take every run of a study through the room: record, charts, correlation, sources, wear, steps, model."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any, Generic, TypeVar

import numpy as np

from linestudy.core import CannotJudge, Findings
from linestudy.stability.charts.attribute_charts import CountStudy, counts
from linestudy.stability.charts.chart_study import ChartStudy
from linestudy.stability.charts.ewma_cusum import SequentialStudy, sequential
from linestudy.stability.charts.residual_chart import residual
from linestudy.stability.charts.run_lengths import RunLengthStudy, run_length
from linestudy.stability.charts.sampling_plan import PlanAdvice, advise
from linestudy.stability.charts.shewhart import chart_summaries
from linestudy.stability.data_quality import SoundnessStudy, require_sound, soundness
from linestudy.stability.movement.autocorrelation import SerialStudy, serial
from linestudy.stability.movement.change_points import StepsStudy, steps
from linestudy.stability.movement.time_dependent_model import TimeModel, time_model
from linestudy.stability.movement.tool_wear import WearStudy, wear
from linestudy.stability.movement.variance_components import ComponentsStudy, run_components
from linestudy.stability.movement.variance_sources import SourcesStudy, sources
from linestudy.stability.summaries import Summaries, summarise

if TYPE_CHECKING:
    from collections.abc import Callable

    import pandas as pd

    from linestudy.records import Records
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic

#: Mean minutes from a shift to its signal that the advice aims at; one hour of production is
#: what a plant can still sort (common practice, no source).
WISHED_MINUTES = 60.0


def evaluate(study: Study, records: Records, findings: Findings | None = None) -> Findings:
    """Evaluate whether the process holds still, for every characteristic with a run.

    Parameters
    ----------
    study : Study
    records : Records
    findings : Findings, optional
        Ignored: stability needs no gauge findings.

    Returns
    -------
    Findings
        At ``("stability",)`` the chart, and below it ``run`` (soundness of the record),
        ``serial``, ``sources``, ``components``, ``wear``, ``steps``, ``time_model``,
        ``between_within``, ``small_shifts``, ``residual`` (where subgroup means correlate),
        ``by_event`` (a centre for each phase, where events are named), ``run_length`` and ``advice``; where study.toml sets
        periods aside, ``with_set_aside`` holds the chart of all parts. Bin counts: at
        ``("bin_chart",)`` of the study.

    Examples
    --------
    See ``notebooks/submission/4_stability.ipynb``.
    """
    new = Findings()
    for item in study.characteristics:
        new.update(of_characteristic(study, records, item))
    new.update(of_study(records))
    return new


def of_characteristic(
    study: Study, records: Records, item: Characteristic, findings: Findings | None = None
) -> Findings:
    """What :func:`evaluate` finds of one characteristic; it hangs on no other's."""
    new = Findings()
    table = records.table("run", item.id)
    if table is not None:
        _one(new, study, item, table)
    return new


def of_study(records: Records) -> Findings:
    """What :func:`evaluate` finds of the study as a whole."""
    new = Findings()
    bins = records.table("bins", None)
    if bins is not None:
        new.attempt(None, ("bin_chart",), "Chart of rejected parts", partial(_bins, bins))
    return new


def _one(new: Findings, study: Study, item: Characteristic, table: pd.DataFrame) -> None:
    kept = table
    if "set_aside" in table and bool(table["set_aside"].any()):
        kept = table[~table["set_aside"]]
    unit = item.unit or ""
    below = partial(attempt_below, new, item)
    groups = Once(partial(_groups, kept))
    aside = _set_aside_notes(study, item, len(table) - len(kept))
    main = below((), "Control chart", lambda: _noted(chart_of(study, unit, groups()), aside))
    below(("run",), "Soundness of the record", lambda: _soundness(kept, unit))
    correlated = below(
        ("serial",), "Serial correlation", lambda: _serial(study, unit, kept, groups)
    )
    resets = resets_of(study, item)
    below(("sources",), "Sources of variation", lambda: _sources(study, unit, kept, resets))
    below(("components",), "Components of variation", lambda: _components(study, unit, kept))
    worn = below(("wear",), "Wear", lambda: _wear(study, item, kept))
    below(("steps",), "Steps of the mean", lambda: _steps(study, item, kept, worn, resets))
    below(("time_model",), "Time-dependent model", lambda: _time_model(kept, resets))
    of_charts(below, study, item, groups, main, correlated)
    if len(kept) < len(table):
        below(
            ("with_set_aside",),
            "Control chart with the periods set aside",
            lambda: _noted(chart_of(study, unit, _groups(table)), aside),
        )


def of_charts(
    below: Callable[..., Any],
    study: Study,
    item: Characteristic,
    groups: Once[Summaries],
    main: Any,
    correlated: Any,
) -> None:
    """What follows from subgroups alone, whether parts or the sums of a log gave them."""
    unit = item.unit or ""
    between = below(
        ("between_within",),
        "Chart between and within",
        lambda: chart_of(study, unit, groups(), kind="mean between and within"),
    )
    below(
        ("small_shifts",),
        "Chart for small shifts",
        lambda: small_shifts_of(unit, groups(), between),
    )
    if means_correlate(groups):
        below(
            ("residual",),
            "Residual chart",
            lambda: residual(groups().mean, groups().order, unit=unit),
        )
    marks = tuple(at for at, _ in events_of(study, item))
    if marks:
        below(
            ("by_event",), "Chart by phases", lambda: chart_of(study, unit, groups(), phases=marks)
        )
    below(("run_length",), "Run length of the rules", lambda: run_length_of(study, main))
    below(
        ("advice",),
        "Advice for the control plan",
        lambda: advice_of(study, item, main, correlated, between),
    )


def attempt_below(
    new: Findings, item: Characteristic, path: tuple[str, ...], method: str, compute: Any
) -> Any:
    return new.attempt(item.id, ("stability", *path), method, compute)


Kept = TypeVar("Kept")


class Once(Generic[Kept]):
    """Computes once; a failure is raised again at every use, so that each method can say why."""

    def __init__(self, compute: Callable[[], Kept]) -> None:
        self._compute = compute
        self._done: Kept | CannotJudge | None = None

    def __call__(self) -> Kept:
        if self._done is None:
            try:
                self._done = self._compute()
            except CannotJudge as stop:
                self._done = stop
        if isinstance(self._done, CannotJudge):
            raise CannotJudge(self._done.reason)
        return self._done  # type: ignore[return-value]


def _groups(table: pd.DataFrame) -> Summaries:
    require_sound(table)
    subgroup = table.get("subgroup")
    if subgroup is not None and bool(subgroup.isna().all()):
        subgroup = None
    order = table.get("order")
    return summarise(table["value"], subgroup, order)


def events_of(study: Study, item: Characteristic) -> tuple[tuple[float, str], ...]:
    """Events of the whole line or of this characteristic, as (order number, name)."""
    return tuple(
        sorted(
            (float(event.at), event.name)
            for event in study.events
            if event.at is not None and event.characteristic in (None, item.id)
        )
    )


def resets_of(study: Study, item: Characteristic) -> tuple[float, ...]:
    """Events named for this characteristic alone: there its drift or wear starts anew."""
    return tuple(
        float(event.at)
        for event in study.events
        if event.at is not None and event.characteristic == item.id
    )


def _set_aside_notes(study: Study, item: Characteristic, count: int) -> tuple[str, ...]:
    """The periods that study.toml takes out on purpose, with their reasons."""
    if count == 0:
        return ()
    notes = [f"{count:,} parts lie in periods set aside; the chart stands with and without them."]
    for period in study.set_aside:
        if period.characteristic in (None, item.id):
            first = period.begin if period.first is None else f"{period.first:,.0f}"
            last = period.end if period.last is None else f"{period.last:,.0f}"
            notes.append(
                f"Set aside from {first or 'the beginning'} to {last or 'the end'}: {period.reason}"
            )
    return tuple(notes)


def _noted(study: ChartStudy, notes: tuple[str, ...]) -> ChartStudy:
    return replace(study, cautions=study.cautions + notes) if notes else study


def _column(table: pd.DataFrame, name: str) -> Any:
    return table.get(name)


def _order(table: pd.DataFrame) -> Any:
    return table["order"] if "order" in table else np.arange(1.0, len(table) + 1)


def chart_of(study: Study, unit: str, groups: Summaries, **choice: Any) -> ChartStudy:
    return chart_summaries(groups, study.confidence, unit=unit, **choice)


def _soundness(table: pd.DataFrame, unit: str) -> SoundnessStudy:
    return soundness(table, unit)


def _serial(study: Study, unit: str, table: pd.DataFrame, groups: Once[Summaries]) -> SerialStudy:
    try:
        size = int(np.median(groups().n))
    except CannotJudge:
        size = 1
    return serial(
        table["value"], study.line_rate, study.confidence, unit, _column(table, "station"), size
    )


def _sources(
    study: Study, unit: str, table: pd.DataFrame, resets: tuple[float, ...]
) -> SourcesStudy:
    if "order" not in table:
        table = table.assign(order=_order(table))
    return sources(table, resets=resets, confidence=study.confidence, seed=study.seed, unit=unit)


def _components(study: Study, unit: str, table: pd.DataFrame) -> ComponentsStudy:
    return run_components(
        table,
        line_rate=study.line_rate,
        confidence=study.confidence,
        seed=study.seed,
        unit=unit,
    )


def _wear(study: Study, item: Characteristic, table: pd.DataFrame) -> WearStudy:
    marks = [at for at, _ in events_of(study, item)]
    return wear(
        table["value"],
        _order(table),
        marks,
        item.lower,
        item.upper,
        _column(table, "station"),
        confidence=study.confidence,
        unit=item.unit or "",
    )


def _steps(
    study: Study, item: Characteristic, table: pd.DataFrame, worn: Any, resets: tuple[float, ...]
) -> StepsStudy:
    known = None
    if resets and isinstance(worn, WearStudy) and 0 not in worn.per_thousand:
        known = worn.per_thousand.estimate
    return steps(
        table["value"],
        _order(table),
        events_of(study, item),
        _column(table, "station"),
        known,
        study.confidence,
        item.unit or "",
    )


def _time_model(table: pd.DataFrame, resets: tuple[float, ...]) -> TimeModel:
    if "subgroup" not in table or table["subgroup"].isna().all():
        raise CannotJudge("The study takes no subgroups from the run, so movement is not judged.")
    return time_model(
        table["value"], table["subgroup"], _order(table), _column(table, "coil"), resets
    )


def small_shifts_of(unit: str, groups: Summaries, between: Any) -> SequentialStudy:
    if not isinstance(between, ChartStudy):
        raise CannotJudge("There is no chart of subgroup means to take the spread of means from.")
    # The spread of the means themselves, so that their usual movement does not signal.
    error = (between.limits[1] - between.limits[0]) / 6
    return sequential(groups.mean, between.centre, error, order=groups.order, unit=unit)


def means_correlate(groups: Once[Summaries]) -> bool:
    try:
        means = groups().mean
    except CannotJudge:
        return False
    if means.size < 30 or means.size > 2000 or np.ptp(means) == 0:
        return False
    z = means - means.mean()
    return abs(float(z[1:] @ z[:-1]) / float(z @ z)) > 2 / np.sqrt(means.size)


def run_length_of(study: Study, main: Any) -> RunLengthStudy:
    if not isinstance(main, ChartStudy):
        raise CannotJudge("There is no chart, so its rules have no run length.")
    size = max(round(main.subgroup_size), 1)
    return run_length(main.rules, size, confidence=study.confidence, seed=study.seed)


def advice_of(
    study: Study, item: Characteristic, main: Any, correlated: Any, between: Any
) -> PlanAdvice:
    if not isinstance(main, ChartStudy) or not isinstance(between, ChartStudy):
        raise CannotJudge("Without a chart there is no spread to plan by.")
    distances = []
    if item.upper is not None:
        distances.append(item.upper - main.centre)
    if item.lower is not None:
        distances.append(main.centre - item.lower)
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
    spacing = correlated.spacing_minutes if isinstance(correlated, SerialStudy) else None
    return advise(
        shift,
        main.sd_within,
        WISHED_MINUTES,
        extra,
        study.line_rate,
        spacing,
        unit=item.unit or "",
    )


def _bins(table: pd.DataFrame) -> CountStudy:
    bad = table["rejected"].to_numpy(dtype=float)
    size = bad + table["accepted"].to_numpy(dtype=float)
    plain = counts(bad, size, "p")
    return counts(bad, size, "p widened") if plain.sigma_z > 1.2 else plain
