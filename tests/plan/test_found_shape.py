"""What the verdict's search for a distribution costs: the law against studies that went through the verdict."""

from __future__ import annotations

import math

import numpy as np
import pytest

from linestudy.plan import sample_size
from linestudy.plan.chances import ar1_sample_sizes
from linestudy.plan.found_shape import OVER_LOTS, chance_where_found, cost_over_lots

#: Streams, parts of each, studies, and of these those whose bound lay above 0.75, 0.835 and 0.9 of the true index: normal
#: processes through `linestudy.verdict.decisions.judge`, seeds (11, streams, parts, run). Simulation, no source.
MEASURED = [
    (1, 128, 100, (31, 8, 1)),
    (1, 250, 100, (63, 31, 9)),
    (1, 500, 100, (89, 51, 16)),
    (1, 1000, 100, (98, 88, 49)),
    (1, 2000, 100, (100, 97, 76)),
    (2, 125, 60, (26, 5, 0)),
    (2, 250, 60, (46, 19, 3)),
    (2, 500, 60, (60, 47, 14)),
    (4, 125, 60, (42, 11, 0)),
    (4, 250, 60, (58, 36, 4)),
    (4, 500, 60, (60, 56, 22)),
    (8, 125, 40, (30, 5, 0)),
    (8, 250, 40, (40, 24, 0)),
]


@pytest.mark.parametrize(("streams", "n", "runs", "counts"), MEASURED)
def test_the_law_is_near_what_was_measured(
    streams: int, n: int, runs: int, counts: tuple[int, ...]
) -> None:
    for share, count in zip((0.75, 0.835, 0.9), counts, strict=True):
        told = chance_where_found(n, 1.0, share, streams)
        # Three standard errors, and what the law itself may be off.
        assert abs(told - count / runs) < 3 * math.sqrt(max(told * (1 - told), 0.01) / runs) + 0.05


@pytest.mark.parametrize(
    ("streams", "n", "required", "above"),
    [
        (1, 801, 1.67, 76),
        (1, 195, 1.33, 81),
        (2, 511, 1.67, 79),
        (4, 331, 1.67, 62),
        (4, 405, 1.67, 80),
        (8, 331, 1.67, 75),
    ],
)
def test_the_law_is_that_of_the_verdict_of_today(
    streams: int, n: int, required: float, above: int
) -> None:
    """Hundred studies each of normal processes of a true 2.00, two limits, decided on the bound. Simulation, no source."""
    told = chance_where_found(n, 2.0, required, streams)
    assert abs(above / 100 - told) < 3 * math.sqrt(0.8 * 0.2 / 100)
    plan = sample_size(true_index=2.0, required=required, potential_index=2.0, streams=streams)
    # Of four streams 331 parts were planned before, and too few.
    assert plan.n == pytest.approx(n, rel=0.02) or (streams, n) == (4, 331)
    assert any("Another shape takes more parts" in each for each in plan.cautions)


def test_a_plan_on_the_bound_is_what_the_verdict_needs() -> None:
    plan = sample_size(true_index=2.0, required=1.67, potential_index=2.0)
    assert plan.n == plan.n_found
    assert 750 <= plan.n <= 950
    assert plan.n_normal == 128
    assert "the distribution found from the readings" in plan.statement
    assert any("128 parts would do" in each for each in plan.cautions)
    alone = {one.n: one.found for one in plan.chances}
    assert alone[128] == pytest.approx(0.16, abs=0.02)
    assert alone[plan.n] == pytest.approx(0.8, abs=0.01)


def test_a_plan_for_a_known_distribution_tells_what_it_would_cost_to_find_it() -> None:
    plan = sample_size(true_index=2.0, required=1.67, potential_index=2.0, family="normal")
    assert plan.n == plan.n_normal == 128
    assert plan.n_found is not None
    assert any(f"{plan.n_found:,} are needed for 80%" in each for each in plan.cautions)


@pytest.mark.parametrize("streams", [1, 2, 4])
@pytest.mark.parametrize("correlation", [0.0, 0.4])
def test_a_plan_keeps_its_promise_by_the_law_that_was_measured(
    streams: int, correlation: float
) -> None:
    plan = sample_size(streams=streams, correlation=correlation)
    n = ar1_sample_sizes(plan.n, correlation)[1]
    assert chance_where_found(n, 2.0, 1.67, streams) >= 0.8
    assert plan.n * streams >= 100
    assert plan.n >= plan.n_normal


def test_streams_share_what_tells_the_shape() -> None:
    sizes = [
        next(n for n in range(100, 2000, 5) if chance_where_found(n, 2.0, 1.67, streams) >= 0.8)
        for streams in (1, 2, 4, 8)
    ]
    assert sizes == sorted(sizes, reverse=True)
    assert sizes[0] < 2 * sizes[1] < 4 * sizes[2] < 8 * sizes[3]


def test_fewer_readings_than_the_verdict_asks_for_are_told() -> None:
    plan = sample_size(decide_on="estimate", potential_index=2.0)
    assert plan.n < 100
    assert plan.n_found is None
    assert any("at least 100 readings" in each for each in plan.cautions)
    assert chance_where_found(99, 3.0, 1.67) == 0.0


def test_what_finding_the_shape_costs_over_lots_goes_with_their_effective_number() -> None:
    draws = cost_over_lots(np.random.default_rng(2), 20_000, 20, 5, 0.0)
    assert np.mean(draws) == pytest.approx(OVER_LOTS[0] / 10, rel=0.03)
    assert draws.min() >= 0
    alike = cost_over_lots(np.random.default_rng(2), 20_000, 20, 1, 0.9)
    assert np.mean(alike) == pytest.approx(np.mean(draws) * np.sqrt(5), rel=0.03)
