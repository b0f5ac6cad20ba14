"""Indices and intervals: handbook examples, SciPy, properties; coverage is in the proof."""

from __future__ import annotations

import json

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.capability import (
    cp,
    cpk,
    cpm,
    normal_nonconforming,
    observed_nonconforming,
    process_capability,
    quantile_index,
    quantile_intervals,
    zero_failure_bound,
)
from linestudy.numerics.normal_intervals import (
    one_sided_index_interval,
    sd_interval,
    two_sided_index_interval,
)
from linestudy.results import Absent, CannotJudge, Interval
from linestudy.shape import fit


@pytest.mark.checks("Cp, Cpk", source="NIST/SEMATECH e-Handbook 6.1.6")
def test_handbook_arithmetic() -> None:
    # NIST/SEMATECH e-Handbook 6.1.6: limits 8 and 20, mean 16, SD 2: Cp 1.0, Cpk 0.6667.
    assert cp(2.0, df=99, lower=8.0, upper=20.0).estimate == pytest.approx(1.0)
    assert cpk(16.0, 2.0, n=100, df=99, lower=8.0, upper=20.0).estimate == pytest.approx(
        0.6667, abs=5e-5
    )


@pytest.mark.checks(
    "interval of Cp", source="Montgomery, Introduction to Statistical Quality Control", memory=True
)
def test_published_interval_of_cp() -> None:
    # Montgomery, Introduction to Statistical Quality Control (from memory): 62 - 38, n 20, s 1.75:
    # Cp 2.29, 95 % interval 1.57 to 3.01; the book multiplies the rounded 2.29.
    interval = cp(1.75, df=19, lower=38.0, upper=62.0)
    assert interval.estimate == pytest.approx(2.29, abs=5e-3)
    assert interval.low * 2.29 / interval.estimate == pytest.approx(1.57, abs=5e-3)
    assert interval.high * 2.29 / interval.estimate == pytest.approx(3.01, abs=5e-3)


@pytest.mark.checks(
    "interval of Cpk", source="Montgomery, Introduction to Statistical Quality Control", memory=True
)
def test_published_interval_of_cpk_is_near_the_exact_one() -> None:
    # Montgomery (from memory): Cpk 1.33, n 20, normal approximation 0.88 to 1.78.
    interval = one_sided_index_interval(3.99, 1.0, 20, 19)
    assert interval.low == pytest.approx(0.88, abs=0.02)
    assert interval.high == pytest.approx(1.78, abs=0.02)


@pytest.mark.checks("interval of a one-sided index", source="SciPy: noncentral t")
def test_one_sided_interval_inverts_scipys_noncentral_t() -> None:
    from scipy.stats import nct

    interval = one_sided_index_interval(4.2, 1.3, 30, 29)
    t = np.sqrt(30) * 4.2 / 1.3
    assert nct.cdf(t, 29, 3 * np.sqrt(30) * interval.low) == pytest.approx(0.975, abs=1e-7)
    assert nct.cdf(t, 29, 3 * np.sqrt(30) * interval.high) == pytest.approx(0.025, abs=1e-7)


@pytest.mark.checks(
    "interval of a one-sided index",
    source="Natrella, NBS Handbook 91, one-sided tolerance factors",
    memory=True,
)
def test_natrella_tolerance_factor_is_the_same_noncentral_t() -> None:
    # Natrella, NBS Handbook 91 (from memory): n 10, 95 % of the population with 95 % confidence,
    # one-sided k = 2.911: the distance whose lower bound (one-sided 95 %) is the 95 % quantile.
    from scipy.special import ndtri

    interval = one_sided_index_interval(2.911, 1.0, 10, 9, confidence=0.90)
    assert 3 * interval.low == pytest.approx(float(ndtri(0.95)), abs=2e-3)


def test_spread_interval_is_the_chi_square_one() -> None:
    from scipy.stats import chi2

    interval = sd_interval(2.0, 24)
    assert interval.high == pytest.approx(2.0 * np.sqrt(24 / chi2.ppf(0.025, 24)))


def test_two_sided_agrees_with_one_sided_far_from_the_middle() -> None:
    two = two_sided_index_interval(3.0, 0.2, -4, 4, 50, 49)
    one = one_sided_index_interval(1.0, 0.2, 50, 49)
    assert (two.low, two.high) == pytest.approx((one.low, one.high), rel=2e-3)


def test_quantile_index_of_a_normal_is_the_usual_one() -> None:
    y = np.random.default_rng(3).normal(10, 1, 2000)
    item = fit(y, "normal", uncertainty=True)
    both, one = quantile_index(item, 6.0, 15.0)
    sd = y.std()
    # 2.99998 standard deviations to 0.135 %.
    assert both == pytest.approx(9 / (6 * sd), rel=1e-4)
    assert one == pytest.approx(min(15 - y.mean(), y.mean() - 6) / (3 * sd), rel=1e-4)
    by_curvature = quantile_intervals(item, 6.0, 15.0, n_eff_mean=2000, n_eff_sd=2000)["Ppk"]
    exact = two_sided_index_interval(y.mean(), y.std(ddof=1), 6.0, 15.0, 2000, 1999)
    assert by_curvature.low == pytest.approx(exact.low, rel=0.01)
    assert by_curvature.high == pytest.approx(exact.high, rel=0.01)


