"""Take every run of a study through the room: record, charts, correlation, sources, wear, steps, model.

One list says what is judged of a run and where it stands in results.json; runs whose parts are at hand and
line logs go through the same list (see ``runs``).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.results import CannotJudge, Finding, Findings
from linestudy.stability.charts.attribute_charts import CountStudy, counts
from linestudy.stability.charts.chart_study import ChartStudy
from linestudy.stability.charts.ewma_cusum import SequentialStudy, sequential
from linestudy.stability.charts.residual_chart import residual
from linestudy.stability.charts.run_lengths import RunLengthStudy, run_length
from linestudy.stability.charts.sampling_plan import PlanAdvice, advise
from linestudy.stability.data_quality import soundness
from linestudy.stability.movement.autocorrelation import SerialStudy
from linestudy.stability.runs import Run, RunOfParts

if TYPE_CHECKING:
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
        new.update(judge(RunOfParts(study, item, table)))
    return new


def of_study(records: Records) -> Findings:
    """What :func:`evaluate` finds of the study as a whole."""
    new = Findings()
    bins = records.table("bins", None)
    if bins is not None:
        new.attempt(None, ("bin_chart",), "Chart of rejected parts", partial(_bins, bins))
    return new


#: What was found before, by its path below ``stability``.
_Found = dict[tuple[str, ...], Finding]


@dataclass(frozen=True)
class Method:
    """One thing that is judged of a run.

    Attributes
    ----------
    path : tuple of str
        Its place below ``stability`` in results.json.
    name : str
        What a reader knows it by where it cannot be judged.
    judge : callable
        From the run and what was found before to the finding; raises CannotJudge.
    applies : callable
        Whether the run is one to be judged so at all.
    """

    path: tuple[str, ...]
    name: str
    judge: Callable[[Run, _Found], Finding]
    applies: Callable[[Run], bool] = lambda run: True


def _with_set_aside(run: Run, found: _Found) -> ChartStudy:
    assert isinstance(run, RunOfParts)
    return _noted(run.whole.chart(), run.notes)


#: In this order; a method may look at what those above it found.
METHODS = (
    Method((), "Control chart", lambda run, found: _noted(run.chart(), run.notes)),
    Method(
        ("run",),
        "Soundness of the record",
        lambda run, found: soundness(run.parts, run.unit),
        lambda run: run.has_parts,
    ),
    Method(("serial",), "Serial correlation", lambda run, found: run.serial()),
    Method(("sources",), "Sources of variation", lambda run, found: run.sources()),
    Method(("components",), "Components of variation", lambda run, found: run.components()),
    Method(("wear",), "Wear", lambda run, found: run.wear()),
    Method(("steps",), "Steps of the mean", lambda run, found: run.steps(found["wear",])),
    Method(("time_model",), "Time-dependent model", lambda run, found: run.time_model()),
    Method(
        ("between_within",),
        "Chart between and within",
        lambda run, found: run.chart(kind="mean between and within"),
    ),
    Method(
        ("small_shifts",),
        "Chart for small shifts",
        lambda run, found: _small_shifts(run, found["between_within",]),
    ),
    Method(
        ("residual",),
        "Residual chart",
        lambda run, found: residual(run.groups().mean, run.groups().order, unit=run.unit),
        lambda run: _means_correlate(run),
    ),
    Method(
        ("by_event",),
        "Chart by phases",
        lambda run, found: run.chart(phases=tuple(at for at, _ in run.events)),
        lambda run: bool(run.events),
    ),
    Method(
        ("run_length",),
        "Run length of the rules",
        lambda run, found: _run_length(run.study, found[()]),
    ),
    Method(
        ("advice",),
        "Advice for the control plan",
        lambda run, found: _advice(
            run.study, run.item, found[()], found["serial",], found["between_within",]
        ),
    ),
    Method(
        ("with_set_aside",),
        "Control chart with the periods set aside",
        _with_set_aside,
        lambda run: run.set_aside > 0,
    ),
)


def judge(run: Run) -> Findings:
    """Judge one run by every method that applies to it.

    Parameters
    ----------
    run : Run
        Of parts, or of the sums of a log.

    Returns
    -------
    Findings
        At ``("stability", ...)`` of its characteristic.
    """
    new = Findings()
    found: _Found = {}
    for method in METHODS:
        if method.applies(run):
            found[method.path] = new.attempt(
                run.item.id,
                ("stability", *method.path),
                method.name,
                partial(method.judge, run, dict(found)),
            )
    return new


def _noted(study: ChartStudy, notes: tuple[str, ...]) -> ChartStudy:
    return replace(study, cautions=study.cautions + notes) if notes else study


def _small_shifts(run: Run, between: Any) -> SequentialStudy:
    if not isinstance(between, ChartStudy):
        raise CannotJudge("There is no chart of subgroup means to take the spread of means from.")
    # The spread of the means themselves, so that their usual movement does not signal.
    error = (between.limits[1] - between.limits[0]) / 6
    groups = run.groups()
    return sequential(groups.mean, between.centre, error, order=groups.order, unit=run.unit)


def _means_correlate(run: Run) -> bool:
    try:
        means = run.groups().mean
    except CannotJudge:
        return False
    if means.size < 30 or means.size > 2000 or np.ptp(means) == 0:
        return False
    z = means - means.mean()
    return abs(float(z[1:] @ z[:-1]) / float(z @ z)) > 2 / np.sqrt(means.size)


def _run_length(study: Study, main: Any) -> RunLengthStudy:
    if not isinstance(main, ChartStudy):
        raise CannotJudge("There is no chart, so its rules have no run length.")
    size = max(round(main.subgroup_size), 1)
    return run_length(main.rules, size, confidence=study.confidence, seed=study.seed)


def _advice(
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
    return counts(bad, size, "p widened") if plain.spreads_more else plain
