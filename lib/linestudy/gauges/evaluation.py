"""Take every gauge study of a folder through its method."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np

from linestudy.gauges.budget.certificates import certified_together, measured_on
from linestudy.gauges.budget.contributions import budget_of, gauges_of, reference_width
from linestudy.gauges.budget.expanded_finding import UNCERTAINTY
from linestudy.gauges.comparison.comparing import compare_gauges
from linestudy.gauges.destructive.nested_study import NESTED, NestedStudy, nested_components
from linestudy.gauges.destructive.strength import strength_assurance
from linestudy.gauges.destructive.strength_finding import STRENGTH, StrengthAssurance
from linestudy.gauges.destructive.tester_study import (
    DESTRUCTIVE,
    DestructiveGrr,
    destructive_grr,
)
from linestudy.gauges.grr.analysis import grr_anova
from linestudy.gauges.grr.behind_steps import (
    ROUNDED,
    RoundedRepeatability,
    coarse,
    rounded_repeatability,
)
from linestudy.gauges.grr.finding import CROSSED, STREAM_CROSSED, CrossedStudy
from linestudy.gauges.grr.leave_one_out import INFLUENCE, InfluenceStudy, influence
from linestudy.gauges.grr.ranges import AVERAGE_AND_RANGE, AverageRangeStudy, average_and_range
from linestudy.gauges.judgement.judging import judge_judgements
from linestudy.gauges.masters.bias import BIAS, BiasStudy, bias_study
from linestudy.gauges.masters.drift import DRIFT, DriftStudy, drift_study
from linestudy.gauges.masters.linearity import linearity_study
from linestudy.gauges.masters.linearity_finding import LINEARITY, LinearityStudy
from linestudy.gauges.masters.overview import BIASES, bias_overview
from linestudy.gauges.masters.reading_step import RESOLUTION, ResolutionStudy, resolution_study
from linestudy.gauges.masters.reading_unit import refuse_unit_of_masters, refuse_wrong_unit
from linestudy.gauges.masters.repeatability import CG_CGK, RepeatabilityStudy, cg_cgk
from linestudy.results import CannotJudge, Findings
from linestudy.study.scope_of_criteria import convention

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records import Records
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic

_F = TypeVar("_F", CrossedStudy, AverageRangeStudy, RoundedRepeatability)


def evaluate(study: Study, records: Records, findings: Findings | None = None) -> Findings:
    """Evaluate all gauge studies of a study.

    Parameters
    ----------
    study : Study
        The opened study.
    records : Records
        What was recorded.
    findings : Findings, optional
        Ignored: gauges come first.

    Returns
    -------
    Findings
        At the places that the findings of this package declare, for example ``gauges.GAUGE.crossed``.

    See Also
    --------
    grr_anova, bias_study, judgement_agreement : Single studies of one table.

    Examples
    --------
    See ``notebooks/submission/3_gauges.ipynb``.
    """
    new = Findings()
    for item in study.characteristics:
        for gauge in measuring(records, item.id):
            of_step = partial(_resolution, study, records, item, gauge)
            new.evaluate(item.id, RESOLUTION, of_step, gauge=gauge)
        for gauge in records.gauges("crossed", item.id):
            _parts(study, records, item, gauge, new)
        for gauge in records.gauges("nested", item.id):
            of_specimens = partial(_nested, study, records, item, gauge)
            new.evaluate(item.id, NESTED, of_specimens, gauge=gauge or "test")
            _testers(study, records, item, gauge, new)
            _strength(study, records, item, gauge, new)
        for gauge in records.gauges("reference", item.id):
            _masters(study, records, item, gauge, new)
        for gauge in records.gauges("drift", item.id):
            of_drift = partial(_drift, study, records, item, gauge, new)
            new.evaluate(item.id, DRIFT, of_drift, gauge=gauge)
        for gauge in gauges_of(study, records, item):
            when = measured_on(study, records, item)
            of_budget = partial(budget_of, study, item, gauge, new, when)
            new.evaluate(item.id, UNCERTAINTY, of_budget, gauge=gauge)
        compare_gauges(study, records, item, reference_width(item), new)
        if records.gauges("attribute", item.id):
            judge_judgements(study, _table_of(records, "attribute", item.id), item, new)
    biases = [
        (item.name, study.gauge(place.path[1]).name, found, reference_width(item))
        for item in study.characteristics
        for place, found in new.items()
        if place.characteristic == item.id and isinstance(found, BiasStudy)
    ]
    if len(biases) > 1:
        new.evaluate(None, BIASES, partial(bias_overview, biases))
    return new


#: Every reading of a file was a mark of none, or was set aside.
_NOTHING = "The study holds no reading of this characteristic."


def _table_of(
    records: Records, role: str, characteristic: str, gauge: str | None = None
) -> pd.DataFrame:
    """Return a table that `records` has just named; every reading of it may have been excluded."""
    table = records.table(role, characteristic, gauge)
    if table is None:
        raise CannotJudge(_NOTHING)
    return table


def measuring(records: Records, characteristic: str) -> tuple[str, ...]:
    """List gauges with readings of parts or masters of a characteristic."""
    roles = ("crossed", "reference", "run", "drift")
    found = [gauge for role in roles for gauge in records.gauges(role, characteristic)]
    return tuple(dict.fromkeys(gauge for gauge in found if gauge))


def _readings(records: Records, item: Characteristic, role: str, gauge: str) -> Any:
    """Return the role's table, refused where its readings are in another unit than the characteristic."""
    table = _table_of(records, role, item.id, gauge)
    if not len(table):
        raise CannotJudge(_NOTHING)
    if role in ("crossed", "run", "nested"):
        values = table["value"].to_numpy()
        refuse_wrong_unit(values, item.nominal, item.lower, item.upper, unit=item.unit or "")
    return table


