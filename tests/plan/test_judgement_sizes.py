"""Parts for a study of judgements, held against studies judged by the kit's own rates."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from linestudy.gauges.judgement.rates import rates_by_part
from linestudy.plan import judgement_study_size
from linestudy.results import CannotJudge


def passes(wrong: np.ndarray, allowed: float, basis: str) -> bool:
    """What the verdict would say of one appraiser who misjudges these bad parts, each the same twice."""
    n = wrong.size
    table = pd.DataFrame({
        "part": np.repeat(np.arange(n), 2),
        "judgement": np.repeat(wrong, 2),
        "reference": np.zeros(2 * n, dtype=bool),
    })  # fmt: skip
    miss = rates_by_part(table, 0.95).miss
    return bool((miss.estimate if basis == "estimate" else miss.high) <= allowed + 1e-9)  # type: ignore[union-attr]


@pytest.mark.parametrize("basis", ["lower bound", "estimate"])
def test_a_plan_keeps_its_promise(basis: str) -> None:
    found = judgement_study_size(
        true_wrong=0.02,
        allowed_wrong=0.10,
        appraisers=2,
        decide_on=basis,  # type: ignore[arg-type]
    )
    rng = np.random.default_rng(5)
    passed = [
        all(passes(rng.random(found.n) < 0.02, 0.10, basis) for _ in range(2)) for _ in range(50)
    ]
    planned = next(one.chance for one in found.chances if one.n == found.n)
    assert planned >= 0.8
    # Four standard errors of 50 studies; the clustered interval is never wider than the plan's.
    assert np.mean(passed) > planned - 4 * np.sqrt(planned * (1 - planned) / 50)


def test_nothing_misjudged_is_the_rule_of_the_zero_count() -> None:
    """With no error at all n parts show less than 1 - 0.025^(1/n) (zero of n, by hand)."""
    n = judgement_study_size(true_wrong=0.0, allowed_wrong=0.02).n
    assert 1 - 0.025 ** (1 / n) <= 0.02 < 1 - 0.025 ** (1 / (n - 1))
    assert judgement_study_size(true_wrong=0.0, allowed_wrong=0.02).figure().alt_text


def test_every_larger_number_passes_too() -> None:
    found = judgement_study_size(true_wrong=0.005, allowed_wrong=0.02, decide_on="estimate")
    # 50 to 99 parts allow one wrong; 99 of them are too many for it and 100 allow two.
    assert found.n == 100
    assert "bad parts" in found.statement


def test_what_no_study_shows() -> None:
    with pytest.raises(CannotJudge, match="does not lie below"):
        judgement_study_size(true_wrong=0.02, allowed_wrong=0.02)
    with pytest.raises(CannotJudge, match="More than"):
        judgement_study_size(true_wrong=0.0199, allowed_wrong=0.02, largest=2000)
