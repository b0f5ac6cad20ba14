"""Scenes of room stability; see `scenes`."""

from __future__ import annotations

import numpy as np
import pandas as pd
from unchanged_scenes import groups, moved, normal, rng, scene, slow, steady

from linestudy import stability as s

for kind in (
    "mean and range",
    "mean and standard deviation",
    "median and range",
    "mean between and within",
):
    scene(f"chart: {kind}", lambda k=kind: s.control_chart(moved, groups, kind=k, unit="mm"))
scene("chart: individuals", lambda: s.control_chart(moved[:60]))
scene("chart: all rules", lambda: s.control_chart(moved, groups, rules="Western Electric 1956"))
scene("chart: nelson", lambda: s.control_chart(np.sort(moved), groups, rules="Nelson 1984"))
scene("chart: base", lambda: s.control_chart(moved, groups, base=(1, 100), sigmas=3.09))
scene("chart: phases", lambda: s.control_chart(moved, groups, phases=(121.0,)))
scene("chart: unequal", lambda: s.control_chart(moved, np.sort(rng(5).integers(0, 30, 200))))
scene("chart: few", lambda: s.control_chart(steady[:60], groups[:60]))
scene("chart: one value each", lambda: s.control_chart(steady, groups, kind="no such chart"))
scene("chart: label returns", lambda: s.control_chart(steady, groups % 20))
scene("summarise", lambda: s.summarise(steady[:20], groups[:20]))
scene(
    "from table: impossible",
    lambda: s.summaries_from_table(
        pd.DataFrame({"n": [0], "mean": [1], "sd": [1], "min": [1], "max": [1]})
    ),
)
for chart in ("p", "np", "p widened"):
    scene(
        f"counts: {chart}",
        lambda k=chart: s.attribute_chart(rng(3).binomial(400, 0.03, 30), 400, kind=k),
    )
for chart in ("c", "u", "u widened"):
    scene(
        f"counts: {chart}",
        lambda k=chart: s.attribute_chart(rng(3).poisson(9, 30), None if k == "c" else 3.0, kind=k),
    )
scene(
    "counts: uneven",
    lambda: s.attribute_chart(
        rng(3).binomial(4000, rng(4).beta(30, 900, 30)), 4000, kind="p widened"
    ),
)
scene("counts: none", lambda: s.attribute_chart(np.zeros(30), 400, kind="p"))
scene(
    "run length",
    lambda: s.run_length("Western Electric 1956", n=5, shifts=(0.0, 1.0), runs=400, seed=1),
)
scene(
    "run length: single",
    lambda: s.run_length("three sigma", n=1, shifts=(0.0, 2.0), runs=400, seed=1),
)
scene("average run length", lambda: [s.average_run_length("three sigma", v) for v in (0.0, 1.0)])
scene(
    "cusum run length",
    lambda: [
        s.cusum_run_length(0.5, 4.0, v, two_sided=t) for v in (0.0, 1.0) for t in (True, False)
    ],
)
scene("ewma run length", lambda: [s.ewma_run_length(0.2, 2.8, v) for v in (0.0, 1.0)])
scene(
    "constants",
    lambda: [
        *(s.d2_star(n, k) for n in (2, 5) for k in (1, 10)),
        *(s.range_df(n, k) for n in (2, 5) for k in (1, 10)),
        *(v for n in (2, 5, 12) for v in (*s.range_limits(n), *s.sd_limits(n))),
        *s.range_probability_limits(5),
        *s.sd_probability_limits(5),
    ],
)
scene("residual", lambda: s.residual_chart(slow(300)))
scene("residual: none", lambda: s.residual_chart(normal(100)))
scene("residual: few", lambda: s.residual_chart(normal(10)))


