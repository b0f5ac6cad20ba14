"""A trend over coils: against statsmodels' mixed model, and what it holds with few coils."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import stdtrit

from linestudy.capability.wear.trend import sawtooth
from linestudy.stability.movement.coil_levels import coils_of, fit_over_coils


def blocks(rng: np.random.Generator, coils: int, sd: float) -> tuple:
    """Blocks of 50 parts, six to a coil; one line, slope 0.01 per block."""
    coil = np.repeat(np.arange(coils), 6)
    x = np.arange(coil.size, dtype=float)
    mean = (
        5 + 0.01 * x + sd * rng.standard_normal(coils)[coil] + rng.standard_normal(x.size) / 50**0.5
    )
    return mean, np.full(x.size, 50.0), np.column_stack([np.ones(x.size), x]), coil


@pytest.mark.checks("slope over coils that differ", source="statsmodels, MixedLM by REML")
def test_many_coils_agree_with_a_mixed_model() -> None:
    import statsmodels.api as sm

    mean, n, design, coil = blocks(np.random.default_rng(2), 60, 0.3)
    found = fit_over_coils(mean, n, design, coil)
    other = sm.MixedLM(mean, design, groups=coil).fit(reml=True)
    assert found is not None
    assert found.coil_df == 59
    assert found.coefficients == pytest.approx(other.fe_params, rel=0.03)
    # Where coils are many their variance is known, and nothing is left of the integration.
    assert np.sqrt(np.diag(found.covariance)) == pytest.approx(other.bse_fe, rel=0.03)
    assert found.between == pytest.approx(float(other.cov_re[0, 0]), rel=0.06)


def test_a_coil_for_each_life_says_nothing_of_coils() -> None:
    mean, n, _, coil = blocks(np.random.default_rng(3), 3, 0.3)
    design = np.column_stack([np.eye(3)[coil], np.arange(mean.size) % 6.0])
    assert fit_over_coils(mean, n, design, coil) is None


@pytest.mark.parametrize("sd", [0.0, 0.4])
def test_five_coils_hold_the_slope(sd: float) -> None:
    held = 0
    for seed in range(120):
        found = fit_over_coils(*blocks(np.random.default_rng(seed), 5, sd))
        assert found is not None
        half = stdtrit(found.df, 0.975) * found.covariance[-1, -1] ** 0.5
        held += abs(found.coefficients[-1] - 0.01) < half
    # 95 % claimed; three standard errors of 120 runs are 6 points.
    assert held >= 107


def test_coils_count_only_where_every_part_names_one() -> None:
    import pandas as pd

    assert coils_of(pd.DataFrame({"coil": ["A", "A", "B"]})).tolist() == [0, 0, 1]
    for coils in (["A", "A", "A"], ["A", "", "B"], ["A", None, "B"]):
        assert coils_of(pd.DataFrame({"coil": coils})) is None
    assert coils_of(pd.DataFrame({"value": [1.0]})) is None


def test_coils_are_in_the_error_of_the_slope_and_blocks_end_with_them() -> None:
    rng = np.random.default_rng(5)
    stroke = np.arange(3000.0)
    coil = (stroke // 150).astype(int)
    y = (
        0.5 * (stroke % 1000) / 1000
        + 0.3 * rng.standard_normal(20)[coil]
        + rng.standard_normal(3000)
    )
    known = sawtooth(y, stroke, [1000, 2000], None, coil)
    single = sawtooth(y, stroke, [1000, 2000])
    assert known.slope_error > 1.2 * single.slope_error or known.df < single.df / 2
    assert known.levels.size == 3
    # A serial number in the coil's column is no coil.
    alone = sawtooth(y, stroke, [1000, 2000], None, np.arange(3000))
    assert alone.slope_error == pytest.approx(single.slope_error)