def _resolution(
    study: Study, records: Records, item: Characteristic, gauge: str
) -> ResolutionStudy:
    values, repeat, df = [], None, None
    for role in ("crossed", "reference", "drift", "run"):
        table = records.table(role, item.id, gauge)
        if table is None:
            continue
        # A few thousand readings show the step as well as all of them.
        values.append(table["value"].to_numpy()[:4000])
        if role == "crossed":
            keys = [name for name in ("part", "appraiser", "factor") if name in table]
            groups = table.groupby(keys, sort=False)["value"]
            free = len(table) - groups.ngroups
            if free > 0:
                within = float(((table["value"] - groups.transform("mean")) ** 2).sum())
                repeat, df = (within / free) ** 0.5, float(free)
    run = records.table("run", item.id)
    if item.position is not None:
        raise CannotJudge(
            "A position is computed from two readings, so its values stand in no steps."
        )
    about = study.gauge(gauge)
    declared = about.resolution if about.unit in (None, item.unit) else None
    return resolution_study(
        np.concatenate(values),
        tolerance=reference_width(item),
        process=None if run is None or len(run) < 2 else run["value"].to_numpy(),
        repeat_sd=repeat,
        repeat_df=df,
        declared=declared,
        same_gauge=gauge in records.gauges("run", item.id),
        confidence=study.confidence,
        unit=item.unit or "",
    )


def _parts(study: Study, records: Records, item: Characteristic, gauge: str, new: Findings) -> None:
    """Evaluate the crossed study, the same by averages and ranges, and what drives it."""
    about = (study, records, item, gauge)
    new.evaluate(item.id, CROSSED, partial(_crossed, grr_anova, *about), gauge=gauge)
    new.evaluate(
        item.id, AVERAGE_AND_RANGE, partial(_crossed, average_and_range, *about), gauge=gauge
    )
    new.evaluate(item.id, INFLUENCE, partial(_influence, *about, new), gauge=gauge)
    whole = new.get(item.id, *CROSSED.at(gauge=gauge))
    if isinstance(whole, CrossedStudy) and coarse(whole):
        behind = partial(_crossed, rounded_repeatability, *about)
        new.evaluate(item.id, ROUNDED, behind, gauge=gauge)
    table = records.table("crossed", item.id, gauge)
    if table is None or "station" not in table or table["station"].nunique() < 2:
        return
    for name in sorted(filter(None, table["station"].dropna().unique())):
        own = partial(_crossed, grr_anova, *about, station=name)
        new.evaluate(item.id, STREAM_CROSSED, own, stream=str(name), gauge=gauge)


