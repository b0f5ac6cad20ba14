"""Judgements: kappa by hand and statsmodels, exact binomial intervals by SciPy."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from linestudy.gauges import judgement_agreement
from linestudy.results import Absent, CannotJudge, Interval
from linestudy.simulate import judged


def test_kappa_against_statsmodels_and_by_hand() -> None:
    # Twenty parts: agreement 17 of 20 with 12 and 11 accepted. By hand p_e = 0.51, kappa = 0.6939.
    judgement = [True] * 10 + [False] * 7 + [True] * 2 + [False]
    reference = [True] * 10 + [False] * 7 + [False] * 2 + [True]
    data = pd.DataFrame(
        {
            "part": [str(i) for i in range(20)],
            "appraiser": "A",
            "judgement": judgement,
            "reference": reference,
        }
    )
    study = judgement_agreement(data)
    kappa = study.kappa_with_reference["A"]
    assert isinstance(kappa, Interval)
    assert kappa.estimate == pytest.approx((0.85 - 0.51) / (1 - 0.51), rel=1e-9)
    assert study.miss["A"].estimate == pytest.approx(2 / 9)
    assert study.false_alarm["A"].estimate == pytest.approx(1 / 11)


def test_clopper_pearson_is_scipys() -> None:
    from scipy.stats import binomtest

    data = judged(np.linspace(-1, 1, 40), 0.0, {"A": (0.0, 0.4)}, 1, seed=3)
    study = judgement_agreement(data)
    errors = int((data["judgement"] & ~data["reference"]).sum())
    expected = binomtest(errors, int((~data["reference"]).sum())).proportion_ci(0.95, "exact")
    assert study.miss["A"].low == pytest.approx(expected.low, abs=1e-12)
    assert study.miss["A"].high == pytest.approx(expected.high, abs=1e-12)


def test_a_worse_appraiser_is_seen_and_names_do_not_matter() -> None:
    quality = np.random.default_rng(1).normal(0, 1, 60)
    data = judged(quality, 0.0, {"good": (0.0, 0.05), "poor": (0.0, 0.8)}, 2, seed=1)
    study = judgement_agreement(data)
    assert study.kappa_with_reference["good"].estimate > study.kappa_with_reference["poor"].estimate
    other = judgement_agreement(
        data.sample(frac=1, random_state=1).assign(part=lambda d: "x" + d["part"])
    )
    assert other.kappa_between.estimate == pytest.approx(study.kappa_between.estimate)


def test_one_sided_mix_is_cautioned() -> None:
    data = judged(np.full(30, 1.0), 0.0, {"A": (0.0, 0.1), "B": (0.0, 0.1)}, 2, seed=1)
    study = judgement_agreement(data)
    assert isinstance(study.kappa_with_reference["A"], Absent)
    assert isinstance(study.miss["A"], Absent)
    assert any("one-sided" in note for note in study.cautions)


def test_judgements_that_say_nothing_are_refused() -> None:
    with pytest.raises(CannotJudge, match="one part"):
        judgement_agreement(pd.DataFrame({"part": ["1"], "judgement": [True]}))
    table = pd.DataFrame({"part": list("abb"), "appraiser": list("AAB"), "judgement": True})
    with pytest.raises(CannotJudge, match="did not judge"):
        judgement_agreement(table)
