"""From readings to a decision: which stream decides, what is counted, and that every rule of the kind speaks."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from scipy import stats
from sound_facts import GAUGE, GOOD, known

from linestudy.results import Absent
from linestudy.verdict import (
    RULES,
    CharacteristicFacts,
    Circumstances,
    IndexFacts,
    ProcessFacts,
    Tags,
    decide,
    describe,
    judge,
    resolve,
    rule_on,
)
from linestudy.verdict.measurement_facts import GaugeFacts


def test_good_evidence_meets() -> None:
    found = rule_on(GOOD, resolve())
    assert found.decision == "meets"
    assert [item.rule for item in found.rulings] == [r.name for r in RULES if "process" in r.kinds]


def test_a_gauge_and_a_short_run_get_decisions_of_their_own() -> None:
    alone = CharacteristicFacts(kind="gauge", gauge=GAUGE)
    found = rule_on(alone, resolve())
    assert found.decision == "meets"
    assert {item.group for item in found.rulings} == {"measurement system", "record", "criteria"}
    short = CharacteristicFacts(
        kind="machine",
        gauge=GAUGE,
        process=ProcessFacts(n=50),
        index=IndexFacts("Pmk", 1.8, 1.5, 1.8),
    )
    assert rule_on(short, resolve()).decision == "meets"
    poor = dataclasses.replace(short, index=IndexFacts("Pmk", 0.84, 0.7, 0.84))
    assert rule_on(poor, resolve()).decision == "does not meet"


def test_a_cause_in_the_study_explains_its_points() -> None:
    y = np.random.default_rng(3).normal(size=500)
    y[200:205] += 6
    tags = Tags(subgroup=np.arange(500) // 5)
    gauge = GaugeFacts()

    def left(causes: tuple[tuple[float, float, str], ...]) -> int:
        found = decide(y, tags, gauge, resolve(), lower=-9.0, upper=9.0, causes=causes)
        return found.facts.process.unexplained

    assert left(()) - left(((201.0, 205.0, "feed slipped; guide replaced (A. Berg)"),)) == 1


def test_the_worst_named_stream_decides() -> None:
    rng = np.random.default_rng(7)
    at = np.arange(4000) % 4
    y = rng.normal(size=4000) * np.where(at == 2, 1.8, 1.0)
    tags = Tags(stream=np.array(["A", "B", "C", "D"])[at])
    found = decide(y, tags, GaugeFacts(), resolve(), lower=-6.0, upper=6.0).facts.index
    assert found.stream == "C"
    assert found.estimate == pytest.approx(6 / 5.4, rel=0.1)
    assert found.by_stream["A"] == pytest.approx(2.0, rel=0.12)


def test_an_index_of_normal_readings_is_the_normal_one() -> None:
    """ISO 22514-2, normal distribution: the lesser distance to a limit over three standard deviations."""
    y = stats.norm.ppf((np.arange(2000) + 0.5) / 2000)
    y = np.random.default_rng(1).permutation(y)
    facts = judge(describe(y), GaugeFacts(), resolve(), lower=-6.0, upper=4.5).facts
    assert facts.index.estimate == pytest.approx(1.5, rel=0.02)
    assert facts.index.bound < facts.index.estimate <= facts.index.highest
    assert facts.process.outside == 0
    # One limit alone is judged towards that limit; none leaves nothing to be judged against.
    alone = judge(describe(y), GaugeFacts(), resolve(), lower=-6.0).facts.index
    assert alone.estimate == pytest.approx(2.0, rel=0.02)
    without = judge(describe(y), GaugeFacts(), resolve())
    assert isinstance(without.facts.index, Absent)
    assert without.decision == "cannot be judged"


def test_readings_on_a_limit_are_not_outside() -> None:
    y = np.r_[-3.0, 3.0, -3.001, 3.001, np.random.default_rng(2).uniform(-1, 1, 200)]
    facts = judge(describe(y), GaugeFacts(), resolve(), lower=-3.0, upper=3.0).facts
    assert facts.process.outside == 2


def test_readings_in_no_order_in_time_have_no_chart() -> None:
    y = np.random.default_rng(3).normal(size=500)
    y[200:205] += 6
    process = describe(y, Tags(subgroup=np.arange(500) // 5))
    limits = {"lower": -9.0, "upper": 9.0}
    timed = judge(process, GaugeFacts(), resolve(), **limits).facts.process
    assert timed.points
    around = Circumstances(in_time=False)
    untimed = judge(process, GaugeFacts(), resolve(), circumstances=around, **limits).facts.process
    assert (untimed.points, untimed.expected_points, untimed.unexplained) == ((), 0.0, 0)


def test_sorting_before_the_readings_changes_which_index_is_claimed() -> None:
    process = describe(np.random.default_rng(4).normal(size=300))
    before = known(0.6, 0.1)

    def index(around: Circumstances) -> IndexFacts | Absent:
        found = judge(process, GaugeFacts(), resolve(), lower=-6.0, upper=6.0, circumstances=around)
        return found.facts.index

    found = index(Circumstances(refused="they were sorted", before_sorting=before))
    assert isinstance(found, IndexFacts)
    assert (found.name, found.estimate, found.bound, found.highest) == (
        "Ppk before sorting",
        0.6,
        0.5,
        0.7,
    )
    refused = index(Circumstances(refused="they were sorted"))
    assert refused == Absent("they were sorted")


def test_a_cut_at_a_limit_is_seen_in_enough_readings_only() -> None:
    y = np.random.default_rng(6).normal(size=1000)
    y = y[np.abs(y) <= 1.6]

    def refused(values: np.ndarray) -> bool:
        facts = judge(describe(values), GaugeFacts(), resolve(), lower=-1.6, upper=1.6).facts
        return isinstance(facts.index, Absent)

    assert refused(y)
    assert not refused(y[:99])
    assert not refused(np.random.default_rng(6).normal(size=3000).clip(-1.5, 1.5) * 0.5)


def test_the_same_readings_in_another_unit_get_the_same_decision() -> None:
    y = np.random.default_rng(8).normal(size=400)
    sizes = [
        decide(
            scale * y + move,
            None,
            dataclasses.replace(
                GAUGE, width=12 * scale, bias={"x": known(0.0, scale / 10, 0.9)}, drift=None
            ),
            resolve(),
            lower=move - 6 * scale,
            upper=move + 6 * scale,
        )
        for scale, move in ((1.0, 0.0), (1e-3, 25.4), (1e3, -7.0))
    ]
    assert {found.decision for found in sizes} == {"meets"}
    indices = [found.facts.index.estimate for found in sizes]
    assert indices == pytest.approx([indices[0]] * 3, rel=1e-6)


def test_doubts_of_readings_join_those_already_known() -> None:
    from linestudy.verdict.facts import Doubt, RecordFacts

    y = np.tile(np.random.default_rng(9).normal(size=30).round(6), 4)
    told = Doubt("readings worked out", 0.0, "of another column")
    base = CharacteristicFacts(record=RecordFacts(doubts=(told,)))
    found = decide(y, None, GaugeFacts(), resolve(), lower=-6.0, upper=6.0, facts=base)
    assert found.facts.record.doubts[0] == told
    assert len(found.facts.record.doubts) > 1
    # Of readings in no order their neighbours say nothing.
    around = Circumstances(in_time=False)
    found = decide(
        y, None, GaugeFacts(), resolve(), lower=-6.0, upper=6.0, facts=base, circumstances=around
    )
    assert found.facts.record.doubts == (told,)
