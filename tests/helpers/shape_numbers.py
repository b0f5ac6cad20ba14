"""Everything that is found by a search in the rooms shape and capability, for `machines`.

Each number comes with the scale that a difference is held against: the standard error of a coordinate, the width of
an interval, one for a log likelihood.
"""

from __future__ import annotations

import json
import sys
import warnings
from typing import Any

import numpy as np

from linestudy.capability import position_capability, process_capability, truncated_capability
from linestudy.results import CannotJudge, Interval
from linestudy.shape import FAMILIES, fit, quantile_interval, select_distribution
from linestudy.shape.goodness import bootstrap_p
from linestudy.shape.refits import refit

SIZES = (30, 125, 3000)


def data(n: int) -> dict[str, np.ndarray]:
    """Values of six kinds of process, all positive."""
    rng = np.random.default_rng(n)
    half = n // 2
    return {
        "normal": rng.normal(2.0, 0.1, n),
        "gamma": rng.gamma(4.0, 0.01, n),
        "folded": np.abs(rng.normal(0.01, 0.01, n)),
        "bounded": 5.0 + 2.0 * rng.beta(2.0, 3.0, n),
        "mixture": np.concatenate([rng.normal(6.0, 0.01, half), rng.normal(6.03, 0.012, n - half)]),
        "rounded": np.round(rng.normal(12.0, 0.05, n), 2),
    }


def numbers(
    sizes: tuple[int, ...] = SIZES,
    kinds: tuple[str, ...] = (),
    shuffle: int | None = None,
    intervals: bool = True,
) -> dict[str, Any]:
    """All numbers, rows in another order where a seed for that is given."""
    out: dict[str, Any] = {}

    def interval(name: str, found: Any) -> None:
        if isinstance(found, Interval) and found.high > found.low:
            width = min(found.high - found.low, 1e300)
            for end in ("estimate", "low", "high"):
                out[f"{name} {end}"] = [getattr(found, end), width]

    for n in sizes:
        for kind, values in data(n).items():
            if kinds and kind not in kinds:
                continue
            y = values
            if shuffle is not None:
                y = np.random.default_rng(shuffle).permutation(values)
            for family in FAMILIES:
                _fitted(out, f"{kind} {n} {family}", y, family, interval, intervals and n == 125)
            if intervals:
                _chosen(out, f"{kind} {n}", y, interval)
    if intervals:
        _others(out, interval, shuffle)
    return out


def _fitted(out: dict[str, Any], name: str, y: Any, family: str, interval: Any, ends: bool) -> None:
    try:
        item = fit(y, family, 0.0, with_covariance=True)
    except CannotJudge as stop:
        out[name] = stop.reason
        return
    if item.undetermined is not None:
        out[name] = item.undetermined
        return
    out[f"{name} loglik"] = [item.loglik, 1.0]
    for i, value in enumerate(item.free):
        out[f"{name} {i}"] = [float(value), float(np.sqrt(item.covariance[i, i]))]
        out[f"{name} {i} variance"] = [float(item.covariance[i, i]), float(item.covariance[i, i])]
    if not ends:
        return
    for q in (0.00135, 0.5, 0.99865):
        try:
            interval(f"{name} {q}", quantile_interval(item, q, values=y))
        except CannotJudge:
            continue
    again = refit(item, item.rvs((20, 60), np.random.default_rng(1)))
    for row in np.flatnonzero(again.converged & np.isfinite(again.statistic)):
        out[f"{name} refit {row}"] = [float(again.statistic[row]), 1.0]
    out[f"{name} p"] = [
        float(bootstrap_p(item, y, refits=99, rng=np.random.default_rng(2)) or 0.0),
        1.0,
    ]


def _chosen(out: dict[str, Any], name: str, y: Any, interval: Any) -> None:
    shape = select_distribution(y, refits=0)
    out[f"{name} chosen"] = shape.chosen.family
    out[f"{name} order"] = ", ".join(item.family for item in shape.families)
    middle, sd = float(np.median(y)), float(np.std(y))
    study = process_capability(
        y,
        middle - 4 * sd,
        middle + 4 * sd,
        fitted=shape.chosen,
        plausible_families=shape.plausible_families,
    )
    for index in ("Pp", "Ppk"):
        interval(f"{name} {index}", getattr(study, index))
    for side, found in study.expected_ppm.items():
        interval(f"{name} {side}", found)


def _others(out: dict[str, Any], interval: Any, shuffle: int | None) -> None:
    rng = np.random.default_rng(5)
    x, z = rng.normal(10, 1, 3000), rng.gamma(4, 1, 3000)
    points = rng.normal(0, 0.01, (2, 400))
    if shuffle is not None:
        order = np.random.default_rng(shuffle)
        x, z = order.permutation(x), order.permutation(z)
        points = points[:, order.permutation(400)]
    for softness in (0.0, 0.1):
        kept = x[np.abs(x - 10) < 1.5]
        families = ("normal", "logistic", "largest extreme value")
        study = truncated_capability(
            kept, 8.5, 11.5, families=families, sorting_error_sd=softness, rejected_count=410
        )
        interval(f"cut normal {softness}", study.Ppk)
        interval(f"cut normal {softness} rejected", study.rejected)
    study = truncated_capability(
        z[z < 7],
        None,
        7.0,
        families=("generalised gamma", "Weibull", "lognormal"),
        bound=0.0,
        rejected_count=int((z >= 7).sum()),
    )
    out["cut gamma"] = study.family
    interval("cut gamma", study.Ppk)
    where = position_capability(*points, diameter=0.1)
    interval("position", where.Ppk)
    interval("position ppm", where.expected_ppm)


if __name__ == "__main__":
    warnings.simplefilter("ignore")
    json.dump(numbers(), sys.stdout)
