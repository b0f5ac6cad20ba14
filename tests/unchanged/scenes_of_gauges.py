"""Scenes of room gauges; see `scenes`."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from unchanged_scenes import around, first, normal, rng, scene, second

from linestudy import gauges as g


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


def without_noise() -> pd.DataFrame:
    """Parts and people add up: nothing is left over but what rounding leaves."""
    table = crossed_table(6, 2, 2)
    parts, people = (pd.factorize(table[name])[0] for name in ("part", "appraiser"))
    return table.assign(value=8 + 0.5 * parts**2 + 0.25 * people)


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
):
    scene(f"crossed: {name}", lambda d=data, m=more: g.crossed(d, seed=1, **m))
# Its F is a ratio to that, and is not held.
scene(
    "crossed: never differs",
    lambda: {
        name: item.sd
        for name, item in g.crossed(without_noise(), seed=1, draws=2000).components.items()
    },
)
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
    from linestudy.gauges.budget.expanded_finding import Contribution

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
