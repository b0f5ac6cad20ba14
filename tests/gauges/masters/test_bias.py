"""Bias on masters: AIAG (from memory), SciPy's t-test, coverage by simulation."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from linestudy.gauges import bias_study
from linestudy.numerics.normal_constants import d2, d2_star
from linestudy.results import CannotJudge, Interval

AIAG = [5.8, 5.7, 5.9, 5.9, 6.0, 6.1, 6.0, 6.1, 6.4, 6.3, 6.0, 6.1, 6.2, 5.6, 6.0]


@pytest.mark.checks(
    "bias on one master, spread from the range",
    source="AIAG MSA, 4th ed. (2010), ch. III",
    memory=True,
)
def test_published_bias_with_the_range() -> None:
    # AIAG MSA, 4th ed. (2010), ch. III, from memory; the book divides the bias rounded to 0.0067.
    study = bias_study(AIAG, 6.0, sd_method="range")
    assert study.mean_bias.estimate == pytest.approx(0.0067, abs=5e-5)
    assert study.sd == pytest.approx(0.22514, abs=2e-5)
    assert study.df == pytest.approx(10.8, abs=0.05)
    assert 0.0067 / (study.sd / np.sqrt(15)) == pytest.approx(0.1153, abs=6e-5)
    # The book's interval is shorter by d2 / d2*: it multiplies s by d2 again.
    half = study.mean_bias.half_width * d2(15) / d2_star(15)
    assert 0.0067 - half == pytest.approx(-0.1185, abs=2e-4)
    assert 0.0067 + half == pytest.approx(0.1319, abs=2e-4)


def test_bias_against_scipy() -> None:
    from scipy.stats import ttest_1samp

    study = bias_study(AIAG, 6.0)
    expected = ttest_1samp(AIAG, 6.0)
    interval = expected.confidence_interval(0.95)
    assert study.sd == pytest.approx(0.21202, abs=5e-6)
    assert study.t == pytest.approx(expected.statistic, rel=1e-9)
    assert study.p == pytest.approx(expected.pvalue, rel=1e-9)
    assert study.mean_bias.low + 6 == pytest.approx(interval.low, rel=1e-9)


@given(st.floats(0.01, 100), st.floats(-50, 50))
def test_units_and_shifts(unit: float, zero: float) -> None:
    one = bias_study(AIAG, 6.0)
    other = bias_study(np.array(AIAG) * unit + zero, 6.0 * unit + zero)
    assert other.mean_bias.estimate == pytest.approx(
        one.mean_bias.estimate * unit, rel=1e-6, abs=1e-9
    )
    assert other.p == pytest.approx(one.p, rel=1e-5)


def test_interval_of_the_bias_covers() -> None:
    rng = np.random.default_rng(8)
    held = sum(0.3 in bias_study(rng.normal(5.3, 0.5, 12), 5.0).mean_bias for _ in range(1500))
    # Three Monte Carlo standard errors about 95 %.
    assert abs(held / 1500 - 0.95) < 3 * np.sqrt(0.95 * 0.05 / 1500)


def test_masters_that_say_nothing_are_refused() -> None:
    with pytest.raises(CannotJudge, match="at least 2"):
        bias_study([1.0], 1.0)
    with pytest.raises(CannotJudge, match="all 3 readings"):
        bias_study([1.0, 1.0, 1.0], 1.0)


def test_both_ends_of_the_interval_and_each_masters_own_are_scipys() -> None:
    from scipy.stats import ttest_1samp

    interval = ttest_1samp(AIAG, 6.0).confidence_interval(0.9)
    study = bias_study(AIAG, 6.0, confidence=0.9)
    assert study.mean_bias.low == pytest.approx(interval.low - 6.0, rel=1e-9)
    assert study.mean_bias.high == pytest.approx(interval.high - 6.0, rel=1e-9)
    two = bias_study([*AIAG, 1.0, 1.2, 1.3], [6.0] * 15 + [1.1] * 3, confidence=0.9)
    assert [m.reference for m in two.masters] == [1.1, 6.0]
    small = ttest_1samp(np.array([1.0, 1.2, 1.3]) - 1.1, 0.0)
    ends = small.confidence_interval(0.9)
    own = two.masters[0].bias
    assert isinstance(own, Interval)
    assert (own.low, own.high) == pytest.approx((ends.low, ends.high), rel=1e-9)
    assert two.masters[0].p == pytest.approx(small.pvalue, rel=1e-9)


@pytest.mark.parametrize("masters", [1, 5])
def test_uncertain_masters_are_in_the_interval(masters: int) -> None:
    """2,000 studies, masters known to 0.002, readings to 0.001; without the masters' part 17 % at one master."""
    rng = np.random.default_rng(7)
    held = []
    known = np.repeat(np.arange(1.0, masters + 1), 25)
    for _ in range(2000):
        true = known + np.repeat(rng.normal(0, 0.002, masters), 25)
        readings = true + rng.normal(0, 0.001, known.size)
        found = bias_study(readings, known, reference_uncertainty=0.002)
        held.append([0.0 in found.mean_bias, 0.0 in found.masters[0].bias])
    assert (100 * np.mean(held, axis=0) > 93.5).all()
    assert (100 * np.mean(held, axis=0) < 97.5).all()


