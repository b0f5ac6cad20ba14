"""What the labs about records say, against theory and against other libraries."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linestudy.simulate import labs


def test_an_order_that_is_lost_takes_the_signals_with_it_and_leaves_the_spread() -> None:
    made, shuffled, ordered = (
        labs.rows_in_another_order(order).numbers for order in ("as made", "shuffled", "sorted")
    )
    assert made["sd"] == pytest.approx(shuffled["sd"])
    assert made["sd"] == pytest.approx(ordered["sd"])
    assert abs(shuffled["correlation"]) < 3 / np.sqrt(250)
    assert made["out of control"] > 10 * max(shuffled["out of control"], 1)
    assert ordered["correlation"] > 0.95


@pytest.mark.parametrize("wear", [0.0, 2.0, 6.0])
def test_wear_over_the_life_is_a_uniform_and_a_normal_together(wear: float) -> None:
    found = labs.wear_against_signals(wear, "about the trend").numbers
    life = stats.norm.rvs(size=200_000, random_state=1) + stats.uniform.rvs(
        -wear / 2, max(wear, 1e-12), size=200_000, random_state=2
    )
    assert found["overall"] == pytest.approx(life.std(), rel=0.01)
    assert found["slope"] == pytest.approx(wear, abs=5 * np.sqrt(12 / 250))
    # 50 points with 0.27 % false alarms each.
    assert found["out of control"] <= 2


@pytest.mark.parametrize("step", [0.1, 0.5, 1.0])
def test_rounding_adds_what_sheppard_says(step: float) -> None:
    found = labs.steps_of_the_gauge(step, 100_000).numbers
    assert found["ratio"] == pytest.approx(found["sheppard"], abs=0.004)
    assert found["sheppard"] == pytest.approx(np.sqrt(1 + step**2 / 12))


def test_a_coarse_step_makes_equal_readings() -> None:
    found = labs.steps_of_the_gauge(2.0, 100_000).numbers
    cells = np.diff(stats.norm.cdf(np.arange(-9, 11, 2.0) - 0.3))
    assert found["alike"] == pytest.approx(float((cells**5).sum()), abs=0.01)


@pytest.mark.parametrize(
    ("size", "efficiency"), [(2, 1.0), (3, 0.992), (4, 0.975), (5, 0.955), (10, 0.850)]
)
def test_the_range_wastes_what_the_handbooks_say(size: int, efficiency: float) -> None:
    # Relative efficiency of the range, Montgomery, Introduction to Statistical Quality Control (values from memory).
    assert labs.range_against_s(size).numbers["efficiency"] == pytest.approx(efficiency, abs=0.0015)


def test_the_range_against_s_by_drawing_subgroups() -> None:
    values = np.random.default_rng(3).standard_normal((200_000, 8))
    found = labs.range_against_s(8).numbers
    by_range, by_sd = np.ptp(values, axis=1) / found["d2"], values.std(axis=1, ddof=1) / found["c4"]
    assert by_range.mean() == pytest.approx(1.0, abs=0.003)
    assert by_sd.mean() == pytest.approx(1.0, abs=0.003)
    assert found["efficiency"] == pytest.approx(by_sd.var() / by_range.var(), rel=0.02)
