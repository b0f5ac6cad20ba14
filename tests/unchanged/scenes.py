"""Calls of public functions on fixed data, chosen so that every branch, caution and sentence is met once.

A scene is a name and a call without arguments. What it gives is stored; see `test_unchanged`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd

from linestudy import capability as c
from linestudy import gauges as g
from linestudy import shape as sh
from linestudy import stability as s
from linestudy.core import Absent, Interval

SCENES: dict[str, Callable[[], Any]] = {}


def scene(name: str, call: Callable[[], Any]) -> None:
    assert name not in SCENES, name
    SCENES[name] = call


def rng(seed: int = 1) -> np.random.Generator:
    return np.random.default_rng(seed)


def normal(n: int = 125, mean: float = 2.0, sd: float = 0.1, seed: int = 1) -> Any:
    return rng(seed).normal(mean, sd, n)


def slow(n: int = 2000, serial: float = 0.8, seed: int = 2) -> Any:
    """A first-order autoregression."""
    from scipy.signal import lfilter

    return 5 + 0.1 * lfilter([np.sqrt(1 - serial**2)], [1, -serial], rng(seed).normal(size=n))


def around(estimate: float, half: float) -> Interval:
    return Interval(estimate, estimate - half, estimate + half, 0.95, "given")


# --- gauges ---------------------------------------------------------------------------------------


def crossed_table(
    parts: int = 6, people: int = 3, trials: int = 2, seed: int = 1, noisy: float = 0.1
) -> pd.DataFrame:
    draw = rng(seed)
    part, who = draw.normal(10, 1, parts), draw.normal(0, 0.1, people)
    return pd.DataFrame(
        [
            (f"p{i}", "ABCDEF"[j], k, part[i] + who[j] + draw.normal(0, noisy * (1 + 2 * (j == 2))))
            for i in range(parts)
            for j in range(people)
            for k in range(trials)
        ],
        columns=["part", "appraiser", "trial", "value"],
    )


def with_factor() -> pd.DataFrame:
    one, two = crossed_table(5, 2, 2, 3), crossed_table(5, 2, 2, 3)
    two["value"] += rng(9).normal(0.05, 0.05, len(two))
    return pd.concat([one.assign(station="left"), two.assign(station="right")])


for name, data, more in (
    ("plain", crossed_table(), {"tolerance": 4.0, "unit": "mm"}),
    ("mls", crossed_table(), {"tolerance": 4.0, "method": "mls", "draws": 2000}),
    ("no draws", crossed_table(8, 2, 3), {"method": "mls", "draws": 0, "spread": 5.15}),
    ("never pooled", crossed_table(4), {"pool_above": None, "draws": 2000}),
    ("always pooled", crossed_table(8, 5, 2), {"pool_above": 0.0, "draws": 2000}),
    ("missing", crossed_table().drop([0, 7, 8, 20]), {"tolerance": 4.0, "draws": 2000}),
    ("empty cell", crossed_table(8).drop([0, 1]), {"draws": 2000}),
    ("automatic", crossed_table(6, 1, 3), {"appraiser": None, "tolerance": 4.0, "draws": 2000}),
    ("one person", crossed_table(6, 1, 3), {"draws": 2000}),
    ("factor", with_factor(), {"factor": "station", "tolerance": 4.0, "draws": 2000}),
    ("never differs", crossed_table(6, 2, 2, noisy=0.0), {"draws": 2000}),
):
    scene(f"crossed: {name}", lambda d=data, m=more: g.crossed(d, seed=1, **m))
scene("crossed: one part", lambda: g.crossed(crossed_table(1), seed=1))
scene("crossed: read once", lambda: g.crossed(crossed_table(trials=1), seed=1))
scene("crossed: all equal", lambda: g.crossed(crossed_table().assign(value=1.0), seed=1))
scene(
    "crossed: entered twice",
    lambda: g.crossed(pd.concat([crossed_table(), crossed_table().head(1)]), seed=1),
)
scene(
    "crossed: other parts",
    lambda: g.crossed(
        crossed_table().query("(appraiser == 'C') == (part in ['p0', 'p1'])"), seed=1
    ),
)
scene(
    "crossed: stack",
    lambda: g.crossed_stack(rng(3).normal(size=(2, 6, 3, 2)), [8.0, None], seed=1, draws=2000),
)
scene("average and range", lambda: g.average_and_range(crossed_table(), tolerance=4.0, seed=1))
scene(
    "average and range: automatic",
    lambda: g.average_and_range(crossed_table(6, 1, 3), appraiser=None, seed=1, draws=2000),
)
scene("left out", lambda: g.left_out(crossed_table(), seed=1, unit="mm"))


def stray() -> pd.DataFrame:
    table = crossed_table(8)
    table.loc[5, "value"] += 3
    return table


scene("left out: stray", lambda: g.left_out(stray(), seed=1))
scene("left out: two parts", lambda: g.left_out(crossed_table(2), seed=1))


def nested_table(batches: int = 8, sd: float = 0.5) -> pd.DataFrame:
    draw = rng(4)
    return pd.DataFrame(
        [
            (f"b{i}", f"b{i}c{j}", 5 + level + draw.normal(0, 0.3))
            for i, level in enumerate(draw.normal(0, sd, batches))
            for j in range(3)
            for _ in range(2)
        ],
        columns=["batch", "cask", "value"],
    )


scene("nested", lambda: g.nested(nested_table(), ("batch", "cask"), draws=2000, seed=1, unit="N"))
scene("nested: one level", lambda: g.nested(nested_table(), ("batch",), draws=2000, seed=1))
scene(
    "nested: missing",
    lambda: g.nested(nested_table().drop([0, 9, 10]), ("batch", "cask"), draws=2000, seed=1),
)
scene(
    "nested: nothing between", lambda: g.nested(nested_table(4, 0), ("batch",), draws=2000, seed=1)
)
scene("nested: single", lambda: g.nested(nested_table().iloc[::6], ("batch",), seed=1))

known = np.repeat([1.0, 2.0, 3.0, 4.0, 5.0], 6)
masters = known * 1.004 + rng(5).normal(0, 0.02, 30)
for name, more in (
    ("sd", {"tolerance": 2.0}),
    ("range", {"spread": "range"}),
    ("narrow", {"tolerance": 0.05, "unit": "mm"}),
):
    scene(f"bias: {name}", lambda m=more: g.bias(masters, known, **m))
scene("bias: none", lambda: g.bias(known + rng(6).normal(0, 0.02, 30), known, tolerance=1.0))
scene("bias: equal", lambda: g.bias(known, known))
scene(
    "bias overview",
    lambda: g.bias_overview(
        [
            ("width", "camera", g.bias(masters, known, tolerance=2.0), 2.0),
            ("gap", "camera", g.bias(masters, known), None),
            ("offset", "microscope", g.bias(known + rng(6).normal(0, 0.02, 30), known), 0.2),
        ]
    ),
)
scene("linearity", lambda: g.linearity(masters, known, 0.5, 5.5, unit="mm"))
scene("linearity: one limit", lambda: g.linearity(masters, known, None, 7.0))
scene("linearity: curved", lambda: g.linearity(masters + 0.05 * (known - 3) ** 2, known, 1.0, 5.0))
scene(
    "linearity: uncertain references",
    lambda: g.linearity(masters, known, 0.5, 5.5, reference_uncertainty=0.01),
)
scene("linearity: one reference", lambda: g.linearity(masters[:6], known[:6]))
for name, more in (
    ("plain", {}),
    ("four sd", {"spread": 4.0, "fraction": 0.1, "unit": "mm"}),
    ("no bias", {"reference": float(normal(50).mean())}),
):
    scene(
        f"repeatability: {name}",
        lambda m=more: g.repeatability(normal(50), **{"reference": 2.05, "tolerance": 5.0, **m}),
    )
scene("repeatability: few", lambda: g.repeatability(normal(12), 2.0, 1.0))
scene("repeatability: equal", lambda: g.repeatability(np.full(30, 2.0), 2.0, 1.0))
order = np.arange(60) * 250.0
scene("drift", lambda: g.drift(order, normal(60, 2, 0.01) + 1e-6 * order, 2.0, tolerance=0.2))
scene("drift: none", lambda: g.drift(order, normal(60, 2, 0.01), 2.0, tolerance=0.2, allowed=0.01))
scene(
    "drift: wiped",
    lambda: g.drift(
        order, normal(60, 2, 0.005) + 2e-6 * (order % 7500), 2.0, resets=(7500.0,), allowed=0.01
    ),
)
scene("drift: few", lambda: g.drift(order[:3], normal(3), 2.0))
first = rng(7).normal(4, 0.5, 40)
second = 0.02 + 1.01 * first + rng(8).normal(0, 0.03, 40)
first = first + rng(9).normal(0, 0.03, 40)
scene("agreement", lambda: g.agreement(first, second, tolerance=2.0, lower=3.0, upper=5.0))
scene(
    "agreement: unequal errors",
    lambda: g.agreement(first, second, 4.0, names=("camera", "CMM"), unit="mm", with_icc=False),
)
scene("agreement: narrow", lambda: g.agreement(first, second, tolerance=0.1, step=0.01, lower=3.0))
scene(
    "agreement: spread grows",
    lambda: g.agreement(first, first + 0.1 * (first - 3) * rng(2).normal(size=40)),
)
scene("agreement: few", lambda: g.agreement(first[:4], second[:4]))
scene("passing-bablok", lambda: g.passing_bablok(first, second))
scene("resolution", lambda: g.resolution(normal().round(2), 0.6, unit="mm"))
scene(
    "resolution: coarse",
    lambda: g.resolution(
        normal().round(1), 0.6, process=normal(seed=3), repeat_sd=0.05, repeat_df=20
    ),
)
scene(
    "resolution: declared",
    lambda: g.resolution(normal().round(3), 0.6, declared=0.01, repeat_sd=0.02),
)
scene(
    "resolution: other gauge",
    lambda: g.resolution(normal().round(2), process=normal(), same_gauge=False),
)
scene("apparent step", lambda: g.apparent_step(np.round(normal() / 0.025) * 0.025))


def judged(seed: int = 1, sharp: float = 0.2, prevalence: float = 0.5) -> pd.DataFrame:
    draw = rng(seed)
    size = draw.normal(0, 1, 30)
    cut = np.quantile(size, 1 - prevalence)
    return pd.DataFrame(
        [
            (f"p{i}", who, trial, size[i] < cut, size[i] + draw.normal(0, sharp) < cut)
            for i in range(30)
            for who in "AB"
            for trial in (1, 2)
        ],
        columns=["part", "appraiser", "trial", "reference", "judgement"],
    )


scene("attribute", lambda: g.attribute(judged()))
scene("attribute: few bad", lambda: g.attribute(judged(prevalence=0.1, seed=3)))
scene("attribute: perfect", lambda: g.attribute(judged(sharp=0.0)))
scene("attribute: once", lambda: g.attribute(judged().query("trial == 1")))
scene("attribute: one person", lambda: g.attribute(judged().query("appraiser == 'A'")))
measured = rng(11).normal(0, 1, 120)
taken = measured + rng(12).normal(0, 0.3, 120) < 0.8
scene("judgement curve", lambda: g.judgement_curve(measured, taken, upper=1.0, unit="mm"))
scene("judgement curve: lower", lambda: g.judgement_curve(-measured, taken, lower=-1.0))
scene("judgement curve: sharp", lambda: g.judgement_curve(measured, measured < 0.8, upper=1.0))
scene("judgement curve: two limits", lambda: g.judgement_curve(measured, taken, -2.0, 1.0))


def density(x: Any) -> Any:
    return np.exp(-0.5 * ((x - 2) / 0.1) ** 2) / (0.1 * np.sqrt(2 * np.pi))


for name, more in (
    ("two limits", {"lower": 1.8, "upper": 2.3}),
    ("one limit", {"lower": None, "upper": 2.2, "bias": 0.01, "unit": "mm"}),
    ("rarely", {"lower": 1.4, "upper": 2.6, "wanted": 1e-3}),
):
    scene(f"risk: {name}", lambda m=more: g.risk(density, 2.0, 0.1, around(0.02, 0.005), **m))
scene(
    "wrong verdicts",
    lambda: g.wrong_verdicts(density, 0.02, 1.8, 2.2, np.array([0.0, 0.02]), bias=0.01),
)
for value, limits in (
    (71.1, (2.7, 2.9)),
    (2800.0, (2.7, 2.9)),
    (2.8, (2.7, 2.9)),
    (0.11, (2.7, 2.9)),
):
    scene(
        f"wrong unit: {value}",
        lambda v=value, m=limits: g.refuse_wrong_unit(normal(20, v, v / 100), 2.8, *m, unit="mm"),
    )


def budget(stated: float = 0.02) -> list[Any]:
    from linestudy.gauges.uncertainty import Contribution

    return [
        Contribution("calibration", stated, origin="certificate"),
        Contribution("resolution", 0.003, origin="study.toml"),
        Contribution("repeatability on reference", 0.01, 24.0, "repeatability"),
        Contribution("operator", 0.005, 2.0, "crossed study", around(0.005, 0.003)),
        Contribution("temperature", 0.002, 50.0, "study.toml"),
    ]


scene("uncertainty", lambda: g.uncertainty(budget(), 1.5, 2.5, unit="mm"))
scene("uncertainty: one limit", lambda: g.uncertainty(budget(), None, 2.5))
scene("uncertainty: too wide", lambda: g.uncertainty(budget(0.3), 1.9, 2.1))

# --- stability ------------------------------------------------------------------------------------

groups = np.repeat(np.arange(40), 5)
steady = normal(200, seed=20)
moved = steady + np.where(np.arange(200) >= 120, 0.12, 0.0)
for kind in (
    "mean and range",
    "mean and standard deviation",
    "median and range",
    "mean between and within",
):
    scene(f"chart: {kind}", lambda k=kind: s.chart(moved, groups, kind=k, unit="mm"))
scene("chart: individuals", lambda: s.chart(moved[:60]))
scene("chart: all rules", lambda: s.chart(moved, groups, rules="Western Electric 1956"))
scene("chart: nelson", lambda: s.chart(np.sort(moved), groups, rules="Nelson 1984"))
scene("chart: base", lambda: s.chart(moved, groups, base=(1, 100), sigmas=3.09))
scene("chart: phases", lambda: s.chart(moved, groups, phases=(121.0,)))
scene("chart: unequal", lambda: s.chart(moved, np.sort(rng(5).integers(0, 30, 200))))
scene("chart: few", lambda: s.chart(steady[:60], groups[:60]))
scene("chart: one value each", lambda: s.chart(steady, groups, kind="no such chart"))
scene("chart: label returns", lambda: s.chart(steady, groups % 20))
scene("summarise", lambda: s.summarise(steady[:20], groups[:20]))
scene(
    "from table: impossible",
    lambda: s.from_table(pd.DataFrame({"n": [0], "mean": [1], "sd": [1], "min": [1], "max": [1]})),
)
for chart in ("p", "np", "p widened"):
    scene(f"counts: {chart}", lambda k=chart: s.counts(rng(3).binomial(400, 0.03, 30), 400, k))
for chart in ("c", "u", "u widened"):
    scene(
        f"counts: {chart}",
        lambda k=chart: s.counts(rng(3).poisson(9, 30), None if k == "c" else 3.0, k),
    )
scene(
    "counts: uneven",
    lambda: s.counts(rng(3).binomial(4000, rng(4).beta(30, 900, 30)), 4000, "p widened"),
)
scene("counts: none", lambda: s.counts(np.zeros(30), 400, "p"))
scene("run length", lambda: s.run_length("Western Electric 1956", 5, (0.0, 1.0), runs=400, seed=1))
scene("run length: single", lambda: s.run_length("three sigma", 1, (0.0, 2.0), runs=400, seed=1))
scene("average run length", lambda: [s.average_run_length("three sigma", v) for v in (0.0, 1.0)])
scene(
    "cusum run length",
    lambda: [s.cusum_run_length(0.5, 4.0, v, t) for v in (0.0, 1.0) for t in (True, False)],
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
scene("residual", lambda: s.residual(slow(300)))
scene("residual: none", lambda: s.residual(normal(100)))
scene("residual: few", lambda: s.residual(normal(10)))


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


scene("components", lambda: s.run_components(run(), line_rate=20.0, draws=500, seed=1, unit="mm"))
scene("components: by the clock", lambda: s.run_components(run(), draws=500, seed=1))
scene("components: stops only", lambda: s.run_components(run(), ("stop",), draws=500, seed=1))
scene(
    "components: still",
    lambda: s.run_components(run(slope=0.0).iloc[:90], ("stop",), draws=500, seed=1),
)
for chart in ("EWMA", "CUSUM"):
    scene(f"sequential: {chart}", lambda k=chart: s.sequential(moved, 2.0, 0.1, k, unit="mm"))
scene(
    "sequential: small shift",
    lambda: s.sequential(steady, 2.0, 0.1, shift=0.5, run_length_at_rest=500),
)
scene("serial", lambda: s.serial(slow(), 300.0, unit="mm"))
scene("serial: independent", lambda: s.serial(normal(600)))
scene("serial: stations", lambda: s.serial(run(slope=0)["value"], station=run()["station"]))
scene("serial: creeping", lambda: s.serial(np.linspace(0, 1, 400) + normal(400, 0, 0.1)))
scene("serial: equal", lambda: s.serial(np.ones(50)))
scene("soundness", lambda: s.soundness(run()))
bad = run(400)
bad.loc[100:180, "value"] = 2.0
bad.loc[200, "order"] = 90.0
bad.loc[300, "time"] = pd.Timestamp("2026-03-01")
bad.loc[310, "order"] = bad.loc[309, "order"]
bad["subgroup"] = np.where(bad.index < 200, bad.index // 5, bad.index // 7)
scene("soundness: faults", lambda: s.soundness(bad, unit="mm"))
scene("soundness: gaps", lambda: s.soundness(run(400).drop(range(50, 120))))
scene("soundness: singles", lambda: s.soundness(run(100).assign(subgroup=np.arange(100))))
scene("sources", lambda: s.sources(run(), resets=(601.0,), resamples=100, seed=1, unit="mm"))
scene("sources: one station", lambda: s.sources(run().assign(station="a"), resamples=100, seed=1))
scene("sources: few", lambda: s.sources(run(60)))
scene("steps", lambda: s.steps(moved, unit="mm"))
scene("steps: near an event", lambda: s.steps(moved, np.arange(1.0, 201), ((120.0, "coil"),)))
scene(
    "steps: with wear",
    lambda: s.steps(run()["value"], run()["order"], ((600.0, "regrind"),), run()["station"], 0.2),
)
scene("steps: none", lambda: s.steps(steady))
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
        f"wear: {name}", lambda m=more: s.wear(wearing["value"], wearing["order"], unit="mm", **m)
    )
scene("wear: too short", lambda: s.wear(run()["value"], run()["order"], upper=2.6))
scene(
    "wear: falling",
    lambda: s.wear(4 - wearing["value"], wearing["order"], (3000.0,), lower=1.5, upper=3.0),
)
scene("wear: none", lambda: s.wear(normal(400), np.arange(400.0), lower=1.5, upper=2.5))
scene("within spreads", lambda: s.within_spreads(moved, groups))
scene("within spreads: singles", lambda: s.within_spreads(moved))
for name, more in (
    ("plain", {}),
    ("between", {"sd_between": 0.02, "line_rate": 300.0, "unit": "mm"}),
    ("spacing", {"line_rate": 300.0, "spacing_minutes": 5.0}),
    ("tight", {"wished_minutes": 1.0, "line_rate": 10.0}),
    ("rules", {"rules": "Western Electric 1956"}),
):
    scene(f"advise: {name}", lambda m=more: s.advise(0.1, 0.08, **m))
scene("advise: refused", lambda: s.advise(-0.1, 0.08))

# --- shape ----------------------------------------------------------------------------------------

gamma = rng(41).gamma(4, 0.25, 300)
FAMILIES = (
    "normal",
    "lognormal",
    "lognormal with threshold",
    "Weibull",
    "Weibull with threshold",
    "gamma",
    "gamma with threshold",
    "Rayleigh",
    "half-normal",
    "folded normal",
    "largest extreme value",
    "logistic",
    "Johnson S_B",
    "Johnson S_L",
    "Johnson S_U",
    "Box-Cox normal",
    "Yeo-Johnson normal",
    "normal mixture",
)


def described(item: Any, values: Any) -> dict[str, Any]:
    return {
        "family": item.family,
        "loglik": item.loglik,
        "quantiles": item.ppf([0.00135, 0.1, 0.5, 0.9, 0.99865]),
        "cdf": item.cdf(np.quantile(values, [0.2, 0.8])),
        "sf": item.sf(np.quantile(values, [0.2, 0.99])),
        "density": item.pdf(np.quantile(values, [0.2, 0.8])),
        "distance": sh.anderson_darling(item, values),
        "aic": item.aic,
        "interval": sh.quantile_interval(item, 0.99865),
    }


for family in FAMILIES:
    scene(f"fit: {family}", lambda f=family: described(sh.fit(gamma, f, 0.0, True), gamma))
    scene(
        f"fit many: {family}",
        lambda f=family: sh.fit_many(rng(42).gamma(4, 0.25, (2, 150)), f, 0.0),
    )
    scene(
        f"goodness: {family}",
        lambda f=family: sh.bootstrap_p(sh.fit(gamma[:80], f, 0.0), gamma[:80], 40, rng(1)),
    )
scene("johnson by moments", lambda: sh.johnson_by_moments(gamma).ppf([0.01, 0.5, 0.99]))
scene("johnson by quantiles", lambda: sh.johnson_by_quantiles(gamma).ppf([0.01, 0.5, 0.99]))
scene("normality", lambda: sh.normality(gamma[:60]))
for name, values, more in (
    ("bound", gamma, {"bound": 0.0, "upper": 3.0}),
    ("no bound", gamma, {"lower": 0.1, "upper": 3.0, "unit": "mm"}),
    ("named", gamma, {"family": "lognormal", "bound": 0.0}),
    ("two humps", np.r_[normal(150, 0, 1), normal(150, 6, 1)], {"mixture_expected": True}),
    ("two humps unexpected", np.r_[normal(150, 0, 1), normal(150, 6, 1)], {}),
    ("rounded", normal(200).round(1), {}),
    ("correlated", slow(400), {"lag1": 0.8, "worth": 60.0}),
    ("outlier", np.r_[normal(100), 9.0], {"upper": 3.0}),
    ("normal", normal(300), {"lower": 1.5, "upper": 2.5}),
    ("few", normal(8), {}),
    ("equal", np.ones(50), {}),
    ("below the bound", normal(50, 0, 1), {"bound": 0.0}),
):
    scene(f"choose: {name}", lambda v=values, m=more: sh.choose(v, refits=29, seed=1, **m))

# --- capability -----------------------------------------------------------------------------------


def fitted(family: str = "gamma") -> Any:
    return sh.fit(gamma, family, 0.0, uncertainty=True)


for name, values, more in (
    ("two limits", normal(), {"lower": 1.6, "upper": 2.5, "target": 2.0}),
    (
        "off target",
        normal(),
        {"lower": 1.6, "upper": 2.5, "target": 2.2, "sd_within": 0.08, "df_within": 100},
    ),
    ("upper", normal(), {"upper": 2.5, "unit": "mm"}),
    ("lower", normal(), {"lower": 1.6}),
    ("no limit", normal(), {}),
    ("some outside", normal(), {"lower": 1.9, "upper": 2.1}),
    ("one outside", np.r_[normal(60), 2.9], {"upper": 2.5, "target": 2.4}),
    ("all outside", normal(), {"lower": 3.0, "upper": 4.0}),
    ("mean outside", normal(), {"lower": 2.05, "upper": 4.0}),
    (
        "few",
        normal(30),
        {"lower": 1.6, "upper": 2.5, "sd_within": Absent("no subgroups were taken")},
    ),
    ("correlated", slow(800), {"lower": 4.5, "upper": 5.6, "n_mean": 90.0, "n_spread": 200.0}),
    ("sd without df", normal(), {"lower": 1.6, "upper": 2.5, "sd_within": 0.08}),
    ("gamma", gamma, {"upper": 3.0, "fitted": "gamma"}),
    (
        "gamma, two limits",
        gamma,
        {"lower": 0.05, "upper": 3.0, "fitted": "gamma", "sd_within": 0.4, "df_within": 200},
    ),
    (
        "gamma, worth less",
        gamma,
        {"lower": 0.05, "upper": 3.0, "fitted": "gamma", "n_mean": 60.0, "n_spread": 150.0},
    ),
    ("gamma, low confidence", gamma, {"upper": 3.0, "fitted": "gamma", "confidence": 0.5}),
    (
        "several",
        gamma,
        {"upper": 3.0, "fitted": "gamma", "admissible": ("gamma", "Weibull", "lognormal")},
    ),
    ("beyond the limit", gamma, {"upper": 0.7, "fitted": "lognormal"}),
):

    def judge(v: Any = values, m: Any = more) -> Any:
        m = dict(m)
        if "fitted" in m:
            m["fitted"] = fitted(m["fitted"])
        m["admissible"] = tuple(map(fitted, m.get("admissible", ())))
        return c.capability(v, seed=1, **m)

    scene(f"capability: {name}", judge)
for name, limits in (("two", (0.05, 3.0)), ("upper", (None, 3.0)), ("lower", (0.05, None))):
    for worth in ((300.0, 300.0), (60.0, 100.0), (900.0, 4000.0)):
        scene(
            f"quantile intervals: {name}, {worth}",
            lambda m=limits, w=worth: c.quantile_intervals(fitted(), *m, *w, values=gamma),
        )
scene(
    "quantile intervals: redrawn",
    lambda: c.quantile_intervals(fitted(), 0.05, 3.0, 90, 90, rng=rng(1), refits=60),
)
scene("quantile intervals: curvature", lambda: c.quantile_intervals(fitted(), 0.05, 3.0, 250, 300))
scene("quantile intervals: outside", lambda: c.quantile_intervals(fitted(), None, 0.8, 250, 300))
scene(
    "quantile index",
    lambda: [c.quantile_index(fitted(), 0.1, 3.0), c.quantile_index(fitted(), None, 3.0)],
)
for name, limits in (
    ("two", (1.6, 2.5)),
    ("upper", (None, 2.5)),
    ("lower", (1.6, None)),
    ("none", (None, None)),
):
    scene(
        f"indices: {name}",
        lambda m=limits: [
            c.spread_index(0.1, 40, *m),
            c.location_index(2.0, 0.1, 50, 40, *m),
            c.location_index(2.3, 0.1, 50, 200, *m, 0.9),
            c.target_index(2.0, 0.1, 50, 40, *m, 2.1),
            c.target_index(2.0, 0.1, 50, 40, *m, None),
            c.normal_nonconforming(2.2, 0.1, 50, 40, *m, rng=rng(1)),
        ],
    )
scene("observed", lambda: c.observed_nonconforming(normal(), 1.9, 2.2))
scene("observed: none", lambda: c.observed_nonconforming(normal(), 1.0, None))
scene("none seen", lambda: [c.none_seen_limit(125), c.none_seen_limit(300, 0.9)])
for name, more in (
    ("two limits", {"lower": 1.6, "upper": 2.5}),
    ("upper", {"upper": 2.5, "unit": "mm"}),
    ("zero bound", {"upper": 3.0, "bound": 0.0}),
):
    values = gamma[:60] if "bound" in more else normal(60)
    scene(f"machine: {name}", lambda v=values, m=more: c.machine(v, seed=1, **m))
scene(
    "machine: creeping",
    lambda: c.machine(np.linspace(1.8, 2.2, 50) + normal(50, 0, 0.03), 1.5, 2.5, "normal", seed=1),
)
scene("machine: few", lambda: c.machine(normal(20), 1.6, 2.5, "normal", seed=1))
scene("machine: correlated", lambda: c.machine(slow(60, 0.9), 4.5, 5.6, "normal", seed=1))
scene(
    "block bootstrap",
    lambda: c.block_bootstrap(slow(1500), 4.5, 5.6, 160.0, 300.0, resamples=300, seed=1),
)
scene(
    "block bootstrap: upper",
    lambda: c.block_bootstrap(normal(800), None, 2.5, resamples=300, seed=1),
)
scene(
    "block bootstrap: given",
    lambda: c.block_bootstrap(normal(800), 1.5, 2.5, 800, 800, 20, 300, seed=1),
)
scene(
    "block bootstrap: disagrees",
    lambda: c.block_bootstrap(slow(1500), 4.5, 5.6, 1500, 1500, resamples=300, seed=1),
)
scene("block bootstrap: few", lambda: c.block_bootstrap(normal(20), 1.5, 2.5))
for name, values, more in (
    ("two limits", normal(3000), {"lower": 1.6, "upper": 2.5}),
    ("upper", normal(200), {"upper": 2.5, "contents": (0.9,), "unit": "mm"}),
    ("few", normal(20), {"lower": 1.6}),
    ("worth less", normal(800), {"lower": 1.6, "upper": 2.5, "n_effective": 100.0}),
    ("outside", normal(800), {"lower": 1.9, "upper": 2.1, "contents": (0.9, 0.95)}),
    ("bad content", normal(80), {"contents": (1.5,)}),
):
    scene(f"tolerance interval: {name}", lambda v=values, m=more: c.tolerance_intervals(v, **m))
scene(
    "values needed",
    lambda: [c.values_needed(q, p, k) for q in (0.9, 0.99) for p in (0.9, 0.95) for k in (1, 2)],
)
for name, labels, more in (
    ("subgroups", groups, {"lower": 1.6, "upper": 2.5, "unit": "mm"}),
    ("singles", None, {"upper": 2.5}),
    ("worth less", groups, {"lower": 1.6, "n_mean": 50.0}),
):
    scene(f"within: {name}", lambda k=labels, m=more: c.within(moved, k, **m))


def cut(lower: float | None, upper: float | None, softness: float = 0.0) -> Any:
    values = rng(51).normal(2, 0.1, 3000)
    seen = values + rng(52).normal(0, softness, 3000) if softness else values
    keep = (seen >= (lower or -np.inf)) & (seen <= (upper or np.inf))
    return values[keep].round(3)


for name, limits, more in (
    ("upper", (None, 2.1), {}),
    ("two limits", (1.85, 2.1), {"families": ("normal", "logistic"), "unit": "mm"}),
    ("soft", (None, 2.1), {"softness": 0.02, "n_effective": 400.0}),
    ("observed", (None, 2.1), {"observed": around(0.16, 0.02)}),
    ("observed elsewhere", (None, 2.1), {"observed": around(0.03, 0.01)}),
    ("hard", (None, 1.98), {}),
):
    scene(
        f"before sorting: {name}",
        lambda b=limits, m=more: c.before_sorting(cut(*b, m.get("softness", 0.0)), *b, **m),
    )
scene(
    "before sorting: gamma",
    lambda: c.before_sorting(gamma[gamma < 1.5], None, 1.5, ("gamma", "lognormal"), 0.0),
)
scene(
    "cut at",
    lambda: [
        c.cut_at(cut(None, 2.1), 1.6, 2.1),
        c.cut_at(normal(800), 1.6, 2.5),
        c.cut_at(normal(50), 1.6, 2.1),
    ],
)
bin_table = pd.DataFrame(
    {
        "period": ["1", "2", "3"],
        "accepted": [980, 990, 985],
        "rejected": [10, 4, 9],
        "purged": [2, 0, 1],
    }
)
scene("bins", lambda: c.bins(bin_table))
scene("bins: log agrees", lambda: c.bins(bin_table, {"accepted": 2955, "rejected": 23}))
scene("bins: log differs", lambda: c.bins(bin_table, {"accepted": 2950, "rejected": 23}))


def drawn(n: int = 500) -> list[Any]:
    return [
        ((2 + a, 2 - 0.3 * b + a, 2 + 0.3 * b + a), 0.1 * b, 0.03 * d)
        for a, b, d in zip(
            rng(61).normal(0, 0.005, n),
            rng(62).normal(1, 0.05, n),
            rng(63).normal(1, 0.1, n),
            strict=True,
        )
    ]


def without_gauge(gauge_sd: float, **more: Any) -> Any:
    draws = [((q[1], q[0], q[2]), sd, size * gauge_sd / 0.03) for q, sd, size in drawn()]
    return c.gauge_removed(
        (1.7, 2.0, 2.3), 0.1, gauge_sd, more.pop("lower", 1.6), 2.5, draws, **more
    )


scene("gauge removed", lambda: without_gauge(0.03, unit="mm"))
scene("gauge removed: bias", lambda: without_gauge(0.03, bias=0.02, lower=None))
scene("gauge removed: all gauge", lambda: without_gauge(0.12))
parts = pd.DataFrame({"a": first, "b": second, "c": rng(64).normal(0, 1, 40)})
limits_of = {"a": (3.2, 4.9), "b": (3.1, 5.0), "c": (None, 2.0)}
scene("joint", lambda: c.joint(parts, limits_of))
scene("joint: loose", lambda: c.joint(parts[["a", "c"]], {"a": (0.0, 9.0), "c": (-9.0, 9.0)}))
scene(
    "joint: with rates",
    lambda: c.joint(
        parts,
        limits_of,
        rates={
            name: {
                "below": around(200.0 * i, 90.0),
                "above": around(100.0 * i, 50.0),
                "total": around(300.0 * i, 110.0),
            }
            for i, name in enumerate("abc", start=1)
        },
    ),
)
scene("joint: one", lambda: c.joint(parts[["a"]], {"a": (0.0, 9.0)}))
scene(
    "share failing any",
    lambda: [
        c.share_failing_any([0.01, 0.02], [0.0, 0.01], np.array([[1, r], [r, 1]]))
        for r in (0.0, 0.9, -0.5)
    ],
)
scene("share failing any: misfit", lambda: c.share_failing_any([0.1], [0.1, 0.2], np.eye(2)))
x, y = rng(71).normal([0.01, -0.005], [0.02, 0.03], (90, 2)).T
for name, more in (
    ("plain", {}),
    ("bonus of a hole", {"size": 5.0 + rng(72).normal(0.05, 0.01, 90), "most_material": 5.0}),
    (
        "bonus of a pin",
        {
            "size": 4.9 + rng(72).normal(0, 0.01, 90),
            "most_material": 5.0,
            "feature": "pin",
            "unit": "mm",
        },
    ),
    ("size moves along", {"size": 5.05 + x, "most_material": 5.0}),
    ("worth less", {"n_mean": 20.0, "n_spread": 30.0}),
    ("size never differs", {"size": np.full(90, 5.02), "most_material": 5.0}),
):
    scene(f"position: {name}", lambda m=more: c.position(x, y, 0.2, seed=1, **m))
scene("position: outside", lambda: c.position(x + 0.2, y, 0.2, seed=1))
scene("position: line", lambda: c.position(x, 2 * x, 0.2, seed=1))
scene("position: few", lambda: c.position(x[:4], y[:4], 0.2, seed=1))
