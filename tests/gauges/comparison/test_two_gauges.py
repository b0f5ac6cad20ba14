"""Two gauges on the same parts: Bland & Altman, McGraw & Wong, principal axis."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.gauges import method_comparison
from linestudy.results import Absent, CannotJudge, Interval

LARGE = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]


MINI = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]


@pytest.mark.checks("limits of agreement", source="Bland & Altman, Lancet 327 (1986)", memory=True)
def test_published_agreement() -> None:
    # Bland & Altman, Lancet 1986 (from memory): mean difference -2.1, SD 38.8.
    study = method_comparison(LARGE, MINI)
    assert study.mean_difference.estimate == pytest.approx(-2.1, abs=0.05)
    assert study.sd_difference == pytest.approx(38.8, abs=0.05)
    # Their approximate limits use 2 s; exact ones use the normal quantile.
    assert study.lower_limit.estimate == pytest.approx(-2.118 - 1.959964 * 38.765, abs=0.01)


def absolute_agreement(a: np.ndarray, b: np.ndarray) -> tuple[float, float, float]:
    """ICC(A,1) and its 95 % interval: McGraw & Wong, *Psychological Methods* 1 (1996), tables 4 and 7."""
    from scipy.stats import f

    x = np.column_stack([a, b]).astype(float)
    n, k = x.shape
    rows, columns, grand = x.mean(axis=1), x.mean(axis=0), x.mean()
    msr = k * float(((rows - grand) ** 2).sum()) / (n - 1)
    msc = n * float(((columns - grand) ** 2).sum()) / (k - 1)
    rest = x - rows[:, None] - columns[None, :] + grand
    mse = float((rest**2).sum()) / ((n - 1) * (k - 1))
    icc = (msr - mse) / (msr + (k - 1) * mse + k * (msc - mse) / n)
    top, low = k * icc / (n * (1 - icc)), 1 + k * icc * (n - 1) / (n * (1 - icc))
    df = (top * msc + low * mse) ** 2 / (
        (top * msc) ** 2 / (k - 1) + (low * mse) ** 2 / ((n - 1) * (k - 1))
    )
    below, above = f.ppf(0.975, n - 1, df), f.ppf(0.975, df, n - 1)
    rater = k * msc + (k * n - k - n) * mse
    return (
        icc,
        n * (msr - below * mse) / (below * rater + n * msr),
        n * (above * msr - mse) / (rater + n * above * msr),
    )


@pytest.mark.parametrize("seed", [0, 1, 2, 3, 4])
@pytest.mark.parametrize("spread", [0.02, 0.3, 3.0])
def test_intraclass_correlation_and_both_ends_of_its_interval(seed: int, spread: float) -> None:
    import pingouin

    before = dict(pingouin.options)
    rng = np.random.default_rng(seed)
    a = 50 + rng.normal(0, 1, 25)
    b = a + rng.normal(0.05, spread, 25)
    icc = method_comparison(a, b).icc
    assert isinstance(icc, Interval)
    expected = absolute_agreement(a, b)
    assert (icc.estimate, icc.low, icc.high) == pytest.approx(expected, rel=1e-8, abs=1e-10)
    # The reader's own settings of pingouin are as they were.
    assert pingouin.options == before


def test_intraclass_correlation_of_published_data() -> None:
    icc = method_comparison(LARGE, MINI).icc
    assert isinstance(icc, Interval)
    assert (icc.estimate, icc.low, icc.high) == pytest.approx(
        absolute_agreement(np.array(LARGE), np.array(MINI)), rel=1e-9
    )


@pytest.mark.checks("Deming slope", source="NumPy: first principal axis")
def test_deming_with_equal_errors_is_the_principal_axis() -> None:
    # With an error ratio of one, Deming regression is the first principal axis (NumPy's eigenvectors).
    study = method_comparison(LARGE, MINI)
    vector = np.linalg.eigh(np.cov(MINI, LARGE))[1][:, -1]
    assert study.deming["slope"].estimate == pytest.approx(vector[1] / vector[0], rel=1e-9)


@pytest.mark.proof
def test_limits_cover() -> None:
    rng = np.random.default_rng(7)
    held = sum(
        1.959964 in method_comparison(d, np.linspace(0, 1e-9, 20), with_icc=False).upper_limit
        for d in rng.normal(0, 1, (400, 20))
    )
    assert abs(held / 400 - 0.95) < 3 * np.sqrt(0.95 * 0.05 / 400)


@given(st.floats(0.1, 10), st.floats(-5, 5))
def test_agreement_in_another_unit(unit: float, zero: float) -> None:
    one = method_comparison(LARGE, MINI, with_icc=False)
    other = method_comparison(
        np.array(LARGE) * unit + zero, np.array(MINI) * unit + zero, with_icc=False
    )
    assert other.mean_difference.estimate == pytest.approx(
        one.mean_difference.estimate * unit, rel=1e-6
    )
    assert other.deming["slope"].estimate == pytest.approx(one.deming["slope"].estimate, rel=1e-6)


def test_pairs_that_say_nothing_are_refused() -> None:
    with pytest.raises(CannotJudge, match="difference is the same on all 3 parts"):
        method_comparison([1, 2, 3], [1, 2, 3])
    with pytest.raises(CannotJudge, match="at least 3"):
        method_comparison([1, 2], [1, 2])
    with pytest.raises(ValueError, match="first has 4 entries and second 3"):
        method_comparison([1, 2, 3, 4], [1, 2, 4])


def test_ties_do_not_stop_the_rest() -> None:
    y = np.round(np.random.default_rng(7).normal(1, 0.3, 30))
    x = np.ones(30)
    x[:4] = 2.0
    found = method_comparison(y + 0.001 * np.arange(30), x, with_icc=False)
    # 26 of 30 parts read the same on one gauge: no line by pairs, and the differences are judged all the same.
    assert isinstance(found.passing_bablok, Absent)
    assert "read the same" in found.passing_bablok.reason
    assert found.mean_difference.estimate == pytest.approx(float(np.mean(y - x)) + 0.0145)


def test_both_ends_of_the_limits_of_agreement_against_scipy() -> None:
    # Carkeet 2015: the bounds of mean + z s are noncentral t quantiles with noncentrality z sqrt(n).
    from scipy.stats import nct, norm

    study = method_comparison(LARGE, MINI)
    n, z = 17, norm.ppf(0.975)
    near, far = nct.ppf([0.025, 0.975], n - 1, z * np.sqrt(n)) / np.sqrt(n)
    mean, sd = np.mean(np.subtract(LARGE, MINI)), np.std(np.subtract(LARGE, MINI), ddof=1)
    upper, lower = study.upper_limit, study.lower_limit
    assert (upper.low, upper.high) == pytest.approx((mean + near * sd, mean + far * sd), rel=1e-9)
    assert (lower.low, lower.high) == pytest.approx((mean - far * sd, mean - near * sd), rel=1e-9)


def test_both_ends_of_the_mean_difference_are_scipys() -> None:
    from scipy.stats import ttest_rel

    found = method_comparison(LARGE, MINI).mean_difference
    ends = ttest_rel(LARGE, MINI).confidence_interval(0.95)
    assert (found.low, found.high) == pytest.approx((ends.low, ends.high), rel=1e-9)


@pytest.mark.checks("Deming interval by jackknife", source="Linnet (1993), written out")
def test_both_ends_of_the_deming_slope_by_a_jackknife_written_out() -> None:
    # Linnet 1993: leave each part out, pseudo-values, Student's t with n - 2 degrees of freedom. The
    # slope of each subset by an independent way: SciPy's orthogonal distance regression.
    from scipy import odr, stats

    ratio, x, y = 2.25, np.array(MINI, dtype=float), np.array(LARGE, dtype=float)

    def slope(at: np.ndarray) -> float:
        data = odr.Data(x[at], y[at], we=1 / ratio, wd=1.0)
        line = odr.Model(lambda b, v: b[0] * v + b[1])
        start = np.polyfit(x[at], y[at], 1)
        return float(odr.ODR(data, line, beta0=start, sstol=1e-15, partol=1e-15).run().beta[0])

    everything = np.arange(17)
    whole = slope(everything)
    pseudo = [17 * whole - 16 * slope(np.delete(everything, i)) for i in everything]
    half = stats.t.ppf(0.975, 15) * np.std(pseudo, ddof=1) / np.sqrt(17)
    found = method_comparison(LARGE, MINI, error_ratio=ratio).deming["slope"]
    assert found.estimate == pytest.approx(whole, rel=1e-6)
    assert (found.low, found.high) == pytest.approx((whole - half, whole + half), rel=1e-4)


def test_the_test_of_growing_differences_is_that_of_the_slope() -> None:
    from scipy import stats

    # The jackknifed slope of the test above; SciPy's t for its distance from one.
    found = method_comparison(LARGE, MINI, error_ratio=2.25, with_icc=False)
    slope = found.deming["slope"]
    error = slope.half_width / stats.t.ppf(0.975, 15)
    expected = 2 * stats.t.sf(abs(slope.estimate - 1) / error, 15)
    assert found.proportional_p == pytest.approx(expected, rel=1e-9)


def test_an_unknown_ratio_holds_for_all_of_them() -> None:
    unknown = method_comparison(LARGE, MINI, with_icc=False, lower=300.0)
    assert unknown.error_ratio is None
    assert any("five times" in note for note in unknown.cautions)
    for ratio in (1 / 25, 0.3, 1.0, 4.0, 25.0):
        known = method_comparison(LARGE, MINI, error_ratio=ratio, with_icc=False, lower=300.0)
        for ours, theirs in (
            (unknown.deming["slope"], known.deming["slope"]),
            (unknown.correction.at["lower"], known.correction.at["lower"]),
        ):
            assert ours.low <= theirs.low + 1e-9
            assert ours.high >= theirs.high - 1e-9
        assert unknown.proportional_p >= known.proportional_p - 1e-9 or ratio not in (1 / 25, 25.0)


@pytest.mark.proof
def test_unequal_errors_are_no_slope_and_warrant_no_correction() -> None:
    """1,000 studies of 30 parts, errors 8:1, no bias: Pitman and Morgan's test alarms in 19 %."""
    rng = np.random.default_rng(5)
    grows, warranted = 0, 0
    for _ in range(1000):
        parts = rng.normal(2.8, 0.02, 30)
        a, b = parts + rng.normal(0, 0.008, 30), parts + rng.normal(0, 0.001, 30)
        found = method_comparison(a, b, error_ratio=64.0, lower=2.75, upper=2.85, with_icc=False)
        grows += found.proportional_p < 0.05
        warranted += found.correction.warranted
    assert 20 < grows < 80
    assert 20 < warranted < 80


