"""How long refits take, beside scipy.stats.goodness_of_fit; ratios are printed, none is asserted on."""

from __future__ import annotations

import time
import warnings
from typing import Any

import numpy as np
import pytest
from scipy import stats

from linestudy.shape import NAMES, choose, fit
from linestudy.shape.families import FAMILIES, MIXTURE
from linestudy.shape.fitting import Fitted
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
#: SciPy is timed on this many refits and scaled up: two thousand would take most of an hour.
THEIRS, OURS, N = 8, 2000, 125


def _fits() -> dict[str, Fitted]:
    rng = np.random.default_rng(1)
    free = 5 + rng.gamma(4, 0.1, N)
    two = np.where(rng.random(N) < 0.5, 5.0, 6.0) + 0.2 * rng.normal(size=N)
    fits = {}
    for name in NAMES:
        bounded = name != MIXTURE and FAMILIES[name].from_bound
        values: Any = two if name == MIXTURE else free - 5 if bounded else free
        fits[name] = fit(values, name, 0.0 if bounded else None)
    return fits


def test_two_thousand_refits_of_all_families() -> None:
    fits = _fits()
    rng = np.random.default_rng(2)
    for item in fits.values():
        simulated_statistics(item, N, 20, rng)
    ours = {}
    for name, item in fits.items():
        begin = time.perf_counter()
        simulated_statistics(item, N, OURS, rng)
        ours[name] = time.perf_counter() - begin
    print(f"\nall {len(ours)} families, {OURS} refits each, n = {N}: {sum(ours.values()):.2f} s")
    theirs = {}
    with warnings.catch_warnings(), np.errstate(all="ignore"):
        warnings.simplefilter("ignore")
        for name, (peer, known) in BOTH.items():
            y = fits[name].rvs(N, rng)
            spent = []
            for count in (1, 1 + THEIRS):
                begin = time.perf_counter()
                stats.goodness_of_fit(
                    getattr(stats, peer),
                    y,
                    known_params=known,
                    statistic="ad",
                    n_mc_samples=count,
                    rng=np.random.default_rng(3),
                )
                spent.append(time.perf_counter() - begin)
            theirs[name] = max(spent[1] - spent[0], 1e-6) / THEIRS * OURS
            print(f"{name:26} {ours[name]:7.3f} s; SciPy {theirs[name]:8.1f} s (scaled)")
    total = sum(theirs.values()) / sum(ours[name] for name in theirs)
    print(f"over the {len(theirs)} families of both: {total:,.0f} times faster")
    single = np.median([theirs[name] / ours[name] for name in theirs])
    print(f"family by family: {single:,.0f} times in the median")
    assert set(theirs) == set(BOTH)


def test_a_choice_among_all_families() -> None:
    y = np.round(0.58 + np.random.default_rng(4).gamma(7, 0.0034, 31_000), 3)
    choose(y, seed=1)
    begin = time.process_time()
    found = choose(y, seed=1, lower=0.56, upper=0.66)
    spent = time.process_time() - begin
    print(f"\nchoice among {len(found.families)} families, 31,000 readings: {spent:.2f} s")
    assert found.n == 31_000
