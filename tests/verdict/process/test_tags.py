"""What is known of each value: its subgroup, its stream, its clock."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.verdict import Tags, decide, describe, resolve
from linestudy.verdict.measurement_facts import GaugeFacts
from linestudy.verdict.process.tags import coded, hours_and_days, in_stretches, subgroups_of


def stepped(seed: int, n: int = 1000, size: float = 2.0) -> np.ndarray:
    return np.random.default_rng(seed).normal(size=n) + size * (np.arange(n) >= n / 2)


def test_the_run_is_as_long_as_its_clock_says() -> None:
    values = np.random.default_rng(3).normal(size=60)
    clock = np.datetime64("2026-03-02T22:00:00", "ms") + np.arange(60) * np.timedelta64(5, "m")
    clock[7] = np.datetime64("NaT")
    told = describe(values, Tags(time=clock))
    assert told.hours == pytest.approx(59 / 12)
    assert told.days == 2
    assert describe(values).hours is None
    assert describe(values, Tags(time=np.array(["morning"] * 60))).days is None


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


def test_an_empty_cell_names_nothing() -> None:
    assert coded(["B", "", "A", None, "B"]).tolist() == [0, -1, 1, -1, 0]
    assert coded(np.array(["", ""], dtype=object)).tolist() == [-1, -1]
    assert coded([3, 3, 7]).tolist() == [0, 0, 1]


def test_neighbours_by_fives_and_none_of_less() -> None:
    assert subgroups_of(Tags(), 12).tolist() == [0] * 5 + [1] * 5 + [-1] * 2
    assert subgroups_of(Tags(subgroup=np.array([None] * 10)), 10).tolist() == [0] * 5 + [1] * 5


def test_a_label_that_comes_again_far_away_is_another_subgroup() -> None:
    label = np.tile(np.repeat(np.arange(6), 5), 2)
    assert subgroups_of(Tags(subgroup=label), 60).tolist() == np.repeat(np.arange(12), 5).tolist()
    # Of specimens of lots nobody knows the order; their names hold.
    lots = subgroups_of(Tags(subgroup=label, lots=(label,)), 60)
    assert lots.tolist() == label.tolist()


def test_labels_of_which_hardly_two_stand_together_form_no_subgroups() -> None:
    label = np.tile(np.arange(50), 4)
    assert subgroups_of(Tags(subgroup=label), 200).tolist() == np.repeat(np.arange(40), 5).tolist()


@pytest.mark.parametrize(
    ("stream", "apart"),
    [
        # Two streams in five stretches; in six, three of each, time and stream can be told apart.
        ([0, 0, 1, 1, 0, 0, 1, 1, 0, 0], True),
        ([0, 1, 0, 1, 0, 1], False),
        ([0, 0, 1, 1, 2, 2], True),
        ([0, 1, 2] * 3, False),
    ],
)
def test_streams_made_one_after_the_other(stream: list[int], apart: bool) -> None:
    assert in_stretches(np.array(stream)) is apart


def test_regrinds_count_inside_the_run_alone_and_by_the_stream_with_fewest() -> None:
    order = np.arange(100.0, 201.0)
    assert Tags(order=order).regrinds(101) is None
    # The reading of the reset's own number is the first after it: one before the run's first is none of the run.
    assert Tags(order=order, resets=(100.0, 150.0, 200.0, 250.0)).regrinds(101) == 2
    named = {"A": (120.0, 180.0), "B": (150.0,), "C": ()}
    assert Tags(order=order, stream_resets=named).regrinds(101) == 1
    assert Tags(resets=(3.0,)).regrinds(5) == 1


def test_hours_and_days_of_a_clock() -> None:
    clock = np.array(["2026-03-02T23:30", "NaT", "2026-03-03T00:15"], dtype="datetime64[ms]")
    assert hours_and_days(clock) == (0.75, 2)
    # A clock set back runs from its earliest to its latest.
    assert hours_and_days(clock[::-1]) == (0.75, 2)
    assert hours_and_days(clock[:2]) == (None, None)
    assert hours_and_days(np.array(["morning"])) == (None, None)


def test_wear_is_taken_off_each_stream_from_its_own_reset() -> None:
    order, stream = np.repeat(np.arange(1.0, 201), 2), np.tile(["A", "B"], 200)
    worn = np.where(stream == "A", (order - 1) % 100, 0.0) * 0.01
    tags = Tags(order, stream=stream, stream_resets={"A": (101.0,), "B": ()})
    assert tags.wears
    assert np.ptp(tags.without_wear(worn)[stream == "A"]) < 1e-9
    assert np.ptp(tags.without_wear(worn)[stream == "B"]) < 1e-9
    assert not Tags(order, stream_resets={"A": ()}).wears
