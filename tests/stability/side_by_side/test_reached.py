"""Sampling plans that beat with stations: by counting, on turns of every length."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linestudy.results import CannotJudge
from linestudy.stability import sampled_stations


@settings(max_examples=60, deadline=None)
@given(turn=st.integers(2, 12), size=st.integers(1, 6), every=st.integers(6, 90))
def test_exactly_the_stations_that_no_subgroup_falls_on_are_missed(
    turn: int, size: int, every: int
) -> None:
    """A subgroup begins at multiples of gcd(every, turn), elementary arithmetic."""
    n = np.arange(every * turn * 6)
    inside = n % every < size
    found = sampled_stations([f"S{k:02d}" for k in n % turn], np.where(inside, n // every, np.nan))
    reached = {(k * every + j) % turn for k in range(turn) for j in range(size)}
    assert found.missed == tuple(f"S{k:02d}" for k in range(turn) if k not in reached)
    assert found.turn == turn
    assert found.every == every
    if found.beats:
        assert found.better_every is not None
        assert math.gcd(found.better_every, turn) == 1
        assert "beats with the stations" in found.statement


def test_stations_in_no_order_have_no_turn() -> None:
    rng = np.random.default_rng(1)
    n = np.arange(4000)
    found = sampled_stations(
        rng.choice(["a", "b"], n.size), np.where(n % 100 < 5, n // 100, np.nan)
    )
    assert found.turn is None
    assert not found.beats


def test_long_stretches_of_one_station_are_no_turns() -> None:
    n = np.arange(4000)
    labels = np.array(["a", "b"])[n // 1000 % 2]
    assert sampled_stations(labels, np.where(n % 100 < 5, n // 100, np.nan)).turn is None


def test_a_lost_part_and_a_jump_of_the_counter_do_not_hide_the_turn() -> None:
    n = np.delete(np.arange(3000), [17, 500, 501])
    order = n + 10 * (n > 1500)
    found = sampled_stations(
        np.array(list("ABCD"))[n % 4], np.where(n % 100 < 2, n // 100, np.nan), order
    )
    assert found.turn == 4
    assert found.missed == ("C", "D")


def test_uneven_subgroups_are_cautioned() -> None:
    n = np.arange(2000)
    found = sampled_stations(np.array(["l", "r"])[n % 2], np.where(n % 100 < 5, n // 100, np.nan))
    assert found.uneven
    assert not found.beats
    assert "whole turns of 2 parts" in found.cautions[0]


@pytest.mark.parametrize("labels", [["a"] * 40, [str(k) for k in range(70)]])
def test_one_station_or_too_many_take_no_turns(labels: list[str]) -> None:
    with pytest.raises(CannotJudge):
        sampled_stations(labels[:70], [1.0] * len(labels[:70]))
