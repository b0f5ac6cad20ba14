"""Scenes of room shape; see `scenes`."""

from __future__ import annotations

from typing import Any

import numpy as np
from unchanged_scenes import gamma, normal, rng, scene, slow

from linestudy import shape as sh

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
    scene(
        f"fit: {family}",
        lambda f=family: described(sh.fit(gamma, f, 0.0, with_covariance=True), gamma),
    )
    scene(
        f"fit many: {family}",
        lambda f=family: sh.fit_many(rng(42).gamma(4, 0.25, (2, 150)), f, 0.0),
    )
    scene(
        f"goodness: {family}",
        lambda f=family: sh.bootstrap_p(
            sh.fit(gamma[:80], f, 0.0), gamma[:80], refits=40, rng=rng(1)
        ),
    )
scene("johnson by moments", lambda: sh.johnson_by_moments(gamma).ppf([0.01, 0.5, 0.99]))
scene("johnson by quantiles", lambda: sh.johnson_by_quantiles(gamma).ppf([0.01, 0.5, 0.99]))
scene("normality", lambda: sh.normality_tests(gamma[:60]))
for name, values, more in (
    ("bound", gamma, {"bound": 0.0, "upper": 3.0}),
    ("no bound", gamma, {"lower": 0.1, "upper": 3.0, "unit": "mm"}),
    ("named", gamma, {"family": "lognormal", "bound": 0.0}),
    ("two humps", np.r_[normal(150, 0, 1), normal(150, 6, 1)], {"mixture_expected": True}),
    ("two humps unexpected", np.r_[normal(150, 0, 1), normal(150, 6, 1)], {}),
    ("rounded", normal(200).round(1), {}),
    ("correlated", slow(400), {"lag1": 0.8, "n_eff": 60.0}),
    ("outlier", np.r_[normal(100), 9.0], {"upper": 3.0}),
    ("normal", normal(300), {"lower": 1.5, "upper": 2.5}),
    ("few", normal(8), {}),
    ("equal", np.ones(50), {}),
    ("below the bound", normal(50, 0, 1), {"bound": 0.0}),
):
    scene(
        f"choose: {name}",
        lambda v=values, m=more: sh.select_distribution(v, refits=29, seed=1, **m),
    )
