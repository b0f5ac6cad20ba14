"""Is the process in statistical control: false alarms whatever the shape, power against what moves, points told one by one."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.simulate.operating import truths
from linestudy.verdict import Tags, decide, describe, resolve
from linestudy.verdict.measurement_facts import GaugeFacts
from linestudy.verdict.process import decision_chart, limits_of_streams

STILL = ["normal", "t, 3 df", "gamma, shape 2", "lognormal, 0.8, bound", "uniform", "AR(1), 0.3"]
STILL += ["normal, readings in steps of 1 SD", "2 stations 4 SD apart, named"]
STILL += ["30 % zeros, else half-normal, bound", "sawtooth of 4 SD, regrinds named"]
MOVING = [
    "AR(1), 0.9",
    "sawtooth of 4 SD, regrinds not named",
    "slow sine of 1.5 SD",
    "one step of 2 SD",
]


@pytest.mark.proof
@pytest.mark.parametrize("name", STILL)
def test_a_process_that_holds_still_is_left_alone(name: str) -> None:
    truth = truths()[name]
    alarms = 0
    for seed in range(25):
        values, tags = truth.study(np.random.default_rng(seed), 125 if seed % 2 else 1000)
        alarms += describe(values, tags, bound=truth.bound).steady.p < 0.005
    # At 0.5 % two or more of 25 come in less than one test of a hundred.
    assert alarms <= 1


@pytest.mark.parametrize("name", MOVING)
@pytest.mark.parametrize("n", [125, pytest.param(5000, marks=pytest.mark.proof)])
def test_what_moves_is_seen(name: str, n: int) -> None:
    truth = truths()[name]
    seen = 0
    for seed in range(10):
        values, tags = truth.study(np.random.default_rng(seed), n)
        steady = describe(values, tags).steady
        seen += steady.p < 0.005 and steady.matters
    assert seen >= 8


def test_one_excursion_is_seen_and_a_tiny_drift_of_many_parts_does_not_matter() -> None:
    rng = np.random.default_rng(1)
    y = rng.normal(size=5000)
    y[2000:2050] += 6
    assert describe(y).steady.matters
    assert describe(y).steady.p < 0.005
    tiny = rng.normal(size=30_000) + np.linspace(-0.1, 0.1, 30_000)
    steady = describe(tiny).steady
    assert steady.p < 0.005
    assert not steady.matters


@pytest.mark.proof
def test_effective_numbers_of_an_autoregression() -> None:
    # Mean: (1 - rho) / (1 + rho); spread: (1 - rho^2) / (1 + rho^2) (Bayley & Hammersley 1946).
    truth, rho = truths()["AR(1), 0.9"], 0.9
    found = [
        describe(truth.study(np.random.default_rng(seed), 5000)[0]).steady for seed in range(8)
    ]
    assert np.median([item.n_eff_mean for item in found]) == pytest.approx(
        5000 * (1 - rho) / (1 + rho), rel=0.35
    )
    assert np.median([item.n_eff_sd for item in found]) == pytest.approx(
        5000 * (1 - rho**2) / (1 + rho**2), rel=0.35
    )


def test_a_run_as_short_as_what_moves_it_is_told() -> None:

    rng = np.random.default_rng(7)
    slow = np.sin(np.linspace(0.3, 3.0, 300)) * 2 + rng.normal(size=300)
    for y, told in ((slow, True), (rng.normal(size=300), False)):
        decision = decide(y, Tags(), GaugeFacts(), resolve(), lower=-12.0, upper=12.0)
        ruling = next(item for item in decision.rulings if item.rule == "sample")
        assert ("too short to have seen it" in ruling.reason) == told


def test_the_chart_that_is_drawn_is_the_one_that_decides() -> None:
    truth = truths()["sawtooth of 4 SD, regrinds named"]
    values, tags = truth.study(np.random.default_rng(3), 1000)
    values[600:605] += 5 * values.std()
    drawn = decision_chart(values, tags)
    told = describe(values, tags).points
    assert told
    assert [(s.point, s.order, s.value) for s in drawn.signals] == [
        (p.point, p.order, p.value) for p in told
    ]


def test_each_stream_has_limits_of_its_own() -> None:
    """X̄ chart, ISO 7870-2: of each stream alone, mean plus and minus three standard errors of means of five."""
    rng = np.random.default_rng(5)
    stream = np.tile(np.repeat(["L", "R"], 5), 200)
    values = rng.normal(np.where(stream == "L", 10.0, 10.5), np.where(stream == "L", 0.1, 0.2))
    tags = Tags(stream=stream, subgroup=np.arange(values.size) // 5)
    chart = decision_chart(values, tags)
    found = limits_of_streams(chart, values, tags)
    for name, (low, high) in found.items():
        alone = values[stream == name]
        error = 3 * alone.std() / np.sqrt(5)
        assert low == pytest.approx(alone.mean() - error, abs=0.1 * error)
        assert high == pytest.approx(alone.mean() + error, abs=0.1 * error)
    assert list(found) == ["L", "R"]
    # Where a subgroup has parts of both, and without streams, one chart of all holds.
    mixed = Tags(stream=np.tile(["L", "R"], 1000), subgroup=np.arange(values.size) // 5)
    assert limits_of_streams(decision_chart(values, mixed), values, mixed) == {}
    assert limits_of_streams(decision_chart(values), values, Tags()) == {}


def test_streams_in_stretches_that_are_alike_are_in_control_and_so_are_those_of_no_counter() -> (
    None
):
    y, cavity = np.random.default_rng(2).normal(size=240), np.repeat(np.arange(4), 60)
    assert describe(y, Tags(order=np.arange(240.0), stream=cavity)).steady.p > 0.005
    # A file sorted by cavity says nothing of when its parts were made.
    apart = describe(y + cavity, Tags(stream=cavity))
    assert apart.steady.p > 0.005
    assert apart.one_by_one
    # Told apart by their own levels the cavities are better than all parts together, which count as well where a counter says
    # that they were made one after the other.
    timed = describe(y + cavity, Tags(order=np.arange(240.0), stream=cavity))
    assert timed.streams[-1].name == ""
    assert timed.steady.p < 0.005


def test_wear_before_the_run_is_wear() -> None:
    since = np.r_[np.arange(600, 1000), np.arange(1000), np.arange(600)]
    y = np.random.default_rng(6).normal(size=2000) + 3e-3 * since
    tags = Tags(order=np.arange(2000.0), resets=(400.0, 1400.0))
    assert describe(y, tags).steady.p > 0.005


def two_lanes(rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Lane A wears by 4 SD between its regrinds at 1001 and 2001; lane B does not wear."""
    stroke, lane = np.repeat(np.arange(1.0, 3001), 2), np.tile(["A", "B"], 3000)
    wear = np.where(lane == "A", 4 * ((stroke - 1) % 1000) / 1000, 0.0)
    return wear + rng.normal(size=6000), stroke, lane


