"""Displays in another unit, by the definition of the units (an inch is 25.4 mm, a pound-force 4.4482216152605 N)."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.gauges import apparent_step, resolution_study
from linestudy.gauges.masters.converted_steps import converted_step


@pytest.mark.parametrize(
    ("shown", "factor", "decimals", "middle", "spread"),
    [
        (0.0001, 25.4, 3, 5.0, 0.01),
        (0.0001, 25.4, 4, 5.0, 0.005),
        (0.00005, 25.4, 4, 0.6, 0.003),
        (0.0005, 25.4, 3, 20.0, 0.05),
        (0.1, 4.4482216152605, 2, 300.0, 1.5),
        (0.01, 1 / 25.4, 5, 0.2, 0.001),
    ],
)
def test_the_step_of_the_display_is_found_behind_conversion_and_rounding(
    shown: float, factor: float, decimals: int, middle: float, spread: float
) -> None:
    for seed in range(20):
        draw = np.random.default_rng(seed)
        true = draw.normal(middle, spread, 90)
        on_display = np.round(true / factor / shown) * shown
        written = np.round(on_display * factor, decimals)
        assert apparent_step(written) == pytest.approx(shown * factor, rel=1e-9)
        # The same sizes read off a display in the unit of the file.
        assert apparent_step(np.round(true, decimals)) == pytest.approx(10.0**-decimals, rel=1e-6)


def test_the_reader_is_shown_both_steps() -> None:
    true = np.random.default_rng(1).normal(5, 0.02, 60)
    written = np.round(np.round(true / 0.00254) * 0.00254, 3)
    found = resolution_study(written, tolerance=0.2, declared=0.001, unit="mm")
    assert found.step == pytest.approx(0.00254)
    assert found.cautions[0] == (
        "The readings were written in steps of 0.001 mm but fall on multiples of 0.00254 mm only: the gauge showed inches, and that "
        "is its step."
    )


def test_few_values_and_no_step_show_nothing() -> None:
    assert converted_step(np.array([0.003, 0.005, 0.008]), 0.001) is None
    assert converted_step(np.array([0.003, 0.005, 0.008, 0.013, 0.02]), 0.0) is None
