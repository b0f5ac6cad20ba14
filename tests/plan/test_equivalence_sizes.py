"""Differences that show a mean to lie inside a margin, held against statsmodels and against simulated studies."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm
from statsmodels.stats.weightstats import DescrStatsW

from linestudy.gauges import linearity_study
from linestudy.plan import equivalence_size
from linestudy.results import CannotJudge, Interval


def test_a_plan_keeps_its_promise() -> None:
    """2,000 studies, each by statsmodels' two one-sided tests at 5 %."""
    found = equivalence_size(sd=2.0, allowed_bias=1.0, true_bias=0.2)
    rng = np.random.default_rng(8)
    draws = rng.normal(0.2, 2.0, (2000, found.n))
    p = np.array([DescrStatsW(row).ttost_mean(-1.0, 1.0)[0] for row in draws])
    planned = next(one.chance for one in found.chances if one.n == found.n)
    assert planned >= 0.8
    assert np.mean(p <= 0.05) == pytest.approx(planned, abs=4 * np.sqrt(0.16 / 2000))


def test_a_bias_at_the_margin_is_shown_inside_in_one_of_twenty() -> None:
    from linestudy.plan.equivalence_sizes import _chance

    assert _chance(200, 1.0, 0.5, 0.5, 0.90) == pytest.approx(0.05, abs=1e-3)
    with pytest.raises(CannotJudge):
        equivalence_size(sd=1.0, allowed_bias=0.5, true_bias=-0.5)


def test_the_size_does_not_hang_on_the_unit() -> None:
    assert (
        equivalence_size(sd=1.0, allowed_bias=0.5).n
        == equivalence_size(sd=25.4, allowed_bias=12.7).n
    )
    assert equivalence_size(sd=1.0, allowed_bias=0.5).figure().alt_text


def ends_at_90(value: Interval) -> tuple[float, float]:
    """The 90 % interval of a 95 % one, by the normal ratio, as the verdict takes it."""
    half = value.half_width * float(norm.ppf(0.95) / norm.ppf(0.975))
    return value.estimate - half, value.estimate + half


@pytest.mark.parametrize(("masters", "off"), [(3, 0.0), (5, 0.2)])
def test_masters_keep_the_promise_at_both_limits_of_the_verdict(masters: int, off: float) -> None:
    """Simulated studies through the line of masters, held at the limits as the verdict holds it (90 % inside)."""
    plan = equivalence_size(sd=1.0, allowed_bias=1.0, true_bias=off, masters=masters)
    rng = np.random.default_rng(20261127)
    sizes = np.repeat(np.linspace(-10.0, 10.0, masters), plan.n // masters)
    runs, inside = 300, 0
    for _ in range(runs):
        readings = sizes + off + rng.normal(0, 1, sizes.size)
        line = linearity_study(readings, sizes, -10.0, 10.0)
        inside += all(abs(end) <= 1 for v in line.at_limits.values() for end in ends_at_90(v))
    promised = next(one.chance for one in plan.chances if one.n == plan.n)
    assert promised >= 0.8
    # Three standard errors of 300 studies.
    assert abs(inside / runs - promised) < 3 * (promised * (1 - promised) / runs) ** 0.5
