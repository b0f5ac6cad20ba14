"""The worst appraiser's rates: of the right person, at the right end, and refused with the reason of the study."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from linestudy.gauges import judgement_agreement
from linestudy.gauges.judgement.judgements import ATTRIBUTE
from linestudy.results import Absent, Findings, Interval, Unjudged
from linestudy.verdict.gather.judgement import judgement_facts


def facts(rows: list[dict[str, Any]], by_machine: bool = False) -> Any:
    findings = Findings()
    findings.add("w", ATTRIBUTE.at(), judgement_agreement(pd.DataFrame(rows)))
    return judgement_facts(findings, "w", by_machine)


def judged(wrong: dict[str, set[tuple[int, int]]], good: int = 12) -> list[dict[str, Any]]:
    """Twenty parts, the first `good` of them good, judged twice by each; `wrong` names part and trial."""
    return [
        {
            "part": part,
            "trial": trial,
            "appraiser": who,
            "reference": part < good,
            "judgement": (part < good) != ((part, trial) in errors),
        }
        for who, errors in wrong.items()
        for part in range(20)
        for trial in (1, 2)
    ]


def test_each_rate_is_that_of_whoever_has_the_worst() -> None:
    """Ann passes 2 of 16 bad ones, Ben stops 3 of 24 good ones; right in both trials: 18, 17 and 20 of 20 parts."""
    errors = {"Ann": {(12, 1), (13, 1)}, "Ben": {(0, 1), (1, 2), (2, 2)}, "Cy": set()}
    found = facts(judged(errors))
    assert found.miss.estimate == pytest.approx(2 / 16)
    assert found.false_alarm.estimate == pytest.approx(3 / 24)
    assert found.effectiveness.estimate == pytest.approx(17 / 20)
    assert found.who == {
        "miss": "Ann",
        "false_alarm": "Ben",
        "effectiveness": "Ben",
        "kappa": "Ben",
    }
    # Parts always judged right by everyone: 20 less the five that someone erred on.
    assert found.team_effectiveness.estimate == pytest.approx(15 / 20)
    assert (found.parts, found.trials, found.good, found.bad) == (20, 2, 12, 8)
    assert found.appraisers == 3


def test_the_order_of_rows_says_nothing_of_two_who_are_equally_bad() -> None:
    errors: dict[str, set[tuple[int, int]]] = {"Zoe": {(12, 1)}, "Ann": {(13, 1)}}
    rows = judged(errors)
    assert facts(rows).who == facts(rows[::-1]).who
    assert facts(rows).who["miss"] == "Ann"


def test_who_judged_is_told_as_it_is_known() -> None:
    rows = judged({"x": {(0, 1)}})
    unnamed = [{key: value for key, value in row.items() if key != "appraiser"} for row in rows]
    assert facts(rows).appraisers == 1
    assert facts(unnamed).appraisers == 0
    assert facts(unnamed, by_machine=True).appraisers is None


def test_parts_all_good_leave_the_miss_rate_unknown_and_not_nought() -> None:
    found = facts(judged({"Ann": set(), "Ben": {(0, 1)}}, good=20))
    assert isinstance(found.miss, Absent)
    assert isinstance(found.false_alarm, Interval)
    assert (found.good, found.bad) == (20, 0)


def test_without_a_study_the_reason_is_handed_on() -> None:
    none = judgement_facts(Findings(), "w")
    assert none.miss == Absent("no judgements were submitted")
    findings = Findings()
    findings.add("w", ATTRIBUTE.at(), Unjudged("Judgements", "One part was judged."))
    refused = judgement_facts(findings, "w")
    assert refused.effectiveness == refused.kappa == Absent("One part was judged")
    assert refused.parts == 0
