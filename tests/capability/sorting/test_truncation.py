"""Sorted parts: truth known by simulation, the truncated normal of SciPy, edges that must be recognised."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from linestudy.capability import truncated_capability, truncation_points
from linestudy.results import CannotJudge, Interval


def sorted_parts(seed: int, n: int, limit: float) -> np.ndarray:
    x = np.random.default_rng(seed).normal(0, 1, n)
    return x[np.abs(x) <= limit]


def test_truth_within_five_percent_where_the_naive_index_is_off_by_twenty() -> None:
    truth = 1.5 / 3
    study = truncated_capability(sorted_parts(1, 31_000, 1.5), -1.5, 1.5)
    assert study.Ppk.estimate == pytest.approx(truth, rel=0.05)
    assert truth in study.Ppk
    assert study.naive_Ppk > 1.2 * truth
    assert study.rejected.estimate == pytest.approx(2 * stats.norm.sf(1.5), rel=0.1)


def test_against_the_truncated_normal_of_scipy() -> None:
    # SciPy: the same likelihood by truncnorm, maximised by a general search.
    from scipy.optimize import minimize

    x = sorted_parts(2, 3000, 1.6)

    def minus(free: np.ndarray) -> float:
        mean, sd = free[0], np.exp(free[1])
        a, b = (-1.6 - mean) / sd, (1.6 - mean) / sd
        return -float(stats.truncnorm.logpdf(x, a, b, mean, sd).sum())

    found = minimize(minus, [0.0, 0.0], method="Nelder-Mead", options={"xatol": 1e-8})
    study = truncated_capability(x, -1.6, 1.6)
    assert study.parameters["mean"] == pytest.approx(found.x[0], abs=1e-4)
    assert study.parameters["sd"] == pytest.approx(np.exp(found.x[1]), rel=1e-4)


def test_profile_interval_by_brute_force() -> None:
    # The likelihood region on a grid: smallest and largest index inside it.
    x = sorted_parts(3, 1500, 1.8)
    study = truncated_capability(x, -1.8, 1.8)
    mean, sd = study.parameters["mean"], study.parameters["sd"]
    means, sds = np.linspace(mean - 0.25, mean + 0.25, 161), np.linspace(0.8 * sd, 1.3 * sd, 201)
    m, s = np.meshgrid(means, sds, indexing="ij")
    share = stats.norm.cdf((1.8 - m) / s) - stats.norm.cdf((-1.8 - m) / s)
    minus = x.size * (np.log(s) + np.log(share)) + (
        (x**2).sum() - 2 * m * x.sum() + x.size * m**2
    ) / (2 * s**2)
    inside = minus - minus.min() <= stats.chi2.ppf(0.95, 1) / 2
    index = np.minimum(1.8 - m, m + 1.8) / (3 * s)
    assert study.Ppk.low == pytest.approx(index[inside].min(), abs=0.006)
    assert study.Ppk.high == pytest.approx(index[inside].max(), abs=0.006)


def test_a_skewed_process_cut_on_one_side() -> None:
    process = stats.gamma(4, scale=0.25)
    x = process.rvs(8000, random_state=np.random.default_rng(4))
    study = truncated_capability(
        x[x <= 1.6], None, 1.6, families=("normal", "gamma", "Weibull"), bound=0.0
    )
    median, high = process.ppf([0.5, 0.99865])
    assert study.family == "gamma"
    assert (1.6 - median) / (high - median) in study.Ppk
    assert study.runner_up is not None


def test_an_edge_softened_by_the_gauge() -> None:
    rng = np.random.default_rng(5)
    true = rng.normal(0, 1, 30_000)
    passed = np.abs(true + rng.normal(0, 0.3, true.size)) < 1.8
    study = truncated_capability(true[passed], -1.8, 1.8, sorting_error_sd=0.3)
    assert study.Ppk.estimate == pytest.approx(0.6, rel=0.03)
    with pytest.raises(CannotJudge, match="outside the limits"):
        truncated_capability(true[passed], -1.8, 1.8)


def test_against_the_bins() -> None:
    x = sorted_parts(6, 20_000, 1.8)
    share = 2 * stats.norm.sf(1.8)
    same = truncated_capability(
        x, -1.8, 1.8, observed=Interval(share, 0.95 * share, 1.05 * share, 0.95, "x")
    )
    assert same.agrees_with_bins
    assert "agrees with the bins" in same.statement
    other = truncated_capability(x, -1.8, 1.8, observed=Interval(0.01, 0.009, 0.011, 0.95, "x"))
    assert not other.agrees_with_bins
    assert other.figure().alt_text.startswith("The process before sorting")


def test_serial_correlation_widens_the_interval() -> None:
    x = sorted_parts(7, 5000, 1.8)
    free, tied = (truncated_capability(x, -1.8, 1.8, n_eff=n).Ppk for n in (None, x.size / 16))
    assert tied.half_width == pytest.approx(4 * free.half_width, rel=0.35)


@pytest.mark.parametrize("limit", [1.2, 2.0, 2.5])
def test_a_cut_is_recognised(limit: float) -> None:
    # Few parts lie near a far limit: it takes a longer run to see that none lies beyond.
    n = 5000 if limit < 2.5 else 31_000
    assert set(truncation_points(sorted_parts(8, n, limit), -limit, limit)) == {"lower", "upper"}


@pytest.mark.parametrize("limit", [1.0, 2.0, 3.0, 3.5])
def test_no_cut_is_seen_where_there_is_none(limit: float) -> None:
    for seed in range(30):
        rng = np.random.default_rng(seed)
        for x in (rng.normal(0, 1, 31_000), rng.gamma(4, 0.5, 31_000) - 2):
            assert not truncation_points(np.round(x, 3), -limit, limit, bound=-2.0)


@settings(max_examples=10)
@given(st.floats(0.01, 100), st.floats(-100, 100))
def test_units_and_zero(unit: float, zero: float) -> None:
    x = sorted_parts(9, 2000, 1.7)
    one = truncated_capability(x, -1.7, 1.7)
    two = truncated_capability(x * unit + zero, -1.7 * unit + zero, 1.7 * unit + zero)
    assert two.Ppk.estimate == pytest.approx(one.Ppk.estimate, rel=1e-3)
    assert two.Ppk.low == pytest.approx(one.Ppk.low, rel=3e-3)


@pytest.mark.parametrize(
    ("values", "limits", "words"),
    [
        (np.arange(10.0), (0.0, 9.0), "at least 30"),
        (np.random.default_rng(1).uniform(-1, 1, 5000), (-1.0, 1.0), "hardly a part"),
    ],
)
def test_what_cannot_be_judged_is_said(values, limits, words: str) -> None:
    with pytest.raises(CannotJudge, match=words):
        truncated_capability(values, *limits)


@pytest.mark.parametrize(("rate", "agrees"), [(0.02, False), (0.134, True), (0.4, False)])
def test_bins_agree_where_both_intervals_meet(rate: float, agrees: bool) -> None:
    # Cut at 1.5 standard deviations 13.4 % were thrown out.
    seen = Interval(rate, rate - 0.005, rate + 0.005, 0.95, "given")
    study = truncated_capability(sorted_parts(5, 20_000, 1.5), -1.5, 1.5, observed=seen)
    assert study.agrees_with_bins == agrees


@pytest.mark.parametrize(("lower", "upper"), [(None, 11.0), (9.0, None), (9.0, 11.0)])
def test_parts_beyond_a_limit_were_not_sorted_by_it(
    lower: float | None, upper: float | None
) -> None:
    x = np.random.default_rng(3).normal(10, 1, 500)
    with pytest.raises(CannotJudge, match="outside the limits"):
        truncated_capability(x, lower, upper)
    inside = x[(x > (lower or -9)) & (x < (upper or 99))]
    assert truncated_capability(inside, lower, upper).n == inside.size


def test_the_criterion_that_picks_the_family_counts_its_parameters() -> None:
    # Hurvich & Tsai (1989): -2 log L + 2 k + 2 k (k + 1) / (n - k - 1).
    from linestudy.capability.sorting.truncated_likelihood import TruncatedFit

    x = np.sort(np.random.default_rng(3).normal(10, 1, 300))
    x = x[np.abs(x - 10) < 1]
    problem = TruncatedFit(x, np.ones(x.size), "normal", None, 9.0, 11.0, 0.0)
    m, s = problem.fitted.parameters.values()
    cut = stats.truncnorm((9 - m) / s, (11 - m) / s, m, s)
    n = x.size
    assert problem.aicc == pytest.approx(-2 * cut.logpdf(x).sum() + 4 + 12 / (n - 3), rel=1e-9)
