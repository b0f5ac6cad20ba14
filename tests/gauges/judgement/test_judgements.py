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

    data = judged(np.linspace(-1, 1, 40), 0.0, appraisers={"A": (0.0, 0.4)}, trials=1, seed=3)
    study = judgement_agreement(data)
    errors = int((data["judgement"] & ~data["reference"]).sum())
    expected = binomtest(errors, int((~data["reference"]).sum())).proportion_ci(0.95, "exact")
    assert study.miss["A"].low == pytest.approx(expected.low, abs=1e-12)
    assert study.miss["A"].high == pytest.approx(expected.high, abs=1e-12)


def test_a_worse_appraiser_is_seen_and_names_do_not_matter() -> None:
    quality = np.random.default_rng(1).normal(0, 1, 60)
    data = judged(
        quality, 0.0, appraisers={"good": (0.0, 0.05), "poor": (0.0, 0.8)}, trials=2, seed=1
    )
    study = judgement_agreement(data)
    assert study.kappa_with_reference["good"].estimate > study.kappa_with_reference["poor"].estimate
    other = judgement_agreement(
        data.sample(frac=1, random_state=1).assign(part=lambda d: "x" + d["part"])
    )
    assert other.kappa_between.estimate == pytest.approx(study.kappa_between.estimate)


def test_one_sided_mix_is_cautioned() -> None:
    data = judged(
        np.full(30, 1.0), 0.0, appraisers={"A": (0.0, 0.1), "B": (0.0, 0.1)}, trials=2, seed=1
    )
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


def test_both_ends_of_cohens_kappa_against_the_large_sample_formula() -> None:
    # Fleiss, Cohen & Everitt, *Psychological Bulletin* 72 (1969), 323-327: variance of kappa, written out.
    rng = np.random.default_rng(5)
    reference = rng.uniform(size=80) < 0.5
    judgement = np.where(rng.uniform(size=80) < 0.85, reference, ~reference)
    data = pd.DataFrame({"part": np.arange(80), "judgement": judgement, "reference": reference})
    kappa = judgement_agreement(data).kappa_with_reference["the judgement"]
    assert isinstance(kappa, Interval)
    p = np.array([[np.mean((judgement == i) & (reference == j)) for j in (0, 1)] for i in (0, 1)])
    rows, columns, seen = p.sum(axis=1), p.sum(axis=0), np.trace(p)
    chance = rows @ columns
    value = (seen - chance) / (1 - chance)
    a = sum(p[i, i] * (1 - (rows[i] + columns[i]) * (1 - value)) ** 2 for i in (0, 1))
    b = (1 - value) ** 2 * sum(
        p[i, j] * (columns[i] + rows[j]) ** 2 for i in (0, 1) for j in (0, 1) if i != j
    )
    c = (value - chance * (1 - value)) ** 2
    half = 1.959963984540054 * np.sqrt((a + b - c) / (80 * (1 - chance) ** 2))
    assert kappa.estimate == pytest.approx(value, rel=1e-12)
    assert (kappa.low, kappa.high) == pytest.approx((value - half, value + half), rel=1e-9)


def test_both_ends_of_fleiss_kappa_by_a_jackknife_written_out() -> None:
    # Fleiss 1971 by hand for each subset of parts: mean agreement within parts against chance.
    from scipy.stats import t

    data = judged(
        np.linspace(-1, 1, 25), 0.0, appraisers={"A": (0.0, 0.4), "B": (0.1, 0.4)}, trials=2, seed=3
    )
    counts = data.groupby("part")["judgement"].agg(["sum", "size"]).to_numpy()

    def kappa(rows: np.ndarray) -> float:
        yes, n = rows[:, 0], rows[0, 1]
        within = np.mean((yes * (yes - 1) + (n - yes) * (n - yes - 1)) / (n * (n - 1)))
        share = yes.sum() / (len(rows) * n)
        chance = share**2 + (1 - share) ** 2
        return float((within - chance) / (1 - chance))

    whole = kappa(counts)
    n = len(counts)
    pseudo = [n * whole - (n - 1) * kappa(np.delete(counts, i, axis=0)) for i in range(n)]
    half = t.ppf(0.975, n - 1) * np.std(pseudo, ddof=1) / np.sqrt(n)
    found = judgement_agreement(data).kappa_between
    assert isinstance(found, Interval)
    assert (found.estimate, found.low, found.high) == pytest.approx(
        (whole, whole - half, whole + half), rel=1e-9
    )
