"""The lowest admissible index: exact where theory gives it, and on the safe side where it cannot be known."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from linestudy.results import CannotJudge
from linestudy.tails import tails
from linestudy.tails.admissible import Tails


def test_the_normal_alone_gives_the_usual_index() -> None:
    y = np.random.default_rng(2).normal(5, 0.1, 300)
    found = tails(y).index(4.0, 6.0)
    usual = min(6 - y.mean(), y.mean() - 4) / (3 * y.std(ddof=1))
    assert found.by_family["normal"][0] == pytest.approx(usual, rel=1e-4)  # x99.865 is 2.99998 SD
    assert found.estimate <= usual * (1 + 1e-4)


@pytest.mark.checks("lower bound of a one-sided index", source="SciPy: noncentral t (Owen 1968)")
def test_the_normal_bound_is_near_the_exact_one() -> None:
    # Noncentral t (Owen 1968), SciPy's nct: one limit, n = 125.
    from scipy.optimize import brentq

    y = np.random.default_rng(3).normal(size=125)
    upper = 5.0
    k = (upper - y.mean()) / y.std(ddof=1)
    n = y.size
    exact = (
        brentq(lambda c: stats.nct(n - 1, c * np.sqrt(n)).cdf(k * np.sqrt(n)) - 0.95, 0.1, 9) / 3
    )
    assert tails(y).index(None, upper).by_family["normal"][1] == pytest.approx(exact, rel=0.01)


@pytest.mark.parametrize("shape", ["uniform", "t, 4 df", "half t", "two stations"])
def test_many_values_carry_the_index_whatever_the_distribution(shape: str) -> None:
    rng = np.random.default_rng(4)
    draw, low, middle, high, bound = {
        "uniform": (rng.random(20_000), 0.00135, 0.5, 0.99865, None),
        "t, 4 df": (rng.standard_t(4, 20_000), *stats.t(4).ppf([0.00135, 0.5, 0.99865]), None),
        "half t": (np.abs(rng.standard_t(5, 20_000)), 0, *stats.t(5).ppf([0.75, 0.999325]), 0.0),
        "two stations": (
            rng.normal(size=20_000) + 4 * rng.integers(0, 2, 20_000),
            2 - 4.7815,
            2.0,
            2 + 4.7815,
            None,
        ),
    }[shape]
    lower = None if bound is not None else middle - 1.67 * (middle - low)
    upper = middle + 1.67 * (high - middle)
    found = tails(draw, bound=bound).index(lower, upper)
    assert found.estimate == pytest.approx(1.67, rel=0.09)
    assert found.bound < found.estimate


def test_a_wrong_family_is_rejected_and_the_tail_decides() -> None:
    y = np.abs(np.random.default_rng(5).standard_t(5, 5000))
    found = tails(y, bound=0.0)
    assert not any(item.name == "normal" for item in found.admissible)
    assert found.carried
    # A half-normal would claim 1.69 where the truth is about 1.1.
    truth = (8 - stats.t(5).ppf(0.75)) / (stats.t(5).ppf(0.999325) - stats.t(5).ppf(0.75))
    assert found.index(None, 8.0).estimate < 1.15 * truth


def test_readings_in_steps_give_nearly_the_index_of_what_was_read() -> None:
    y = np.random.default_rng(6).normal(size=5000)
    fine = tails(y).index(-5.0, 5.0).estimate
    for step in (0.1, 0.5, 1.0):
        assert tails(np.round(y / step) * step).index(-5.0, 5.0).estimate == pytest.approx(
            fine, rel=0.08
        )


def test_what_cannot_be_described_is_refused() -> None:
    with pytest.raises(CannotJudge):
        tails([1.0] * 50)
    with pytest.raises(CannotJudge):
        tails(range(9))


@settings(max_examples=15, deadline=None)
@given(st.floats(0.1, 50), st.floats(-100, 100), st.integers(0, 99))
def test_unit_and_origin_do_not_matter(scale: float, shift: float, seed: int) -> None:
    y = np.random.default_rng(seed).gamma(6.0, size=200)
    one = tails(y).index(-3.0, 25.0)
    other = tails(y * scale + shift).index(-3.0 * scale + shift, 25.0 * scale + shift)
    assert other.estimate == pytest.approx(one.estimate, rel=2e-3)
    assert other.bound == pytest.approx(one.bound, rel=5e-3)


def test_a_sign_changes_sides_only() -> None:
    y = np.random.default_rng(8).gamma(6.0, size=800)
    one, other = tails(y).index(-2.0, 22.0), tails(-y).index(-22.0, 2.0)
    assert other.estimate == pytest.approx(one.estimate, rel=1e-6)
    assert {one.side, other.side} == {"lower", "upper"}


def test_fewer_effective_values_lower_the_bound_and_not_the_estimate() -> None:
    y = np.random.default_rng(9).normal(size=1000)
    full: Tails = tails(y)
    worth = tails(y, bound=None, n_eff_mean=100.0, n_eff_sd=300.0)
    assert worth.index(-6.0, 6.0).bound < full.index(-6.0, 6.0).bound


@pytest.mark.parametrize("seed", range(12))
def test_readings_at_their_bound_leave_every_family_of_the_bound(seed: int) -> None:
    # A tenth of the readings are exactly nought: how the bound is rounded beside them must not depend on the sample.
    rng = np.random.default_rng(seed)
    y = np.where(rng.random(125) < 0.1, 0.0, rng.gamma(2.0, 0.013, 125))
    found = tails(y, bound=0.0)
    tried = {item.name.split(" with")[0] for item in (*found.admissible, *found.rejected)}
    assert {"gamma", "Weibull", "lognormal"} <= tried
    assert tried & {"folded t", "folded normal"}


def test_outliers_that_values_neither_show_nor_exclude_lower_the_bound_of_many_only() -> None:
    from dataclasses import replace

    for n, entered in ((600, False), (1000, True)):
        lower = []
        for seed in range(4):
            found = tails(np.random.default_rng(seed).normal(size=n))
            one, other = (t.index(-6.0, 6.0) for t in (found, replace(found, unseen=())))
            assert one.estimate == other.estimate
            # Its price: a few hundredths.
            assert 0.9 * other.bound < one.bound <= other.bound
            lower.append(one.bound < other.bound)
        assert any(lower) == entered
