"""Half-normal, Rayleigh and folded normal: SciPy's quantiles, and where a folded normal's best mean is nought."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import foldnorm

from linestudy.shape import fit
from linestudy.shape.families import FAMILIES
from linestudy.shape.fitting import FittedDistribution
from linestudy.shape.refits import refit

FOLDED = FAMILIES["folded normal"]


@pytest.mark.checks("quantiles of the folded normal", source="SciPy: foldnorm")
@pytest.mark.parametrize("mean", [0.0, 1e-3, 0.4, 1.0, 3.0, 40.0])
def test_quantiles_are_scipys(mean: float) -> None:
    q = np.array([1e-6, 0.00135, 0.1, 0.5, 0.9, 0.99865, 1 - 1e-9])
    found = FOLDED.ppf(q, [mean * 0.02, np.log(0.02)])
    # SciPy searches these too, to about eight digits.
    assert found == pytest.approx(0.02 * foldnorm(mean).ppf(q), rel=1e-7)


def test_samples_whose_best_mean_is_nought_are_refitted_too() -> None:
    # A mean of 0.4 SD and 250 values: about a third of the samples have their maximum at a mean of nought.
    item = FittedDistribution("folded normal", {"mean": 0.4, "sd": 1.0}, 0.0, 250, bound=0.0)
    sample = item.rvs((300, 250), np.random.default_rng(1))
    found = refit(item, sample)
    assert found.converged.mean() > 0.99
    nought = (sample**4).mean(axis=1) >= 3 * (sample**2).mean(axis=1) ** 2
    assert 0.15 < nought.mean() < 0.6
    assert (found.parameters[nought, 0] == 0).all()
    # There it is the half-normal, whose scale is the root mean square.
    assert found.parameters[nought, 1] == pytest.approx(np.sqrt((sample[nought] ** 2).mean(axis=1)))


@pytest.mark.parametrize("sd", [0.02, 1.0, 50.0])
def test_quantiles_of_the_folded_normal_are_scipys_in_any_unit(sd: float) -> None:
    y = np.abs(np.random.default_rng(6).normal(0.7 * sd, sd, 400))
    item = fit(y, "folded normal", 0.0)
    mean, spread = item.parameters["mean"], item.parameters["sd"]
    q = np.array([0.00135, 0.5, 0.99865, 1 - 1e-9])
    assert item.ppf(q) == pytest.approx(foldnorm.ppf(q, mean / spread, scale=spread), rel=1e-6)


def test_a_folded_normal_of_mean_nought_is_a_half_normal() -> None:
    rng = np.random.default_rng(10)
    y = np.abs(rng.standard_t(6, 500))
    item, half = fit(y, "folded normal", 0.0), fit(y, "half-normal", 0.0)
    assert item.parameters["mean"] == 0
    assert item.undetermined is not None
    assert item.loglik == pytest.approx(half.loglik, rel=1e-12)
