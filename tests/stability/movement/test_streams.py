"""Comparison of streams against SciPy, statsmodels and runs of known truth."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import lfilter
from scipy.stats import studentized_range, ttest_1samp, ttest_ind, tukey_hsd

from linestudy.results import CannotJudge
from linestudy.stability import compare_streams


def three(sizes: tuple[int, ...] = (12, 20, 9)) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(4)
    labels = np.repeat(list("abc"), sizes)
    scale = np.repeat([1.0, 2.0, 0.5], sizes)
    return rng.normal(size=labels.size) * scale + (labels == "b"), labels


@pytest.mark.proof
@pytest.mark.checks("Games-Howell intervals", source="SciPy: tukey_hsd, unequal variances")
def test_pairs_are_games_and_howell_by_hand_and_by_scipy() -> None:
    # Independent values: blocks of one, so the textbook's formula on the values themselves.
    y, labels = three()
    study = compare_streams(y, labels)
    assert [stream.blocks for stream in study.streams] == [12, 20, 9]
    groups = [y[labels == name] for name in "abc"]
    ours = tukey_hsd(*groups, equal_var=False)
    ends = ours.confidence_interval(0.95)
    for pair in study.pairs:
        i, j = "abc".index(pair.first), "abc".index(pair.second)
        assert pair.difference.estimate == pytest.approx(ours.statistic[i, j], rel=1e-12)
        assert pair.difference.low == pytest.approx(ends.low[i, j], rel=2e-3)
        assert pair.difference.high == pytest.approx(ends.high[i, j], rel=2e-3)
        assert pair.p == pytest.approx(ours.pvalue[i, j], rel=1e-9, abs=1e-12)
        vi, vj = (groups[k].var(ddof=1) / groups[k].size for k in (i, j))
        df = (vi + vj) ** 2 / (vi**2 / (groups[i].size - 1) + vj**2 / (groups[j].size - 1))
        half = studentized_range.ppf(0.95, 3, df) / np.sqrt(2) * np.sqrt(vi + vj)
        assert pair.difference.half_width == pytest.approx(half, rel=1e-3)


@pytest.mark.checks("Welch's analysis of variance", source="statsmodels: anova_oneway")
def test_one_mean_throughout_is_welchs_test() -> None:
    from statsmodels.stats.oneway import anova_oneway

    y, labels = three()
    study = compare_streams(y, labels)
    wanted = anova_oneway([y[labels == name] for name in "abc"], use_var="unequal")
    assert (study.f, study.p) == pytest.approx((wanted.statistic, wanted.pvalue), rel=1e-9)
    assert (study.df1, study.df2) == pytest.approx(wanted.df, rel=1e-9)
    # Of two streams both are Welch's t test (SciPy).
    two = labels != "c"
    pair = compare_streams(y[two], labels[two])
    t = ttest_ind(y[labels == "a"], y[labels == "b"], equal_var=False)
    assert pair.p == pytest.approx(t.pvalue, rel=1e-9)
    assert pair.pairs[0].p == pytest.approx(t.pvalue, rel=1e-6)
    ends = t.confidence_interval(0.95)
    difference = pair.pairs[0].difference
    assert (difference.low, difference.high) == pytest.approx((ends.low, ends.high), rel=1e-6)


def test_another_unit_and_means_of_periods() -> None:
    y, labels = three()
    one, two = compare_streams(y, labels), compare_streams(25.4 * y + 3, labels, unit="mil")
    assert two.p == pytest.approx(one.p, rel=1e-9)
    assert two.pairs[0].difference.low == pytest.approx(25.4 * one.pairs[0].difference.low)
    assert "mil" in two.statement
    assert " )" not in one.statement
    assert "  " not in one.statement
    weighted = compare_streams(y, labels, size=np.full(y.size, 7.0))
    assert [s.n for s in weighted.streams] == [84, 140, 63]
    assert weighted.pairs[0].p == pytest.approx(one.pairs[0].p, rel=1e-9)
    table = one.table()
    assert table["difference low"].tolist() == [pair.difference.low for pair in one.pairs]
    assert one.figure().alt_text == one.alt_text
    assert len(compare_streams(y[labels != "c"], labels[labels != "c"]).pairs) == 1


@pytest.mark.proof
def test_alike_neighbours_do_not_make_a_difference() -> None:
    # Two stations of one mean, neighbours correlated 0.8: all pairs are claimed to differ in one study of
    # twenty; of 200 at most 11 % (four standard errors).
    rng = np.random.default_rng(5)
    n = 2000
    labels = np.where(np.arange(n) % 2, "b", "a")
    found = [
        0
        not in compare_streams(lfilter([1], [1, -0.8], rng.normal(size=n)), labels)
        .pairs[0]
        .difference
        for _ in range(200)
    ]
    assert np.mean(found) < 0.11


@pytest.mark.proof
def test_independent_coils_are_held_to_their_level() -> None:
    rng = np.random.default_rng(6)
    labels = np.repeat(list("abc"), 200)
    wrong = [
        any(
            0 not in p.difference
            for p in compare_streams(rng.normal(size=600), labels, by="coil").pairs
        )
        for _ in range(200)
    ]
    assert 0.005 < np.mean(wrong) < 0.11


def test_refusals_name_what_is_lacking() -> None:
    y, labels = three()
    with pytest.raises(CannotJudge, match="Of 1 stations"):
        compare_streams(y, ["a"] * y.size)
    with pytest.raises(CannotJudge, match="more than 20"):
        compare_streams(np.arange(90.0), np.arange(90) // 3)
    with pytest.raises(CannotJudge, match="1 of 41 values is missing"):
        compare_streams(np.where(np.arange(41) == 3, np.nan, y), labels)
    with pytest.raises(ValueError, match="values has 41 entries and stream 40"):
        compare_streams(y, labels[:40])
    with pytest.raises(ValueError, match="confidence = 95"):
        compare_streams(y, labels, confidence=95)
    few = compare_streams([*y, 1.0, 2.0], [*labels, "d", "d"])
    assert any("1 of 4 stations" in text for text in few.cautions)


def test_parts_of_one_stroke_are_held_against_each_other() -> None:
    """What moves both streams alike drops out: Student's t of the differences, by SciPy."""
    rng = np.random.default_rng(4)
    n = 4000
    slow = lfilter([1], [1, -0.98], rng.normal(size=n))
    left, right = slow + rng.normal(size=n), slow + 0.05 + rng.normal(size=n)
    y = np.column_stack([left, right]).ravel()
    labels, stroke = np.tile(["L", "R"], n), np.repeat(np.arange(n), 2)
    apart = compare_streams(y, labels).pairs[0].difference
    paired = compare_streams(y, labels, order=stroke, tolerance=2.0)
    pair = paired.pairs[0]
    assert paired.paired
    width = pair.difference.high - pair.difference.low
    assert width < (apart.high - apart.low) / 5
    assert -0.05 in pair.difference
    direct = ttest_1samp(left - right, 0).confidence_interval(0.95)
    assert width == pytest.approx(direct.high - direct.low, rel=0.15)
    assert pair.equivalent