def test_expected_ppm_at_three_sigma() -> None:
    # Normal tables: 1350 ppm beyond three standard deviations on one side.
    found = normal_nonconforming(0.0, 1.0, n=200, df=199, lower=-3.0, upper=3.0)
    assert found["above"].estimate == pytest.approx(1349.9, abs=0.1)
    assert found["total"].estimate == pytest.approx(2699.8, abs=0.2)
    assert found["total"].low < 2699.8 < found["total"].high


def test_observed_counts_have_scipys_exact_interval() -> None:
    from scipy.stats import binomtest

    found = observed_nonconforming(np.arange(100.0), 1.5, 97.5)
    assert (found.below, found.above, found.n) == (2, 2, 100)
    exact = binomtest(4, 100).proportion_ci(0.95, "exact")
    assert found.ppm.low == pytest.approx(1e6 * exact.low)
    assert found.ppm.high == pytest.approx(1e6 * exact.high)


def test_none_seen() -> None:
    # 1 - 0.05^(1/n), near 3/n (rule of three); Wilks: 59 items for 95 % / 95 %.
    assert zero_failure_bound(59) == pytest.approx(0.05e6, rel=0.02)
    assert zero_failure_bound(3000) == pytest.approx(1e6 * 3 / 3000, rel=0.01)


def test_cpm_by_hand() -> None:
    # Tolerance 12, SD 2, mean one off target: 12 / (6 * sqrt(4 + 1)).
    assert cpm(11.0, 2.0, df=49, lower=4.0, upper=16.0, target=10.0).estimate == pytest.approx(
        12 / (6 * np.sqrt(5))
    )


@given(st.floats(0.01, 1000), st.floats(-100, 100), st.integers(0, 5))
def test_units_shifts_and_reflection(unit: float, zero: float, seed: int) -> None:
    y = np.random.default_rng(seed).normal(10, 1, 50)
    one = process_capability(y, 6.0, 15.0)
    moved = process_capability(y * unit + zero, 6.0 * unit + zero, 15.0 * unit + zero)
    assert moved.Ppk.estimate == pytest.approx(one.Ppk.estimate, rel=1e-6)
    assert moved.Ppk.low == pytest.approx(one.Ppk.low, rel=1e-5)
    mirrored = process_capability(-y, -15.0, -6.0)
    assert mirrored.Ppk.estimate == pytest.approx(one.Ppk.estimate, rel=1e-9)
    assert mirrored.expected_ppm["below"].estimate == pytest.approx(
        one.expected_ppm["above"].estimate
    )


def test_serial_correlation_widens_the_interval_only() -> None:
    y = np.random.default_rng(1).normal(10, 1, 1000)
    free, tied = (
        process_capability(y, 6.0, 15.0),
        process_capability(y, 6.0, 15.0, n_eff_mean=60, n_eff_sd=150),
    )
    assert tied.Ppk.estimate == pytest.approx(free.Ppk.estimate)
    assert tied.Ppk.half_width > 2 * free.Ppk.half_width
    assert any("not independent" in note for note in tied.cautions)


@pytest.mark.parametrize(
    ("values", "limits", "words"),
    [
        (np.ones(50), (0.0, 2.0), "same"),
        (np.arange(5.0), (0.0, 2.0), "at least 10"),
    ],
)
def test_what_cannot_be_judged_is_said(values: np.ndarray, limits: tuple, words: str) -> None:
    with pytest.raises(CannotJudge, match=words):
        process_capability(values, *limits)


def test_limits_outside_every_value_and_the_record() -> None:
    study = process_capability(
        np.random.default_rng(2).normal(10, 1, 60), 20.0, 21.0, sd_within=Absent("why")
    )
    assert any("Every value" in note for note in study.cautions)
    record = study.record()
    assert json.dumps(record, allow_nan=False)
    assert record["Cp"] == {"absent": "why"}
    assert isinstance(study.Ppk, Interval)
    assert study.figure().alt_text


@pytest.mark.parametrize("off", [0.0, 0.5, 1.2])
def test_target_index_covers(off: float) -> None:
    # Truth: Cpm = (U - L) / (6 sqrt(sigma^2 + (mu - T)^2)) (Chan, Cheng & Spiring 1988); known sigma 1, mu 0.
    n, runs = 60, 1500
    draw = np.random.default_rng(round(10 * off)).normal(0.0, 1.0, (runs, n))
    means, sds = draw.mean(axis=1), draw.std(axis=1, ddof=1)
    truth = 10 / (6 * np.sqrt(1 + off**2))
    held = sum(
        truth in cpm(mean, sd, df=n - 1, lower=-5.0, upper=5.0, target=off)
        for mean, sd in zip(means, sds, strict=True)
    )
    assert held / runs == pytest.approx(0.95, abs=0.02)


def test_one_limit_has_one_side_and_one_value_is_counted() -> None:
    assert observed_nonconforming([1.0], None, 0.5).above == 1
    item = fit(np.random.default_rng(2).normal(10, 1, 200), "normal")
    found = quantile_intervals(item, None, 12.0, n_eff_mean=200, n_eff_sd=200)
    # All that is expected outside is above; below there is no limit to lie beyond, and no width for Pp.
    assert found["total"] == found["above"]
    assert found["below"].high == 0
    assert isinstance(found["Pp"], Absent)
