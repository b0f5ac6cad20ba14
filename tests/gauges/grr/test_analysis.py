"""Crossed study: AIAG MSA 4th ed. (values from memory), statsmodels' table of variance."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.gauges import grr_anova, grr_anova_stack
from linestudy.results import Absent, CannotJudge, Interval
from linestudy.simulate import MeasuringSystem
from linestudy.simulate import crossed as simulate_crossed


@pytest.fixture(scope="module")
def aiag(published) -> pd.DataFrame:
    return pd.read_csv(published / "aiag_crossed" / "data" / "crossed.csv")


@pytest.fixture(scope="module")
def published(request: pytest.FixtureRequest):
    return request.config.rootpath / "sample_data" / "published"


def table(seed: int, parts: int = 10, appraisers: int = 3, trials: int = 3) -> pd.DataFrame:
    sizes = np.random.default_rng(seed).normal(10, 1, parts)
    people = tuple("ABCDEF"[:appraisers])
    return simulate_crossed(
        sizes, MeasuringSystem(0.3, 0.2), appraisers=people, trials=trials, seed=seed
    )


@pytest.mark.checks("crossed study", source="AIAG MSA, 4th ed. (2010), ch. III", memory=True)
def test_the_published_example(aiag: pd.DataFrame) -> None:
    # AIAG MSA, 4th ed. (2010), ch. III: printed values, from memory.
    study = grr_anova(aiag)
    ss = {row.source: row.ss for row in study.anova}
    assert ss["appraiser"] == pytest.approx(3.1673, abs=5e-5)
    assert ss["part"] == pytest.approx(88.3619, abs=5e-5)
    assert ss["part:appraiser"] == pytest.approx(0.3590, abs=5e-5)
    assert ss["repeatability"] == pytest.approx(2.7589, abs=5e-5)
    assert study.pooled_interaction
    sd = {name: item.sd.estimate for name, item in study.components.items()}
    assert sd["repeatability"] == pytest.approx(0.199933, abs=5e-7)
    assert sd["appraiser"] == pytest.approx(0.226838, abs=5e-7)
    assert sd["interaction"] == 0
    assert sd["part"] == pytest.approx(1.042327, abs=6e-7)
    assert sd["total"] == pytest.approx(1.0853, abs=5e-5)
    assert study.ndc.estimate == pytest.approx(4.86, abs=5e-3)


@pytest.mark.checks("table of variance of a crossed study", source="statsmodels: ols, anova_lm")
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_table_of_variance_against_statsmodels(seed: int) -> None:
    from statsmodels.formula.api import ols
    from statsmodels.stats.anova import anova_lm

    data = table(seed, 7, 4, 2)
    expected = anova_lm(ols("value ~ C(part) * C(appraiser)", data).fit())
    found = {row.source: row for row in grr_anova(data, pool_above=None).anova}
    for ours, theirs in (
        ("part", "C(part)"),
        ("appraiser", "C(appraiser)"),
        ("part:appraiser", "C(part):C(appraiser)"),
        ("repeatability", "Residual"),
    ):
        assert found[ours].ss == pytest.approx(expected.loc[theirs, "sum_sq"], rel=1e-9)
        assert found[ours].df == expected.loc[theirs, "df"]
    assert found["part:appraiser"].p == pytest.approx(
        expected.loc["C(part):C(appraiser)", "PR(>F)"], rel=1e-9
    )


def test_components_agree_with_reml_where_balanced_and_positive() -> None:
    # R's lme4 by reference/crossed.R: for balanced data with positive estimates REML equals ANOVA.
    folder = Path(__file__).parent / "reference"
    expected = json.loads((folder / "crossed.json").read_text())
    study = grr_anova(pd.read_csv(folder / "crossed.csv"), pool_above=None)
    assert not study.negative
    for name in ("part", "appraiser", "interaction", "repeatability"):
        found = study.components[name].variance.estimate
        assert found == pytest.approx(expected[name], rel=1e-4), name


def test_both_kinds_of_interval_are_alike(aiag: pd.DataFrame) -> None:
    pivotal = grr_anova(aiag, draws=200_000).components["grr"].variance
    large = grr_anova(aiag, method="mls").components["grr"].variance
    assert large.method == "modified large sample"
    assert large.low == pytest.approx(pivotal.low, rel=0.1)
    assert large.high == pytest.approx(pivotal.high, rel=0.15)


def test_repeatability_interval_is_the_exact_one(aiag: pd.DataFrame) -> None:
    from scipy.stats import chi2

    # From the mean square within cells, before the interaction was pooled into the estimate.
    found = grr_anova(aiag)
    variance = found.components["repeatability"].variance
    within = 2.7589 / 60
    df = 60 * found.layout.tail_factor
    low, high = (df * within / chi2.ppf(q, df) for q in (0.975, 0.025))
    assert variance.low == pytest.approx(low, rel=1e-4)
    assert variance.high == pytest.approx(high, rel=1e-4)


def test_draws_depend_on_the_seed_only(aiag: pd.DataFrame) -> None:
    assert grr_anova(aiag, seed=5).ndc == grr_anova(aiag, seed=5).ndc
    assert grr_anova(aiag, seed=5).ndc != grr_anova(aiag, seed=6).ndc


@given(st.integers(0, 20), st.floats(0.001, 1000), st.floats(-100, 100))
def test_another_unit_and_another_zero(seed: int, unit: float, zero: float) -> None:
    data = table(seed, 5, 2, 2)
    one = grr_anova(data, tolerance=10.0, draws=200)
    moved = data.assign(value=data["value"] * unit + zero)
    other = grr_anova(moved, tolerance=10.0 * unit, draws=200)
    for name, item in one.components.items():
        assert other.components[name].sd.estimate == pytest.approx(
            item.sd.estimate * unit, rel=1e-4, abs=1e-6 * unit
        )
        share = other.components[name].share_of_tolerance
        assert isinstance(share, Interval)
        assert share.estimate == pytest.approx(item.share_of_tolerance.estimate, rel=1e-4, abs=1e-6)


@given(st.integers(0, 20), st.randoms())
def test_row_order_and_names_change_nothing(seed: int, shuffle) -> None:
    data = table(seed, 5, 2, 2)
    rows = list(range(len(data)))
    shuffle.shuffle(rows)
    other = data.iloc[rows].assign(part=lambda d: "p" + d["part"].astype(str).str.zfill(3))
    one, two = grr_anova(data, draws=200), grr_anova(other, draws=200)
    assert two.components["grr"].sd.estimate == pytest.approx(
        one.components["grr"].sd.estimate, rel=1e-9
    )
    assert two.ndc.estimate == pytest.approx(one.ndc.estimate, rel=1e-9)


def test_an_automatic_gauge_has_no_appraiser() -> None:
    data = table(4).drop(columns="appraiser")
    study = grr_anova(data, appraiser=None, trial=None)
    assert study.design.appraisers == 0
    assert {row.source for row in study.anova} == {"part", "repeatability", "total"}
    # One-way analysis of variance by SciPy.
    from scipy.stats import f_oneway

    groups = [g["value"] for _, g in data.groupby("part")]
    assert study.anova[0].f == pytest.approx(f_oneway(*groups).statistic, rel=1e-9)


def test_lost_balance_is_a_caution_and_changes_little() -> None:
    data = table(5)
    fewer = data.drop(index=[3, 40])
    whole, lost = grr_anova(data), grr_anova(fewer)
    assert any("unequal" in note for note in lost.cautions)
    assert not lost.design.balanced
    assert lost.components["grr"].sd.estimate == pytest.approx(
        whole.components["grr"].sd.estimate, rel=0.15
    )


def test_trials_as_words_are_as_good_as_numbers() -> None:
    data = table(3)
    words = data.assign(trial=data["trial"].map({"1": "first", "2": "second", "3": "third"}))
    assert grr_anova(words).anova == grr_anova(data).anova


def test_a_third_factor_against_statsmodels() -> None:
    # statsmodels: all terms of the three-way table; no term is pooled.
    from statsmodels.formula.api import ols
    from statsmodels.stats.anova import anova_lm

    rng = np.random.default_rng(4)
    at = np.indices((6, 3, 2, 2)).reshape(4, -1)
    values = (
        rng.normal(0, 3, 6)[at[0]]
        + rng.normal(0, 1, 3)[at[1]]
        + rng.normal(0, 0.8, 2)[at[2]]
        + rng.normal(0, 0.5, at.shape[1])
    )
    data = pd.DataFrame({"part": at[0], "appraiser": at[1], "station": at[2], "value": values})
    study = grr_anova(data, trial=None, factor="station", pool_above=None)
    expected = anova_lm(ols("value ~ C(part) * C(appraiser) * C(station)", data).fit())
    for row in study.anova[:-2]:
        term = ":".join(f"C({'station' if n == 'factor' else n})" for n in row.source.split(":"))
        assert row.ss == pytest.approx(expected.loc[term, "sum_sq"], rel=1e-9)
        assert row.df == expected.loc[term, "df"]
    assert list(study.components)[-4:] == ["reproducibility", "grr", "part", "total"]
    assert study.components["factor"].variance.high > 0
    assert study.design.factor == ("0", "1")


def test_a_third_factor_balanced_equals_reml() -> None:
    # Balanced and positive: solving expected mean squares equals restricted maximum likelihood.
    from linestudy.numerics.reml import reml

    rng = np.random.default_rng(40)
    at = np.indices((8, 3, 3, 2)).reshape(4, -1)
    shape = (8, 3, 3)
    sizes = {"part": 3.0, "appraiser": 1.0, "factor": 1.2}
    values = rng.normal(0, 0.4, at.shape[1])
    for axis, (_, sd) in enumerate(sizes.items()):
        values += rng.normal(0, sd, shape[axis])[at[axis]]
    pairs = {"part:appraiser": (0, 1), "part:factor": (0, 2), "appraiser:factor": (1, 2)}
    codes = {name: at[axis] for axis, name in enumerate(sizes)}
    for name, (i, j) in pairs.items():
        codes[name] = at[i] * shape[j] + at[j]
        values += rng.normal(0, 0.7, shape[i] * shape[j])[codes[name]]
    codes["part:appraiser:factor"] = at[0] * 9 + at[1] * 3 + at[2]
    values += rng.normal(0, 0.6, 72)[codes["part:appraiser:factor"]]
    data = pd.DataFrame({"part": at[0], "appraiser": at[1], "day": at[2], "value": values})
    study = grr_anova(data, trial=None, factor="day", pool_above=None)
    assert not study.negative
    fit = reml(values, codes)
    for name, value in fit.variance.items():
        ours = {"residual": "repeatability", "part:appraiser": "interaction"}.get(name, name)
        assert study.components[ours].variance.estimate == pytest.approx(value, rel=1e-4), name


def test_a_stack_equals_its_studies_one_by_one() -> None:
    cube = np.random.default_rng(6).normal(size=(4, 7, 3, 2))
    cube += np.random.default_rng(7).normal(0, 3, (4, 7, 1, 1))
    stack = grr_anova_stack(cube, [1.0, 2.0, None, 4.0], draws=2000, seed=3)
    at = np.indices(cube.shape[1:]).reshape(3, -1)
    for readings, width, study in zip(cube, [1.0, 2.0, None, 4.0], stack, strict=True):
        data = pd.DataFrame({"part": at[0], "appraiser": at[1], "value": readings.ravel()})
        alone = grr_anova(data, trial=None, tolerance=width, draws=2000, seed=3)
        assert alone.ndc == study.ndc
        assert alone.components == study.components


def test_equal_repeatability_against_scipy() -> None:
    # SciPy's Bartlett test; with one part per appraiser-cell the samples are the cells' own readings.
    from scipy.stats import bartlett

    rng = np.random.default_rng(9)
    at = np.indices((2, 3, 12)).reshape(3, -1)
    # Short tails, so that nothing is taken off for heavy ones.
    values = np.array([0.1, 0.2, 0.4])[at[1]] * rng.uniform(-1, 1, at.shape[1]) + at[0]
    data = pd.DataFrame({"part": at[0], "appraiser": at[1], "value": values})
    study = grr_anova(data, trial=None)
    # Deviations from the cell mean, put back to one sample per appraiser with the same variance.
    samples = []
    for who in range(3):
        cells = [values[(at[1] == who) & (at[0] == part)] for part in range(2)]
        spread = sum(float(((c - c.mean()) ** 2).sum()) for c in cells)
        base = rng.normal(0, 1, 23)
        base = (base - base.mean()) / base.std(ddof=1)
        samples.append(base * np.sqrt(spread / 22))
    expected = bartlett(*samples)
    assert study.equal_repeatability is not None
    assert study.equal_repeatability.statistic == pytest.approx(expected.statistic, rel=1e-9)
    assert study.equal_repeatability.p == pytest.approx(expected.pvalue, rel=1e-9)
    assert any("equally well" in note for note in study.cautions)


@pytest.mark.proof
def test_equal_repeatability_alarms_as_often_as_it_says_under_heavy_tails() -> None:
    # Readings of Student's t with 5 degrees of freedom, one spread for all; Bartlett's own test alarms in 18 %.
    alarms, studies = 0, 1000
    readings = np.random.default_rng(21).standard_t(5, (studies, 10, 3, 3))
    for study in grr_anova_stack(readings, [None] * studies, draws=0, method="mls"):
        assert study.equal_repeatability is not None
        alarms += study.equal_repeatability.p < 0.05
    assert alarms / studies < 0.1


def test_without_draws_shares_are_absent_with_the_reason() -> None:
    study = grr_anova(table(2), method="mls", draws=0)
    assert isinstance(study.ndc, Absent)
    assert isinstance(study.components["grr"].share_of_sd, Absent)
    assert isinstance(study.components["grr"].variance, Interval)
    assert "not asked for" in study.statement


def test_negative_estimates_are_shown_as_such() -> None:
    rng = np.random.default_rng(0)
    for seed in range(50):
        data = simulate_crossed(
            rng.normal(0, 1, 6), MeasuringSystem(0.5), appraisers=("A", "B"), trials=2, seed=seed
        )
        study = grr_anova(data)
        if "appraiser" in study.negative:
            assert study.components["appraiser"].variance.estimate == 0
            assert any("negative" in note for note in study.cautions)
            return
    pytest.fail("no negative estimate in fifty studies without an appraiser effect")


def strangers() -> pd.DataFrame:
    """Appraiser C measured parts of their own."""
    data = table(1)
    own = data["appraiser"] == "C"
    return data.assign(part=data["part"].where(~own, "x" + data["part"]))


def spoilt(**changes: object) -> pd.DataFrame:
    return table(1).assign(**changes)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (spoilt(part="one"), "one part"),
        (table(1).query("part == '1'"), "one part"),
        (table(1).query("trial == '1'"), "read once only"),
        (spoilt(value=1.0), "same"),
        (pd.concat([table(1), table(1).iloc[:1]]), "entered twice"),
        (strangers(), "none of the parts"),
    ],
)
def test_what_cannot_be_judged_is_said(data: pd.DataFrame, words: str) -> None:
    with pytest.raises(CannotJudge, match=words):
        grr_anova(data)


def test_the_finding_shows_itself(aiag: pd.DataFrame) -> None:
    study = grr_anova(aiag, tolerance=8.0, unit="mm")
    assert "of tolerance" in study.statement
    assert "SD (mm)" in study.shown().columns
    assert study.figure().alt_text.startswith("Crossed gauge study")
    record = study.record()
    assert record["design"] == {
        "parts": 10,
        "appraisers": 3,
        "trials": 3.0,
        "balanced": True,
        "merged": None,
        "factor": None,
    }
    assert math.isclose(record["components"]["grr"]["sd"]["estimate"], 0.3023715, rel_tol=1e-6)
