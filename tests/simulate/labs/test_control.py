"""What the labs about the process say, against theory and against studies drawn from scratch."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.simulate import labs


@pytest.mark.parametrize(("index", "shift"), [(0.5, 0.0), (1.0, 1.5), (2.0, 3.0)])
def test_nonconforming_parts_are_those_of_the_two_halves(index: float, shift: float) -> None:
    found = labs.control_against_specification(index, shift).numbers
    draw = np.random.default_rng(1).standard_normal(400_000)
    draw[200_000:] += shift
    seen = float(np.mean(np.abs(draw) > 3 * index))
    assert found["nonconforming ppm"] / 1e6 == pytest.approx(
        seen, abs=4 * np.sqrt(seen / 4e5) + 1e-5
    )


def test_in_control_and_not_capable_and_the_other_way_round() -> None:
    still = labs.control_against_specification(0.5, 0.0).numbers
    moved = labs.control_against_specification(2.5, 2.0).numbers
    assert still["out of control"] <= 1
    assert still["nonconforming ppm"] > 100_000
    assert moved["out of control"] > 15
    assert moved["nonconforming ppm"] < 1


@pytest.mark.parametrize("correction", [0.0, 0.25, 0.5, 1.0, 1.25])
def test_over_adjustment_is_the_funnel_of_deming(correction: float) -> None:
    found = labs.over_adjustment(correction, 40_000).numbers
    assert found["ratio"] == pytest.approx(found["theory"], rel=0.02)
    # The second rule of the funnel doubles the variance: Out of the Crisis (1986), ch. 11.
    assert found["theory"] == pytest.approx(np.sqrt(2 / (2 - correction)))


def test_a_subgroup_of_both_lanes_has_their_distance_in_it() -> None:
    distance = 4.0
    mixed = labs.subgroups_and_streams(distance, "both lanes").numbers
    apart = labs.subgroups_and_streams(distance, "one lane").numbers
    # Two of each lane: the variance within is 1 + d² / 4 · 4 / 3.
    assert mixed["sd within"] == pytest.approx(np.sqrt(1 + distance**2 / 3), rel=0.1)
    assert apart["sd within"] == pytest.approx(1.0, rel=0.15)
    assert mixed["found"] < apart["found"]
    assert mixed["close"] > 0.95
    # Half of a move of one, seen with the same SD, where lanes are alike.
    assert labs.subgroups_and_streams(0.0, "both lanes").numbers["close"] < 0.9


def test_the_best_of_several_by_studies_drawn_part_by_part() -> None:
    lines, n = 10, 40
    found = labs.chosen_for_being_good(lines, n).numbers
    values = np.random.default_rng(2).standard_normal((300, lines, n))
    index = (4.5 - values.mean(axis=2)) / (3 * values.std(axis=2, ddof=1))
    best = index.max(axis=1)
    error = np.hypot(best.std() / np.sqrt(300), best.std() / np.sqrt(400))
    assert abs(found["best"] - best.mean()) < 4 * error
    assert abs(found["again"] - index.mean()) < 0.05


@pytest.mark.parametrize(("distance", "share"), [(0.0, 0.5), (3.0, 0.2), (4.0, 0.05), (5.0, 0.5)])
def test_two_stations_by_counting_parts(distance: float, share: float) -> None:
    found = labs.two_stations_in_one_histogram(distance, share).numbers
    rng = np.random.default_rng(8)
    parts = rng.standard_normal(2_000_000) + distance * (rng.random(2_000_000) < share)
    outside = float(np.mean(parts > 5))
    assert found["true ppm"] / 1e6 == pytest.approx(outside, abs=4 * np.sqrt(outside / 2e6) + 2e-6)
    assert found["normal index"] == pytest.approx((5 - parts.mean()) / (3 * parts.std()), rel=0.005)
    median, high = np.quantile(parts, [0.5, 0.99865])
    assert found["quantile index"] == pytest.approx((5 - median) / (high - median), rel=0.01)
    assert found["worst station"] == pytest.approx((5 - distance) / 3)