@pytest.mark.proof
def test_a_regrind_of_one_stream_is_none_of_the_others() -> None:
    still, moving = 0, 0
    for seed in range(10):
        y, stroke, lane = two_lanes(np.random.default_rng(seed))
        named = {"A": (1001.0, 2001.0), "B": ()}
        found = describe(y, Tags(stroke, stream=lane, stream_resets=named))
        still += found.steady.p < 0.005 and found.steady.matters
        assert found.regrinds == 2
        # Taken as regrinds of both, lane B is given a slope that it has not.
        both = describe(y, Tags(stroke, stream=lane, resets=(1001.0, 2001.0)))
        moving += both.steady.p < 0.005 and both.steady.matters
    assert still <= 1
    assert moving == 10


def test_wear_of_a_stream_that_names_no_regrind_of_its_own_is_movement() -> None:
    y, stroke, lane = two_lanes(np.random.default_rng(1))
    # The regrinds are written to the other lane: what moves in A then has no name.
    wrong = {"A": (), "B": (1001.0, 2001.0)}
    steady = describe(y, Tags(stroke, stream=lane, stream_resets=wrong)).steady
    assert steady.p < 0.005
    assert steady.matters


def test_a_name_in_one_row_takes_no_stream_its_own_judgement() -> None:
    y = np.random.default_rng(4).normal(size=8000)
    stream = np.tile(np.arange(8), 1000).astype(str)
    y[stream == "7"] *= 1.8
    alone = describe(y, Tags(stream=stream))
    stream[0] = "new"
    more = describe(y, Tags(stream=stream))
    worst = {item.name: item.tails.index(-6, 6, 0.95).estimate for item in more.streams}
    assert min(worst, key=lambda name: worst[name]) == "7"
    before = min(item.tails.index(-6, 6, 0.95).estimate for item in alone.streams)
    assert min(worst.values()) == pytest.approx(before, rel=0.01)
    # The one row belongs to the whole, which is judged too.
    assert "" in worst


