"""What may be claimed: the sentence, the numbers beside it and the table of a study."""

from __future__ import annotations

import dataclasses
import math

import pandas as pd
import pytest
from sound_facts import (
    GAUGE,
    GOOD,
    JUDGED,
    gauge,
    index,
    known,
    process,
)

from linestudy.results import Absent
from linestudy.study.model import Criteria as StudyCriteria
from linestudy.verdict import CharacteristicFacts, Circumstances, IndexFacts, resolve, rule_on
from linestudy.verdict.claims import CharacteristicVerdict, StudyVerdict
from linestudy.verdict.process import OutPoint


@pytest.mark.parametrize(
    ("changes", "named"),
    [
        ({}, "effectiveness"),
        ({"trials": 1}, "effectiveness"),
        ({"miss": known(0.1)}, "miss rate"),
        ({"effectiveness": known(0.85), "false_alarm": known(0.2)}, "false alarm rate"),
        ({"kappa": known(0.7)}, "kappa"),
    ],
)
def test_the_number_beside_the_decision_is_the_one_that_decides(
    changes: dict[str, object], named: str
) -> None:
    judged = dataclasses.replace(JUDGED.judgement, **changes)  # type: ignore[arg-type]
    ruled = rule_on(dataclasses.replace(JUDGED, judgement=judged), resolve())
    found = CharacteristicVerdict.of(ruled, resolve())
    assert found.headline is not None
    assert found.headline.name == named


def verdict(facts: CharacteristicFacts = GOOD, **criteria: object) -> CharacteristicVerdict:
    resolved = resolve(StudyCriteria(**criteria))  # type: ignore[arg-type]
    return CharacteristicVerdict.of(rule_on(facts, resolved), resolved)


def test_what_meets_is_told_by_its_number_and_what_is_asked() -> None:
    said = verdict().statement
    assert said.startswith("Width (6.25 to 6.35 mm) meets its requirement. Ppk = 2.0")
    assert said.endswith("above 1.67 is asked.")
    alone = verdict(CharacteristicFacts(name="Width", kind="gauge", gauge=GAUGE)).statement
    assert ", as a gauge, meets its requirement. %GRR of tolerance = 6.0 (4.0 to 8.0) %" in alone


def test_reasons_are_those_of_the_decision_and_objections_all() -> None:
    both = dataclasses.replace(
        index(1.2), gauge=dataclasses.replace(GAUGE, step_share=0.2, ndc=known(4.0))
    )
    found = verdict(both)
    assert found.decision == "does not meet"
    assert len(found.reasons) == 1
    assert "1.20" in found.reasons[0]
    assert len(found.objections) == 3
    assert set(found.reasons) <= set(found.objections)
    good = verdict()
    assert good.objections == ()
    supporting = [item.reason for item in good.rulings if item.effect == "supports"]
    assert list(good.reasons) == supporting


def test_a_claim_carries_the_criterion_as_it_is_held_against() -> None:
    claims = {item.name: item for item in verdict(grr_accept=0.125, source="Customer X").claims}
    share = claims["gauge spread, share of tolerance"]
    assert (share.criterion, share.source) == ("at most 12.5%", "Customer X")
    assert claims["Ppk"].criterion == "above 1.67"
    assert claims["ndc"].criterion == "at least 5"
    rates = {item.name: item.criterion for item in verdict(JUDGED, miss_max=0.005).claims}
    assert rates["miss rate"] == "at most 0.5%"


def test_a_bound_is_claimed_on_one_side_alone() -> None:
    value = verdict().claims[0].value
    assert not isinstance(value, Absent)
    assert (value.estimate, value.low, value.high) == (2.0, 1.8, math.inf)
    sorted_out = IndexFacts("Ppk before sorting", 0.6, 0.5, 0.7)
    value = verdict(dataclasses.replace(GOOD, index=sorted_out)).claims[0].value
    assert not isinstance(value, Absent)
    assert (value.low, value.high) == (0.5, 0.7)
    absent = verdict(dataclasses.replace(GOOD, index=Absent("only three parts"))).claims[0]
    assert absent.value == Absent("only three parts")


def test_points_are_listed_as_they_were_written() -> None:
    point = OutPoint(3, 1201.0, "2026-03-02T06:00:00.250", "C2", "L", "mean", "beyond", 6.4)
    told = verdict(dataclasses.replace(process(points=(point,)), unit="mm")).points_table()
    (row,) = told.to_dict(orient="records")
    assert row == {
        "point": 3,
        "stroke": "1,201",
        "time": "2026-03-02 06:00:00",
        "coil": "C2",
        "stream": "L",
        "charted": "mean",
        "value (mm)": 6.4,
        "rule": "beyond a limit",
        "cause": "not named",
    }


def test_a_study_lists_each_decision_with_its_names() -> None:
    found = StudyVerdict(
        {
            "a": verdict(),
            "b": verdict(gauge(step_share=0.2)),
            "c": verdict(dataclasses.replace(GOOD, name="Height")),
        },
        {},
        pd.DataFrame(),
    )
    said = "Of 3 characteristics: meets: Width, Height; customer approval required: Width."
    assert found.statement == said
    assert found.of("meets") == ("Width", "Height")
    assert found.of("cannot be judged") == ()
    assert found.record()["decisions"] == {
        "a": "meets",
        "b": "customer approval required",
        "c": "meets",
    }
    row = found.shown().to_dict(orient="records")[0]
    assert row["gauge"] == "6.0 %"
    assert row["out of control (expected)"] == "0 (0.4)"


def test_a_row_of_the_table_says_what_is_not_given() -> None:
    def row(facts: CharacteristicFacts) -> dict[str, object]:
        return StudyVerdict({"w": verdict(facts)}, {}, pd.DataFrame()).shown().iloc[0].to_dict()

    whole = row(process(expected_points=0.4))
    assert (whole["value"], whole["out of control (expected)"]) == (
        "2.00 (at least 1.80)",
        "0 (0.4)",
    )
    nothing = row(CharacteristicFacts(name="Width"))
    assert (nothing["value"], nothing["out of control (expected)"]) == ("not given", "")
    untimed = dataclasses.replace(GOOD, circumstances=Circumstances(in_time=False))
    assert row(untimed)["out of control (expected)"] == ""
    alone = CharacteristicFacts(name="Width", kind="gauge", gauge=GAUGE)
    assert row(alone)["out of control (expected)"] == ""


def test_the_table_of_rules_names_group_and_source() -> None:
    found = verdict().shown().set_index("rule")
    assert "measurement system: gauge spread" in found.index
    assert "index" in found.index
    assert found.loc["index", "criterion from"] == "AIAG PPAP, 4th ed. (2006), 2.2.11.3"
    assert found.loc["distribution", "criterion from"] == ""


def test_the_stream_is_that_of_the_index() -> None:
    facts = IndexFacts("Ppk, worst stream", 2.0, 1.9, 2.1, stream="C", by_stream={"C": 2.0})
    assert verdict(dataclasses.replace(GOOD, index=facts)).stream == "C"
    assert verdict(dataclasses.replace(GOOD, index=Absent("none"))).stream == ""


def test_every_decision_is_counted_in_the_statement() -> None:
    facts = {
        "A": GOOD,
        "B": index(1.5),
        "C": index(1.0),
        "D": dataclasses.replace(GOOD, index=Absent("none")),
    }
    every = {name: verdict(dataclasses.replace(one, name=name)) for name, one in facts.items()}
    assert StudyVerdict(every, {}, pd.DataFrame()).statement == (
        "Of 4 characteristics: meets: A; customer approval required: B; does not meet: C; cannot be judged: D."
    )
