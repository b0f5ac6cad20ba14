"""Signals that chance alone gives values that are not normal: in random order, phase by phase."""

from __future__ import annotations

import math

import numpy as np
import pytest

from linestudy.stability import control_chart, control_chart_of_summaries, summarise
from linestudy.stability.charts.chance_signals import differs_from_normal, signals_in_random_order
from linestudy.stability.summaries import Summaries


@pytest.mark.proof
@pytest.mark.parametrize(
    ("kind", "size"),
    [
        ("mean and standard deviation", 5),
        ("mean and range", 5),
        ("median and range", 5),
        ("individuals and moving range", 1),
    ],
)
def test_chance_signals_of_skewed_values_are_as_many_as_expected(kind: str, size: int) -> None:
    # Independent gamma values never move, so every signal is chance.
    rng = np.random.default_rng(13)
    found, expected, normal = 0, 0.0, 0.0
    for _ in range(20):
        y = rng.gamma(1, 1, 100 * size)
        groups = None if size == 1 else np.repeat(np.arange(100), size)
        study = control_chart(y, groups, kind=kind)
        assert study.expected_by == "the same values in random order"
        found += len(study.signals)
        expected += study.expected_false_signals
        normal += control_chart_of_summaries(summarise(y, groups), kind=kind).expected_false_signals
    assert abs(found - expected) < 3.5 * math.sqrt(expected)
    assert expected > 2 * normal


def test_normal_values_keep_the_exact_number() -> None:
    y = np.random.default_rng(2).normal(size=500)
    g = np.repeat(np.arange(100), 5)
    study = control_chart(y, g)
    assert study.expected_by == "normal parts"
    assert (
        study.expected_false_signals
        == control_chart_of_summaries(summarise(y, g)).expected_false_signals
    )


def test_every_order_is_as_likely_as_any_other() -> None:
    # 0, 0, 0, 1 in pairs: both values of a pair equal in one pair always, in the other never.
    def first_pair_equal(groups: Summaries) -> int:
        return int(groups.range[0] == 0)

    values, sizes = np.array([0.0, 0.0, 0.0, 1.0]), np.array([2.0, 2.0])
    found = signals_in_random_order(values, sizes, np.zeros(2, dtype=int), first_pair_equal)
    # The one lies in the second pair in half the orders: 50 of 100, standard error 5.
    assert 0.35 < found < 0.65


def test_values_change_places_within_their_phase_alone() -> None:
    values = np.r_[np.zeros(10), np.full(10, 7.0)]
    phase = np.repeat([0, 1], 10)

    def misplaced(groups: Summaries) -> int:
        return int((groups.mean[:10] != 0).sum() + (groups.mean[10:] != 7).sum())

    assert signals_in_random_order(values, np.ones(20), phase, misplaced) == 0.0
    assert signals_in_random_order(values, np.ones(20), np.zeros(20, dtype=int), misplaced) > 5
    assert values.tolist() == [0.0] * 10 + [7.0] * 10  # nothing of the caller's is moved


def test_subgroups_keep_their_sizes() -> None:
    seen = []

    def sizes_of(groups: Summaries) -> int:
        seen.append(groups.n.tolist())
        return 0

    signals_in_random_order(
        np.arange(6.0), np.array([1.0, 3.0, 2.0]), np.zeros(3, dtype=int), sizes_of
    )
    assert len(seen) == 100
    assert all(sizes == [1.0, 3.0, 2.0] for sizes in seen)


def test_normal_values_are_taken_for_something_else_in_one_of_a_hundred() -> None:
    rng = np.random.default_rng(3)
    said = np.mean([differs_from_normal(rng.normal(size=100)) for _ in range(300)])
    assert said < 0.045  # 1 % at a standard error of 0.6 %; the test itself is a little liberal
    assert differs_from_normal(rng.exponential(size=100))
    assert differs_from_normal(rng.standard_t(2, size=2000))
    assert not differs_from_normal(np.r_[np.zeros(18), 9.0])  # nineteen values are not asked
