"""Rules on crossed studies: what they say on either side of their criterion."""

from __future__ import annotations

from typing import Any

import pytest

from linestudy.verdict.criteria import resolve
from linestudy.verdict.facts import CharacteristicFacts
from linestudy.verdict.measurement_facts import GaugeFacts
from linestudy.verdict.rules.crossing import missing, over_time, study_size, two_studies

APPROVAL, SUPPORTS, NONE = "customer approval required", "supports", "no evidence"


@pytest.mark.parametrize(
    ("rule", "facts", "effect"),
    [
        (missing, {}, NONE),
        (missing, {"missing": 2, "missing_share": 0.099}, SUPPORTS),
        (missing, {"missing": 2, "missing_share": 0.101}, APPROVAL),
        (over_time, {}, NONE),
        (over_time, {"over_time_p": 0.01, "over_time_share": 0.4}, SUPPORTS),
        (over_time, {"over_time_p": 1e-6, "over_time_share": 0.09}, SUPPORTS),
        (over_time, {"over_time_p": 1e-6, "over_time_share": 0.11}, APPROVAL),
        (study_size, {}, NONE),
        (study_size, {"parts": 5, "appraisers": 2, "repeat_df": 10.0}, SUPPORTS),
        (study_size, {"parts": 5, "appraisers": 2, "repeat_df": 9.0}, APPROVAL),
        (two_studies, {"repeat_p": 0.002, "repeat_ratio": 2.0}, SUPPORTS),
        (two_studies, {"repeat_p": 0.0005, "repeat_ratio": 2.0}, APPROVAL),
    ],
)
def test_either_side_of_the_criterion(rule: Any, facts: dict[str, Any], effect: str) -> None:
    found = rule(CharacteristicFacts(gauge=GaugeFacts(name="camera", **facts)), resolve())
    assert found.effect == effect
    assert effect == NONE or found.reason.startswith("camera: ")


def test_what_is_counted_is_said() -> None:
    facts = GaugeFacts(name="camera", missing=1, missing_share=0.12)
    said = missing(CharacteristicFacts(gauge=facts), resolve()).reason
    assert "1 reading of the crossed study missing; three standard deviations off" in said
    assert "complete the study, or customer approval required" in said
