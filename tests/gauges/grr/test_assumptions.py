"""What a crossed study assumes: against statsmodels and SciPy, and how often the tests alarm for nothing."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy.stats import spearmanr

from linestudy.gauges import grr_anova
from linestudy.gauges.grr.assumptions import equal_repeatability, shares_of_freedom


def frame(cube: np.ndarray, names: bool = True) -> pd.DataFrame:
    at = np.indices(cube.shape).reshape(3, -1)
    data = pd.DataFrame({"part": at[0], "appraiser": at[1], "value": cube.ravel()})
    return data.assign(trial=at[2]) if names else data


def study_of(seed: int, drift: float = 0.0, growth: float = 0.0) -> pd.DataFrame:
    rng = np.random.default_rng(seed)
    parts = np.linspace(1, 10, 10)[:, None, None]
    spread = 0.1 * (1 + growth * (parts - 1))
    return frame(parts + drift * np.arange(3) + rng.normal(0, 1, (10, 3, 3)) * spread)


@pytest.mark.checks("F of trials in a crossed study", source="statsmodels, anova_lm")
@pytest.mark.parametrize("lost", [0, 7])
def test_trials_against_statsmodels(lost: int) -> None:
    import statsmodels.formula.api as smf
    from statsmodels.stats.anova import anova_lm

    data = study_of(3, drift=0.03).drop(index=range(lost))
    found = grr_anova(data, draws=0, method="mls").trial_effect
    cells = data.assign(cell=data["part"].astype(str) + "," + data["appraiser"].astype(str))
    fits = [smf.ols(f"value ~ C(cell){more}", cells).fit() for more in ("", " + C(trial)")]
    row = anova_lm(*fits).iloc[1]
    assert found is not None
    assert found.statistic == pytest.approx(row["F"], rel=1e-9)
    assert found.p == pytest.approx(row["Pr(>F)"], rel=1e-8)
    effects = [0.0, *(fits[1].params[f"C(trial)[T.{k}]"] for k in (1, 2))]
    assert found.range == pytest.approx(np.ptp(effects), rel=1e-9)


@pytest.mark.checks("rank correlation of spread and size", source="scipy.stats.spearmanr")
def test_size_against_scipy() -> None:
    data = study_of(4, growth=0.5)
    cells = data.groupby(["part", "appraiser"])["value"].agg(["mean", "std"])
    expected = spearmanr(cells["mean"], cells["std"])
    found = grr_anova(data, draws=0, method="mls").size_effect
    assert found is not None
    assert found.rank_correlation == pytest.approx(expected.statistic, rel=1e-9)
    assert found.p == pytest.approx(expected.pvalue, rel=1e-9)


def test_what_happened_is_told() -> None:
    moving = grr_anova(study_of(5, drift=0.2), unit="mm")
    assert any("The trials differ" in note and "mm apart" in note for note in moving.cautions)
    growing = grr_anova(study_of(5, growth=0.8))
    assert any("scatter more on larger parts" in note for note in growing.cautions)
    still = grr_anova(study_of(5))
    assert not any("trials differ" in note or "scatter" in note for note in still.cautions)


def test_a_study_without_trials_says_nothing_of_them() -> None:
    cube = np.random.default_rng(1).normal(size=(6, 2, 2)) + np.arange(6)[:, None, None]
    assert grr_anova(frame(cube, names=False)).trial_effect is None


@pytest.mark.proof
def test_false_alarms_at_their_level() -> None:
    """1,000 sound studies; standard error 0.7 points at the nominal 5 %."""
    trials, sizes = [], []
    for seed in range(1000):
        found = grr_anova(study_of(seed), draws=0, method="mls")
        assert found.trial_effect is not None
        assert found.size_effect is not None
        trials.append(found.trial_effect.p < 0.05)
        sizes.append(found.size_effect.p < 0.05)
    assert 0.03 < np.mean(trials) < 0.07
    assert 0.03 < np.mean(sizes) < 0.07


def test_readings_that_are_all_equal_have_no_spread_of_last_digits() -> None:
    """A good gauge with coarse steps reads each part the same; the mean of equal decimals is not always that decimal."""
    cube = np.repeat(np.round(6.2 + 0.005 * np.arange(10), 3), 9).reshape(10, 3, 3)
    study = grr_anova(frame(cube), draws=0, method="mls")
    assert study.equal_repeatability is None
    assert study.trial_effect is None


def test_trials_of_one_appraiser_and_readings_that_are_not_independent_are_told() -> None:
    rng = np.random.default_rng(6)
    parts, own = np.linspace(1, 10, 10)[:, None, None], rng.normal(0, 0.1, (10, 3, 3))
    one = (
        own
        + 0.15 * np.arange(3) * (np.arange(3) == 1)[:, None]
        - 0.15 * (np.arange(3) == 1)[:, None]
    )
    notes = grr_anova(frame(parts + one)).cautions
    assert any("The trials" in note and ("of 1 " in note or "those of 1" in note) for note in notes)
    remembered = 0.1 * rng.normal(size=(10, 3, 1)) + 0.2 * own
    assert any(
        "Part × appraiser is significant" in n
        for n in grr_anova(frame(parts + remembered)).cautions
    )
    balanced = own - own.mean(axis=2, keepdims=True)
    assert any(
        "closer together" in n for n in grr_anova(frame(parts + balanced + 0.001 * own)).cautions
    )


def test_dependence_is_not_seen_in_honest_studies() -> None:
    words = ("single appraisers", "Part × appraiser is", "closer together")
    told = [
        any(
            word in note
            for note in grr_anova(study_of(seed), draws=0, method="mls").cautions
            for word in words
        )
        for seed in range(100)
    ]
    assert sum(told) <= 8


@pytest.mark.parametrize(("people", "sds"), [(3, (1, 1, 3)), (2, (1, 4))])
def test_an_appraiser_who_repeats_worse_moves_nothing_and_reads_no_part_differently(
    people: int, sds: tuple[float, ...]
) -> None:
    said = {"single appraisers": 0, "Part × appraiser": 0, "heavier tails": 0, "equally well": 0}
    for seed in range(40):
        rng = np.random.default_rng(seed)
        cube = (
            5 * rng.normal(size=(10, 1, 1))
            + rng.normal(size=(10, people, 3)) * np.array(sds)[:, None]
        )
        notes = " ".join(grr_anova(frame(cube), draws=0, method="mls").cautions)
        for words in said:
            said[words] += words in notes
    assert said.pop("equally well") > 35
    # One in a hundred each; three of forty allow for chance.
    assert max(said.values()) <= 3


def test_freedom_of_unequal_appraisers_is_boxes() -> None:
    # Two with variances 1 and 3 leave one difference: all of its freedom, and (1 + 3)^2 / (1 + 9) / 2 of the error's.
    signs = np.array([-1.0, 1.0]) / 2**0.5
    cube = np.arange(20.0)[:, None, None] + np.stack([signs, signs * 3**0.5])[None]
    layout = grr_anova(frame(cube), draws=0, method="mls").layout
    equal = equal_repeatability(layout, 0.95)
    assert equal is not None
    assert shares_of_freedom(layout, equal) == pytest.approx((1.0, 0.8))
    assert shares_of_freedom(layout, None) == (1.0, 1.0)