@pytest.mark.proof
def test_all_pairs_together_hold_their_truths() -> None:
    """Simultaneous intervals of differences and of SD ratios: 30 runs, four streams of unequal spread."""
    rng = np.random.default_rng(5)
    n, sds, means = 120, np.array([1.0, 1.3, 0.8, 1.0]), np.array([0.0, 0.2, 0.0, -0.1])
    labels, stroke = np.tile(list("abcd"), n), np.repeat(np.arange(n), 4)
    held_means = held_ratios = 0
    for _ in range(30):
        y = (means + sds * rng.normal(size=(n, 4))).ravel()
        study = compare_streams(y, labels, order=stroke)
        at = {name: i for i, name in enumerate("abcd")}
        held_means += all(
            means[at[p.first]] - means[at[p.second]] in p.difference for p in study.pairs
        )
        held_ratios += all(sds[at[p.first]] / sds[at[p.second]] in p.sd_ratio for p in study.pairs)
    # Of 30 at 95 %: fewer than 24 in one of a thousand.
    assert min(held_means, held_ratios) >= 24


def test_equivalence_needs_the_whole_interval_inside() -> None:
    rng = np.random.default_rng(6)
    y, labels = rng.normal(size=400), np.tile(["L", "R"], 200)
    assert compare_streams(y, labels, tolerance=60.0).pairs[0].equivalent
    assert not compare_streams(y, labels, tolerance=1.0).pairs[0].equivalent
    assert compare_streams(y, labels).pairs[0].equivalent is None