def run(n: int = 1200, slope: float = 2e-4, coils: int = 6) -> pd.DataFrame:
    at = np.arange(n)
    coil = at * coils // n
    value = (
        2 + slope * (at % 600) + rng(31).normal(0, 0.05, coils)[coil] + rng(32).normal(0, 0.05, n)
    )
    value += np.where(at % 2, 0.03, 0.0)
    return pd.DataFrame(
        {
            "order": at + 1.0,
            "value": value,
            "subgroup": at // 5,
            "coil": [f"c{i}" for i in coil],
            "stop": [f"s{i}" for i in at // 100],
            "station": np.where(at % 2, "left", "right"),
            "time": pd.Timestamp("2026-03-02") + pd.to_timedelta(at * 3, unit="s"),
        }
    )


scene(
    "components", lambda: s.variance_components(run(), line_rate=20.0, draws=500, seed=1, unit="mm")
)
scene("components: by the clock", lambda: s.variance_components(run(), draws=500, seed=1))
scene(
    "components: stops only",
    lambda: s.variance_components(run(), levels=("stop",), draws=500, seed=1),
)
scene(
    "components: still",
    lambda: s.variance_components(run(slope=0.0).iloc[:90], levels=("stop",), draws=500, seed=1),
)
for chart, make in (("EWMA", s.ewma_chart), ("CUSUM", s.cusum_chart)):
    scene(f"sequential: {chart}", lambda k=make: k(moved, 2.0, 0.1, unit="mm"))
scene(
    "sequential: small shift",
    lambda: s.ewma_chart(steady, 2.0, 0.1, shift=0.5, in_control_run_length=500),
)
scene("serial", lambda: s.autocorrelation(slow(), line_rate=300.0, unit="mm"))
scene("serial: independent", lambda: s.autocorrelation(normal(600)))
scene(
    "serial: stations", lambda: s.autocorrelation(run(slope=0)["value"], station=run()["station"])
)
scene("serial: creeping", lambda: s.autocorrelation(np.linspace(0, 1, 400) + normal(400, 0, 0.1)))
scene("serial: equal", lambda: s.autocorrelation(np.ones(50)))
scene("soundness", lambda: s.data_quality(run()))
bad = run(400)
bad.loc[100:180, "value"] = 2.0
bad.loc[200, "order"] = 90.0
bad.loc[300, "time"] = pd.Timestamp("2026-03-01")
bad.loc[310, "order"] = bad.loc[309, "order"]
bad["subgroup"] = np.where(bad.index < 200, bad.index // 5, bad.index // 7)
scene("soundness: faults", lambda: s.data_quality(bad, unit="mm"))
scene("soundness: gaps", lambda: s.data_quality(run(400).drop(range(50, 120))))
scene("soundness: singles", lambda: s.data_quality(run(100).assign(subgroup=np.arange(100))))
scene(
    "sources", lambda: s.variance_sources(run(), resets=(601.0,), resamples=100, seed=1, unit="mm")
)
scene(
    "sources: one station",
    lambda: s.variance_sources(run().assign(station="a"), resamples=100, seed=1),
)
scene("sources: few", lambda: s.variance_sources(run(60)))
scene("steps", lambda: s.change_points(moved, unit="mm"))
scene(
    "steps: near an event",
    lambda: s.change_points(moved, np.arange(1.0, 201), events=((120.0, "coil"),)),
)
scene(
    "steps: with wear",
    lambda: s.change_points(
        run()["value"],
        run()["order"],
        events=((600.0, "regrind"),),
        station=run()["station"],
        slope_per_thousand=0.2,
    ),
)
scene("steps: none", lambda: s.change_points(steady))
for name, table, more in (
    ("still", run(slope=0.0, coils=1), {}),
    ("trend", run(600, 3e-4, 1), {}),
    ("batches", run(1200, 0.0, 8), {"batch": run(1200, 0.0, 8)["coil"]}),
    ("resets", run(1200, 3e-4, 1), {"resets": (601.0,)}),
    (
        "widens",
        run(600, 0.0, 1).assign(value=lambda d: 2 + (d["value"] - 2) * (1 + d["order"] / 200)),
        {},
    ),
    ("skew", run(600, 0.0, 1).assign(value=rng(3).gamma(2, 1, 600)), {}),
    (
        "both",
        run(600, 4e-4, 1).assign(value=lambda d: 2 + (d["value"] - 2) * (1 + d["order"] / 200)),
        {},
    ),
    ("wanders", run(600, 0.0, 1).assign(value=slow(600, 0.97, 5)), {}),
    ("few", run(60, 0.0, 1), {}),
):
    scene(
        f"time model: {name}",
        lambda d=table, m=more: s.time_model(d["value"], d["subgroup"], d["order"], **m),
    )
wearing = run(6000, 4e-5, 60).assign(
    value=lambda d: 2 + 4e-5 * (d["order"] % 3000) + normal(6000, 0, 0.03)
)
for name, more in (
    ("upper", {"upper": 2.6, "marks": (3000.0,)}),
    ("both", {"lower": 1.5, "upper": 2.6, "marks": (3000.0,), "margin": 4.0}),
    ("stations", {"upper": 2.6, "marks": (3000.0,), "station": wearing["station"]}),
    ("no limit", {"marks": (3000.0,)}),
    ("beyond", {"upper": 2.05, "marks": (3000.0,)}),
    ("marks not known", {"upper": 2.6}),
):
    scene(
        f"wear: {name}",
        lambda m=more: s.tool_wear(wearing["value"], wearing["order"], unit="mm", **m),
    )
scene("wear: too short", lambda: s.tool_wear(run()["value"], run()["order"], upper=2.6))
scene(
    "wear: falling",
    lambda: s.tool_wear(
        4 - wearing["value"], wearing["order"], resets=(3000.0,), lower=1.5, upper=3.0
    ),
)
scene("wear: none", lambda: s.tool_wear(normal(400), np.arange(400.0), lower=1.5, upper=2.5))
scene("within spreads", lambda: s.within_subgroup_sds(moved, groups))
scene("within spreads: singles", lambda: s.within_subgroup_sds(moved))
for name, more in (
    ("plain", {}),
    ("between", {"sd_between": 0.02, "line_rate": 300.0, "unit": "mm"}),
    ("spacing", {"line_rate": 300.0, "spacing_minutes": 5.0}),
    ("tight", {"minutes_to_signal": 1.0, "line_rate": 10.0}),
    ("rules", {"rules": "Western Electric 1956"}),
):
    scene(f"advise: {name}", lambda m=more: s.sampling_plan(0.1, 0.08, **m))
scene("advise: refused", lambda: s.sampling_plan(-0.1, 0.08))
