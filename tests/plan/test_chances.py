"""The chance to pass, held against studies simulated value by value and judged by the verdict's own bounds."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.capability import process_capability
from linestudy.plan import chance_to_show
from linestudy.plan.chances import Process, ar1_sample_sizes, chance


@pytest.mark.proof
@pytest.mark.parametrize(("index", "potential"), [(1.6, 1.65), (1.6, None)])
def test_a_plan_keeps_its_promise(index: float, potential: float | None) -> None:
    """60 studies of 60 parts, each taken through process_capability, held against both bases."""
    half = 3 * (potential or 0.0)
    away = half - 3 * index
    values = np.random.default_rng(7).normal(0, 1, (60, 60)) + (away if potential else 0.0)
    limits = (-half, half) if potential else (-3 * index, None)
    studies = [process_capability(row, *limits) for row in values]
    passed = {
        "lower bound": np.mean([s.lower_bounds["Ppk"] > 1.33 for s in studies]),
        "estimate": np.mean([s.Ppk.estimate > 1.33 for s in studies]),
    }
    for basis, share in passed.items():
        planned = chance(60, Process(index, potential), 1.33, 0.95, basis)  # type: ignore[arg-type]
        # Four standard errors of 60 studies.
        assert share == pytest.approx(planned, abs=4 * np.sqrt(planned * (1 - planned) / 60) + 0.01)


def test_two_limits_far_apart_are_one_limit() -> None:
    """Independent of the integral: the noncentral t by SciPy."""
    assert chance_to_show(60, 1.6, 1.33, potential_index=8.0) == pytest.approx(
        chance_to_show(60, 1.6, 1.33), abs=2e-4
    )
    on_estimate = {"decide_on": "estimate"}
    assert chance_to_show(60, 1.6, 1.33, potential_index=8.0, **on_estimate) == pytest.approx(
        chance_to_show(60, 1.6, 1.33, **on_estimate), abs=2e-4
    )


def test_at_the_required_index_a_bound_errs_as_allowed_and_an_estimate_in_half() -> None:
    assert chance_to_show(80, 1.33, 1.33) == pytest.approx(0.05, abs=1e-9)
    assert chance_to_show(80, 1.33, 1.33, potential_index=1.33) < 0.05
    assert chance_to_show(80, 1.33, 1.33, decide_on="estimate") == pytest.approx(0.5, abs=0.03)


def test_streams_and_correlation_cost_parts() -> None:
    alone = chance_to_show(100, 2.0, 1.67)
    assert chance_to_show(100, 2.0, 1.67, streams=4) == pytest.approx(alone**4)
    # The variance of a mean of an autoregressive series, from its covariances one by one.
    n, r = 40, 0.6
    distance = np.abs(np.subtract.outer(np.arange(n), np.arange(n)))
    for size, rho in zip(ar1_sample_sizes(n, r), (r, r * r), strict=True):
        assert size == pytest.approx(n**2 / (rho**distance).sum())
    assert chance_to_show(100, 2.0, 1.67, correlation=0.5) < alone


def test_correlated_parts_keep_the_promise_too() -> None:
    n, r, index = 150, 0.5, 1.7
    rng = np.random.default_rng(3)
    noise = rng.normal(0, 1, (60, n))
    values = noise.copy()
    for i in range(1, n):
        values[:, i] = r * values[:, i - 1] + np.sqrt(1 - r * r) * noise[:, i]
    sizes = ar1_sample_sizes(n, r)
    bounds = [
        process_capability(
            row, lower=-3 * index, n_eff_mean=sizes[0], n_eff_sd=sizes[1]
        ).lower_bounds["Ppk"]
        for row in values
    ]
    planned = chance_to_show(n, index, 1.33, correlation=r)
    # Four standard errors of 60 studies; effective sizes are an approximation within 0.05 of 1,500 studies.
    assert np.mean(np.array(bounds) > 1.33) == pytest.approx(planned, abs=0.26)
