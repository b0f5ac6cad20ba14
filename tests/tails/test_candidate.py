"""A candidate along its shape: estimate and bound towards a limit, another unit, the sign changed, a stream's own mean."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats
from scipy.optimize import brentq, minimize

from linestudy.tails.candidate import QUANTILES, Candidate, anderson_darling, step_edges
from linestudy.tails.skewed import fit_skewed
from linestudy.tails.symmetric import fit_normal, fit_t


def ones(x: np.ndarray) -> np.ndarray:
    return np.ones(x.size)


Z = np.array([-3.0, 0.0, 3.0])


def known(*outer: float, deviance: tuple[float, ...] = (0.0,), **others: object) -> Candidate:
    """Quantiles known exactly: the outer one 3 times as far as given, for each shape."""
    item = Candidate(
        "known",
        100,
        -10.0,
        2,
        np.array([reach * Z for reach in outer]),
        np.zeros((len(outer), 3, 3)),
        np.array(deviance),
        0,
        lambda x: stats.norm.cdf(x),
        lambda x: stats.norm.sf(x),
    )
    return replace(item, **others)  # type: ignore[arg-type]


def test_an_index_is_the_room_over_the_reach_and_its_bound_the_farthest_shape_within() -> None:
    # Room 6; reach 3, 3.6 and 6 at three shapes, of which the last is out of the likelihood's reach.
    item = known(1.0, 1.2, 2.0, deviance=(0.0, 2.0, 3.0))
    assert item.side(6.0, True, 1.645, 100, 100, 1.0) == pytest.approx((2.0, 6 / 3.6))
    # Half the effective values: deviances halve, and the last shape is within.
    assert item.side(6.0, True, 1.645, 50, 50, 1.0) == pytest.approx((2.0, 1.0))
    assert item.side(-6.0, False, 1.645, 100, 100, 1.0) == pytest.approx((2.0, 6 / 3.6))


def test_a_limit_on_the_wrong_side_of_the_median_is_its_own_bound() -> None:
    item = known(1.0, 1.2, deviance=(0.0, 1.0))
    assert item.side(-1.5, True, 1.645, 100, 100, 1.0) == (-0.5, -0.5)
    assert item.side(0.0, True, 1.645, 100, 100, 1.0) == (0.0, 0.0)


def test_a_side_that_a_family_says_nothing_of_never_decides() -> None:
    item = known(0.0)
    assert item.side(6.0, True, 1.645, 100, 100, 1.0) == (np.inf, np.inf)


def test_slow_movements_lower_the_bound_alone() -> None:
    item = known(1.0)
    estimate, bound = item.side(6.0, True, 1.645, 25, 100, 1.0)
    assert estimate == 2.0
    # The mean moves with variance 1/25 - 1/100 of a unit, the room is six: in logarithms.
    expected = 2.0 * np.exp(-1.645 * np.sqrt(1 / 25 - 1 / 100) / 6)
    assert bound == pytest.approx(expected)


def test_the_estimate_is_the_mean_of_the_logarithms_by_likelihood_and_prior() -> None:
    item = known(1.0, 2.0, deviance=(0.0, 2 * np.log(3.0)), prior=np.array([1.0, 1.0]))
    # Weights 3 and 1: 2 to the three quarters times 1 to one quarter.
    assert item.side(6.0, True, 1.645, 100, 100, 1.0)[0] == pytest.approx(2**0.75)
    tilted = replace(item, prior=np.array([1.0, 3.0]))
    assert tilted.side(6.0, True, 1.645, 100, 100, 1.0)[0] == pytest.approx(2**0.5)


@pytest.mark.checks("bound of a normal index", source="SciPy: noncentral t")
def test_the_bound_of_a_normal_is_the_exact_one() -> None:
    x = stats.norm.ppf((np.arange(200) + 0.5) / 200)
    found = fit_normal(x, ones(x))
    k = 4.0 / x.std(ddof=1)
    exact = brentq(lambda c: stats.nct(199, c * np.sqrt(200)).cdf(k * np.sqrt(200)) - 0.95, 1, 9)
    bound = found.side(4.0, True, 1.645, 200, 200, 1.0)[1]
    assert bound == pytest.approx(exact / 3.0, rel=0.01)


@pytest.mark.checks(
    "profile likelihood bound of an index", source="SciPy: minimize over t.logpdf, brentq"
)
@pytest.mark.parametrize("seed", [1, 2])
def test_the_bound_is_the_profile_likelihoods(seed: int) -> None:
    # The index fixed, scale follows from location and degrees of freedom; these two are searched.
    x = np.sort(stats.t(5).rvs(400, random_state=seed))
    limit = 9.0
    found = fit_t(x, ones(x))

    def best(index: float) -> float:
        def minus(at: np.ndarray) -> float:
            df = 2 + 98 / (1 + np.exp(-at[1]))
            scale = (limit - at[0]) / (index * stats.t.ppf(QUANTILES[2], df))
            return -float(stats.t.logpdf(x, df, at[0], scale).sum())

        return float(
            minimize(
                minus, [0.0, -3.0], method="Nelder-Mead", options={"fatol": 1e-3, "xatol": 1e-2}
            ).fun
        )

    estimate, bound = found.side(limit, True, 1.645, 400, 400, 1.0)
    fall = 2 * (best(bound) - best(estimate))
    # In standard errors; 1.645 were asked for.
    assert np.sqrt(fall) == pytest.approx(1.645, abs=0.1)


def test_carried_into_the_unit_of_the_values_it_is_the_fit_of_these() -> None:
    x = np.sort(np.random.default_rng(3).gamma(4.0, size=200))
    far = 70.0 + 0.02 * x
    for one, other in (
        (fit_t(x, ones(x)), fit_t(far, ones(x))),
        (fit_skewed(x, ones(x), "gamma"), fit_skewed(far, ones(x), "gamma")),
    ):
        assert one is not None
        assert other is not None
        found = one.carried(70.0, 0.02)
        assert found.loglik == pytest.approx(other.loglik, abs=1e-3)
        assert found.quantiles == pytest.approx(other.quantiles, rel=1e-6)
        assert found.covariance == pytest.approx(other.covariance, rel=1e-3)
        assert float(found.sf(70.1)) == pytest.approx(float(other.sf(70.1)), rel=1e-4)
        assert found.aic == pytest.approx(2 * found.parameters - 2 * found.loglik)


def test_turned_twice_it_is_itself_and_once_its_sides_change() -> None:
    item = replace(known(1.0), quantiles=np.array([[-2.0, 1.0, 7.0]]), sides="upper")
    turned = item.mirrored()
    assert turned.quantiles.tolist() == [[-7.0, -1.0, 2.0]]
    assert turned.sides == "lower"
    assert float(turned.cdf(-2.0)) == pytest.approx(float(stats.norm.sf(2.0)))
    assert turned.side(-9.0, False, 1.645, 100, 100, 1.0) == item.side(
        9.0, True, 1.645, 100, 100, 1.0
    )
    again = turned.mirrored()
    assert again.quantiles.tolist() == item.quantiles.tolist()
    assert again.sides == "upper"


def test_a_stream_knows_its_mean_and_spread_from_its_own_values_alone() -> None:
    # The shape known exactly: quantiles at mean and three SD, of streams of 25 normal values.
    rng = np.random.default_rng(4)
    y = rng.normal(size=(4000, 25))
    drawn = y.mean(axis=1)[:, None] + y.std(axis=1, ddof=1)[:, None] * Z
    said = known(1.0).moved(0.0, 1.0, 25)
    assert said.n == 25
    assert np.diag(said.covariance[0]) == pytest.approx(drawn.var(axis=0), rel=0.08)
    there = known(1.0).moved(5.0, 0.1, 25)
    assert there.quantiles[0] == pytest.approx([4.7, 5.0, 5.3])
    assert float(there.sf(5.2)) == pytest.approx(float(stats.norm.sf(2.0)))


@pytest.mark.checks("Anderson-Darling statistic", source="SciPy: anderson")
def test_anderson_darling_is_scipys_on_different_values() -> None:
    x = np.sort(stats.norm.rvs(size=3000, random_state=9))
    found = fit_normal(x, ones(x))
    import warnings

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = stats.anderson(x, "norm").statistic
    assert found.ad == pytest.approx(theirs, abs=0.05)
    coarse = np.round(x / 0.5) * 0.5
    values, counts = np.unique(coarse, return_counts=True)
    grouped = anderson_darling(counts, stats.norm.cdf(step_edges(values), x.mean(), x.std()))
    # Rounding to half a standard deviation leaves the grouped statistic small; the usual one explodes.
    assert grouped < 1.5


def test_half_a_step_above_each_value() -> None:
    assert step_edges([1.0, 2.0, 4.0]).tolist() == [1.5, 3.0, 5.0]


def test_distances_from_a_bound_are_stretched_by_their_mean_and_know_it_from_their_own_values() -> (
    None
):
    said = known(1.0)
    there = said.stretched(2.0, 0.5, 0.8, 100)
    assert there.n == 100
    assert np.allclose(there.quantiles, 2.0 + 0.5 * said.quantiles)
    assert np.allclose(there.cdf(2.0 + 0.5 * 0.7), said.cdf(0.7))
    assert np.allclose(there.sf(2.0 + 0.5 * 0.7), said.sf(0.7))
    # A mean of 100 values with a coefficient of variation of 0.8 errs by 8 %, and every quantile with it.
    extra = there.covariance[0] - 0.25 * np.nan_to_num(said.covariance[0])
    q = 0.5 * said.quantiles[0]
    assert np.allclose(extra, 0.08**2 * np.outer(q, q))
