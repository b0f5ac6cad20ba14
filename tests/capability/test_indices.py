"""Cp, Cpk, Cpm and their intervals: handbook examples, SciPy, properties; coverage is in the proof."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.capability import (
    cp,
    cpk,
    cpm,
)
from linestudy.numerics.normal_intervals import (
    one_sided_index_interval,
    sd_interval,
    two_sided_index_interval,
)


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


@pytest.mark.checks("interval of Cp", source="SciPy: chi-square")
def test_spread_interval_is_the_chi_square_one() -> None:
    from scipy.stats import chi2

    interval = sd_interval(2.0, 24)
    assert interval.high == pytest.approx(2.0 * np.sqrt(24 / chi2.ppf(0.025, 24)))


def test_two_sided_agrees_with_one_sided_far_from_the_middle() -> None:
    two = two_sided_index_interval(3.0, 0.2, -4, 4, 50, 49)
    one = one_sided_index_interval(1.0, 0.2, 50, 49)
    assert (two.low, two.high) == pytest.approx((one.low, one.high), rel=2e-3)


def test_cpm_by_hand() -> None:
    # Tolerance 12, SD 2, mean one off target: 12 / (6 * sqrt(4 + 1)).
    assert cpm(11.0, 2.0, df=49, lower=4.0, upper=16.0, target=10.0).estimate == pytest.approx(
        12 / (6 * np.sqrt(5))
    )


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
