"""Streams of one stroke may have anything in common; what moves from stroke to stroke is seen stream by stream."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.stability import time_model
from linestudy.stability.model.by_stroke import (
    side_by_side,
    spread_by_stream,
    stability_tests_by_stroke,
)
from linestudy.stability.model.rank_tests import stability_tests

STROKES, LANES = 500, 4


def tool(seed: int, common: float, step: float = 0.0) -> tuple:
    """Values, strokes, subgroups of five strokes of one lane, and lanes; the first lane may step half way."""
    rng = np.random.default_rng(seed)
    strip, own = rng.normal(size=(STROKES, 1)), rng.normal(size=(STROKES, LANES))
    y = np.sqrt(common) * strip + np.sqrt(1 - common) * own
    y[STROKES // 2 :, 0] += step
    stroke, lane = np.repeat(np.arange(STROKES), LANES), np.tile(np.arange(LANES), STROKES)
    subgroup = stroke // 5 * LANES + lane
    place = np.argsort(subgroup, kind="stable")
    return y.ravel()[place], stroke[place] * 1.0, subgroup[place], lane[place]


@pytest.mark.parametrize("common", [0.0, 0.3, 0.6, 0.9])
def test_what_a_stroke_has_in_common_is_no_movement(common: float) -> None:
    """At 0.005 an alarm in ten runs has a chance of one in twenty; parts taken as neighbours alarm in nearly all of them."""
    runs = [tool(seed, common) for seed in range(10)]
    assert all(stability_tests_by_stroke(*run).p > 0.0005 for run in runs)
    if common >= 0.6:
        assert sum(stability_tests(*run).p < 0.005 for run in runs) >= 8


def test_one_lane_that_steps_is_seen_among_the_others() -> None:
    seen = [stability_tests_by_stroke(*tool(seed, 0.3, step=0.8)) for seed in range(10)]
    assert sum(one.p < 0.005 and one.matters for one in seen) >= 8


def test_a_lane_that_leaves_the_others_is_seen_by_what_it_does_not_share() -> None:
    """With a correlation of 0.9 a step of a quarter of an SD is one of three quarters of what is left."""
    seen = [stability_tests_by_stroke(*tool(seed, 0.9, step=0.25)) for seed in range(10)]
    assert sum(one.p < 0.005 for one in seen) >= 9
    assert all(one.strongest.startswith("one stream against the others") for one in seen)
    alone = [stability_tests_by_stroke(*tool(seed, 0.0, step=0.25)) for seed in range(10)]
    assert sum(one.p < 0.005 for one in alone) <= 4


def test_lanes_alike_are_worth_less_than_their_number() -> None:
    apart, alike = (stability_tests_by_stroke(*tool(1, common)) for common in (0.0, 0.9))
    assert apart.n_eff_mean > 0.8 * STROKES * LANES
    assert alike.n_eff_mean == pytest.approx(STROKES * LANES / (1 + 3 * 0.9), rel=0.1)
    assert alike.alone == pytest.approx(1 + 3 * 0.9, rel=0.05)
    assert apart.subgroups == STROKES // 5 * LANES


def test_stations_that_take_turns_are_tested_as_one_run_and_each_by_itself() -> None:
    y, _, subgroup, lane = tool(2, 0.0)
    order = np.arange(y.size) * 1.0
    assert not side_by_side(order, lane)
    assert not side_by_side(order, None)
    found, whole = (
        stability_tests_by_stroke(y, order, subgroup, lane),
        stability_tests(y, order, subgroup, lane),
    )
    more = {"level of one stream", "spread of one stream"}
    assert {name: p for name, p in found.tests.items() if name not in more} == whole.tests
    assert more < set(found.tests)
    assert (found.n_eff_mean, found.subgroups) == (whole.n_eff_mean, whole.subgroups)
    # Of streams with a handful of subgroups nothing is asked by itself.
    few = stability_tests_by_stroke(y[:120], order[:120], subgroup[:120], lane[:120])
    assert not more & set(few.tests)


def taking_turns(
    seed: int, factor: float = 1.0, step: float = 0.0
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Six lanes of which the third spreads more, or lies higher, in the second half; a fifth of the parts is charted."""
    order = np.arange(3000)
    lane, stroke = order % 6, order // 6
    subgroup = np.where(stroke % 25 < 5, stroke // 25 * 6 + lane, -1)
    late = (lane == 2) & (order >= 1500)
    y = np.random.default_rng(seed).normal(size=3000) * np.where(late, factor, 1.0)
    return y + step * late, order + 1.0, subgroup, lane


def test_one_lane_of_six_that_spreads_more_is_seen_where_a_fifth_of_its_parts_is_charted() -> None:
    seen = [stability_tests_by_stroke(*taking_turns(seed, 3.0)) for seed in range(10)]
    assert sum(one.p < 0.005 and one.matters for one in seen) >= 9
    assert all(one.strongest == "spread of one stream" for one in seen if one.p < 1e-4)
    seen = [stability_tests_by_stroke(*taking_turns(seed, step=1.5)) for seed in range(10)]
    assert sum(one.p < 0.005 for one in seen) >= 9
    still = [stability_tests_by_stroke(*taking_turns(seed)) for seed in range(10)]
    assert all(one.p > 0.0005 for one in still)


def test_subgroups_that_hold_several_streams_are_formed_anew() -> None:
    y, stroke, _, lane = tool(3, 0.6)
    rows = np.argsort(stroke, kind="stable")
    y, stroke, lane, mixed = y[rows], stroke[rows], lane[rows], np.arange(y.size) // 5
    assert stability_tests_by_stroke(y, stroke, mixed, lane).p > 0.0005
    assert spread_by_stream(y, mixed, lane, y) is None


@pytest.mark.parametrize("common", [0.0, 0.6, 0.95])
def test_the_time_model_of_such_a_tool_is_that_of_a_process_at_rest(common: float) -> None:
    models = []
    for seed in range(6):
        y, stroke, subgroup, lane = tool(seed, common)
        models.append(time_model(y, subgroup, order=stroke, station=lane).model)
    assert sum(model in ("A1", "A2") for model in models) >= 5
