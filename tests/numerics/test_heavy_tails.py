"""Degrees of freedom under heavy tails: against SciPy's kurtosis, and by simulated coverage."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import chi2, kurtosis

from linestudy.numerics.heavy_tails import INFLATION, variance_df


def of_one_group(values: np.ndarray) -> float:
    return variance_df(values - values.mean(), np.zeros(values.size, int), np.array([values.size]))


@pytest.mark.checks("excess kurtosis of one sample", source="scipy.stats.kurtosis")
def test_kurtosis_of_one_sample_is_that_of_scipy() -> None:
    values = np.random.default_rng(2).laplace(size=40)
    n = values.size
    # SciPy's fourth moment over the squared second, each with divisor n, turned into this estimate's terms.
    ratio = kurtosis(values) + 3
    fourth = ratio * n * (1 - 1 / n) ** 2 * (1 + 2 / (n - 1))
    excess = (fourth - 3 * n * (1 - 1 / n) ** 2) / (n * ((1 - 1 / n) ** 4 + (n - 1) / n**4))
    expected = (n - 1) / (1 + INFLATION * excess * (n - 1) / n / 2)
    assert of_one_group(values) == pytest.approx(expected, rel=1e-12)


@given(st.integers(0, 50), st.floats(1e-6, 1e6), st.booleans())
def test_unit_sign_and_order_do_not_matter(seed: int, unit: float, turned: bool) -> None:
    rng = np.random.default_rng(seed)
    groups = np.repeat(np.arange(8), 3)
    sizes = np.full(8, 3)
    values = rng.standard_t(4, 24).reshape(8, 3)
    rest = (values - values.mean(axis=1, keepdims=True)).ravel()
    order = rng.permutation(24)
    other = (-unit if turned else unit) * rest[order]
    assert variance_df(other, groups[order], sizes) == pytest.approx(
        variance_df(rest, groups, sizes), rel=1e-9
    )


def test_never_more_than_for_normal_values_and_above_nought() -> None:
    spike = np.zeros(30)
    spike[0] = 1.0
    found = of_one_group(spike)
    assert 0 < found < 3
    assert of_one_group(np.linspace(-1, 1, 30)) == 29


def test_groups_of_one_say_nothing() -> None:
    groups = np.array([0, 0, 1, 2, 2])
    rest = np.array([-1.0, 1.0, 0.0, 0.5, -0.5])
    alone = variance_df(rest[[0, 1, 3, 4]], np.array([0, 0, 1, 1]), np.array([2, 2]))
    assert variance_df(rest, groups, np.array([2, 1, 2])) == alone


@pytest.mark.parametrize(
    ("shape", "least"),
    [("normal", 94.0), ("t5", 92.0), ("laplace", 93.0), ("exponential", 92.5)],
)
def test_coverage_of_repeatability(shape: str, least: float) -> None:
    """Standard error 0.5 points at 2,000 studies; the chi-square as it is covers 76 to 85 % but for the normal."""
    rng = np.random.default_rng(5)
    size = (2000, 30, 3)
    draws = {
        "normal": lambda: rng.normal(size=size),
        "t5": lambda: rng.standard_t(5, size) / np.sqrt(5 / 3),
        "laplace": lambda: rng.laplace(size=size) / np.sqrt(2),
        "exponential": lambda: rng.exponential(size=size) - 1,
    }[shape]()
    rest = (draws - draws.mean(axis=2, keepdims=True)).reshape(2000, -1)
    groups, sizes = np.repeat(np.arange(30), 3), np.full(30, 3)
    df = np.array([variance_df(row, groups, sizes) for row in rest])
    square = (rest**2).sum(axis=1) / 60
    held = (square * df / chi2.ppf(0.975, df) <= 1) & (square * df / chi2.ppf(0.025, df) >= 1)
    assert least < 100 * held.mean() < 98