def _crossed(
    method: Callable[..., _F],
    study: Study,
    records: Records,
    item: Characteristic,
    gauge: str,
    station: str | None = None,
) -> _F:
    """Take the readings of a crossed study, or those of one station, to a method for it."""
    table = _readings(records, item, "crossed", gauge)
    if station is not None:
        table = table[table["station"] == station].reset_index(drop=True)
    drawn: Any = {} if method is rounded_repeatability else {"seed": study.seed}
    return method(
        table,
        **_who(table),
        tolerance=reference_width(item),
        sigma_multiplier=convention(study, item, "grr_multiplier", 6.0),
        confidence=study.confidence,
        unit=item.unit or "",
        **drawn,
    )


def _who(table: Any) -> dict[str, Any]:
    """Name the columns of appraiser and third factor, as far as the study has them."""
    return {name: name if name in table else None for name in ("appraiser", "factor")}


def _influence(
    study: Study, records: Records, item: Characteristic, gauge: str, new: Findings
) -> InfluenceStudy:
    whole = new.get(item.id, *CROSSED.at(gauge=gauge))
    if not isinstance(whole, CrossedStudy):
        raise CannotJudge("The crossed study itself cannot be judged.")
    table = _table_of(records, "crossed", item.id, gauge)
    return influence(
        table,
        **_who(table),
        whole=whole,
        confidence=study.confidence,
        unit=item.unit or "",
    )


def _nested(study: Study, records: Records, item: Characteristic, gauge: str) -> NestedStudy:
    table = _readings(records, item, "nested", gauge)
    return nested_components(
        table,
        tuple(table.attrs["levels"]),
        confidence=study.confidence,
        seed=study.seed,
        unit=item.unit or "",
    )


def _testers(
    study: Study, records: Records, item: Characteristic, gauge: str, new: Findings
) -> None:
    """Hold a destructive test against the tolerance where the file says who tested."""
    table = _table_of(records, "nested", item.id, gauge)
    levels = tuple(table.attrs.get("levels", ()))
    if "appraiser" not in table or not levels:
        return
    testing = table["appraiser"]
    specimens = [
        data.specimen_sd
        for data in study.data
        if data.role == "nested" and item.id in data.columns and data.specimen_sd is not None
    ]
    own = [name for name in levels if not table[name].equals(testing)]

    def of_testers() -> DestructiveGrr:
        if not own:
            raise CannotJudge("No level beside the tester names the batch.")
        named = table[own].astype(str).agg(" / ".join, axis=1)
        return destructive_grr(
            table.assign(batch=named),
            nested=True if len(own) < len(levels) else None,
            tolerance=reference_width(item),
            specimen_sd=specimens[0] if specimens else None,
            confidence=study.confidence,
            unit=item.unit or "",
        )

    new.evaluate(item.id, DESTRUCTIVE, of_testers, gauge=gauge or "test")


def _strength(
    study: Study, records: Records, item: Characteristic, gauge: str, new: Findings
) -> None:
    """Hold the strength of destroyed parts against a size that is read on all, where the file names one."""
    found = [
        data
        for data in study.data
        if data.role == "nested" and item.id in data.columns and data.size_of is not None
    ]
    if not found or item.lower is None:
        return
    data, required = found[0], item.lower
    sized = study.characteristic(str(data.size_of))

    def of_sizes() -> StrengthAssurance:
        table = _table_of(records, "nested", item.id, gauge)
        table = table[np.isfinite(table["size"].to_numpy(dtype=float))]
        levels = [name for name in table.attrs.get("levels", ()) if name in table]
        running = records.gauges("run", sized.id)
        accepting = running[0] if running else None
        own = new.get(sized.id, *CROSSED.at(gauge=accepting or ""))
        guard = None
        if data.size_gauge not in (None, accepting) and isinstance(own, CrossedStudy):
            guard = own.components["grr"].sd.estimate
        return strength_assurance(
            table["size"].to_numpy(dtype=float),
            table["value"].to_numpy(dtype=float),
            required,
            batch=table[levels[0]].to_numpy() if levels else None,
            lower=sized.lower,
            upper=sized.upper,
            confidence=study.confidence,
            gauge_sd=guard,
            measured_unit=sized.unit or "",
            unit=item.unit or "",
        )

    new.evaluate(item.id, STRENGTH, of_sizes, gauge=gauge or "test")


