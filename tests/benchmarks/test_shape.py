"""How long refits take, beside scipy.stats.goodness_of_fit."""

from __future__ import annotations

import warnings
from typing import Any

import numpy as np
import pytest
from scipy import stats
from timed import Timed

from linestudy.shape import fit, select_distribution
from linestudy.shape.families import FAMILIES, MIXTURE
from linestudy.shape.fitting import FittedDistribution
from linestudy.shape.goodness import simulated_statistics

pytestmark = pytest.mark.benchmark

#: Families that both can do: SciPy's name and what it must be told.
BOTH: dict[str, tuple[str, dict[str, float]]] = {
    "normal": ("norm", {}),
    "logistic": ("logistic", {}),
    "largest extreme value": ("gumbel_r", {}),
    "half-normal": ("halfnorm", {"loc": 0}),
    "Rayleigh": ("rayleigh", {"loc": 0}),
    "folded normal": ("foldnorm", {"loc": 0}),
    "lognormal": ("lognorm", {"loc": 0}),
    "gamma": ("gamma", {"loc": 0}),
    "Weibull": ("weibull_min", {"loc": 0}),
    "gamma with threshold": ("gamma", {}),
    "lognormal with threshold": ("lognorm", {}),
    "Weibull with threshold": ("weibull_min", {}),
    "Johnson S_U": ("johnsonsu", {}),
    "Johnson S_B": ("johnsonsb", {}),
}
#: SciPy is given this many: two thousand would take most of an hour. It fits the sample itself as well.
THEIRS, OURS, N = 8, 2000, 125


def _fits() -> dict[str, FittedDistribution]:
    rng = np.random.default_rng(1)
    free = 5 + rng.gamma(4, 0.1, N)
    two = np.where(rng.random(N) < 0.5, 5.0, 6.0) + 0.2 * rng.normal(size=N)
    fits = {}
    for name in FAMILIES:
        bounded = FAMILIES[name].from_bound
        values: Any = two if name == MIXTURE else free - 5 if bounded else free
        fits[name] = fit(values, name, 0.0 if bounded else None)
    return fits


@pytest.fixture(scope="module")
def fits() -> dict[str, FittedDistribution]:
    return _fits()


def _ours(fits: dict[str, FittedDistribution], names: list[str]) -> None:
    rng = np.random.default_rng(2)
    for name in names:
        simulated_statistics(fits[name], N, OURS, rng)


def _theirs(fits: dict[str, FittedDistribution], names: list[str]) -> None:
    with warnings.catch_warnings(), np.errstate(all="ignore"):
        warnings.simplefilter("ignore")
        for name in names:
            peer, known = BOTH[name]
            stats.goodness_of_fit(
                getattr(stats, peer),
                fits[name].rvs(N, np.random.default_rng(3)),
                known_params=known,
                statistic="ad",
                n_mc_samples=THEIRS,
                rng=np.random.default_rng(3),
            )


@pytest.mark.benchmark(group="one refit of each of fourteen families, n = 125")
class TestFamiliesOfBoth:
    def test_refits(self, fits: dict[str, FittedDistribution], timed: Timed) -> None:
        timed(lambda: _ours(fits, list(BOTH)), rounds=3, per=OURS, aim="a hundredth of SciPy")

    def test_by_scipy(self, fits: dict[str, FittedDistribution], timed: Timed) -> None:
        timed(
            lambda: _theirs(fits, list(BOTH)),
            rounds=1,
            warm=0,
            per=THEIRS + 1,
            peer="scipy.stats.goodness_of_fit",
        )


@pytest.mark.benchmark(group="all families, 2,000 refits each, n = 125")
def test_all_families(fits: dict[str, FittedDistribution], timed: Timed) -> None:
    timed(lambda: _ours(fits, list(fits)), rounds=3, aim="2 s")


@pytest.mark.benchmark(group="a choice among all families, 31,000 readings")
def test_a_choice(timed: Timed) -> None:
    y = np.round(0.58 + np.random.default_rng(4).gamma(7, 0.0034, 31_000), 3)
    found = timed(lambda: select_distribution(y, seed=1, lower=0.56, upper=0.66), rounds=2)
    assert found.n == 31_000
