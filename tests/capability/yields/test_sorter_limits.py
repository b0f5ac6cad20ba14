"""Limits that verdicts show, and rejected parts that show none."""

from __future__ import annotations

from typing import Any

import numpy as np

from linestudy.capability.yields.sorter_limits import sorter_limits

Y = np.random.default_rng(5).normal(0, 1, 3000).round(2)
LIMITS = (-6.0, 6.0)


def loud(y: Any, bad: Any, lower: float | None = -6.0, upper: float | None = 6.0) -> list[str]:
    return [one.side for one in sorter_limits(y, bad, lower, upper) if one.p < 0.001]


def test_a_sorter_with_limits_of_its_own_is_found_at_its_limit() -> None:
    low, high = sorter_limits(Y, np.abs(Y) >= 2, *LIMITS)
    assert (low.at, high.at) == (-2.0, 2.0)
    assert high.p < 1e-6
    assert high.share == 4 / 12
    assert high.rejected == high.parts == int((Y >= 2).sum())


def test_rejected_for_something_else_besides_hides_it_not() -> None:
    other = np.random.default_rng(1).random(Y.size) < 0.02
    assert loud(Y, (Y >= 2) | other) == ["upper"]


def test_a_single_limit_takes_the_distance_from_the_median_for_half_a_tolerance() -> None:
    (one,) = sorter_limits(Y, Y >= 2, None, 6.0)
    assert abs(one.share - 4 / (2 * (6 - np.median(Y)))) < 1e-12


def test_parts_rejected_for_what_nobody_measured_show_no_limit() -> None:
    draw = np.random.default_rng(8)
    words = 0
    for _ in range(150):
        y = draw.normal(size=int(draw.choice([125, 600, 2000]))).round(2)
        often = float(draw.choice([0.005, 0.05, 0.3]))
        # In half of them what is rejected goes with the reading.
        goes_with = np.exp(y / 2) if often < 0.3 and draw.random() < 0.5 else 1.0
        words += bool(loud(y, draw.random(y.size) < often * goes_with))
    assert words == 0


def test_nothing_is_said_of_parts_outside_or_of_few() -> None:
    assert not sorter_limits(Y, np.abs(Y) > 3.2, -3.2, 3.2)
    assert not sorter_limits(Y, np.argsort(np.argsort(Y)) > Y.size - 4, *LIMITS)
    assert not sorter_limits(np.full(20, np.nan), np.ones(20, bool), *LIMITS)
