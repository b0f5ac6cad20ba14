"""Capability of every measured characteristic, and of the part as a whole."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from linestudy.capability.blocks import block_bootstrap
from linestudy.capability.gauge.risk import risk_of, without_gauge
from linestudy.capability.round_zone.study import position
from linestudy.capability.short_run import MachineStudy, machine
from linestudy.capability.sorting.evidence import process_before_sorting, why_sorted
from linestudy.capability.study import CapabilityStudy, capability
from linestudy.capability.tolerance import tolerance_intervals
from linestudy.capability.whole_part.bin_counts import BinsStudy, bins
from linestudy.capability.whole_part.joint_study import JointStudy, joint
from linestudy.capability.whole_part.rejected import rejects
from linestudy.capability.within_subgroups import within
from linestudy.results import Absent, CannotJudge, Findings, Unjudged
from linestudy.shape import ShapeStudy
from linestudy.workers import run_all

if TYPE_CHECKING:
    from collections.abc import Callable

    import pandas as pd

    from linestudy.records import Records
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic

#: Fewer parts than this are too few for blocks that are long against the correlation.
LEAST_RUN = 400


def evaluate(study: Study, records: Records, findings: Findings) -> Findings:
    """Evaluate capability for every characteristic with a run or nested readings.

    Parameters
    ----------
    study : Study
    records : Records
    findings : Findings
        What stability and shape found.

    Returns
    -------
    Findings
        At ``("capability",)``, with ``"tolerance_intervals"``, ``"block_bootstrap"`` and, for a position,
        ``"position"`` below it; with periods set aside also ``("capability",
        "with_set_aside")``; ``("capability", "machine")`` where a short run was taken; ``("capability", "gauge_removed")`` where a gauge study allows it and
        ``("capability", "before_sorting")`` where parts were sorted; for the study ``("joint",)``, ``("bins",)`` and ``("rejects",)``.

    Examples
    --------
    See ``notebooks/submission/5_shape_and_capability.ipynb``.
    """
    new = Findings()
    # What one characteristic gives hangs on no other's: they share the cores.
    for part in run_all(
        [partial(_one, study, records, item, findings) for item in study.characteristics]
    ):
        new.update(part)
    runs = [source for source in records.sources if source.data.role == "run"]
    if runs and len(runs[0].frame.attrs["characteristics"]) > 1:
        new.attempt(
            None,
            ("joint",),
            "All characteristics together",
            partial(_joint, study, runs[0].frame, new),
        )
    if any(source.data.role == "bins" for source in records.sources):
        new.attempt(None, ("bins",), "Bins", partial(_bins, study, records))
        counted = new.get(None, "bins")
        names = {
            item.id: item.name
            for item in study.characteristics
            if records.table("run", item.id) is not None
        }
        if isinstance(counted, BinsStudy) and names:
            new.attempt(
                None,
                ("rejects",),
                "Predicted and observed rejects",
                partial(rejects, new, names, counted),
            )
    return new


def _one(study: Study, records: Records, item: Characteristic, findings: Findings) -> Findings:
    """Everything about one characteristic alone."""
    new = Findings()
    if item.is_attribute:
        return new
    short = records.table("machine", item.id)
    if short is not None:
        new.attempt(
            item.id,
            ("capability", "machine"),
            "Machine performance",
            partial(_machine, study, item, short),
        )
    run = records.table("run", item.id)
    table = run if run is not None else records.table("nested", item.id)
    if table is None:
        return new
    kept = table[~table["set_aside"]] if "set_aside" in table else table
    new.attempt(
        item.id,
        ("capability",),
        "Capability",
        partial(_capability, study, records, item, kept, findings),
    )
    if len(kept) < len(table):
        new.attempt(
            item.id,
            ("capability", "with_set_aside"),
            "Capability with the periods set aside",
            partial(_capability, study, records, item, table, findings),
        )
    sorting = None if run is None else why_sorted(records, item)
    if sorting is not None:
        new.attempt(
            item.id,
            ("capability", "before_sorting"),
            "The process before sorting",
            partial(process_before_sorting, study, records, item, kept, findings),
        )
    index = new.get(item.id, "capability")
    if isinstance(index, CapabilityStudy):
        _beside_the_index(study, item, kept, run is not None, index, new)
    for gauge in records.gauges("run", item.id)[:1]:
        if isinstance(index, CapabilityStudy):
            new.attempt(
                item.id,
                ("capability", "gauge_removed"),
                "Capability without the gauge",
                partial(without_gauge, study, item, gauge, findings),
            )
    for gauge in records.gauges("run", item.id):
        new.attempt(
            item.id,
            ("gauges", gauge, "conformity_risk"),
            "Risk of a wrong verdict",
            partial(risk_of, study, records, item, gauge, findings),
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
    """What needs no distribution, what checks the effective numbers, and position."""
    limits = item.lower, item.upper
    shared: Any = {"confidence": study.confidence, "unit": item.unit or ""}
    worth: Any = {"n_mean": index.effective_n_mean, "n_spread": index.effective_n_spread}

    def attempt(place: str, name: str, work: Callable[[], Any]) -> None:
        new.attempt(item.id, ("capability", place), name, work)

    attempt(
        "tolerance_intervals",
        "Tolerance intervals",
        # Tails feel slow movements as little as the spread does.
        lambda: tolerance_intervals(
            kept["value"], *limits, n_effective=index.effective_n_spread, **shared
        ),
    )
    if in_order and not isinstance(index.Cp, Absent) and kept["subgroup"].notna().any():
        taken = kept[kept["subgroup"].notna()]
        attempt(
            "within",
            "Spread within subgroups",
            lambda: within(
                taken["value"], taken["subgroup"], *limits, n_mean=worth["n_mean"], **shared
            ),
        )
    if in_order and len(kept) >= LEAST_RUN:
        attempt(
            "block_bootstrap",
            "Effective number by blocks",
            lambda: block_bootstrap(
                kept["value"], *limits, confidence=study.confidence, seed=study.seed, **worth
            ),
        )
    place = item.position
    if "x" in kept and place is not None and item.upper is not None:
        zone = item.upper
        attempt(
            "position",
            "Position",
            lambda: position(
                kept["x"],
                kept["y"],
                zone,
                size=kept.get("size"),
                most_material=place.most_material,
                feature=place.feature,
                seed=study.seed,
                **worth,
                **shared,
            ),
        )


def _machine(study: Study, item: Characteristic, table: pd.DataFrame) -> MachineStudy:
    return machine(
        table["value"],
        item.lower,
        item.upper,
        family=item.family,
        bound=item.bound,
        confidence=study.confidence,
        seed=study.seed,
        unit=item.unit or "",
    )


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
    chart: Any = findings.get(item.id, "stability")
    serial: Any = findings.get(item.id, "stability", "autocorrelation")
    model: Any = findings.get(item.id, "stability", "time_model")
    groups = _independent_groups(table)
    return capability(
        table["value"],
        item.lower,
        item.upper,
        target=item.nominal,
        fitted=shape.chosen if isinstance(shape, ShapeStudy) else None,
        admissible=shape.admissible if isinstance(shape, ShapeStudy) else (),
        sd_within=_within(chart, model),
        df_within=getattr(chart, "df_within", None),
        n_mean=getattr(serial, "n_eff_mean", groups),
        n_spread=getattr(serial, "n_eff_sd", None),
        confidence=study.confidence,
        seed=study.seed,
        unit=item.unit or "",
    )


def _independent_groups(table: pd.DataFrame) -> float | None:
    """Effective number for the mean of nested readings: their variance lies partly between batches."""
    levels = table.attrs.get("levels") or ()
    if not levels:
        return None
    groups = table.groupby(levels[0])["value"]
    sizes = groups.size()
    if len(sizes) < 2 or len(table) <= len(sizes):
        return None
    total = float(table["value"].var())
    between = float(groups.mean().var())
    if total <= 0 or between <= 0:
        return None
    # Variance of the grand mean is that of the batch means over their number.
    return min(float(len(table)), total * len(sizes) / between)


def _within(chart: Any, model: Any) -> float | Absent:
    if getattr(chart, "sd_within", None) is None:
        return Absent("no chart gives a spread within subgroups")
    if not getattr(model, "may_report_within", False):
        letter = getattr(model, "model", None)
        why = (
            f"model {letter} of ISO 22514-2 allows only Pp and Ppk"
            if letter
            else ("whether the process holds still is not known")
        )
        return Absent(why)
    return float(chart.sd_within)


def _joint(study: Study, frame: pd.DataFrame, new: Findings) -> JointStudy:
    limits = {
        item.id: (item.lower, item.upper)
        for item in study.characteristics
        if item.id in frame.attrs["characteristics"]
    }
    rates = {
        key: found.expected_ppm
        for key in limits
        if isinstance(found := new.get(key, "capability"), CapabilityStudy)
    }
    return joint(frame[~frame["set_aside"]], limits, study.confidence, rates)


def _bins(study: Study, records: Records) -> BinsStudy:
    table = records.table("bins")
    if table is None:
        raise CannotJudge("There are no bin counts.")
    logged = None
    for source in records.sources:
        if source.data.role == "run" and "accepted" in source.frame:
            good = int(source.frame["accepted"].sum())
            logged = {"accepted": good, "rejected": len(source.frame) - good}
    return bins(table, logged, study.confidence)
