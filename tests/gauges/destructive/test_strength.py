"""Strength by size: least squares and tolerance bounds of other programs, and what the bounds are worth."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pulled_welds import welds
from scipy import stats

from linestudy.gauges import strength_assurance
from linestudy.results import Absent


@pytest.mark.checks(
    "one-sided tolerance factor of a line",
    source="Krishnamoorthy & Mathew (2009), ch. 3; scipy.stats.nct",
)
def test_the_bound_in_the_middle_is_the_factor_of_a_sample() -> None:
    # At the mean size h = 1/n, so the factor is that of a sample with n - 2 degrees of freedom.
    width, force, _ = welds(np.random.default_rng(2), 30)
    middle = float(width.mean())
    found = strength_assurance(width, force, 60.0, lower=middle, content=0.95, confidence=0.9)
    factor = stats.nct.ppf(0.9, 28, stats.norm.ppf(0.95) * np.sqrt(30)) / np.sqrt(30)
    assert found.at_limits["lower"] == pytest.approx(force.mean() - factor * found.sd, rel=1e-9)


@settings(max_examples=25)
@given(st.integers(0, 30), st.floats(0.01, 100), st.floats(0.01, 100))
def test_units_and_order_do_not_matter(seed: int, per_size: float, per_force: float) -> None:
    rng = np.random.default_rng(seed)
    width, force, batch = welds(rng, 24, 4, 2.0)
    one = strength_assurance(width, force, 70.0, batch=batch, lower=0.33)
    order = rng.permutation(24)
    other = strength_assurance(
        per_size * width[order],
        per_force * force[order],
        per_force * 70.0,
        batch=batch[order],
        lower=per_size * 0.33,
    )
    assert other.at_limits["lower"] == pytest.approx(per_force * one.at_limits["lower"], rel=1e-7)
    if isinstance(one.width_limit, float):
        assert other.width_limit == pytest.approx(per_size * one.width_limit, rel=1e-7)
    assert other.curved_p == pytest.approx(one.curved_p, rel=1e-6)


def test_a_finer_gauge_asks_for_a_guard() -> None:
    width, force, _ = welds(np.random.default_rng(6), 60)
    found = strength_assurance(width, force, 75.0, gauge_sd=0.006)
    assert isinstance(found.width_limit, float)
    assert found.guarded_limit == pytest.approx(
        found.width_limit + stats.norm.ppf(0.95) * 0.006, rel=1e-9
    )


def test_never_below_the_sizes_that_were_tested() -> None:
    width, force, _ = welds(np.random.default_rng(8), 60)
    found = strength_assurance(width, force, 10.0, lower=0.1)
    assert found.width_limit == width.min()
    assert found.statement.startswith("Every size that was tested, ")
    assert any("extrapolated" in note for note in found.cautions)


def test_parts_needed_would_do() -> None:
    width, force, _ = welds(np.random.default_rng(10), 20)
    found = strength_assurance(width, force, 58.0, lower=0.36)
    assert isinstance(found.pulls_needed, int)
    assert (found.pulls_needed <= 20) == (found.at_limits["lower"] >= 58.0)
    none = strength_assurance(width, force, 90.0, lower=0.36).pulls_needed
    assert isinstance(none, Absent)


def test_strength_that_falls_or_does_not_follow_the_size_is_told() -> None:
    rng = np.random.default_rng(5)
    width = rng.uniform(0.40, 0.52, 40)
    falling = strength_assurance(width, 90 - 50 * (width - 0.33) + rng.normal(0, 2, 40), 60.0)
    assert isinstance(falling.width_limit, Absent)
    assert any("falls with size" in note for note in falling.cautions)
    level = strength_assurance(width, 80 + rng.normal(0, 2, 40), 60.0)
    assert any("not shown to grow" in note for note in level.cautions)
    growing = strength_assurance(width, 60 + 200 * (width - 0.33) + rng.normal(0, 2, 40), 60.0)
    assert not any("grow" in note or "falls" in note for note in growing.cautions)
