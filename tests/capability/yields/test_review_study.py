"""What a review says of the verdict: the population's rates from groups drawn at different shares, on known truth."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
import pytest

from linestudy.capability import ReviewSheet, camera_judgements, review_of_verdicts
from linestudy.capability.yields.review_sample import GROUPS
from linestudy.gauges import judgement_agreement
from linestudy.results import CannotJudge, Interval


def sheet(made: dict[str, int], each: int) -> ReviewSheet:
    group = np.repeat(GROUPS, each)
    parts = pd.DataFrame(
        {
            "part": [str(k) for k in range(group.size)],
            "group": group,
            "accepted": group != "rejected",
            "picture": "",
        }
    )
    return ReviewSheet(parts, made, made, (), Path(), {})


def said(bad: Any, appraiser: str = "Ada") -> pd.DataFrame:
    words = np.where(bad, "reject", "accept")
    return pd.DataFrame(
        {"part": [str(k) for k in range(len(words))], "appraiser": appraiser, "judgement": words}
    )


MADE = dict(zip(GROUPS, (200, 800, 9000), strict=True))


def test_rates_of_the_run_are_weighed_by_what_was_made() -> None:
    """By hand: 5 of 20 rejected are good, 2 of 20 near are bad, none of the others."""
    bad = np.zeros(60, dtype=bool)
    bad[:15] = True
    bad[20:22] = True
    found = review_of_verdicts(sheet(MADE, 20), said(bad))
    assert isinstance(found.escapes, Interval)
    assert found.escapes.estimate == pytest.approx(1e6 * 0.1 * 800 / 10000)
    assert isinstance(found.overkill, Interval)
    assert found.overkill.estimate == pytest.approx(1e6 * 0.25 * 200 / 10000)
    assert isinstance(found.miss, Interval)
    assert found.miss.estimate == pytest.approx(80 / (80 + 150))
    assert isinstance(found.false_alarm, Interval)
    assert found.false_alarm.estimate == pytest.approx(50 / (50 + 9720))
    assert [group.contradicted for group in found.groups] == [5, 2, 0]
    assert "1 appraiser looked at 60 parts." in found.statement


def test_the_truth_lies_in_the_intervals() -> None:
    """300 reviews of a run of known truth: conservative, for the ends are Clopper and Pearson's."""
    rng = np.random.default_rng(1)
    truth = np.array([0.7, 0.2, 0.01])
    made = np.array(list(MADE.values()))
    escapes = float(truth[1] * 800 + truth[2] * 9000) / 1e4
    overkill = (1 - truth[0]) * 200 / 1e4
    miss = escapes / (escapes + truth[0] * 200 / 1e4)
    held = np.zeros(3)
    for _ in range(300):
        bad = rng.random(120) < np.repeat(truth, 40)
        found: Any = review_of_verdicts(sheet(MADE, 40), said(bad))
        held += [
            1e6 * escapes in found.escapes,
            1e6 * overkill in found.overkill,
            miss in found.miss,
        ]
    assert made.sum() == 10000
    assert (held / 300 > 0.94).all()


def test_the_majority_is_the_reference_and_a_tie_rejects() -> None:
    one, other = np.zeros(60, dtype=bool), np.zeros(60, dtype=bool)
    other[30] = True
    both = pd.concat([said(one), said(other, "Bo")])
    found = review_of_verdicts(sheet(MADE, 20), both)
    assert found.disagreed == 1
    assert found.groups[1].contradicted == 1
    assert "do not agree on 1 part;" in " ".join(found.cautions)
    third = pd.concat([both, said(one, "Cy")])
    assert review_of_verdicts(sheet(MADE, 20), third).groups[1].contradicted == 0


def test_more_escapes_than_measurement_error_makes_are_said() -> None:
    bad = np.zeros(60, dtype=bool)
    bad[:30] = True
    bound = SimpleNamespace(high=1e-4)
    risks: Any = {"w": SimpleNamespace(false_accept=bound, false_reject=bound)}
    found = review_of_verdicts(sheet(MADE, 20), said(bad), risks=risks)
    assert found.expected_ppm == pytest.approx(200)
    assert any("More escapes" in note for note in found.cautions)


def test_it_is_an_attribute_study_of_the_camera() -> None:
    bad = np.zeros(60, dtype=bool)
    bad[:18] = True
    bad[20:22] = True
    table = camera_judgements(sheet(MADE, 20), said(bad), camera="Camera at the die")
    found = judgement_agreement(table)
    assert found.appraisers == ("Camera at the die",)
    miss: Any = found.miss["Camera at the die"]
    assert miss.estimate == pytest.approx(2 / 20)


def test_what_is_no_judgement_is_refused() -> None:
    with pytest.raises(CannotJudge):
        review_of_verdicts(sheet(MADE, 20), said(np.zeros(60, dtype=bool)).assign(judgement=""))
    with pytest.raises(ValueError, match="accept and reject"):
        review_of_verdicts(
            sheet(MADE, 20), said(np.zeros(60, dtype=bool)).assign(judgement="maybe")
        )
    half = review_of_verdicts(sheet(MADE, 20), said(np.zeros(20, dtype=bool)))
    assert not isinstance(half.escapes, Interval)
