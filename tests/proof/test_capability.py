"""Coverage of the intervals of capability, over sizes, indices, families and serial correlation.

Nominal 95 %. The truth of a non-normal process is its own quantiles; the family is taken as known
(what the choice of a family adds is for the room shape to measure).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

pytestmark = pytest.mark.proof


def process(name: str) -> tuple[Any, float | None]:
    """A distribution of SciPy, and the bound its family begins at."""
    from scipy import stats

    return {
        "normal": (stats.norm(10, 1), None),
        "lognormal": (stats.lognorm(0.4), 0.0),
        "gamma": (stats.gamma(4), 0.0),
        "Weibull": (stats.weibull_min(1.8), 0.0),
        "largest extreme value": (stats.gumbel_r(5, 1), None),
        "half-normal": (stats.halfnorm(), 0.0),
    }[name]


def normal_index(rng: np.random.Generator, n: int, index: float, serial: float) -> dict[str, bool]:
    from linestudy.capability import process_capability

    noise = rng.standard_normal(n)
    x = noise
    if serial:
        x = np.empty(n)
        x[0] = noise[0]
        for i in range(1, n):
            x[i] = serial * x[i - 1] + np.sqrt(1 - serial**2) * noise[i]
    # Limits that are not symmetric: the nearer one decides, the farther one matters a little.
    half = 3 * index
    effective = {}
    if serial:
        effective = {
            "n_eff_mean": n * (1 - serial) / (1 + serial),
            "n_eff_sd": n * (1 - serial**2) / (1 + serial**2),
        }
    study = process_capability(x, -half - 0.6, half, **effective)
    truth_p = (2 * half + 0.6) / 6
    return {"Ppk": index in study.Ppk, "Pp": truth_p in study.Pp}


@pytest.mark.parametrize("n", [30, 100, 1000])
@pytest.mark.parametrize("index", [0.8, 1.33, 2.5])
def test_normal_indices(measure: Callable[..., dict], n: int, index: float) -> None:
    found = measure(
        "capability",
        "normal",
        f"n {n}, index {index}",
        normal_index,
        runs=1000,
        n=n,
        index=index,
        serial=0.0,
    )
    for claim, row in found.items():
        assert row.within(0.935, 0.965), (claim, row)


@pytest.mark.parametrize(("n", "index"), [(300, 1.33), (1000, 1.33), (1000, 2.0)])
def test_correlated_at_one_half(measure: Callable[..., dict], n: int, index: float) -> None:
    found = measure(
        "capability",
        "normal, correlated 0.5",
        f"n {n}, index {index}",
        normal_index,
        runs=1000,
        note="effective numbers taken as known",
        n=n,
        index=index,
        serial=0.5,
    )
    for claim, row in found.items():
        assert row.within(0.935, 0.965), (claim, row)


#: Indices whose limits are tried on the same values.
INDICES = (0.8, 1.33, 2.5)


def quantile_trial(rng: np.random.Generator, family: str, n: int) -> dict[str, bool]:
    from linestudy.capability import quantile_intervals
    from linestudy.shape import fit

    truth, bound = process(family)
    median, high = (float(q) for q in truth.ppf([0.5, 0.99865]))
    values = truth.rvs(n, random_state=rng)
    fitted = fit(values, family, bound, with_covariance=True)
    held = {}
    for index in INDICES:
        upper = median + index * (high - median)
        found = quantile_intervals(
            fitted, None, upper, n_eff_mean=n, n_eff_sd=n, rng=rng, values=values
        )
        held[f"Ppk {index}"] = index in found["Ppk"]
        # Both are functions of the same parameters, so one rate speaks for the others.
        if index == 1.33:
            held["ppm"] = 1e6 * float(truth.sf(upper)) in found["total"]
    return held


@pytest.mark.parametrize(
    "family", ["lognormal", "gamma", "Weibull", "largest extreme value", "half-normal"]
)
@pytest.mark.parametrize("n", [30, 100, 300, 1000, 3000])
def test_quantile_indices(measure: Callable[..., dict], family: str, n: int) -> None:
    found = measure(
        "capability",
        "quantile index",
        f"{family}, n {n}",
        quantile_trial,
        runs=1500 if (family, n) == ("Weibull", 1000) else 1000,
        family=family,
        n=n,
    )
    for claim, row in found.items():
        assert row.within(0.935, 0.965), (claim, row)


def correlated_quantile(rng: np.random.Generator, n: int, serial: float) -> bool:
    """A lognormal process whose logarithm is a first-order autoregression."""
    from scipy.signal import lfilter

    from linestudy.capability import quantile_intervals
    from linestudy.shape import fit

    truth, _ = process("lognormal")
    median, high = (float(q) for q in truth.ppf([0.5, 0.99865]))
    z = lfilter([np.sqrt(1 - serial**2)], [1, -serial], rng.standard_normal(n + 100))[100:]
    values = np.exp(0.4 * z)
    fitted = fit(values, "lognormal", 0.0, with_covariance=True)
    found = quantile_intervals(
        fitted,
        None,
        median + 1.33 * (high - median),
        n_eff_mean=n * (1 - serial) / (1 + serial),
        n_eff_sd=n * (1 - serial**2) / (1 + serial**2),
        rng=rng,
        values=values,
    )
    return bool(1.33 in found["Ppk"])


@pytest.mark.parametrize("n", [300, 700, 2000])
def test_quantile_index_correlated(measure: Callable[..., dict], n: int) -> None:
    found = measure(
        "capability",
        "quantile index, correlated 0.5",
        f"lognormal, n {n}",
        correlated_quantile,
        runs=1000,
        note="effective numbers taken as known",
        n=n,
        serial=0.5,
    )
    assert found["quantile index, correlated 0.5"].within(0.935, 0.965)


def position_trial(rng: np.random.Generator, n: int, off: float) -> dict[str, bool]:
    from linestudy.capability import position_capability
    from linestudy.capability.round_zone.geometry import ellipse_index, share_outside

    mean = np.array([off, 0.5 * off])
    covariance = np.array([[1e-4, 2e-5], [2e-5, 2e-4]])
    study = position_capability(*rng.multivariate_normal(mean, covariance, n).T, diameter=0.1)
    one = covariance[None]
    return {
        "Ppk of position": ellipse_index(mean[None], one, 0.05)[0] in study.Ppk,
        "Pp of position": ellipse_index(0 * mean[None], one, 0.05)[0] in study.Pp,
        "ppm of position": 1e6 * share_outside(mean[None], one, 0.05)[0] in study.expected_ppm,
    }


@pytest.mark.parametrize(("n", "off"), [(30, 0.01), (125, 0.01), (1000, 0.0), (125, 0.02)])
def test_position(measure: Callable[..., dict], n: int, off: float) -> None:
    found = measure(
        "capability",
        "position",
        f"n {n}, mean off by {off:g} of a zone of 0.1",
        position_trial,
        runs=1000,
        n=n,
        off=off,
    )
    for claim, row in found.items():
        if claim == "Pp of position" or off > 0:
            assert row.within(0.93, 0.97), (claim, row)


def bound_trial(rng: np.random.Generator, n: int, index: float) -> dict[str, bool]:
    from linestudy.capability import process_capability

    study = process_capability(rng.standard_normal(n), -3 * index - 0.6, 3 * index)
    return {"one-sided lower bound of Ppk": float(study.lower_bounds["Ppk"]) <= index}


@pytest.mark.parametrize(("n", "index"), [(30, 0.8), (125, 1.67), (1000, 2.5)])
def test_one_sided_bounds(measure: Callable[..., dict], n: int, index: float) -> None:
    found = measure(
        "capability",
        "one-sided bound",
        f"n {n}, index {index}",
        bound_trial,
        runs=1000,
        n=n,
        index=index,
    )
    for claim, row in found.items():
        assert row.within(0.935, 0.965), (claim, row)


def blocks_trial(rng: np.random.Generator, n: int, serial: float) -> dict[str, bool]:
    from scipy.signal import lfilter

    from linestudy.capability import block_bootstrap

    z = lfilter([np.sqrt(1 - serial**2)], [1, -serial], rng.standard_normal(n + 100))[100:]
    study = block_bootstrap(
        z, -5.0, 4.0, n_eff_mean=n * (1 - serial) / (1 + serial), resamples=1000, seed=1
    )
    return {"Ppk by moving blocks": 4.0 / 3.0 in study.Ppk}


@pytest.mark.parametrize("serial", [0.0, 0.5])
def test_moving_blocks(measure: Callable[..., dict], serial: float) -> None:
    found = measure(
        "capability",
        "moving blocks",
        f"n 4000, correlated {serial:g}",
        blocks_trial,
        runs=1000,
        note="percentile interval of a check, not the interval reported",
        n=4000,
        serial=serial,
    )
    for claim, row in found.items():
        assert row.within(0.92, 0.97), (claim, row)


def sorted_trial(rng: np.random.Generator, n: int, limit: float) -> dict[str, bool]:
    from scipy.stats import norm

    from linestudy.capability import truncated_capability
    from linestudy.results import CannotJudge

    while True:
        x = rng.standard_normal(n)
        kept = x[np.abs(x) <= limit]
        try:
            study = truncated_capability(kept, -limit, limit, rejected_count=n - kept.size)
        except CannotJudge:
            # No interval is claimed; what is claimed must hold.
            continue
        break
    share = 2 * float(norm.sf(limit))
    return {
        "Ppk": limit / 3 in study.Ppk,
        "share taken out": bool(study.rejected.low <= share <= study.rejected.high),
    }


@pytest.mark.parametrize(("n", "limit"), [(1000, 2.0), (4000, 1.5), (4000, 2.4)])
def test_before_sorting(measure: Callable[..., dict], n: int, limit: float) -> None:
    found = measure(
        "capability",
        "before sorting",
        f"{n} parts made, limits at {limit} standard deviations",
        sorted_trial,
        runs=1000,
        sample=50,
        n=n,
        limit=limit,
    )
    for claim, row in found.items():
        assert row.within(0.935, 1.0), (claim, row)