@pytest.mark.parametrize(("label", "row"), [("", 77), ("Z", 0)])
def test_one_row_of_no_stream_or_of_another_takes_no_point_off_the_chart(
    label: str | None, row: int
) -> None:
    y = np.random.default_rng(3).normal(size=300)
    y[150:155] += 6
    stream = np.tile(np.array(["L", "R"], dtype=object), 150)
    tags = {"order": np.arange(300.0), "subgroup": np.arange(300) // 5}
    whole = describe(y, Tags(stream=stream, **tags))
    stream[row] = label
    found = describe(y, Tags(stream=stream, **tags))
    assert {150.0} <= {item.order for item in whole.points}
    assert [item.point for item in found.points] == [item.point for item in whole.points]
    assert found.expected_points == pytest.approx(whole.expected_points, abs=0.5)


def test_a_cell_without_a_coil_is_no_coil() -> None:
    y = np.random.default_rng(4).normal(size=400)
    coil = np.array(["C1"] * 400, dtype=object)
    coil[[17, 200]] = "", None
    found = describe(y, Tags(coil=coil))
    assert (found.coils, found.lots_seen, found.lots) == (1, 1, None)
    coil[300:] = "C2"
    assert describe(y, Tags(coil=coil)).coils == 2
    nothing = describe(y, Tags(coil=np.array([""] * 400, dtype=object)))
    assert (nothing.coils, nothing.lots_seen, nothing.lots) == (None, None, None)


def test_rows_that_name_no_stream_are_told_as_such() -> None:
    y = np.random.default_rng(5).normal(size=600)
    stream = np.tile(np.array(["L", "R", ""], dtype=object), 200)
    y[stream == ""] *= 2
    worst = min(
        describe(y, Tags(stream=stream)).streams, key=lambda s: s.tails.index(-6, 6, 0.95).estimate
    )
    assert worst.name == "no stream named"


def test_streams_beside_a_bound_are_described_together_where_they_differ_by_a_factor() -> None:
    """Four stations of thirty offsets each: one by one a lognormal is rejected in none of them, and no index holds."""
    rng = np.random.default_rng(5)
    lane = np.tile(np.arange(4), 31)
    factor = np.array([0.9, 1.0, 1.1, 1.0])[lane]
    y = factor * rng.weibull(1.5, lane.size)
    found = describe(y, Tags(stream=lane), bound=0.0)
    assert [one.name for one in found.streams] == ["0", "1", "2", "3"]
    kept = [{item.name for item in one.tails.admissible} for one in found.streams]
    assert all(names == kept[0] for names in kept)
    assert "lognormal" not in kept[0]
    means = [float(y[lane == k].mean()) for k in range(4)]
    medians = [float(next(iter(one.tails.admissible)).quantiles[0, 1]) for one in found.streams]
    assert np.allclose(np.divide(medians, means), medians[0] / means[0])
    # A station of another shape keeps its own.
    y = np.where(lane == 3, 3 + 0.2 * rng.normal(size=lane.size), rng.weibull(1.0, lane.size))
    found = describe(y, Tags(stream=lane), bound=0.0)
    assert len({frozenset(i.name for i in one.tails.admissible) for one in found.streams}) > 1
    # A bound that no value comes near says nothing of how streams differ.
    far = describe(90 + 4 * rng.normal(size=lane.size), Tags(stream=lane), bound=0.0)
    assert len(far.streams) == 4
