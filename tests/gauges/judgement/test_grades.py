"""Judgements in grades: weighted kappa by scikit-learn's formula and statsmodels, Kendall's W by SciPy's Friedman."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from linestudy.gauges import graded_agreement
from linestudy.results import Absent, CannotJudge, Interval


def graded(seed: int, parts: int = 40, trials: int = 2, blur: float = 0.4) -> pd.DataFrame:
    """Parts graded by two people against three cuts of one quality; B sees them 0.3 worse."""
    draw = np.random.default_rng(seed)
    quality, cuts = draw.normal(size=parts), np.array([-0.8, 0.2, 1.0])
    rows = [
        (part, who, int(np.searchsorted(cuts, quality[part] + shift + blur * draw.normal())))
        for who, shift in (("A", 0.0), ("B", 0.3))
        for _ in range(trials)
        for part in range(parts)
    ]
    table = pd.DataFrame(rows, columns=["part", "appraiser", "grade"])
    return table.assign(reference_grade=np.searchsorted(cuts, quality)[table["part"]])


@pytest.mark.parametrize(("weights", "wt"), [("quadratic", "quadratic"), ("linear", "linear")])
def test_weighted_kappa_is_statsmodels(weights: str, wt: str) -> None:
    from statsmodels.stats.inter_rater import cohens_kappa

    data = graded(3, trials=1)
    wide = data.pivot(index="part", columns="appraiser", values="grade")
    counts = np.zeros((4, 4))
    np.add.at(counts, (wide["A"], wide["B"]), 1)
    expected = cohens_kappa(counts, wt=wt)
    found = graded_agreement(data, weights=weights).kappa_pairs["A and B"]
    assert isinstance(found, Interval)
    assert found.estimate == pytest.approx(float(expected.kappa), rel=1e-12)
    # The large-sample interval of Fleiss, Cohen and Everitt, which the jackknife must be near with 40 parts.
    assert found.high - found.low == pytest.approx(3.92 * float(expected.std_kappa), rel=0.35)


def test_concordance_is_friedmans_statistic() -> None:
    from scipy.stats import friedmanchisquare

    data = graded(5, parts=20, trials=1)
    third = data[data["appraiser"] == "A"].assign(appraiser="C", grade=lambda t: 3 - t["grade"])
    data = pd.concat([data, third])
    wide = data.pivot(index="part", columns="appraiser", values="grade").to_numpy()
    statistic, p = friedmanchisquare(*wide)
    found = graded_agreement(data).concordance
    assert found.chi_square == pytest.approx(float(statistic), rel=1e-12)
    assert found.p == pytest.approx(float(p), rel=1e-9)
    assert found.w == pytest.approx(float(statistic) / (3 * 19))


def test_with_oneself_no_trial_is_compared_with_itself() -> None:
    # By hand: three trials of which one differs by a grade: 2 of 3 pairs apart on each of half the parts.
    rows = [(p, "A", g) for p in range(10) for g in ((0, 0, 1) if p < 5 else (2, 2, 2))]
    found = graded_agreement(
        pd.DataFrame(rows, columns=["part", "appraiser", "grade"]), weights="linear"
    )
    chance = 2 * (1 / 3 * 1 / 6 * 1 + 1 / 3 * 1 / 2 * 2 + 1 / 6 * 1 / 2 * 1) / 2
    assert found.kappa_within["A"].estimate == pytest.approx(1 - (0.5 * 2 / 3 / 2) / chance)
    assert isinstance(found.kappa_between, Absent)


def test_full_agreement_has_an_interval() -> None:
    data = graded(1, blur=0.0)
    data = data[data["appraiser"] == "A"]
    twin = pd.concat([data, data.assign(appraiser="B")])
    for found in (
        *graded_agreement(twin).kappa_with_reference.values(),
        graded_agreement(twin).kappa_between,
    ):
        assert isinstance(found, Interval)
        assert found.estimate == 1.0
        assert 0.8 < found.low < 0.99


def test_who_grades_too_high_is_seen_and_missing_ones_are_counted() -> None:
    data = graded(8, parts=60)
    study = graded_agreement(data)
    assert isinstance(study.offset["B"], Interval)
    assert study.offset["B"].low > 0
    assert 0 in study.offset["A"]
    fewer = graded_agreement(data.iloc[5:])
    assert fewer.incomplete == 5
    assert "5 judgements are missing" in " ".join(fewer.cautions)
    shuffled = graded_agreement(data.sample(frac=1, random_state=4))
    assert shuffled.kappa_between.low == study.kappa_between.low
    renamed = graded_agreement(
        data.assign(
            **{c: np.array(["a", "b", "c", "d"])[data[c]] for c in ("grade", "reference_grade")}
        ),
        grades=("a", "b", "c", "d"),
    )
    assert renamed.kappa_between == study.kappa_between


def test_what_says_nothing_is_refused() -> None:
    data = graded(2)
    with pytest.raises(CannotJudge, match="same grade"):
        graded_agreement(data.assign(grade=1, reference_grade=1))
    with pytest.raises(CannotJudge, match="in two ways"):
        graded_agreement(data.assign(reference_grade=np.arange(len(data)) % 3))
    with pytest.raises(ValueError, match="none of the grades"):
        graded_agreement(data.assign(grade="odd"), grades=("a", "b", "c"))
    with pytest.raises(CannotJudge, match="2 parts"):
        graded_agreement(data[data["part"] < 2])


@pytest.mark.parametrize("weights", ["quadratic", "linear"])
def test_a_grade_that_nobody_uses_changes_no_agreement(weights: str) -> None:
    # Costs are counted in shares of the widest distance, which kappa does not hang on.
    data = graded(7)
    used = graded_agreement(data, grades=("none", "slight", "clear", "heavy"), weights=weights)
    more = ("none", "slight", "clear", "heavy", "split", "torn")
    named = graded_agreement(data, grades=more, weights=weights)
    for plain, other in (
        (used.kappa_between, named.kappa_between),
        (used.kappa_pairs["A and B"], named.kappa_pairs["A and B"]),
        *((used.kappa_with_reference[who], named.kappa_with_reference[who]) for who in "AB"),
    ):
        assert isinstance(plain, Interval)
        assert isinstance(other, Interval)
        ends = (plain.estimate, plain.low, plain.high)
        assert (other.estimate, other.low, other.high) == pytest.approx(ends, rel=1e-6)
    assert any("No part was judged split or torn" in note for note in named.cautions)