def test_a_negative_uncertainty_is_refused() -> None:
    with pytest.raises(ValueError, match="reference_uncertainty = -1"):
        bias_study([1.0, 1.1], 1.0, reference_uncertainty=-1.0)


def test_masters_that_never_differ_are_held_within_half_a_step() -> None:
    known = np.repeat([4.0, 5.0, 6.0], 10)
    same = bias_study(known, known, step=0.02, reference_uncertainty=0.001)
    assert (same.sd, same.p) == (0.0, 1.0)
    reach = 0.01 + norm.ppf(0.975) * 0.001
    for master in same.masters:
        assert isinstance(master.bias, Interval)
        assert (master.bias.low, master.bias.high) == pytest.approx((-reach, reach))
    # Off by as much on either side, nothing on average: each master says so for itself.
    slope = bias_study(known + 0.1 * (known - 5), known, step=0.02)
    low, _, high = (master.bias for master in slope.masters)
    assert isinstance(low, Interval)
    assert isinstance(high, Interval)
    assert low.high == pytest.approx(-0.09)
    assert high.low == pytest.approx(0.09)


def test_the_mean_of_rounded_readings_lies_within_half_a_step() -> None:
    # True means drawn anywhere: where thirty readings agree, half a step holds them (simulation with known truth).
    draw = np.random.default_rng(3)
    off = draw.uniform(-0.05, 0.05, 300)
    read = np.round((5 + off[:, None] + draw.normal(0, 0.002, (300, 30))) / 0.02) * 0.02
    agree = np.ptp(read, axis=1) < 1e-9
    assert agree.sum() > 100
    for values, truth in zip(read[agree], off[agree], strict=True):
        assert truth in bias_study(values, 5.0, step=0.02).mean_bias


def test_masters_that_disagree_and_masters_read_once_are_told() -> None:
    rng = np.random.default_rng(1)
    known = np.repeat([4.9, 5.0, 5.1], 10)
    read = known + rng.normal(0, 0.005, 30)
    assert not any("not the same" in note for note in bias_study(read, known).cautions)
    off = read + 0.02 * (known == 5.0)
    assert any("not the same on all masters" in note for note in bias_study(off, known).cautions)
    # A certificate that is as wide explains it.
    assert not any(
        "not the same" in n for n in bias_study(off, known, reference_uncertainty=0.02).cautions
    )
    notes = bias_study(read[::10], known[::10]).cautions
    assert any("Each master was read once" in note for note in notes)
    assert not any("never differed" in note for note in notes)


@pytest.mark.checks("bias on masters whose uncertainties are correlated", source="JCGM 100, 5.2.2")
def test_masters_of_one_calibration_widen_the_bias() -> None:
    """By hand: u of a mean of three with u = 0.03 is 0.03 / sqrt(3) alone, 0.03 together (formula 13 with r = 1)."""
    draw = np.random.default_rng(3)
    known = np.repeat([1.0, 2.0, 3.0], 400)
    errors = draw.normal(0, 0.001, 1200)
    alone, half, together = (
        bias_study(known + errors, known, reference_uncertainty=0.03, reference_correlation=r)
        for r in (0.0, 0.5, 1.0)
    )
    readings = errors.std(ddof=1) ** 2 / 1200
    for found, shared in (
        (alone, 0.03**2 / 3),
        (half, 0.03**2 * (3 + 0.5 * 6) / 9),
        (together, 0.03**2),
    ):
        assert found.mean_bias.half_width == pytest.approx(
            1.959964 * (shared + readings) ** 0.5, rel=1e-4
        )
    assert any("up to 1.7 times as wide" in note for note in alone.cautions)
    assert not any("independent" in note for note in together.cautions)
