"""The sawtooth fitted to a run, against statsmodels on the values themselves."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm

from linestudy.capability.wear.trend import sawtooth, slices_of_life


def run(n: int = 3000, seed: int = 1) -> tuple[np.ndarray, np.ndarray]:
    order = np.arange(float(n))
    return 5 + 0.3 * (order % 1000) / 1000 + np.random.default_rng(seed).normal(0, 0.1, n), order


@pytest.mark.checks("slope and levels of a sawtooth", source="statsmodels: OLS on single parts")
def test_slope_is_that_of_least_squares_on_single_parts() -> None:
    y, order = run()
    trend = sawtooth(y, order, [1000, 2000])
    design = np.column_stack([order % 1000, *((order // 1000 == k) for k in range(3))])
    direct = sm.OLS(y, design.astype(float)).fit()
    assert trend.slope == pytest.approx(direct.params[0], rel=0.01)
    assert trend.slope_error == pytest.approx(direct.bse[0], rel=0.25)
    assert trend.levels == pytest.approx(direct.params[1:], abs=0.005)


def test_slices_have_one_level_each() -> None:
    y, order = run()
    cut = slices_of_life(y, order, [1000, 2000])
    assert cut is not None
    means = np.array([part.mean() for part in cut.values])
    assert means == pytest.approx(5 + 0.3 * (np.arange(8) + 0.5) / 8, abs=0.02)
    assert np.std(np.concatenate([p - p.mean() for p in cut.values])) == pytest.approx(
        0.1, rel=0.03
    )
    assert slices_of_life(y, order, []) is None
    still = np.random.default_rng(2).normal(size=3000)
    assert slices_of_life(still, order, [1000, 2000]) is None


def test_slices_do_not_ask_how_worn_the_tool_was_when_the_run_began() -> None:
    order = np.arange(3000.0)
    since = (order + 600) % 1000
    y = 5 + 0.6 * since / 1000 + np.random.default_rng(3).normal(0, 0.1, 3000)
    cut = slices_of_life(y, order, [400, 1400, 2400])
    assert cut is not None
    # Parts of one level each: what is left in a slice is the remainder alone.
    assert [part.std() for part in cut.values] == pytest.approx([0.1] * 8, rel=0.15)
