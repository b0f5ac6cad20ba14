"""Draws of a distribution's parameters: normal where the likelihood is, never beyond it where it is not."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.capability import quantile_intervals
from linestudy.shape import fit, select_distribution
from linestudy.shape.parameter_draws import draw_parameters


def counted(y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    x, w = np.unique(y, return_counts=True)
    return x, w.astype(float)


def test_a_quadratic_likelihood_gives_the_standard_errors_of_theory() -> None:
    # Normal: the mean scatters by s / sqrt(n), log s by 1 / sqrt(2 n) (Fisher information).
    y = np.random.default_rng(1).normal(10, 2, 3000)
    item = fit(y, "normal", with_covariance=True)
    drawn = draw_parameters(item, *counted(y), 4000, np.random.default_rng(2))
    assert drawn[:, 0].std() == pytest.approx(y.std() / np.sqrt(3000), rel=0.04)
    assert drawn[:, 1].std() == pytest.approx(1 / np.sqrt(6000), rel=0.04)
    fewer = draw_parameters(item, *counted(y), 4000, np.random.default_rng(2), n_eff=750)
    assert fewer[:, 0].std() == pytest.approx(2 * drawn[:, 0].std(), rel=0.01)


@pytest.mark.parametrize(
    "ratio", [0.3, *(pytest.param(ratio, marks=pytest.mark.proof) for ratio in (0.1, 0.2, 0.42))]
)
def test_a_folded_normal_of_small_mean_does_not_run_away(ratio: float) -> None:
    # Against the profile likelihood of the same number, which is another way to its interval.
    for seed in range(3):
        y = np.random.default_rng(seed).normal(ratio * 0.015, 0.015, 11_971)
        y = np.round(np.abs(y), 4)
        shape = select_distribution(y, bound=0.0, refits=0, seed=1)
        free = draw_parameters(shape.chosen, *shape.counts, 400, np.random.default_rng(3))
        ppm = np.array([1e6 * float(shape.chosen.with_free(row).sf(0.06)) for row in free])
        low, high = np.quantile(ppm, [0.025, 0.975])
        profile = quantile_intervals(
            shape.chosen, None, 0.06, n_eff_mean=y.size, n_eff_sd=y.size, values=y
        )["total"]
        assert low == pytest.approx(profile.low, rel=0.35)
        assert high == pytest.approx(profile.high, rel=0.15)


def test_drawn_again_they_are_the_same() -> None:
    y = np.round(np.abs(np.random.default_rng(4).normal(0.003, 0.015, 2000)), 4)
    item = fit(y, "folded normal", 0.0, with_covariance=True)
    one, two = (draw_parameters(item, *counted(y), 50, np.random.default_rng(5)) for _ in range(2))
    assert np.array_equal(one, two)
