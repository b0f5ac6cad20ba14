"""Scenes of room capability; see `scenes`."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from unchanged_scenes import around, first, gamma, groups, moved, normal, rng, scene, second, slow

from linestudy import capability as c
from linestudy import shape as sh
from linestudy.results import Absent


def fitted(family: str = "gamma") -> Any:
    return sh.fit(gamma, family, 0.0, with_covariance=True)


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
    ("correlated", slow(800), {"lower": 4.5, "upper": 5.6, "n_eff_mean": 90.0, "n_eff_sd": 200.0}),
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
        {"lower": 0.05, "upper": 3.0, "fitted": "gamma", "n_eff_mean": 60.0, "n_eff_sd": 150.0},
    ),
    ("gamma, low confidence", gamma, {"upper": 3.0, "fitted": "gamma", "confidence": 0.5}),
    (
        "several",
        gamma,
        {"upper": 3.0, "fitted": "gamma", "plausible_families": ("gamma", "Weibull", "lognormal")},
    ),
    ("beyond the limit", gamma, {"upper": 0.7, "fitted": "lognormal"}),
):

    def judge(v: Any = values, m: Any = more) -> Any:
        m = dict(m)
        if "fitted" in m:
            m["fitted"] = fitted(m["fitted"])
        m["plausible_families"] = tuple(map(fitted, m.get("plausible_families", ())))
        return c.process_capability(v, seed=1, **m)

    scene(f"capability: {name}", judge)
for name, limits in (("two", (0.05, 3.0)), ("upper", (None, 3.0)), ("lower", (0.05, None))):
    for worth in ((300.0, 300.0), (60.0, 100.0), (900.0, 4000.0)):
        scene(
            f"quantile intervals: {name}, {worth}",
            lambda m=limits, w=worth: c.quantile_intervals(
                fitted(), *m, n_eff_mean=w[0], n_eff_sd=w[1], values=gamma
            ),
        )
scene(
    "quantile intervals: redrawn",
    lambda: c.quantile_intervals(
        fitted(), 0.05, 3.0, n_eff_mean=90, n_eff_sd=90, rng=rng(1), refits=60
    ),
)
scene(
    "quantile intervals: curvature",
    lambda: c.quantile_intervals(fitted(), 0.05, 3.0, n_eff_mean=250, n_eff_sd=300),
)
scene(
    "quantile intervals: outside",
    lambda: c.quantile_intervals(fitted(), None, 0.8, n_eff_mean=250, n_eff_sd=300),
)
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
            c.cp(0.1, df=40, lower=m[0], upper=m[1]),
            c.cpk(2.0, 0.1, n=50, df=40, lower=m[0], upper=m[1]),
            c.cpk(2.3, 0.1, n=50, df=200, lower=m[0], upper=m[1], confidence=0.9),
            c.cpm(2.0, 0.1, df=40, lower=m[0], upper=m[1], target=2.1),
            c.cpm(2.0, 0.1, df=40, lower=m[0], upper=m[1], target=None),
            c.normal_nonconforming(2.2, 0.1, n=50, df=40, lower=m[0], upper=m[1], rng=rng(1)),
        ],
    )
scene(
    "nonconforming: own draws",
    lambda: c.normal_nonconforming(2.2, 0.1, n=50, df=40, lower=1.6, upper=2.5),
)
scene(
    "on the limit",
    lambda: c.observed_nonconforming(np.array([1.0, 1.5, 2.0, 2.0, 2.5] * 4), 1.5, 2.0),
)
scene("observed", lambda: c.observed_nonconforming(normal(), 1.9, 2.2))
scene("observed: none", lambda: c.observed_nonconforming(normal(), 1.0, None))
scene("none seen", lambda: [c.zero_failure_bound(125), c.zero_failure_bound(300, confidence=0.9)])
for name, more in (
    ("two limits", {"lower": 1.6, "upper": 2.5}),
    ("upper", {"upper": 2.5, "unit": "mm"}),
    ("zero bound", {"upper": 3.0, "bound": 0.0}),
):
    values = gamma[:60] if "bound" in more else normal(60)
    scene(f"machine: {name}", lambda v=values, m=more: c.machine_performance(v, seed=1, **m))
scene(
    "machine: creeping",
    lambda: c.machine_performance(
        np.linspace(1.8, 2.2, 50) + normal(50, 0, 0.03), 1.5, 2.5, family="normal", seed=1
    ),
)
scene("machine: few", lambda: c.machine_performance(normal(20), 1.6, 2.5, family="normal", seed=1))
scene(
    "machine: correlated",
    lambda: c.machine_performance(slow(60, 0.9), 4.5, 5.6, family="normal", seed=1),
)
scene(
    "block bootstrap",
    lambda: c.block_bootstrap(
        slow(1500), 4.5, 5.6, n_eff_mean=160.0, n_eff_sd=300.0, resamples=300, seed=1
    ),
)
scene(
    "block bootstrap: upper",
    lambda: c.block_bootstrap(normal(800), None, 2.5, resamples=300, seed=1),
)
scene(
    "block bootstrap: given",
    lambda: c.block_bootstrap(
        normal(800), 1.5, 2.5, n_eff_mean=800, n_eff_sd=800, block_length=20, resamples=300, seed=1
    ),
)
scene(
    "block bootstrap: disagrees",
    lambda: c.block_bootstrap(
        slow(1500), 4.5, 5.6, n_eff_mean=1500, n_eff_sd=1500, resamples=300, seed=1
    ),
)
scene("block bootstrap: few", lambda: c.block_bootstrap(normal(20), 1.5, 2.5))
for name, values, more in (
    ("two limits", normal(3000), {"lower": 1.6, "upper": 2.5}),
    ("upper", normal(200), {"upper": 2.5, "contents": (0.9,), "unit": "mm"}),
    ("few", normal(20), {"lower": 1.6}),
    ("worth less", normal(800), {"lower": 1.6, "upper": 2.5, "n_eff": 100.0}),
    ("outside", normal(800), {"lower": 1.9, "upper": 2.1, "contents": (0.9, 0.95)}),
    ("beyond the upper", normal(800), {"lower": 1.0, "upper": 2.1, "contents": (0.9, 0.95)}),
    ("beyond the lower", normal(800), {"lower": 1.9, "upper": 3.0, "contents": (0.9, 0.95)}),
    ("bad content", normal(80), {"contents": (1.5,)}),
    ("no content", normal(80), {"contents": (0.0,)}),
):
    scene(f"tolerance interval: {name}", lambda v=values, m=more: c.tolerance_intervals(v, **m))
scene(
    "values needed",
    lambda: [
        c.tolerance_interval_sample_size(q, confidence=p, sides=k)
        for q in (0.9, 0.99)
        for p in (0.9, 0.95)
        for k in (1, 2)
    ],
)
for name, labels, more in (
    ("subgroups", groups, {"lower": 1.6, "upper": 2.5, "unit": "mm"}),
    ("singles", None, {"upper": 2.5}),
    ("worth less", groups, {"lower": 1.6, "n_eff_mean": 50.0}),
):
    scene(f"within: {name}", lambda k=labels, m=more: c.within_subgroup_sd(moved, k, **m))


def cut(lower: float | None, upper: float | None, softness: float = 0.0) -> Any:
    values = rng(51).normal(2, 0.1, 3000)
    seen = values + rng(52).normal(0, softness, 3000) if softness else values
    keep = (seen >= (lower or -np.inf)) & (seen <= (upper or np.inf))
    return values[keep].round(3)


for name, limits, more in (
    ("upper", (None, 2.1), {}),
    (
        "two limits",
        (1.85, 2.1),
        {"families": ("normal", "logistic"), "unit": "mm", "rejected_count": 676},
    ),
    ("soft", (None, 2.1), {"sorting_error_sd": 0.02, "n_eff": 400.0}),
    ("counted", (None, 2.1), {"rejected_count": 480}),
    ("at most so many", (None, 2.1), {"rejected_count": 900, "counted_alone": False}),
    ("hard", (None, 1.98), {}),
):
    scene(
        f"before sorting: {name}",
        lambda b=limits, m=more: c.truncated_capability(
            cut(*b, m.get("sorting_error_sd", 0.0)), *b, **{"families": ("normal",), **m}
        ),
    )
scene(
    "before sorting: gamma",
    lambda: c.truncated_capability(
        gamma[gamma < 1.5], None, 1.5, families=("generalised gamma", "lognormal"), bound=0.0
    ),
)
scene(
    "cut at",
    lambda: [
        c.truncation_points(cut(None, 2.1), 1.6, 2.1),
        c.truncation_points(normal(800), 1.6, 2.5),
        c.truncation_points(normal(50), 1.6, 2.1),
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
scene("bins", lambda: c.bin_counts(bin_table))
scene("bins: log agrees", lambda: c.bin_counts(bin_table, logged=c.LoggedCounts(2955, 23)))
scene("bins: log differs", lambda: c.bin_counts(bin_table, logged=c.LoggedCounts(2950, 23)))


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
        (1.7, 2.0, 2.3),
        0.1,
        gauge_sd,
        lower=more.pop("lower", 1.6),
        upper=2.5,
        truths=draws,
        **more,
    )


scene("gauge removed", lambda: without_gauge(0.03, unit="mm"))
scene("gauge removed: bias", lambda: without_gauge(0.03, bias=0.02, lower=None))
scene("gauge removed: all gauge", lambda: without_gauge(0.12))
parts = pd.DataFrame({"a": first, "b": second, "c": rng(64).normal(0, 1, 40)})
limits_of = {"a": (3.2, 4.9), "b": (3.1, 5.0), "c": (None, 2.0)}
scene("joint", lambda: c.joint_conformity(parts, limits_of))
scene(
    "joint: loose",
    lambda: c.joint_conformity(parts[["a", "c"]], {"a": (0.0, 9.0), "c": (-9.0, 9.0)}),
)
scene(
    "joint: with rates",
    lambda: c.joint_conformity(
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
scene("joint: one", lambda: c.joint_conformity(parts[["a"]], {"a": (0.0, 9.0)}))
scene(
    "share failing any",
    lambda: [
        c.share_failing_any([0.01, 0.02], [0.0, 0.01], np.array([[1, r], [r, 1]]))
        for r in (0.0, 0.9, -0.5)
    ],
)
scene(
    "share failing any: one limit short", lambda: c.share_failing_any([0.1, 0.1], [0.2], np.eye(2))
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
    ("worth less", {"n_eff_mean": 20.0, "n_eff_sd": 30.0}),
    ("size never differs", {"size": np.full(90, 5.02), "most_material": 5.0}),
):
    scene(f"position: {name}", lambda m=more: c.position_capability(x, y, 0.2, seed=1, **m))
scene("position: outside", lambda: c.position_capability(x + 0.2, y, 0.2, seed=1))
scene("position: line", lambda: c.position_capability(x, 2 * x, 0.2, seed=1))
scene("position: few", lambda: c.position_capability(x[:4], y[:4], 0.2, seed=1))
