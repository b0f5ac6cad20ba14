"""Right answers by SciPy and by counting; typical mistakes are told which mistake they are."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linestudy.simulate import check, decide


def test_the_share_above_the_limit_by_scipy_and_by_counting() -> None:
    right = 1e6 * (0.95 * stats.norm.sf(5) + 0.05 * stats.norm.sf(1))
    assert check("mixture", 1, right).right
    rng = np.random.default_rng(5)
    parts = rng.standard_normal(2_000_000) + 4 * (rng.random(2_000_000) < 0.05)
    assert check("mixture", 1, 1e6 * float(np.mean(parts > 5))).right
    assert check("mixture", 1, f"{right:.0f}").right


def test_none_seen_by_the_exact_binomial_bound() -> None:
    # Clopper and Pearson's one-sided bound for none of n (Biometrika 26 (1934)) as SciPy has it.
    bound = stats.binomtest(0, 3_000).proportion_ci(0.90, "exact").high
    assert check("counts", 1, 1e6 * bound).right
    assert check("counts", 1, "1000").right


def test_tester_and_specimens_by_drawing_them() -> None:
    rng = np.random.default_rng(6)
    drawn = 0.4 * rng.standard_normal(400_000) + 0.3 * rng.standard_normal(400_000)
    assert check("destructive", 1, float(drawn.std())).right


def test_ranges_worth_a_hundred_by_drawing_subgroups() -> None:
    values = np.random.default_rng(7).standard_normal((200_000, 10))
    by_range, by_sd = np.ptp(values, axis=1), values.std(axis=1, ddof=1)
    # Each made unbiased by its own mean; as many more as its variance is larger.
    ratio = float((by_range.std() / by_range.mean()) ** 2 / (by_sd.std() / by_sd.mean()) ** 2)
    assert check("ranges", 1, 100 * ratio).right


@pytest.mark.parametrize(
    ("lab", "answer", "words"),
    [
        ("mixture", 7.933, "thousands"),
        ("mixture", 148, "normal curve"),
        ("mixture", 158_655, "one part in twenty"),
        ("mixture", 0.793, "per million"),
        ("mixture", 0.0079, "per million"),
        ("mixture", 66, "Station B"),
        ("destructive", 0.7, "add variances"),
        ("destructive", "0,3", "tester alone"),
        ("destructive", 0.25, "root"),
        ("destructive", 0.4, "specimens alone"),
        ("destructive", 0.1, "variances add"),
        ("counts", 0, "not none made"),
        ("counts", 333, "a third of all studies"),
        ("counts", 1229, "97.5 %"),
        ("counts", "0,998", "separator"),
        ("counts", 50, "power"),
        ("ranges", 85, "other way round"),
        ("ranges", 100, "ten"),
        ("ranges", 150, "divide"),
    ],
)
def test_a_typical_mistake_is_told(lab: str, answer: object, words: str) -> None:
    reply = check(lab, 1, answer)  # type: ignore[arg-type]
    assert not reply.right
    assert words in reply.text


def test_the_rate_that_a_third_of_studies_misses() -> None:
    # What the hint to "333" says.
    assert 1 / 3 < stats.binom.pmf(0, 3_000, 1 / 3_000) < 0.4


def test_nine_where_less_than_one_is_expected() -> None:
    chance = stats.poisson.sf(8, 10_000 * 2 * stats.norm.sf(3 * 1.33))
    assert 1e-8 < chance < 1e-7
    assert "10,000,000 studies" in decide("counts", 1, "a").text
