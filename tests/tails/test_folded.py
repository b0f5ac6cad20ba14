"""The folded t: quantiles against SciPy's t, and a grid fine enough for five thousand values."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linestudy.tails import tails
from linestudy.tails.candidate import QUANTILES
from linestudy.tails.folded import _unit_quantiles, fit_folded_t


@pytest.mark.checks("quantiles of a folded t", source="SciPy: t")
@pytest.mark.parametrize("df", [3.0, 6.0, 1e9])
def test_quantiles_are_those_of_scipys_t(df: float) -> None:
    found = _unit_quantiles(np.array([df]), np.zeros(1))[0]
    assert found == pytest.approx(stats.t(df).ppf((1 + np.array(QUANTILES)) / 2), rel=1e-6)


def test_its_bound_holds_the_truth_at_five_thousand_values() -> None:
    # On the coarse grid alone the bound held in 79 % where 95 % is claimed.
    truth = float(stats.t(6).ppf((1 + QUANTILES[2]) / 2)), float(stats.t(6).ppf(0.75))
    held = 0
    for seed in range(30):
        x = np.sort(np.abs(np.random.default_rng(seed).standard_t(6, 3000)))
        item = fit_folded_t(x, np.ones(x.size), 0.0)
        assert item is not None
        limit = truth[1] + 1.5 * (truth[0] - truth[1])
        held += item.side(limit, True, 1.645, 3000, 3000, 1.0)[1] < 1.5
    assert held >= 25


def test_readings_scattered_beyond_a_bound_are_folded_back() -> None:
    rng = np.random.default_rng(3)
    read = np.abs(rng.normal(size=4000)) + rng.normal(0, 0.2, 4000)
    assert (read < 0).any()
    found = tails(read, bound=0.0)
    names = [item.name for item in found.admissible]
    assert any(name.startswith("folded") for name in names)
    # Both variances together: that of the parts and that of the gauge.
    folded = next(item for item in found.admissible if item.name.startswith("folded"))
    expected = float(stats.norm.ppf((1 + QUANTILES[2]) / 2)) * np.sqrt(1.04)
    assert folded.quantiles[folded.best, 2] == pytest.approx(expected, rel=0.05)


@pytest.mark.checks("maximum likelihood of the folded normal", source="SciPy: foldnorm")
def test_folded_normal_and_t_are_as_likely_as_scipys() -> None:
    x = np.sort(np.abs(stats.norm(1.2, 1).rvs(700, random_state=5)))
    found = fit_folded_t(x, np.ones(x.size), 0.0)
    assert found is not None
    c, _, scale = stats.foldnorm.fit(x, floc=0)
    best = stats.foldnorm.logpdf(x, c, 0, scale).sum()
    assert best - 0.5 < found.loglik < best + 2.0  # the t has one parameter more
    half_t = np.sort(np.abs(stats.t(4).rvs(4000, random_state=6)))
    heavy = fit_folded_t(half_t, np.ones(half_t.size), 0.0)
    assert heavy is not None
    direct = (np.log(2) + stats.t.logpdf(half_t, 4)).sum()
    assert heavy.loglik > direct - 1.0
    assert heavy.quantiles[heavy.best, 2] == pytest.approx(stats.t(4).ppf(0.999325), rel=0.12)
