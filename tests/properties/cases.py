"""One entry for each public function that takes measured data: data to call it on, and what comes out.

A case makes a table; its columns named in `measured` are readings, all others labels or order numbers.
`call` gets the (changed) table and `Unit`, which turns limits and widths like the readings, and returns numbers by
name: ``pure`` ones have no unit, ``sizes`` scale with it, ``places`` also move with its zero.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from another_unit import Unit
from property_tables import crossed_table, masters, nested_table, pairs, positions, run, sample

from linestudy import capability, gauges, shape, stability
from linestudy.results import Absent, Interval


@dataclass(frozen=True)
class Numbers:
    """What a call gave, sorted by how it follows the unit."""

    pure: dict[str, float]
    sizes: dict[str, float]
    places: dict[str, float]


@dataclass(frozen=True)
class Case:
    """How a function is called, and which changes must leave its answer as it is."""

    make: Callable[[np.random.Generator], pd.DataFrame]
    call: Callable[[pd.DataFrame, Unit], Numbers]
    measured: tuple[str, ...] = ("value",)
    labels: tuple[str, ...] = ()
    ordered: bool = False
    shifts: bool = True
    reflects: bool = True
    same_doubled: tuple[str, ...] = ()
    tolerance: float = 1e-6


def numbers(
    pure: dict[str, Any] | None = None,
    sizes: dict[str, Any] | None = None,
    places: dict[str, Any] | None = None,
) -> Numbers:
    """Numbers with every interval taken apart into estimate and ends."""
    return Numbers(*(_flat(part or {}) for part in (pure, sizes, places)))


def _flat(part: dict[str, Any]) -> dict[str, float]:
    found = {}
    for name, value in part.items():
        if isinstance(value, Absent) or value is None:
            continue
        if isinstance(value, Interval):
            found[name] = value.estimate
            found[f"{name} width"] = value.high - value.low
        else:
            found[name] = float(value)
    return found


def _crossed(d: pd.DataFrame, u: Unit) -> Numbers:
    found = gauges.grr_anova(d, tolerance=u.size(4.0), draws=2000, seed=1)
    parts = found.components
    return numbers(
        {"ndc": found.ndc, "of tolerance": parts["grr"].share_of_tolerance},
        {name: parts[name].sd for name in ("repeatability", "appraiser", "grr", "part", "total")},
    )


def _behind_steps(d: pd.DataFrame, u: Unit) -> Numbers:
    step = u.size(1.0)
    found = gauges.rounded_repeatability(d, step=step, tolerance=u.size(4.0))
    return numbers({"share": found.share_of_tolerance}, {"sd": found.sd})


def _laboratories(d: pd.DataFrame, u: Unit) -> Numbers:
    found = gauges.interlaboratory(d, laboratory="appraiser", tolerance=u.size(4.0))
    return numbers(
        {"largest k": max(max(level.k.values()) for level in found.levels)},
        {"repeatability": found.repeatability_sd, "reproducibility": found.reproducibility_sd},
    )


def _systems(d: pd.DataFrame, u: Unit) -> Numbers:
    found = gauges.system_comparison(
        d.assign(system=d["trial"].astype(str)), appraiser=None, tolerance=u.size(4.0), seed=1
    )
    pair = found.pairs[0]
    return numbers(
        {"ratio": pair.repeatability_ratio, "p": pair.bias_p},
        {"bias": abs(pair.bias.estimate), "width": pair.bias.high - pair.bias.low},
    )


def _testers(d: pd.DataFrame, u: Unit) -> Numbers:
    found = gauges.destructive_grr(d, batch="part", tolerance=u.size(4.0))
    return numbers(
        {"share": found.share_most},
        {
            "testers": found.tester_sd,
            "batches": found.batch_sd,
            "rest": found.within_sd,
            "most": found.grr_most,
            "least": found.grr_least,
        },
    )


def _group(d: pd.DataFrame, u: Unit) -> Numbers:
    found = stability.group_chart(d["value"], d["station"], d["subgroup"], d["order"])
    low, high = found.limits
    return numbers(
        {"signals": found.signals},
        {"within": found.sd_within, "limits": high - low},
        {"centre": found.centre},
    )


def _stack(d: pd.DataFrame, u: Unit) -> Numbers:
    read = d.dropna().sort_values(["part", "appraiser", "trial"])["value"]
    cube = read.to_numpy(copy=True).reshape(1, 8, 3, 2)
    if len(d) > len(read):
        # A stack has no rows to leave out: the reading is missing from its cell.
        cube[0, 0, 0, 0] = np.nan
    (found,) = gauges.grr_anova_stack(cube, [u.size(4.0)], draws=2000, seed=1)
    return numbers({"ndc": found.ndc}, {"grr": found.components["grr"].sd})


def _ranges(d: pd.DataFrame, u: Unit) -> Numbers:
    found = gauges.average_and_range(d, tolerance=u.size(4.0), draws=1000, seed=1)
    return numbers({}, {name: item.sd for name, item in found.components.items()})


def _left_out(d: pd.DataFrame, u: Unit) -> Numbers:
    found = gauges.influence(d, seed=1)
    return numbers({"rows": len(found.shown())})


def _nested(d: pd.DataFrame, u: Unit) -> Numbers:
    found = gauges.nested_components(d, ("batch",), draws=2000, seed=1)
    return numbers({}, {name: item.sd for name, item in found.components.items()})


def _bias(d: pd.DataFrame, u: Unit) -> Numbers:
    found = gauges.bias_study(d["value"], d["reference"], tolerance=u.size(4.0))
    sign = np.sign(u.scale)
    return numbers({"t": sign * found.t, "p": found.p}, {"bias": sign * found.mean_bias.estimate})


def _linearity(d: pd.DataFrame, u: Unit) -> Numbers:
    found = gauges.linearity_study(d["value"], d["reference"], *u.limits(0.5, 4.5))
    return numbers({"slope": found.slope, "p": found.slope_p}, {"residual": found.residual_sd})


def _repeatability(d: pd.DataFrame, u: Unit) -> Numbers:
    found = gauges.cg_cgk(d["value"], u.place(2.0), u.size(20.0))
    return numbers({"Cg": found.Cg, "Cgk": found.Cgk, "p": found.p}, {"sd": found.sd})


def _drift(d: pd.DataFrame, u: Unit) -> Numbers:
    found = gauges.drift_study(d["order"], d["value"], u.place(2.0), tolerance=u.size(4.0))
    sign = np.sign(u.scale)
    slope = found.slope_per_thousand
    return numbers(
        {"p": found.slope_p}, {"slope": sign * slope.estimate, "residual": found.residual_sd}
    )


def _agreement(d: pd.DataFrame, u: Unit) -> Numbers:
    found = gauges.method_comparison(d["first"], d["second"], tolerance=u.size(4.0))
    sign = np.sign(u.scale)
    return numbers(
        {"deming": found.deming["slope"], "icc": found.icc},
        {"mean": sign * found.mean_difference.estimate, "sd": found.sd_difference},
    )


def _passing_bablok(d: pd.DataFrame, u: Unit) -> Numbers:
    found, _ = gauges.passing_bablok(d["first"], d["second"])
    return numbers({"slope": found["slope"]})


def _resolution(d: pd.DataFrame, u: Unit) -> Numbers:
    found = gauges.resolution_study(d["value"], tolerance=u.size(4.0))
    return numbers({"of tolerance": found.share_of_tolerance}, {"step": found.step})


def _chart(d: pd.DataFrame, u: Unit) -> Numbers:
    found = stability.control_chart(d["value"], d["subgroup"], d["order"])
    return numbers(
        {"signals": len(found.signals), "df": found.df_within}, {"within": found.sd_within}
    )


def _summaries(d: pd.DataFrame, u: Unit) -> Numbers:
    found = stability.summarise(d["value"], d["subgroup"], d["order"])
    again = stability.control_chart_of_summaries(found)
    return numbers({"signals": len(again.signals)}, {"sd": found.sd[3]}, {"mean": found.mean[7]})


def _serial(d: pd.DataFrame, u: Unit) -> Numbers:
    found = stability.autocorrelation(d["value"])
    return numbers({"lag1": found.lag1, "n_eff": found.n_eff_mean})


def _small_shifts(d: pd.DataFrame, u: Unit) -> Numbers:
    charts = (stability.ewma_chart, stability.cusum_chart)
    found = [chart(d["value"], u.place(2.0), u.size(0.1)) for chart in charts]
    return numbers({study.chart: len(study.signals) for study in found})


def _residual(d: pd.DataFrame, u: Unit) -> Numbers:
    found = stability.residual_chart(d["value"])
    return numbers({"signals": len(found.signals)})


def _wear(d: pd.DataFrame, u: Unit) -> Numbers:
    lower, upper = u.limits(1.0, 3.0)
    found = stability.tool_wear(d["value"], d["order"], lower=lower, upper=upper)
    slope = found.slope_per_thousand
    return numbers({}, {"slope": np.sign(u.scale) * slope.estimate, "width": slope.half_width})


def _steps(d: pd.DataFrame, u: Unit) -> Numbers:
    return numbers({"steps": len(stability.change_points(d["value"], d["order"]).shown())})


def _sources(d: pd.DataFrame, u: Unit) -> Numbers:
    found = stability.variance_sources(d, resamples=100, seed=1)
    shares = {**found.shares, "shared": found.shared}
    assert found.wear_per_thousand is not None
    wear = {"wear": abs(found.wear_per_thousand.estimate)}
    return numbers({name: share.estimate for name, share in shares.items()}, wear)


def _streams(d: pd.DataFrame, u: Unit) -> Numbers:
    found = stability.compare_streams(d["value"], d["station"])
    pair = found.pairs[0].difference
    return numbers({"p": found.p}, {"difference": abs(pair.estimate), "width": pair.half_width})


def _equal_spread(d: pd.DataFrame, u: Unit) -> Numbers:
    found = stability.equal_spread(d["value"], d["station"])
    return numbers({"p": found.p}, {"sd": found.sd[min(found.sd)]})


def _time_model(d: pd.DataFrame, u: Unit) -> Numbers:
    found = stability.time_model(d["value"], d["subgroup"], d["order"])
    return numbers({"model": sum(map(ord, found.model))})


def _soundness(d: pd.DataFrame, u: Unit) -> Numbers:
    frozen = stability.frozen_stretches(d["value"])
    return numbers({"issues": len(stability.data_quality(d).issues), "frozen": len(frozen)})


def _spreads(d: pd.DataFrame, u: Unit) -> Numbers:
    found = stability.within_subgroup_sds(d["value"], d["subgroup"])
    return numbers(
        {name: item.df for name, item in found.items()},
        {f"{name} SD": item.sd for name, item in found.items()},
    )


def _components(d: pd.DataFrame, u: Unit) -> Numbers:
    found = stability.variance_components(d, levels=("coil",), draws=500, seed=1)
    return numbers({"rows": len(found.shown())})


def _fit(d: pd.DataFrame, u: Unit) -> Numbers:
    found = shape.fit(d["value"], "logistic", with_covariance=True)
    again = shape.quantile_interval(found, 0.5)
    distance = shape.anderson_darling(found, d["value"])
    low, middle, high = found.ppf([0.1, 0.5, 0.9])
    return numbers(
        {"distance": distance},
        {"spread": high - low, "width": again.half_width},
        {"middle": middle},
    )


def _choose(d: pd.DataFrame, u: Unit) -> Numbers:
    found = shape.select_distribution(
        d["value"], refits=0, lower=u.limits(0.5, 3.5)[0], upper=u.limits(0.5, 3.5)[1]
    )
    return numbers({"chosen": sum(map(ord, found.chosen.family))})


def _normality(d: pd.DataFrame, u: Unit) -> Numbers:
    return numbers({test.test: test.p for test in shape.normality_tests(d["value"])})


def _johnson(how: str) -> Callable[[pd.DataFrame, Unit], Numbers]:
    def call(d: pd.DataFrame, u: Unit) -> Numbers:
        found = getattr(shape, how)(d["value"])
        low, middle, high = found.ppf([0.05, 0.5, 0.95])
        return numbers({}, {"spread": high - low}, {"middle": middle})

    return call


def _lots(d: pd.DataFrame, u: Unit) -> Numbers:
    found = capability.lot_capability(d["value"], [d["subgroup"]], *u.limits(0.8, 3.4))
    return numbers(
        {"share": found.lot_share.high, "bound": float(found.bound_share)}, {"sd": found.sd.high}
    )


def _capability(d: pd.DataFrame, u: Unit) -> Numbers:
    found = capability.process_capability(d["value"], *u.limits(0.8, 3.4), seed=1)
    return numbers(
        {"Pp": found.Pp, "Ppk": found.Ppk, "bound": found.lower_bounds["Ppk"]},
        {"sd": found.sd_overall},
        {"mean": found.mean},
    )


def _machine(d: pd.DataFrame, u: Unit) -> Numbers:
    found = capability.machine_performance(d["value"], *u.limits(0.8, 3.4), family="normal", seed=1)
    return numbers({"Pmk": found.Pmk, "p": found.slope_p, "lag1": found.lag1}, {"sd": found.sd})


def _blocks(d: pd.DataFrame, u: Unit) -> Numbers:
    found = capability.block_bootstrap(d["value"], *u.limits(0.8, 3.4), seed=1)
    return numbers({"mean": found.n_eff_mean, "sd": found.n_eff_sd, "Ppk": found.Ppk})


def _tolerance(d: pd.DataFrame, u: Unit) -> Numbers:
    found = capability.tolerance_intervals(d["value"], *u.limits(0.5, 3.5), contents=(0.8,))
    item = found.intervals[0]
    ends = sorted((item.low, item.high))
    return numbers({"confidence": item.confidence}, {"width": ends[1] - ends[0]})


def _within(d: pd.DataFrame, u: Unit) -> Numbers:
    found = capability.within_subgroup_sd(
        d["value"], d["subgroup"], **dict(zip(("lower", "upper"), u.limits(1.0, 3.0), strict=True))
    )
    return numbers({one.method: one.Cpk for one in found.estimates})


def _observed(d: pd.DataFrame, u: Unit) -> Numbers:
    found = capability.observed_nonconforming(d["value"], *u.limits(1.6, 2.4))
    return numbers({"outside": found.below + found.above, "ppm": found.ppm})


def _sorted(d: pd.DataFrame, u: Unit) -> Numbers:
    lower, upper = u.limits(1.5, 2.5)
    inside = d["value"][(d["value"] >= lower) & (d["value"] <= upper)]
    few = ("normal", "gamma with threshold")
    found = capability.truncated_capability(inside, lower, upper, rejected_count=300, families=few)
    cut = capability.truncation_points(inside.to_numpy(), lower, upper)
    return numbers({"Ppk": found.Ppk, "rejected": found.rejected.estimate, "cut": len(cut)})


def _joint(d: pd.DataFrame, u: Unit) -> Numbers:
    table = d.rename(columns={"first": "a", "second": "b"})
    found = capability.joint_conformity(table, {"a": u.limits(3.2, 4.9), "b": u.limits(3.1, 5.0)})
    return numbers({"all": found.within_all, "product": found.product_of_shares})


def _position(d: pd.DataFrame, u: Unit) -> Numbers:
    found = capability.position_capability(d["x"], d["y"], u.size(0.2), seed=1)
    return numbers({"Ppk": found.Ppk.estimate, "ppm": found.expected_ppm.estimate})


CASES = {
    "gauges.grr_anova": Case(
        crossed_table, _crossed, labels=("part", "appraiser"), same_doubled=()
    ),
    "gauges.grr_anova_stack": Case(crossed_table, _stack),
    "gauges.average_and_range": Case(crossed_table, _ranges, labels=("part", "appraiser")),
    "gauges.rounded_repeatability": Case(
        crossed_table, _behind_steps, labels=("part", "appraiser"), same_doubled=()
    ),
    "gauges.influence": Case(crossed_table, _left_out, labels=("part", "appraiser")),
    "gauges.system_comparison": Case(crossed_table, _systems, labels=("part",)),
    "gauges.destructive_grr": Case(crossed_table, _testers, labels=("part", "appraiser")),
    "stability.group_chart": Case(run, _group, ordered=True),
    "gauges.interlaboratory": Case(crossed_table, _laboratories, labels=("part", "appraiser")),
    "gauges.nested_components": Case(nested_table, _nested, labels=("batch",)),
    "gauges.bias_study": Case(
        masters, _bias, measured=("value", "reference"), same_doubled=("bias",)
    ),
    "gauges.linearity_study": Case(
        masters, _linearity, measured=("value", "reference"), same_doubled=("slope",)
    ),
    "gauges.cg_cgk": Case(sample, _repeatability),
    "gauges.drift_study": Case(run, _drift, ordered=True),
    "gauges.method_comparison": Case(
        pairs, _agreement, measured=("first", "second"), same_doubled=("mean",), tolerance=1e-4
    ),
    "gauges.passing_bablok": Case(pairs, _passing_bablok, measured=("first", "second")),
    "gauges.resolution_study": Case(
        lambda rng: sample(rng).round(2), _resolution, same_doubled=("of tolerance", "step")
    ),
    "stability.control_chart": Case(run, _chart, ordered=True),
    "stability.summarise": Case(run, _summaries, ordered=True),
    "stability.autocorrelation": Case(run, _serial, ordered=True),
    "stability.ewma_chart": Case(run, _small_shifts, ordered=True),
    "stability.residual_chart": Case(run, _residual, ordered=True),
    "stability.tool_wear": Case(run, _wear, ordered=True),
    "stability.change_points": Case(run, _steps, ordered=True),
    "stability.variance_sources": Case(run, _sources, ordered=True, labels=("coil", "station")),
    "stability.variance_components": Case(run, _components, ordered=True),
    "stability.compare_streams": Case(run, _streams, ordered=True),
    "stability.equal_spread": Case(run, _equal_spread, ordered=True),
    "stability.cusum_chart": Case(run, _small_shifts, ordered=True),
    "stability.frozen_stretches": Case(run, _soundness, ordered=True),
    "stability.time_model": Case(run, _time_model, ordered=True),
    "stability.data_quality": Case(run, _soundness, ordered=True),
    "stability.within_subgroup_sds": Case(run, _spreads, ordered=True),
    "shape.fit": Case(sample, _fit, same_doubled=("spread", "middle"), tolerance=1e-3),
    "shape.select_distribution": Case(sample, _choose),
    "shape.normality_tests": Case(sample, _normality),
    "shape.johnson_by_moments": Case(
        sample, _johnson("johnson_by_moments"), same_doubled=("middle",), tolerance=1e-3
    ),
    "shape.johnson_by_quantiles": Case(
        lambda rng: sample(rng, 600), _johnson("johnson_by_quantiles"), tolerance=1e-3
    ),
    "capability.process_capability": Case(sample, _capability, same_doubled=("mean",)),
    # Points are laid out evenly, not symmetrically.
    "capability.lot_capability": Case(run, _lots, tolerance=1e-3),
    "capability.machine_performance": Case(sample, _machine, ordered=True),
    "capability.block_bootstrap": Case(
        lambda rng: sample(rng, 800), _blocks, ordered=True, reflects=False
    ),
    "capability.tolerance_intervals": Case(sample, _tolerance),
    "capability.within_subgroup_sd": Case(run, _within, ordered=True),
    "capability.observed_nonconforming": Case(sample, _observed),
    # Of the families that the envelope holds some lean to one side.
    "capability.truncated_capability": Case(
        lambda rng: sample(rng, 900), _sorted, tolerance=1e-3, reflects=False
    ),
    "capability.joint_conformity": Case(
        pairs, _joint, measured=("first", "second"), same_doubled=("all", "product")
    ),
    "capability.position_capability": Case(
        positions, _position, measured=("x", "y"), shifts=False, tolerance=1e-4
    ),
}
