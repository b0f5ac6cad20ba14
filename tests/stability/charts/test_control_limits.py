"""Spread within subgroups by each way, limits from it, and how many points chance puts beyond them."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linestudy.results import CannotJudge
from linestudy.stability import summarise, within_subgroup_sds
from linestudy.stability.charts.control_limits import (
    Spread,
    by_size,
    false_locations,
    false_moving_ranges,
    false_ranges,
    false_sds,
    from_moving_ranges,
    from_ranges,
    from_sds,
    median_variance,
    moving_range_half,
    pooled,
    range_half,
    sd_half,
)
from linestudy.stability.summaries import Summaries

RNG = np.random.default_rng(11)


def drawn(sizes: tuple[int, ...], rng: np.random.Generator) -> Summaries:
    return summarise(rng.normal(size=sum(sizes)), np.repeat(np.arange(len(sizes)), sizes))


def test_by_hand_with_the_constants_of_astm() -> None:
    # ASTM MNL 7 / ISO 7870-2, n = 5: c4 = 0.9400, d2 = 2.326 (values from memory, four digits).
    y = RNG.normal(10, 0.3, (25, 5))
    found = within_subgroup_sds(y.ravel(), np.repeat(np.arange(25), 5))
    assert found["pooled SD"].sd == pytest.approx(np.sqrt(y.var(axis=1, ddof=1).mean()))
    assert found["pooled SD"].df == 100
    assert found["mean SD"].sd == pytest.approx(y.std(axis=1, ddof=1).mean() / 0.9400, rel=1e-4)
    assert found["mean range"].sd == pytest.approx(np.ptp(y, axis=1).mean() / 2.326, rel=1e-4)
    # Duncan, Quality Control and Industrial Statistics, table D3 (as in AIAG MSA): 25 ranges of 5 are
    # known to 91 degrees of freedom or so (value from memory).
    assert found["mean range"].df == pytest.approx(91, abs=1.5)


@pytest.mark.parametrize("sizes", [(5,) * 25, (2, 3, 5, 8) * 6])
def test_degrees_of_freedom_are_those_of_the_scatter(sizes: tuple[int, ...]) -> None:
    labels = np.repeat(np.arange(len(sizes)), sizes)
    drawn = {name: [] for name in ("pooled SD", "mean SD", "mean range")}
    for _ in range(1500):
        for name, spread in within_subgroup_sds(RNG.normal(size=labels.size), labels).items():
            drawn[name].append(spread.sd)
    for name, values in drawn.items():
        df = within_subgroup_sds(RNG.normal(size=labels.size), labels)[name].df
        # Variance of a chi over its root df: 1 / (2 df) to first order.
        assert np.var(values) == pytest.approx(1 / (2 * df), rel=0.13), name
        if name != "pooled SD":
            assert np.mean(values) == pytest.approx(1.0, abs=0.01), name


@pytest.mark.checks(
    "factors B3, B4, D3, D4 of control charts",
    source="ASTM STP 15D / ISO 7870-2, tables, four digits",
    memory=True,
)
@pytest.mark.parametrize(
    ("n", "b3", "b4", "d_3", "d_4"),
    [(2, 0.0, 3.267, 0.0, 3.267), (5, 0.0, 2.089, 0.0, 2.114), (8, 0.185, 1.815, 0.136, 1.864)],
)
def test_limits_of_the_spread_are_those_of_the_tables(
    n: int, b3: float, b4: float, d_3: float, d_4: float
) -> None:
    from linestudy.stability.charts.constants import c4, d2

    groups = drawn((n,) * 3, np.random.default_rng(1))
    low, high = sd_half(groups, Spread(2.0, 10), 3.0)
    assert low / (2.0 * c4(n)) == pytest.approx([b3] * 3, abs=6e-4)
    assert high / (2.0 * c4(n)) == pytest.approx([b4] * 3, abs=6e-4)
    low, high = range_half(groups, Spread(2.0, 10), 3.0)
    assert low / (2.0 * d2(n)) == pytest.approx([d_3] * 3, abs=6e-4)
    assert high / (2.0 * d2(n)) == pytest.approx([d_4] * 3, abs=6e-4)


def test_moving_ranges_have_the_factor_of_two() -> None:
    # D4 = 3.267 times the mean moving range.
    spread = from_moving_ranges([1.0, 3.0, 2.0, 5.0])
    assert spread.sd == pytest.approx(2.0 / 1.128379, rel=1e-6)
    assert moving_range_half(spread, 3.0) == pytest.approx(3.267 * 2.0, rel=2e-4)
    assert spread.moving
    # Between phases nothing is compared: 1 and 3, then 2 and 5.
    apart = from_moving_ranges(np.array([1.0, 3.0, 2.0, 5.0]), np.array([0, 0, 1, 1]))
    assert apart.sd == pytest.approx(2.5 / 1.128379, rel=1e-6)


def test_degrees_of_freedom_of_moving_ranges_are_those_of_their_scatter() -> None:
    sds = [from_moving_ranges(y).sd for y in RNG.normal(size=(3000, 60))]
    assert np.mean(sds) == pytest.approx(1.0, abs=0.01)
    assert np.var(sds) == pytest.approx(
        1 / (2 * from_moving_ranges(RNG.normal(size=60)).df), rel=0.1
    )


def test_single_parts_between_subgroups_count_for_no_spread() -> None:
    y, labels = [1.0, 3.0, 70.0, 2.0, 4.0], [0, 0, 1, 2, 2]
    groups = summarise(y, labels)
    assert pooled(groups).sd == pytest.approx(np.sqrt(2.0))
    assert pooled(groups).df == 2
    assert from_ranges(groups).sd == pytest.approx(2.0 / 1.128379, rel=1e-6)
    assert from_sds(groups).sd == pytest.approx(np.sqrt(2.0) / np.sqrt(2 / np.pi))


@pytest.mark.parametrize("way", [pooled, from_sds, from_ranges])
def test_no_difference_within_subgroups_is_refused(way) -> None:
    with pytest.raises(CannotJudge, match="resolution hides"):
        way(summarise([1.0, 1.0, 2.0, 2.0], [0, 0, 1, 1]))
    with pytest.raises(CannotJudge, match="No subgroup has two parts"):
        way(summarise([1.0, 2.0]))


def test_the_same_value_again_and_again_has_no_moving_range() -> None:
    with pytest.raises(CannotJudge, match="never differ"):
        from_moving_ranges([2.0, 2.0, 2.0])


def test_a_function_of_the_size_is_asked_once_for_each() -> None:
    asked = []
    found = by_size(np.array([5.0, 3.0, 5.0]), lambda n: asked.append(n) or 2.0 * n)
    assert found.tolist() == [10.0, 6.0, 10.0]
    assert sorted(asked) == [3, 5]


def test_the_median_of_three_varies_as_theory_says() -> None:
    # Of three normal values: 0.4487 of their variance (Bickel and Doksum; exact 1 - sqrt(3) / pi).
    assert median_variance(np.array([3.0])) == pytest.approx([1 - np.sqrt(3) / np.pi], rel=1e-6)


@pytest.mark.parametrize("sizes", [(5,) * 6, (2, 3, 5, 8) * 2])
def test_chance_signals_of_few_subgroups_are_as_many_as_simulated(sizes: tuple[int, ...]) -> None:
    # Limits two standard errors out, from the very points: signals are many, and few runs know them.
    rng = np.random.default_rng(12)
    n = np.array(sizes, dtype=float)
    own = np.ones(n.size, dtype=bool)
    counts = np.zeros(3)
    runs = 800
    for _ in range(runs):
        groups = drawn(sizes, rng)
        within, by_range = pooled(groups), from_ranges(groups)
        centre = float(n @ groups.mean) / n.sum()
        counts[0] += (np.abs(groups.mean - centre) > 2 * within.sd / np.sqrt(n)).sum()
        low, high = sd_half(groups, within, 2.0)
        counts[1] += ((groups.sd < low) | (groups.sd > high)).sum()
        low, high = range_half(groups, by_range, 2.0)
        counts[2] += ((groups.range < low) | (groups.range > high)).sum()
    within = Spread(1.0, float((n - 1).sum()))
    expected = np.array(
        [
            false_locations(1 / n, own, np.full(n.size, 1 / n.sum()), within, 2.0),
            false_sds(groups, own, within, 2.0),
            false_ranges(groups, own, 2.0),
        ]
    )
    # 800 runs know each to some 7 %; points of one chart hang together.
    assert counts / runs == pytest.approx(expected, rel=0.2)


def test_later_points_against_known_limits_are_normal_tails() -> None:
    later = np.zeros(10, dtype=bool)
    known = Spread(1.0, 1e7)
    assert false_locations(np.full(10, 0.2), later, np.zeros(10), known, 3.0) == pytest.approx(
        10 * 2 * stats.norm.sf(3), rel=1e-4
    )
    # A later subgroup's standard deviation: chi-square.
    groups = drawn((5,) * 10, np.random.default_rng(2))
    high = sd_half(groups, known, 3.0)[1][0]
    assert false_sds(groups, later, known, 3.0) == pytest.approx(
        10 * stats.chi2.sf(4 * high**2, 4), rel=1e-3
    )


def test_a_single_subgroup_never_leaves_its_own_limits() -> None:
    groups = drawn((5,), np.random.default_rng(3))
    own = np.ones(1, dtype=bool)
    assert false_ranges(groups, own, 3.0) == 0.0
    assert false_sds(groups, own, pooled(groups), 3.0) == pytest.approx(0.0, abs=1e-9)


def test_moving_ranges_by_chance_are_as_many_as_simulated() -> None:
    rng = np.random.default_rng(13)
    runs, points = 4000, 30
    y = rng.normal(size=(runs, points))
    moves = np.abs(np.diff(y, axis=1))
    limits = moves.mean(axis=1) * 3.267
    found = (moves > limits[:, None]).sum() / runs
    # About 750 signals in all.
    assert false_moving_ranges(points - 1, 3.0) == pytest.approx(found, rel=0.12)