def _masters(
    study: Study, records: Records, item: Characteristic, gauge: str, new: Findings
) -> None:
    table = _table_of(records, "reference", item.id, gauge)
    values, known = table["value"].to_numpy(), table["reference"].to_numpy()
    doubt = table.get("reference_uncertainty")
    common: Any = {"confidence": study.confidence, "unit": item.unit or ""}
    doubts = None if doubt is None else doubt.to_numpy(dtype=float)
    doubtful: Any = common | {"reference_uncertainty": doubts}
    seen = new.get(item.id, *RESOLUTION.at(gauge=gauge))
    step = max(seen.step, seen.declared or 0.0) if isinstance(seen, ResolutionStudy) else None

    def of_bias() -> BiasStudy:
        refuse_unit_of_masters(values, known, item.unit or "")
        return bias_study(
            values,
            known,
            tolerance=reference_width(item) if item.tolerance else None,
            reference_correlation=float(certified_together(study, item.id, gauge)),
            step=step,
            **doubtful,
        )

    def of_line() -> LinearityStudy:
        refuse_unit_of_masters(values, known, item.unit or "")
        return linearity_study(values, known, item.lower, item.upper, **doubtful)

    def of_repeatability() -> RepeatabilityStudy:
        width = reference_width(item)
        if width is None:
            raise CannotJudge("There is no width of tolerance to hold the gauge against.")
        if not known.size:
            raise CannotJudge(_NOTHING)
        refuse_unit_of_masters(values, known, item.unit or "")
        aim = item.nominal if item.nominal is not None else float(np.median(known))
        sizes = np.unique(known)
        master = sizes[np.argmin(np.abs(sizes - aim))]
        return cg_cgk(
            values[known == master],
            float(master),
            width,
            fraction=convention(study, item, "cg_fraction", 0.2),
            sigma_multiplier=convention(study, item, "cg_multiplier", 6.0),
            **common,
        )

    new.evaluate(item.id, BIAS, of_bias, gauge=gauge)
    if np.unique(known).size > 1:
        new.evaluate(item.id, LINEARITY, of_line, gauge=gauge)
    new.evaluate(item.id, CG_CGK, of_repeatability, gauge=gauge)


def _drift(
    study: Study, records: Records, item: Characteristic, gauge: str, new: Findings
) -> DriftStudy:
    table = _table_of(records, "drift", item.id, gauge)
    if "reference" not in table:
        raise CannotJudge("The drift record does not say what the master's value is.")
    order, values, known = (table[one].to_numpy() for one in ("order", "value", "reference"))
    refuse_unit_of_masters(values, known, item.unit or "")
    return drift_study(
        *(order, values, known),
        resets=_resets(records.study, item, order),
        tolerance=reference_width(item) if item.tolerance else None,
        resolution=getattr(new.get(item.id, *RESOLUTION.at(gauge=gauge)), "widest", None),
        confidence=study.confidence,
        unit=item.unit or "",
        counted=_PLURAL.get(what := order_counts(study, item.id, "drift"), f'steps of "{what}"'),
    )


#: What the order of readings counts, in the plural; the name of a column of its own is quoted.
_PLURAL = {"stroke": "strokes", "reading": "readings"}


def order_counts(study: Study, key: str, role: str) -> str:
    """Name what the order of a file counts: strokes where it is the run's own counter, else its column's name.

    Parameters
    ----------
    study : Study
    key : str
        Characteristic.
    role : str
        Of the file.

    Returns
    -------
    str
        ``"stroke"``, ``"reading"`` where the file has no order, or the name of the column.
    """
    orders = [
        (data.role, data.order)
        for data in study.data
        if key in data.columns or data.long is not None
    ]
    run = {order for kind, order in orders if kind == "run"}
    own = [order for kind, order in orders if kind == role]
    if not own or own[0] in run:
        return "stroke"
    if own[0] is None:
        return "reading"
    name = own[0] if isinstance(own[0], str) else " / ".join(own[0])
    return "stroke" if name.casefold() in ("stroke", "strokes") else name


def _resets(study: Study, item: Characteristic, order: Any) -> tuple[float, ...]:
    """List where the gauge may have been set or cleaned: at every event not stated to leave it as it is.

    Where events are too many for the readings, only those of this characteristic count.
    """
    if not order.size:
        return ()
    events = [event for event in study.events if event.at is not None and event.may_reset(item.id)]
    inside = {float(e.at or 0) for e in events if order.min() < float(e.at or 0) <= order.max()}
    if order.size < 4 * (len(inside) + 1):
        events = [event for event in events if event.restarts(item.id)]
    return tuple(float(event.at or 0) for event in events)
