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


def test_expected_points_come_from_the_readings_own_distribution() -> None:
    # Gamma with shape 2, 6,000 subgroups of five: normal theory expects 38 and some 196 are seen.
    y = np.random.default_rng(2).gamma(2.0, size=30_000)
    found = describe(y, Tags(subgroup=np.arange(30_000) // 5))
    assert len(found.points) == pytest.approx(found.expected_points, rel=0.2)
    assert found.expected_points > 120
    assert found.steady.p > 0.005


def test_points_are_told_with_all_that_is_known_of_them() -> None:
    rng = np.random.default_rng(3)
    y = rng.normal(size=500)
    y[200:205] += 6
    tags = Tags(
        order=np.arange(500) + 1001.0,
        time=np.array([f"10:{i // 60:02d}:{i % 60:02d}" for i in range(500)]),
        coil=np.array(["C1"] * 190 + ["C2"] * 310),
        subgroup=np.arange(500) // 5,
        events=((1191.0, "coil change"), (1200.5, "press stopped")),
    )
    found = describe(y, tags)
    far = [item for item in found.points if item.kind == "mean"]
    assert [item.order for item in far] == [1201.0]
    assert (far[0].coil, far[0].time) == ("C2", "10:03:20")
    assert far[0].value == pytest.approx(y[200:205].mean())
    assert far[0].cause == "event: press stopped"


def test_a_cause_in_the_study_explains_its_points() -> None:
    y = np.random.default_rng(3).normal(size=500)
    y[200:205] += 6
    tags = Tags(subgroup=np.arange(500) // 5)
    gauge = GaugeFacts()

    def left(causes: tuple[tuple[float, float, str], ...]) -> int:
        found = decide(y, tags, gauge, resolve(), lower=-9.0, upper=9.0, causes=causes)
        return found.facts.process.unexplained

    assert left(()) - left(((201.0, 205.0, "feed slipped; guide replaced (A. Berg)"),)) == 1


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


def test_the_worst_named_stream_decides() -> None:
    rng = np.random.default_rng(7)
    at = np.arange(4000) % 4
    y = rng.normal(size=4000) * np.where(at == 2, 1.8, 1.0)
    tags = Tags(stream=np.array(["A", "B", "C", "D"])[at])
    found = decide(y, tags, GaugeFacts(), resolve(), lower=-6.0, upper=6.0).facts.index
    assert found.stream == "C"
    assert found.estimate == pytest.approx(6 / 5.4, rel=0.1)
    assert found.by_stream["A"] == pytest.approx(2.0, rel=0.12)


def test_a_run_as_short_as_what_moves_it_is_told() -> None:
    from linestudy.verdict.measurement_facts import GaugeFacts

    rng = np.random.default_rng(7)
    slow = np.sin(np.linspace(0.3, 3.0, 300)) * 2 + rng.normal(size=300)
    for y, told in ((slow, True), (rng.normal(size=300), False)):
        decision = decide(y, Tags(), GaugeFacts(), resolve(), lower=-12.0, upper=12.0)
        ruling = next(item for item in decision.rulings if item.rule == "sample")
        assert ("too short to have seen it" in ruling.reason) == told


def test_a_change_of_coil_or_a_pause_is_told_with_its_point() -> None:
    draw = np.random.default_rng(6)
    y = draw.normal(size=1000)
    y[500:505] += 6
    y[800:805] += 6
    coil = np.where(np.arange(1000) < 500, "K1", "K2")
    seconds = np.arange(1000) * 0.25 + np.where(np.arange(1000) >= 800, 1500.0, 0.0)
    time = np.datetime64("2026-03-02T06:00") + (1000 * seconds).astype("timedelta64[ms]")
    tags = Tags(order=np.arange(1.0, 1001), coil=coil, time=time, subgroup=np.arange(1000) // 5)
    causes = {point.order: point.cause for point in describe(y, tags).points}
    assert causes[501.0] == "coil changed from K1 to K2"
    assert causes[801.0] == "pause of 25 minutes"


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


def test_single_values_may_correlate_with_the_one_before_as_neighbours_may() -> None:
    # In control are correlations up to 0.3; limits from moving ranges are then too narrow, and as expected.
    from scipy.signal import lfilter

    alarms = found = expected = 0.0
    for seed in range(12):
        draw = np.random.default_rng(seed)
        y = lfilter([1], [1, -0.3], draw.normal(size=700))[200:]
        told = describe(y, Tags(subgroup=np.arange(500)))
        alarms += told.steady.p < 0.005
        found += len(told.points)
        expected += told.expected_points
    assert alarms <= 1
    # Normal theory expects 5.9 in each and some 11 are seen.
    assert found > 12 * 8
    assert found == pytest.approx(expected, rel=0.25)


def test_the_run_is_as_long_as_its_clock_says() -> None:
    values = np.random.default_rng(3).normal(size=60)
    clock = np.datetime64("2026-03-02T22:00:00", "ms") + np.arange(60) * np.timedelta64(5, "m")
    clock[7] = np.datetime64("NaT")
    told = describe(values, Tags(time=clock))
    assert told.hours == pytest.approx(59 / 12)
    assert told.days == 2
    assert describe(values).hours is None
    assert describe(values, Tags(time=np.array(["morning"] * 60))).days is None


def stepped(seed: int, n: int = 1000, size: float = 2.0) -> np.ndarray:
    return np.random.default_rng(seed).normal(size=n) + size * (np.arange(n) >= n / 2)


@pytest.mark.parametrize("tag", ["subgroups", "few stations", "many stations", "regrind"])
def test_a_tag_that_follows_the_clock_hides_no_step(tag: str) -> None:
    at = np.arange(1000)
    tags = {
        "subgroups": Tags(order=at + 1.0, subgroup=at % 200),
        "few stations": Tags(order=at + 1.0, stream=at // 500),
        "many stations": Tags(order=at + 1.0, stream=at // 25),
        "regrind": Tags(order=at + 1.0, resets=(501.0,)),
    }[tag]
    for seed in range(3):
        found = decide(stepped(seed), tags, GaugeFacts(), resolve(), lower=-9.0, upper=10.0)
        ruling = next(r for r in found.rulings if r.rule == "stability")
        assert ruling.effect == "customer approval required"
        assert ("one after the other" in ruling.reason) == tag.endswith("stations")


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


def test_subgroups_counted_anew_in_each_shift_are_told_apart() -> None:
    y, label = stepped(4), np.tile(np.repeat(np.arange(50), 5), 4)
    found = describe(y, Tags(order=np.arange(1000.0), subgroup=label))
    assert found.subgroups == 200
    assert found.steady.p < 0.005


def test_subgroups_of_a_part_of_the_run_do_not_speak_for_it() -> None:
    at = np.arange(1000)
    early = np.array([f"{k // 5}" if k < 400 and k % 10 < 5 else None for k in at], dtype=object)
    assert describe(stepped(5), Tags(order=at + 1.0, subgroup=early)).steady.p < 0.005
    # Taken throughout, in regular places, they do.
    spread = np.array([f"{k // 5}" if k % 40 < 5 else None for k in at], dtype=object)
    assert describe(stepped(5), Tags(order=at + 1.0, subgroup=spread)).subgroups == 25


def test_subgroups_of_streams_side_by_side_stay_whole() -> None:
    stream = np.arange(1000) % 8
    label = np.arange(1000) // 40 * 8 + stream
    assert describe(stepped(4), Tags(stream=stream, subgroup=label)).subgroups == 200


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
