"""Capability of every measured characteristic, and of the part as a whole."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from linestudy.capability.finding import (
    CAPABILITY,
    CAPABILITY_WITH_SET_ASIDE,
    CapabilityStudy,
)
from linestudy.capability.gauge.removed import GAUGE_REMOVED
from linestudy.capability.gauge.risk import risk_of, without_gauge
from linestudy.capability.lots.lot_draws import LotDraws, lot_draws
from linestudy.capability.lots.lot_study import LOTS, lot_capability
from linestudy.capability.resampled_blocks import BLOCK_BOOTSTRAP, block_bootstrap
from linestudy.capability.round_zone.study import POSITION, PositionStudy, position_capability
from linestudy.capability.short_run import (
    MACHINE,
    MachineStudy,
    cautions_of,
    machine_performance,
)
from linestudy.capability.sorting.sorted_before import process_before_sorting, why_sorted
from linestudy.capability.sorting.truncated_study import BEFORE_SORTING, STREAM_BEFORE_SORTING
from linestudy.capability.streams.by_stream import (
    ABOUT_WEAR,
    STREAM_MACHINE,
    STREAM_POSITION,
    each_stream,
    of_streams,
    streams_of,
    tool_mixture,
    worn_tool,
)
from linestudy.capability.study import process_capability
from linestudy.capability.tolerance import TOLERANCE_INTERVALS, tolerance_intervals
from linestudy.capability.wear.of_run import of_tool_life
from linestudy.capability.whole_part.bins_study import BINS, BinsStudy, LoggedCounts, bin_counts
from linestudy.capability.whole_part.joint_study import (
    JOINT,
    STREAM_JOINT,
    JointStudy,
    joint_conformity,
)
from linestudy.capability.whole_part.layout_study import LAYOUT, layout_results
from linestudy.capability.whole_part.rejects_study import REJECTS, reject_balance
from linestudy.capability.within_subgroups import WITHIN, within_subgroup_sd
from linestudy.capability.yields.study import YIELD, YieldStudy, yield_study
from linestudy.gauges.budget.risk_study import CONFORMITY_RISK, ConformityRisk
from linestudy.results import Absent, CannotJudge, Findings, Unjudged
from linestudy.running.workers import run_all
from linestudy.shape.evaluation import declared_family
from linestudy.shape.finding import ShapeStudy
from linestudy.stability.model.named_wear import without_wear
from linestudy.stability.movement.block_means import without_stations
from linestudy.stability.said_of_run import resets_by_stream, resets_of

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.records import Records
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic, Position

#: Fewer parts than this are too few for blocks that are long against the correlation.
LEAST_RUN = 400


def evaluate(study: Study, records: Records, findings: Findings) -> Findings:
    """Evaluate capability for every characteristic with a run or nested readings.

    Parameters
    ----------
    study : Study
        Characteristics with their limits, confidence and seed.
    records : Records
        Their readings.
    findings : Findings
        What gauges, stability and shape found.

    Returns
    -------
    Findings
        At ``("capability",)``, with ``"lots"`` (coils, batches), ``"tolerance_intervals"``, ``"block_bootstrap"`` and, for a position,
        ``"position"`` below it; with periods set aside also ``("capability", "with_set_aside")``;
        ``("capability", "machine")`` where a short run was taken; ``("capability", "gauge_removed")`` where
        a gauge study allows it and ``("capability", "before_sorting")`` where parts were sorted; for the
        study ``("yield",)``, ``("joint",)``, ``("layout",)``, ``("bins",)`` and ``("rejects",)``.

    See Also
    --------
    process_capability : The method, for values of your own.

    Examples
    --------
    See ``notebooks/submission/5_shape_and_capability.ipynb``.
    """
    new = Findings()
    # Characteristics do not depend on each other, so they share the cores: first that of which most distributions are
    # plausible, for each of them asks for intervals of its own.
    items = sorted(study.characteristics, key=partial(_plausible, findings), reverse=True)
    parts = run_all([partial(_one, study, records, item, findings) for item in items])
    found = {item.id: part for item, part in zip(items, parts, strict=True)}
    for item in study.characteristics:
        new.update(found[item.id])
    runs = [source for source in records.sources if source.data.role == "run"]
    if runs and len(runs[0].frame.attrs["characteristics"]) > 1:
        new.evaluate(None, JOINT, partial(_joint, study, runs[0].frame, new))
        for name, part in streams_of(runs[0].frame).items():
            new.evaluate(None, STREAM_JOINT, partial(_joint, study, part, new, name), stream=name)
    judged = [source.frame for source in runs if "accepted" in source.frame]
    if judged:
        new.evaluate(None, YIELD, partial(_yield, study, judged[0], findings, new))
    layout = records.table("layout")
    if layout is not None:
        new.evaluate(None, LAYOUT, partial(layout_results, layout["dimension"]))
    if any(source.data.role == "bins" for source in records.sources):
        counts = new.evaluate(None, BINS, partial(_bins, study, records))
        names = {
            item.id: item.name
            for item in study.characteristics
            if records.table("run", item.id) is not None
        }
        if isinstance(counts, BinsStudy) and names:
            new.evaluate(None, REJECTS, partial(reject_balance, new, names, counts))
    return new


def _plausible(findings: Findings, item: Characteristic) -> int:
    """Count the distributions that may describe a characteristic."""
    shape = findings.get(item.id, "shape")
    return len(shape.plausible_families) if isinstance(shape, ShapeStudy) else 0


def _one(study: Study, records: Records, item: Characteristic, findings: Findings) -> Findings:
    """Evaluate one characteristic alone."""
    new = Findings()
    if item.is_attribute:
        return new
    short = records.table("machine", item.id)
    if short is not None:
        new.evaluate(item.id, MACHINE, partial(_machine, study, item, short))
        of_one = partial(_machine_of_stream, study, item, max(len(streams_of(short)), 1))
        each_stream(item, short, STREAM_MACHINE, of_one, new)
    run = records.table("run", item.id)
    table = run if run is not None else records.table("nested", item.id)
    if table is None:
        return new
    kept = table[~table["set_aside"]] if "set_aside" in table else table
    index = new.evaluate(
        item.id, CAPABILITY, partial(_capability, study, records, item, kept, findings)
    )
    if len(kept) < len(table):
        new.evaluate(
            item.id,
            CAPABILITY_WITH_SET_ASIDE,
            partial(_capability, study, records, item, table, findings),
        )
    sorting = None if run is None else why_sorted(records, item)
    if sorting is not None:
        new.evaluate(
            item.id,
            BEFORE_SORTING,
            partial(process_before_sorting, study, records, item, kept, findings),
        )

        def before(part: pd.DataFrame) -> Any:
            return process_before_sorting(study, records, item, part, findings, of_stream=True)

        each_stream(item, kept, STREAM_BEFORE_SORTING, before, new)
    if run is not None and isinstance(index, CapabilityStudy):

        def of_lots(part: pd.DataFrame) -> LotDraws | None:
            return lots_of(records.timed(study), item, part)[0]

        of_streams(
            records.timed(study), item, kept, index, findings.get(item.id, "shape"), new, of_lots
        )
        of_tool_life(records, item, kept, findings, new, streams_of(kept))
    if isinstance(index, CapabilityStudy):
        _beside_the_index(records.timed(study), item, kept, run is not None, index, new)
    for gauge in records.gauges("run", item.id)[:1]:
        if isinstance(index, CapabilityStudy):
            new.evaluate(
                item.id, GAUGE_REMOVED, partial(without_gauge, study, item, gauge, findings)
            )
    for gauge in records.gauges("run", item.id):
        new.evaluate(
            item.id,
            CONFORMITY_RISK,
            partial(risk_of, study, records, item, gauge, findings),
            gauge=gauge,
        )
    return new


def _beside_the_index(
    study: Study,
    item: Characteristic,
    kept: pd.DataFrame,
    in_order: bool,
    index: CapabilityStudy,
    new: Findings,
) -> None:
    """Evaluate what needs no distribution, the check of effective sample sizes, the effect of few lots, and position."""
    limits: Any = {"lower": item.lower, "upper": item.upper}
    shared: Any = {"confidence": study.confidence, "unit": item.unit or ""}
    sizes: Any = {"n_eff_mean": index.n_eff_mean, "n_eff_sd": index.n_eff_sd}
    of_life = getattr(index.fitted, "family", "") == ABOUT_WEAR
    new.evaluate(
        item.id,
        TOLERANCE_INTERVALS,
        # Tails feel slow movements as little as the spread does.
        lambda: tolerance_intervals(kept["value"], **limits, n_eff=index.n_eff_sd, **shared),
    )
    lots, level = lots_of(study, item, kept)
    if lots is not None:
        new.evaluate(
            item.id,
            LOTS,
            lambda: lot_capability(
                kept["value"], lots, **limits, by=level, fitted=index.fitted, **shared
            ),
        )
    if in_order and not isinstance(index.Cp, Absent) and kept["subgroup"].notna().any():
        taken = kept[kept["subgroup"].notna()]
        if "station" in taken:
            # Rows of streams alternate.
            taken = taken.sort_values("subgroup", kind="stable")
        new.evaluate(
            item.id,
            WITHIN,
            lambda: within_subgroup_sd(
                taken["value"], taken["subgroup"], **limits, n_eff_mean=index.n_eff_mean, **shared
            ),
        )
    if in_order and len(kept) >= LEAST_RUN:
        new.evaluate(
            item.id,
            BLOCK_BOOTSTRAP,
            lambda: block_bootstrap(
                # Effective sizes about the wear are held against blocks of the same values.
                _less_wear(study, item, kept) if of_life else kept["value"],
                **limits,
                confidence=study.confidence,
                seed=study.seed,
                **sizes,
            ),
        )
    place = item.position
    if "x" in kept and place is not None and item.upper is not None:
        place_of = partial(_position, study, item, place, index)
        new.evaluate(item.id, POSITION, partial(place_of, kept))
        each_stream(item, kept, STREAM_POSITION, place_of, new)


def _position(
    study: Study, item: Characteristic, place: Position, index: CapabilityStudy, table: pd.DataFrame
) -> PositionStudy:
    assert item.upper is not None
    share = len(table) / index.n
    return position_capability(
        table["x"],
        table["y"],
        item.upper,
        feature_size=table.get("size"),
        most_material=place.most_material,
        feature=place.feature,
        seed=study.seed,
        n_eff_mean=max(index.n_eff_mean * share, 2.0),
        n_eff_sd=max(index.n_eff_sd * share, 4.0),
        confidence=study.confidence,
        unit=item.unit or "",
    )


def _needs_a_limit(item: Characteristic) -> None:
    if item.lower is None and item.upper is None:
        raise CannotJudge("There is no limit to hold the values against.")


def _machine(study: Study, item: Characteristic, table: pd.DataFrame) -> MachineStudy:
    _needs_a_limit(item)
    return machine_performance(
        table["value"],
        item.lower,
        item.upper,
        family=declared_family(item),
        bound=item.bound_below,
        confidence=study.confidence,
        station=table.get("station"),
        seed=study.seed,
        unit=item.unit or "",
    )


def _machine_of_stream(
    study: Study, item: Characteristic, streams: int, table: pd.DataFrame
) -> MachineStudy:
    found = _machine(study, item, table)
    return replace(found, cautions=cautions_of(found.study, found.slope_p, found.lag1, streams))


def _capability(
    study: Study,
    records: Records,
    item: Characteristic,
    table: pd.DataFrame,
    findings: Findings,
) -> CapabilityStudy:
    shape = findings.get(item.id, "shape")
    if isinstance(shape, Unjudged):
        raise CannotJudge(f"The distribution is not known. {shape.reason}")
    sorting = why_sorted(records, item)
    if sorting is not None:
        raise CannotJudge(
            f"{sorting} What is left has been sorted, and an index of it would be too good; give the "
            "log of all parts, or claim the process before sorting."
        )
    _needs_a_limit(item)
    chart: Any = findings.get(item.id, "stability")
    serial: Any = findings.get(item.id, "stability", "autocorrelation")
    model: Any = findings.get(item.id, "stability", "time_model")
    timed = records.timed(study)
    lots, _ = lots_of(timed, item, table)
    worn = worn_tool(timed, item, table)
    mixed = (worn.mixture,) if worn else tool_mixture(study, item, table, shape)
    fitted = shape.chosen if isinstance(shape, ShapeStudy) else None
    plausible = shape.plausible_families if isinstance(shape, ShapeStudy) else ()
    return process_capability(
        table["value"],
        item.lower,
        item.upper,
        target=item.nominal,
        fitted=mixed[0] if mixed else fitted,
        plausible_families=mixed or plausible,
        sd_within=_within(chart, model),
        df_within=getattr(chart, "df_within", None),
        n_eff_mean=worn.n_eff_mean if worn else getattr(serial, "n_eff_mean", None),
        n_eff_sd=worn.n_eff_sd if worn else getattr(serial, "n_eff_sd", None),
        lots=() if lots is None else lots,
        confidence=study.confidence,
        seed=study.seed,
        unit=item.unit or "",
    )


def lots_of(study: Study, item: Characteristic, table: pd.DataFrame) -> tuple[LotDraws | None, str]:
    """Lay out what the lots of the readings leave open, and name a lot; None where fewer than two are named.

    Of a run the coils, wear between named regrinds and the stations' own levels being known; of a destructive test
    the levels that the study names. Coils count only where every part names one; blank names are left out.
    """
    levels = [name for name in table.attrs.get("levels") or () if name in table]
    named = levels or [name for name in ("coil",) if name in table]
    if not named or table[named[0]].isna().any() or table[named[0]].nunique() < 2:
        return None, ""
    values = table["value"].to_numpy(dtype=float)
    labels = [table[name].to_numpy() for name in named]
    known = None
    if not levels:
        known = values - without_stations(_less_wear(study, item, table), table.get("station"))
        # Parts that name no coil are no coil of their own.
        there = labels[0] != ""
        values, known, labels = values[there], known[there], [labels[0][there]]
    try:
        return lot_draws(values, labels, known), named[0]
    except CannotJudge:
        return None, ""


def _less_wear(study: Study, item: Characteristic, table: pd.DataFrame) -> NDArray[np.float64]:
    """Subtract from the values of a run the wear between the resets that the study names."""
    values = table["value"].to_numpy(dtype=float)
    order = table["order"].to_numpy(dtype=float) if "order" in table else np.arange(values.size)
    own = resets_by_stream(study, item, table)
    found = without_wear(values, order, resets_of(study, item), table.get("station"), own)[0]
    return np.asarray(found, dtype=float)


def _within(chart: Any, model: Any) -> float | Absent:
    if getattr(chart, "sd_within", None) is None:
        return Absent("no chart gives a spread within subgroups")
    if not getattr(model, "may_report_within", False):
        letter = getattr(model, "model", None)
        why = (
            f"model {letter} of ISO 22514-2 allows only Pp and Ppk"
            if letter
            else ("whether the process is in statistical control is not known")
        )
        return Absent(why)
    return float(chart.sd_within)


def _joint(
    study: Study, frame: pd.DataFrame, new: Findings, stream: str | None = None
) -> JointStudy:
    limits = {
        item.id: (item.lower, item.upper) for item in study.characteristics if item.id in frame
    }
    place = ("capability",) if stream is None else ("streams", stream, "capability")
    rates = {
        key: found.expected_ppm
        for key in limits
        if isinstance(found := new.get(key, *place), CapabilityStudy)
    }
    return joint_conformity(
        frame[~frame["set_aside"]],
        limits,
        confidence=study.confidence,
        rates=rates,
        names={item.id: item.name for item in study.characteristics},
    )


def _yield(study: Study, frame: pd.DataFrame, findings: Findings, new: Findings) -> YieldStudy:
    """Evaluate yield and rejects of a run, with the risks of its gauge."""
    limits = {
        item.id: (item.lower, item.upper)
        for item in study.characteristics
        if item.id in frame.attrs["characteristics"] and not item.is_attribute
    }
    risks = {
        key: found
        for key in limits
        for found in new.of(key, "gauges").values()
        if isinstance(found, ConformityRisk)
    }
    return yield_study(frame[~frame["set_aside"]], limits, risks=risks, confidence=study.confidence)


def _bins(study: Study, records: Records) -> BinsStudy:
    table = records.table("bins")
    if table is None:
        raise CannotJudge("There are no bin counts.")
    logged = None
    for source in records.sources:
        if source.data.role == "run" and "accepted" in source.frame:
            good = int(source.frame["accepted"].sum())
            logged = LoggedCounts(good, len(source.frame) - good)
    return bin_counts(table, logged=logged, confidence=study.confidence)
