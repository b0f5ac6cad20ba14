"""The risk of a wrong verdict for a magnitude whose signed error has a small mean."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from linestudy.capability.gauge.risk import _draws, _moments
from linestudy.gauges.budget.risk_study import conformity_risk
from linestudy.numerics.normal_intervals import sd_interval
from linestudy.shape import select_distribution


@pytest.mark.parametrize(
    "seed", [0, *(pytest.param(seed, marks=pytest.mark.proof) for seed in (1, 2, 3))]
)
@pytest.mark.parametrize("ratio", [0.0, 0.2, 0.3])
def test_the_upper_end_does_not_run_away(ratio: float, seed: int) -> None:
    # Run-out |N(m, 0.015)|, limit 0.06, gauge 0.0005: the true share beyond the limit is SciPy's.
    from scipy.stats import foldnorm

    y = np.abs(np.random.default_rng(seed).normal(ratio * 0.015, 0.015, 11_971)).round(4)
    shape = select_distribution(y, bound=0.0, refits=0, seed=1)
    mean, sd = _moments(shape.chosen)
    serial = SimpleNamespace()
    draws = _draws(shape, (mean, sd), serial, 0.0005, 60.0, np.random.default_rng(3))
    size = sd_interval(0.0005, 60, 0.95)
    found = conformity_risk(shape.chosen.pdf, mean, sd, size, None, 0.06, truths=draws)
    truth = foldnorm(ratio, scale=0.015).sf(0.06)
    ends = [
        value
        for name in ("bad", "p_nonconforming", "rejected", "p_rejected")
        if (value := getattr(found, name, None)) is not None
    ]
    assert len(ends) == 2
    for share in ends:
        assert 0 <= share.low <= share.estimate <= share.high <= 1
        assert share.high < 4 * truth
