"""Predicted rejects against a simulated line whose camera sorts, and against bins that do not fit."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from linestudy.capability import bin_counts, reject_balance
from linestudy.gauges import conformity_risk
from linestudy.results import CannotJudge, Findings, Interval, Unjudged


def risks(sd: float) -> Findings:
    findings = Findings()
    size = Interval(0.3, 0.28, 0.33, 0.95, "chi-square")
    for key, middle in (("a", 0.0), ("b", 0.4)):
        draws = [(stats.norm(middle, s).pdf, middle, s, 0.3) for s in (0.98 * sd, sd, 1.02 * sd)]
        findings.add(
            key,
            ("gauges", "camera", "conformity_risk"),
            conformity_risk(stats.norm(middle, sd).pdf, middle, sd, size, -3.0, 3.0, truths=draws),
        )
    return findings


def counts(rejected: int, total: int = 200_000) -> object:
    return bin_counts(
        pd.DataFrame({"period": ["1"], "accepted": [total - rejected], "rejected": [rejected]})
    )


def test_a_simulated_camera_rejects_what_is_predicted() -> None:
    # Truth known: true values and gauge errors drawn, parts sorted by the reading.
    rng = np.random.default_rng(3)
    n, sd = 200_000, 1.1
    true = np.sqrt(sd**2 - 0.3**2)
    out = np.zeros(n, dtype=bool)
    for middle in (0.0, 0.4):
        out |= np.abs(middle + rng.normal(0, true, n) + rng.normal(0, 0.3, n)) > 3.0
    found = reject_balance(risks(sd), {"a": "A", "b": "B"}, counts(int(out.sum())))
    assert found.agrees_with_bins
    assert found.predicted.estimate == pytest.approx(out.mean(), rel=0.05)
    assert "they agree" in found.statement
    assert found.figure().alt_text.startswith("Predicted and observed")


@pytest.mark.parametrize(("rejected", "words"), [(9000, "another reason"), (10, "fewer")])
def test_disagreement_is_said(rejected: int, words: str) -> None:
    found = reject_balance(risks(1.1), {"a": "A", "b": "B", "c": "C"}, counts(rejected))
    assert not found.agrees_with_bins
    assert words in found.statement
    assert any("1 characteristic" in note for note in found.cautions)


def test_nothing_to_predict_from_is_said() -> None:
    with pytest.raises(CannotJudge, match="No risk"):
        reject_balance(Findings(), {"a": "A"}, counts(3))


def test_a_log_of_accepted_parts_says_nothing_of_what_was_rejected() -> None:
    none = Interval(0.0, 0.0, 0.001, 0.95, "exact")
    findings = Findings()
    for key in "ab":
        path = ("gauges", "camera", "conformity_risk")
        seen = replace(risks(1.1).get(key, *path), observed=SimpleNamespace(p_rejected=none))
        findings.add(key, path, seen)
    findings.add("a", ("capability", "before_sorting"), Unjudged("Before sorting", "an example"))
    a, b = reject_balance(findings, {"a": "A", "b": "B"}, counts(300)).by_characteristic
    assert (a.observed, b.observed) == (None, none)
    assert a.predicted.estimate > 0
