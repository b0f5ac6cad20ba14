"""Short runs and blocks: known tables, theory of autoregressive series, and what cannot be judged."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import lfilter
from scipy.stats import linregress

from linestudy.capability import block_bootstrap, machine_performance, process_capability
from linestudy.results import CannotJudge


@pytest.mark.checks("lower bound of Ppk", source="NIST/SEMATECH e-Handbook 7.2.6.3", memory=True)
def test_lower_bound_is_the_one_sided_tolerance_factor() -> None:
    # One-sided tolerance factors for normal samples, 95 % of parts at 95 % confidence, n = 10, 30, 100:
    # 2.911, 2.220, 1.927 (NIST/SEMATECH e-Handbook 7.2.6.3 and common tables; values from memory).
    # A limit that many standard deviations away is met by 95 %, so the index's bound is 1.645 / 3.
    rng = np.random.default_rng(1)
    for n, factor in ((10, 2.911), (30, 2.220), (100, 1.927)):
        y = rng.normal(size=n)
        y = (y - y.mean()) / y.std(ddof=1)
        study = process_capability(y, upper=factor)
        assert study.lower_bounds["Ppk"] == pytest.approx(1.6449 / 3, abs=4e-4)
        assert study.lower_bounds["Ppk"] > study.Ppk.low


def test_z_of_the_expected_share() -> None:
    from scipy.stats import norm

    y = np.random.default_rng(3).normal(10, 1, 200)
    study = process_capability(y, 6.0, 14.0)
    for side in ("below", "above", "total"):
        share = study.expected_ppm[side].estimate / 1e6
        assert study.z[side].estimate == pytest.approx(norm.isf(share))
    one = process_capability(y, upper=14.0)
    assert one.z["above"].estimate == pytest.approx((14 - y.mean()) / y.std(ddof=1))
    assert not one.z["below"]


def test_machine_is_the_index_of_the_short_run() -> None:
    y = np.random.default_rng(4).normal(5.0, 0.1, 100)
    study = machine_performance(y, 4.4, 5.6)
    assert study.Pmk.estimate == pytest.approx(
        min(5.6 - y.mean(), y.mean() - 4.4) / (3 * y.std(ddof=1))
    )
    line = linregress(np.linspace(0, 1, 100), y)
    assert study.slope_p == pytest.approx(line.pvalue)
    assert not any("drifts" in note or "Neighbours" in note for note in study.cautions)


def test_drift_and_twins_are_named() -> None:
    rng = np.random.default_rng(5)
    drifting = machine_performance(rng.normal(5.0, 0.1, 100) + np.linspace(0, 0.3, 100), 4, 6)
    assert any("drifts" in note for note in drifting.cautions)
    twins = machine_performance(np.repeat(rng.normal(5.0, 0.1, 60), 2), 4, 6)
    assert any("Neighbours" in note for note in twins.cautions)
    assert any(
        "prefers 100" in note for note in machine_performance(rng.normal(5, 0.1, 60), 4, 6).cautions
    )


def test_too_short_a_run() -> None:
    with pytest.raises(CannotJudge, match="at least 30"):
        machine_performance(np.arange(20.0), 0, 30)


@pytest.mark.parametrize("phi", [0.0, 0.5, 0.8])
def test_blocks_find_the_effective_numbers_of_an_ar1(phi: float) -> None:
    # Theory: n (1 - phi) / (1 + phi) for the mean, n (1 - phi**2) / (1 + phi**2) for the variance
    # (Priestley, Spectral Analysis and Time Series, 1981, ch. 5.3).
    n, found = 20_000, []
    rng = np.random.default_rng(6)
    for seed in range(6):
        y = lfilter([1], [1, -phi], rng.normal(size=n + 200))[200:]
        check = block_bootstrap(y, -9, 9, n_eff_mean=n * (1 - phi) / (1 + phi), seed=seed)
        found.append((check.n_eff_mean, check.n_eff_sd))
    by_mean, by_spread = np.mean(found, axis=0)
    assert by_mean == pytest.approx(n * (1 - phi) / (1 + phi), rel=0.2)
    assert by_spread == pytest.approx(n * (1 - phi**2) / (1 + phi**2), rel=0.2)


def test_blocks_warn_where_independence_was_claimed() -> None:
    y = lfilter([1], [1, -0.9], np.random.default_rng(7).normal(size=10_000))
    check = block_bootstrap(y, -20, 20, block_length=200, seed=1)
    assert any("too narrow" in note for note in check.cautions)
    assert check.Ppk.low < check.Ppk.estimate < check.Ppk.high
    with pytest.raises(CannotJudge, match="blocks"):
        block_bootstrap(y, block_length=5000)


def test_blocks_do_not_mind_unit_and_shift() -> None:
    y = np.random.default_rng(8).normal(size=2000)
    first, again = (
        block_bootstrap(v, a, b, seed=1)
        for v, a, b in ((y, -5.0, 4.0), (25.4 * y + 1e4, 25.4 * -5 + 1e4, 25.4 * 4 + 1e4))
    )
    assert again.Ppk.low == pytest.approx(first.Ppk.low, rel=1e-8)
    assert again.n_eff_sd == pytest.approx(first.n_eff_sd, rel=1e-6)
