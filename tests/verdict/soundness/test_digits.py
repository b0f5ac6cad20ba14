"""Last digits, piled-up ends and missing repeats."""

from __future__ import annotations

import numpy as np
import pytest
from honest_readings import SHAPES, readings

from linestudy.verdict.soundness.digits import end_digits, few_repeats, piled_end, too_regular


def line(seed: int = 1, n: int = 1000, step: float = 0.05) -> np.ndarray:
    return readings(np.random.default_rng(seed), "normal", n, step)


def test_a_preference_for_0_and_5_is_found_and_named() -> None:
    y = line()
    some = np.random.default_rng(2).random(y.size) < 0.4
    found = end_digits(np.where(some, np.round(y / 0.25) * 0.25, y), 0.05)
    assert found is not None
    assert found.p < 1e-6
    assert "0 and 5" in found.evidence or "digit" in found.evidence


def test_readings_cut_to_a_limit_pile_up_there() -> None:
    found = piled_end(np.clip(line(), 48.5, 51.5), 0.05, None)
    assert found is not None
    assert found.p < 1e-6
    assert "reading 48.5" in found.evidence or "reading 51.5" in found.evidence


def test_a_natural_end_is_no_cut() -> None:
    y = np.maximum(np.round(np.random.default_rng(1).normal(0.5, 1, 800), 1), 0.0)
    found = piled_end(y, 0.1, None)
    assert found is None or found.p > 0.001
    at_a_bound = piled_end(np.maximum(line(), 49.0), 0.05, 49.0)
    assert at_a_bound is None or at_a_bound.p > 0.001


def test_numbers_that_never_repeat_are_found() -> None:
    y = line(step=0.1)
    for i in range(1, y.size):
        if y[i] == y[i - 1]:
            y[i] += 0.1 if i % 2 else -0.1
    found = few_repeats(y, 0.1)
    assert found is not None
    assert found.p < 1e-6


@pytest.mark.parametrize("shape", list(SHAPES))
@pytest.mark.parametrize("step", [0.02, 0.25])
def test_honest_readings_show_none_of_it(shape: str, step: float) -> None:
    y = readings(np.random.default_rng(4), shape, 2000, step)
    for found in (end_digits(y, step), piled_end(y, step, None), few_repeats(y, step)):
        assert found is None or found.p > 1e-3


def test_readings_without_a_step_say_nothing() -> None:
    y = np.random.default_rng(1).normal(size=300)
    assert end_digits(y, 0.0) is None
    assert piled_end(y, 0.0, None) is None
    assert few_repeats(y, 0.0) is None


def test_p_values_are_those_of_the_distributions_named() -> None:
    """Binomial and Poisson tails by SciPy, with both ends counted."""
    from scipy.stats import binom, poisson

    end = np.repeat([11.0, 12, 13, 14], [24, 5, 4, 6])
    y = np.concatenate([end, np.repeat(np.arange(15.0, 41), 3)])
    piled = piled_end(y, 1.0, None)
    assert piled is not None
    assert piled.p == pytest.approx(2 * binom.sf(23, 39, 3.2 / 6.2), rel=1e-9)
    assert "stands 24 times, the three places next to it 15 times" in piled.evidence
    draw = np.random.default_rng(3)
    z = [0]
    while len(z) < 300:
        v = int(draw.integers(0, 12))
        if v != z[-1] or draw.random() < 0.35:
            z.append(v)
    z = np.array(z, dtype=float)
    counts = np.unique(z, return_counts=True)[1]
    expected = sum(int(c) * (int(c) - 1) for c in counts) / 300
    few = few_repeats(z, 1.0)
    assert few is not None
    equal = sum(a == b for a, b in zip(z[1:], z[:-1], strict=True))
    assert few.p == pytest.approx(poisson.cdf(equal, 0.6 * expected), rel=1e-9)


@pytest.mark.checks("distance from the normal distribution", source="statsmodels: normal_ad")
def test_the_distance_from_the_normal_is_that_of_statsmodels() -> None:
    # statsmodels' statistic of the same readings; the tail of its distribution is simulated here anew.
    from statsmodels.stats.diagnostic import normal_ad

    draw = np.random.default_rng(8)
    y = draw.normal(size=60)
    found = too_regular(y, 0.0)
    assert found is not None
    assert f"is {normal_ad(y)[0]:.2g}," in found.evidence
    p = [too_regular(draw.normal(size=60), 0.0).p for _ in range(2000)]
    # A hundredth of them: 20, standard deviation 4.4.
    assert 7 <= sum(one < 0.01 for one in p) <= 36


def test_numbers_worked_out_from_normal_scores_are_too_regular() -> None:
    from scipy.special import ndtri

    y = 5 + 0.1 * ndtri((np.random.default_rng(9).permutation(600) + 0.5) / 600)
    found = too_regular(np.round(y, 3), 0.001)
    assert found is not None
    assert found.p < 1e-6
    assert too_regular(np.round(y, 1), 0.1) is None