def test_a_stray_pair_and_pairs_mixed_up_are_told() -> None:
    rng = np.random.default_rng(1)
    parts = rng.normal(10, 0.02, 40)
    first, second = parts + rng.normal(0, 0.004, 40), parts + rng.normal(0, 0.001, 40)

    def told(a: np.ndarray, b: np.ndarray) -> str:
        return " ".join(method_comparison(a, b, with_icc=False).cautions)

    assert "On one part" not in told(first, second)
    assert "go together" not in told(first, second)
    for at in (int(parts.argmax()), 7):
        stray = first.copy()
        stray[at] += 0.06
        assert "much farther apart than on the others" in told(stray, second)
    assert "are not seen to go together" in told(first, rng.permutation(second))


@pytest.mark.parametrize(
    ("errors", "ratio"), [((8.0, 1.0), 64.0), ((1.0, 8.0), None), ((3.0, 1.0), 9.0)]
)
def test_a_gauge_that_errs_more_bends_no_line(
    errors: tuple[float, float], ratio: float | None
) -> None:
    bent = 0
    for seed in range(25):
        draw = np.random.default_rng(seed)
        parts = 5 * draw.normal(size=30)
        one, two = (parts + sd * draw.normal(size=30) for sd in errors)
        notes = method_comparison(one, two, error_ratio=ratio, with_icc=False).cautions
        bent += any("One straight line" in note for note in notes)
    # 12 to 16 % by Passing and Bablok's line alone.
    assert bent <= 2


def test_two_odd_pairs_hide_one_another_and_are_said_all_the_same() -> None:
    draw = np.random.default_rng(2)
    parts = 5 * draw.normal(size=30)
    one, two = parts + draw.normal(size=30), parts + draw.normal(size=30)
    one[3] += 12
    one[9] -= 12
    notes = " ".join(method_comparison(one, two, error_ratio=1.0, with_icc=False).cautions)
    assert "The differences are not normal (p < 0.001)" in notes
