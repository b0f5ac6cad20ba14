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
    with pytest.raises(CannotJudge, match="B judged one part only"):
        judgement_agreement(table)


def test_cohens_kappa_of_the_rates_is_statsmodels() -> None:
    from statsmodels.stats.inter_rater import cohens_kappa

    data = judged(np.linspace(-1, 1, 40), 0.2, appraisers={"A": (0.1, 0.5)}, trials=3, seed=5)
    a, b = data["judgement"].to_numpy(), data["reference"].to_numpy()
    table = np.array([[np.sum((a == i) & (b == j)) for j in (0, 1)] for i in (0, 1)])
    kappa = judgement_agreement(data).kappa_with_reference["A"]
    assert isinstance(kappa, Interval)
    assert kappa.estimate == pytest.approx(float(cohens_kappa(table).kappa), rel=1e-12)
    # Three judgements of a part tell less than three parts: wider than the large-sample interval.
    assert kappa.high - kappa.low > 1.2 * 3.92 * float(cohens_kappa(table).std_kappa)


def test_kappa_between_people_compares_nobody_with_themselves() -> None:
    # Two who always agree with themselves, five trials each: Cohen's kappa of one against the other.
    from statsmodels.stats.inter_rater import cohens_kappa

    draw = np.random.default_rng(2)
    first = draw.random(40) < 0.6
    second = np.where(draw.random(40) < 0.75, first, ~first)
    data = pd.DataFrame(
        {
            "part": np.tile(np.arange(40), 10),
            "appraiser": np.repeat(["A", "B"], 200),
            "judgement": np.concatenate([np.tile(first, 5), np.tile(second, 5)]),
        }
    )
    table = np.array([[np.sum((first == i) & (second == j)) for j in (0, 1)] for i in (0, 1)])
    study = judgement_agreement(data)
    assert isinstance(study.kappa_between, Interval)
    assert study.kappa_between.estimate == pytest.approx(float(cohens_kappa(table).kappa))
    assert study.kappa_pairs["A and B"] == study.kappa_between


def test_kappa_of_three_people_is_congers() -> None:
    # Conger 1980, eq. 6, written out for one judgement each: mean agreement of pairs against mean chance.
    data = judged(
        np.linspace(-1, 1, 30),
        0.0,
        appraisers={"A": (0.0, 0.5), "B": (0.3, 0.5), "C": (-0.2, 0.9)},
        trials=1,
        seed=7,
    )
    wide = data.pivot(index="part", columns="appraiser", values="judgement").astype(float)
    seen, chance = [], []
    for a, b in (("A", "B"), ("A", "C"), ("B", "C")):
        seen.append((wide[a] == wide[b]).mean())
        chance.append(wide[a].mean() * wide[b].mean() + (1 - wide[a].mean()) * (1 - wide[b].mean()))
    expected = (np.mean(seen) - np.mean(chance)) / (1 - np.mean(chance))
    assert judgement_agreement(data).kappa_between.estimate == pytest.approx(expected)


@pytest.mark.parametrize("trials", [1, 3])
def test_no_interval_has_zero_width_where_nobody_errs(trials: int) -> None:
    reference = np.arange(12) % 2 == 0
    data = pd.DataFrame(
        [
            {"part": p, "appraiser": who, "judgement": reference[p], "reference": reference[p]}
            for p in range(12)
            for who in "AB"
            for _ in range(trials)
        ]
    )
    study = judgement_agreement(data)
    intervals = [
        study.effectiveness["A"],
        study.miss["A"],
        study.false_alarm["A"],
        study.kappa_with_reference["A"],
        study.kappa_between,
        study.between,
        study.team.effectiveness,
        study.team.miss,
        study.team.false_alarm,
    ]
    for one in intervals:
        assert isinstance(one, Interval)
        assert one.high - one.low > 0.1
    # Judged three times or once: no more is known of the parts that were not there.
    assert study.miss["A"].high == pytest.approx(1 - 0.025 ** (1 / 6))


def test_incomplete_judgements_are_used_as_far_as_they_go() -> None:
    data = judged(
        np.linspace(-1, 1, 30), 0.0, appraisers={"A": (0.0, 0.3), "B": (0.1, 0.6)}, trials=2, seed=3
    )
    whole = judgement_agreement(data)
    few = data.drop(index=data.index[[0, 5, 17]])
    few = few[~((few["appraiser"] == "B") & (few["part"] == few["part"].iloc[-1]))]
    part = judgement_agreement(few)
    assert part.incomplete == 5
    assert part.trials == whole.trials == 2
    assert any("5 judgements are missing" in note for note in part.cautions)
    own = few[few["appraiser"] == "B"]
    bad = own[~own["reference"]]
    assert part.miss["B"].estimate == pytest.approx(bad["judgement"].mean())
    unknown = data.astype({"judgement": object})
    unknown.loc[unknown.index[3], "judgement"] = None
    assert judgement_agreement(unknown).incomplete == 1


def test_the_team_is_right_where_everyone_is() -> None:
    data = judged(
        np.linspace(-1, 1, 30), 0.0, appraisers={"A": (0.0, 0.3), "B": (0.1, 0.6)}, trials=2, seed=3
    )
    study = judgement_agreement(data)
    right = (data["judgement"] == data["reference"]).groupby(data["part"]).all()
    assert study.team.effectiveness.estimate == pytest.approx(right.mean())
    assert study.team.effectiveness.estimate <= min(
        one.estimate for one in study.effectiveness.values()
    )


def test_a_judgement_entered_twice_is_refused_and_spoils_no_count() -> None:

    rows = [(p, who, t, p < 20, p < 20) for p in range(40) for who in "AB" for t in (1, 2)]
    table = pd.DataFrame(rows, columns=["part", "appraiser", "trial", "judgement", "reference"])
    doubled = pd.concat([table, table.head(2)])
    with pytest.raises(CannotJudge, match="judged twice"):
        judgement_agreement(doubled)
    # Without the names of the trials it is one part that was judged more often.
    found = judgement_agreement(doubled.drop(columns="trial"))
    assert found.incomplete == 0
    assert found.at_worst is None
    less = judgement_agreement(table.drop(index=[0, 6]))
    assert less.incomplete == 2
    assert less.at_worst is not None
    assert less.at_worst.false_alarm == pytest.approx(1 / 40)


def test_who_accepts_everything_or_judges_the_other_way_is_named() -> None:
    rng = np.random.default_rng(3)
    part, who = (at.ravel() for at in np.indices((40, 3)))
    good = rng.uniform(size=40)[part] > 0.4
    judged = np.where(who == 0, True, np.where(who == 1, ~good, good))
    data = pd.DataFrame(
        {"part": part, "appraiser": np.array(list("ABC"))[who], "judgement": judged}
    )
    notes = judgement_agreement(data.assign(reference=good)).cautions
    assert any(n.startswith("A accepted every part though the reference has both") for n in notes)
    assert any(n.startswith("B judges against the reference") for n in notes)
    assert not any(n.startswith("C ") for n in notes)
