"""Global risks: SciPy's bivariate normal and quadrature, simulation."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from linestudy.gauges import global_risks
from linestudy.gauges.budget.verdict_shares import TrueValues


@pytest.mark.checks("wrong verdicts of a normal process", source="SciPy: bivariate normal")
@pytest.mark.parametrize(("lower", "upper"), [(-2.0, 2.5), (None, 1.5), (-1.0, None), (-0.2, 0.2)])
@pytest.mark.parametrize("band", [0.0, 0.15, -0.1])
@pytest.mark.parametrize("bias", [0.0, 0.1])
def test_normal_process_against_the_bivariate_normal(
    lower: float | None, upper: float | None, band: float, bias: float
) -> None:
    # SciPy: true value and reading are jointly normal; rectangles of their distribution function.
    gauge = 0.3
    both = stats.multivariate_normal([0.0, bias], [[1.0, 1.0], [1.0, 1.0 + gauge**2]])
    low, high = (-40.0 if lower is None else lower), (40.0 if upper is None else upper)
    a, b = (-40.0 if lower is None else lower + band), (40.0 if upper is None else upper - band)
    a, b = min(a, b), max(a, b) if a <= b else min(a, b)

    def rectangle(x0: float, x1: float, y0: float, y1: float) -> float:
        return both.cdf([x1, y1], lower_limit=[x0, y0])

    good_and_accepted = rectangle(low, high, a, b) if a < b else 0.0
    accepted = float(np.diff(stats.norm(bias, np.sqrt(1 + gauge**2)).cdf([a, b]))[0])
    good = float(np.diff(stats.norm.cdf([low, high]))[0])
    accept, reject = global_risks(
        stats.norm(0, 1).pdf, gauge, lower, upper, guard_band=band, bias=bias
    )
    assert accept[0] == pytest.approx(accepted - good_and_accepted, abs=2e-7)
    assert reject[0] == pytest.approx(good - good_and_accepted, abs=2e-7)


def test_skewed_process_against_simulation() -> None:
    rng = np.random.default_rng(8)
    process = stats.gamma(4, scale=0.5)
    y = process.rvs(2_000_000, random_state=rng)
    x = y + rng.normal(0.05, 0.3, y.size)
    accept, reject = global_risks(process.pdf, 0.3, 0.4, 4.0, guard_band=0.1, bias=0.05)
    good, accepted = (y >= 0.4) & (y <= 4.0), (x >= 0.5) & (x <= 3.9)
    for ours, seen in ((accept[0], accepted & ~good), (reject[0], good & ~accepted)):
        share = seen.mean()
        assert ours == pytest.approx(share, abs=4 * np.sqrt(share / y.size))


@pytest.mark.checks("wrong verdicts in far tails", source="SciPy: quadrature")
def test_far_tails_keep_their_digits() -> None:
    # Limits at six standard deviations: shares near 1e-10 by SciPy's one-dimensional quadrature.
    from scipy.integrate import quad

    expected, _ = quad(
        lambda y: stats.norm.pdf(y) * stats.norm.cdf((6 - y) / 0.2), 6, 8, epsabs=1e-20
    )
    accept, _ = global_risks(stats.norm(0, 1).pdf, 0.2, None, 6.0)
    assert accept[0] == pytest.approx(expected, rel=1e-9)


def test_taking_the_gauge_out_of_a_normal_process_is_exact() -> None:
    seen = stats.norm(10, np.hypot(1.0, 0.4))
    true = TrueValues(seen.pdf, 10, np.hypot(1.0, 0.4), 0.4)
    y = np.linspace(6, 14, 50)
    np.testing.assert_allclose(true(y), stats.norm(10, 1).pdf(y), rtol=1e-12)


@given(st.floats(0.01, 100), st.floats(-50, 50))
def test_units_zero_and_reflection(unit: float, zero: float) -> None:
    process = stats.norm(0.2, 1)
    one = global_risks(process.pdf, 0.3, -2.0, 2.5, guard_band=0.1)
    moved = stats.norm(0.2 * unit + zero, unit)
    two = global_risks(
        moved.pdf, 0.3 * unit, -2.0 * unit + zero, 2.5 * unit + zero, guard_band=0.1 * unit
    )
    turned = global_risks(stats.norm(-0.2, 1).pdf, 0.3, -2.5, 2.0, guard_band=0.1)
    for a, b, c in zip(one, two, turned, strict=True):
        assert b[0] == pytest.approx(a[0], rel=1e-6)
        assert c[0] == pytest.approx(a[0], rel=1e-9)
