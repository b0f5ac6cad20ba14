"""Refits by the thousand: slopes, convergence and statistics against full refits; nulls; bands."""

from __future__ import annotations

import numpy as np
import pytest
from drawn_families import bound_of, values_of_every_family
from scipy import stats

from linestudy.shape import anderson_darling, fit, fit_many, ppf_many
from linestudy.shape.families import FAMILIES, MIXTURE
from linestudy.shape.fitting import FittedDistribution
from linestudy.shape.goodness import PARAMETER_FREE, band, bootstrap_p, null_statistics
from linestudy.shape.refits import refit, seen_through_own_fit
from linestudy.shape.selection import _BAND_DRAWS

RNG = np.random.default_rng(77)
TRUTH = values_of_every_family(RNG, 125)


@pytest.mark.parametrize("family", FAMILIES)
def test_fast_refits_are_full_refits(family: str) -> None:
    item = fit(TRUTH[family], family, bound_of(family))
    samples = item.rvs((200, 125), np.random.default_rng(8))
    found = refit(item, samples)
    assert found.converged.mean() > 0.97
    for row in np.flatnonzero(found.converged)[:25]:
        again = fit(samples[row], family, item.bound)
        named = dict(zip(item.parameters, map(float, found.parameters[row]), strict=True))
        own = (
            FittedDistribution(family, named, 0.0, 125, item.bound)
            .logpdf(np.sort(samples[row]))
            .sum()
        )
        if own < again.loglik - 1e-6:
            # The likelihood has two tops, and the full fit, which begins from several starts, found the higher.
            assert family in (MIXTURE, "Johnson S_B", "Johnson S_U")
            continue
        assert own == pytest.approx(again.loglik, abs=1e-7)
        assert found.statistic[row] == pytest.approx(
            anderson_darling(again, samples[row]), abs=1e-7
        )


@pytest.mark.parametrize("family", ["gamma", "Johnson S_B", "gamma with threshold", "normal"])
def test_fit_many_leaves_no_row_behind(family: str) -> None:
    item = fit(TRUTH[family], family, bound_of(family))
    samples = item.rvs((40, 125), np.random.default_rng(9))
    found = fit_many(samples, family, item.bound)
    assert np.isfinite(found).all()
    q = [0.01, 0.5, 0.99]
    full = np.array([fit(row, family, item.bound).ppf(q) for row in samples])
    apart = np.abs(ppf_many(family, found, q, bound=item.bound) - full) / np.std(samples)
    assert np.median(apart) < 0.01


@pytest.mark.parametrize(
    ("family", "factor", "points"),
    [
        # D'Agostino & Stephens, Goodness-of-Fit Techniques (1986): tables 4.22, 4.17 (from memory;
        # SciPy keeps the same in scipy.stats._morestats, compared below).
        ("logistic", lambda n: 1 + 0.25 / n, {0.75: 0.426, 0.90: 0.563, 0.95: 0.660, 0.99: 0.906}),
        (
            "largest extreme value",
            lambda n: 1 + 0.2 / np.sqrt(n),
            {0.75: 0.474, 0.90: 0.637, 0.95: 0.757, 0.99: 1.038},
        ),
        (
            "Weibull",
            lambda n: 1 + 0.2 / np.sqrt(n),
            {0.75: 0.474, 0.90: 0.637, 0.95: 0.757, 0.99: 1.038},
        ),
        ("normal", lambda n: 1.0, {0.75: 0.470, 0.90: 0.631, 0.95: 0.752, 0.99: 1.035}),
    ],
)
def test_nulls_have_their_published_points(family: str, factor, points: dict) -> None:
    n = 200
    drawn = null_statistics(family, n, 8000) * factor(n)
    for share, point in points.items():
        # Monte Carlo error of a share, three times, and half a percent for the approximate factor.
        error = 3 * np.sqrt(share * (1 - share) / drawn.size) + 0.005
        assert (drawn < point).mean() == pytest.approx(share, abs=error)


def test_scipy_keeps_the_same_points() -> None:
    from scipy.stats import _morestats

    assert _morestats._Avals_logistic[[0, 1, 2]] == pytest.approx([0.426, 0.563, 0.660])
    assert _morestats._Avals_gumbel[[0, 1, 2]] == pytest.approx([0.474, 0.637, 0.757])


@pytest.mark.parametrize("family", sorted(PARAMETER_FREE))
def test_the_null_does_not_depend_on_the_parameters(family: str) -> None:
    from linestudy.shape.goodness import simulated_statistics

    item = fit(TRUTH[family], family, bound_of(family))
    own = simulated_statistics(item, 60, 3000, np.random.default_rng(3))
    assert stats.ks_2samp(own, null_statistics(family, 60, 3000)).pvalue > 1e-3


@pytest.mark.parametrize("family", ["gamma", "Johnson S_U", "lognormal with threshold"])
def test_bootstrap_p_agrees_with_scipys_slow_one(family: str) -> None:
    # scipy.stats.goodness_of_fit is the peer; it fits the same family 99 times.
    y = TRUTH[family][:60]
    ours = bootstrap_p(
        fit(y, family, bound_of(family)), y, refits=999, rng=np.random.default_rng(1)
    )
    if family != "gamma":
        assert 0 < float(ours) <= 1
        return
    theirs = stats.goodness_of_fit(
        stats.gamma,
        y,
        known_params={"loc": 0},
        statistic="ad",
        n_mc_samples=99,
        rng=np.random.default_rng(2),
    )
    p = theirs.pvalue
    assert float(ours) == pytest.approx(p, abs=4 * np.sqrt(max(p * (1 - p), 0.01) / 99))


@pytest.mark.proof
@pytest.mark.parametrize(
    ("family", "n"),
    # Four parameters are not fitted to twelve values.
    [(name, n) for name in ("normal", "gamma") for n in (12, 60, 250)]
    + [("Johnson S_U", 60), ("Johnson S_U", 250)],
)
def test_the_band_holds_ninety_five_of_a_hundred(family: str, n: int) -> None:
    item = fit(TRUTH[family], family, bound_of(family))
    shares = seen_through_own_fit(item, item.rvs((3000, n), np.random.default_rng(5)))
    inside = []
    for seed in range(4):
        edges = item.cdf(band(item, n, _BAND_DRAWS, np.random.default_rng(seed)))
        inside.append(((shares >= edges[1]) & (shares <= edges[2])).all(axis=1).mean())
    # Standard errors: 0.004 by these samples, 0.011 / 2 by the four bands' own.
    assert np.mean(inside) == pytest.approx(0.95, abs=0.02)


def test_the_band_of_known_parameters_is_that_of_beta_distributions() -> None:
    # With a single value the share below it is uniform: 95 of 100 lie between 0.025 and 0.975.
    item = fit(TRUTH["normal"], "normal")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(
            "linestudy.shape.refits.seen_through_own_fit", lambda item, y: np.sort(item.cdf(y))
        )
        edges = item.cdf(band(item, 1, 40_000, np.random.default_rng(1)))
    assert edges[:, 0] == pytest.approx([0.5, 0.025, 0.975], abs=0.004)


def test_rounded_readings_are_not_held_against_a_family() -> None:
    rng = np.random.default_rng(6)
    p = []
    for _ in range(20):
        y = np.round(rng.normal(5, 1, 250), 0)
        p.append(float(bootstrap_p(fit(y, "normal"), y, refits=199, rng=rng)))
    assert np.mean(np.array(p) < 0.1) < 0.35
