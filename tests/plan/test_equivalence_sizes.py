"""Differences that show a mean to lie inside a margin, held against statsmodels and against simulated studies."""

from __future__ import annotations

import numpy as np
import pytest
from statsmodels.stats.weightstats import DescrStatsW

from linestudy.plan import equivalence_size
from linestudy.results import CannotJudge


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
