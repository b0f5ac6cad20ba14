"""Crossed study: AIAG MSA 4th ed. (values from memory), statsmodels' table of variance, coverage."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.core import CannotJudge, Interval
from linestudy.gauges import crossed
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
    return simulate_crossed(sizes, MeasuringSystem(0.3, 0.2), people, trials, seed)


def test_the_published_example(aiag: pd.DataFrame) -> None:
    # AIAG MSA, 4th ed. (2010), ch. III: printed values, from memory.
    study = crossed(aiag)
    ss = {row["source"]: row["ss"] for row in study.anova}
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


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_table_of_variance_against_statsmodels(seed: int) -> None:
    from statsmodels.formula.api import ols
    from statsmodels.stats.anova import anova_lm

    data = table(seed, 7, 4, 2)
    expected = anova_lm(ols("value ~ C(part) * C(appraiser)", data).fit())
    found = {row["source"]: row for row in crossed(data, pool_above=None).anova}
    for ours, theirs in (
        ("part", "C(part)"),
        ("appraiser", "C(appraiser)"),
        ("part:appraiser", "C(part):C(appraiser)"),
        ("repeatability", "Residual"),
    ):
        assert found[ours]["ss"] == pytest.approx(expected.loc[theirs, "sum_sq"], rel=1e-9)
        assert found[ours]["df"] == expected.loc[theirs, "df"]
    assert found["part:appraiser"]["p"] == pytest.approx(
        expected.loc["C(part):C(appraiser)", "PR(>F)"], rel=1e-9
    )


def test_components_agree_with_reml_where_balanced_and_positive() -> None:
    # R's lme4 by reference/crossed.R: for balanced data with positive estimates REML equals ANOVA.
    folder = Path(__file__).parent / "reference"
    expected = json.loads((folder / "crossed.json").read_text())
    study = crossed(pd.read_csv(folder / "crossed.csv"), pool_above=None)
    assert not study.negative
    for name in ("part", "appraiser", "interaction", "repeatability"):
        found = study.components[name].variance.estimate
        assert found == pytest.approx(expected[name], rel=1e-4), name


def test_both_kinds_of_interval_are_alike(aiag: pd.DataFrame) -> None:
    pivotal = crossed(aiag, draws=200_000).components["grr"].variance
    large = crossed(aiag, method="mls").components["grr"].variance
    assert large.method == "modified large sample"
    assert large.low == pytest.approx(pivotal.low, rel=0.05)
    assert large.high == pytest.approx(pivotal.high, rel=0.15)


def test_repeatability_interval_is_the_exact_one(aiag: pd.DataFrame) -> None:
    from scipy.stats import chi2

    study = crossed(aiag, draws=400_000)
    variance = study.components["repeatability"].variance
    low, high = (78 * variance.estimate / chi2.ppf(q, 78) for q in (0.975, 0.025))
    assert variance.low == pytest.approx(low, rel=0.01)
    assert variance.high == pytest.approx(high, rel=0.01)


@pytest.mark.parametrize("method", ["pivotal", "mls"])
def test_coverage_of_the_gauge_spread(method: str) -> None:
    # Truth known: sd of the gauge sqrt(0.3^2 + 0.2^2); 95 % intervals of 300 simulated studies.
    truth = 0.3**2 + 0.2**2
    held = 0
    for seed in range(200):
        study = crossed(table(seed), method=method, draws=2000, seed=seed)
        held += truth in study.components["grr"].variance
    assert 0.92 <= held / 200 <= 0.99


def test_draws_depend_on_the_seed_only(aiag: pd.DataFrame) -> None:
    assert crossed(aiag, seed=5).ndc == crossed(aiag, seed=5).ndc
    assert crossed(aiag, seed=5).ndc != crossed(aiag, seed=6).ndc


@given(st.integers(0, 20), st.floats(0.001, 1000), st.floats(-100, 100))
def test_another_unit_and_another_zero(seed: int, unit: float, zero: float) -> None:
    data = table(seed, 5, 2, 2)
    one = crossed(data, tolerance=10.0, draws=200)
    moved = data.assign(value=data["value"] * unit + zero)
    other = crossed(moved, tolerance=10.0 * unit, draws=200)
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
    one, two = crossed(data, draws=200), crossed(other, draws=200)
    assert two.components["grr"].sd.estimate == pytest.approx(
        one.components["grr"].sd.estimate, rel=1e-9
    )
    assert two.ndc.estimate == pytest.approx(one.ndc.estimate, rel=1e-9)


def test_an_automatic_gauge_has_no_appraiser() -> None:
    data = table(4).drop(columns="appraiser")
    study = crossed(data, trial=None)
    assert study.design["appraisers"] == 0
    assert {row["source"] for row in study.anova} == {"part", "repeatability", "total"}
    # One-way analysis of variance by SciPy.
    from scipy.stats import f_oneway

    groups = [g["value"] for _, g in data.groupby("part")]
    assert study.anova[0]["f"] == pytest.approx(f_oneway(*groups).statistic, rel=1e-9)


def test_lost_balance_is_a_caution_and_changes_little() -> None:
    data = table(5)
    fewer = data.drop(index=[3, 40])
    whole, lost = crossed(data), crossed(fewer)
    assert any("unequal" in note for note in lost.cautions)
    assert not lost.design["balanced"]
    assert lost.components["grr"].sd.estimate == pytest.approx(
        whole.components["grr"].sd.estimate, rel=0.15
    )


def test_negative_estimates_are_shown_as_such() -> None:
    rng = np.random.default_rng(0)
    for seed in range(50):
        data = simulate_crossed(rng.normal(0, 1, 6), MeasuringSystem(0.5), ("A", "B"), 2, seed)
        study = crossed(data)
        if "appraiser" in study.negative:
            assert study.components["appraiser"].variance.estimate == 0
            assert any("negative" in note for note in study.cautions)
            return
    pytest.fail("no negative estimate in fifty studies without an appraiser effect")


def spoilt(**changes: object) -> pd.DataFrame:
    return table(1).assign(**changes)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (spoilt(part="one"), "entered twice"),
        (table(1).query("part == '1'"), "one part"),
        (table(1).query("trial == '1'"), "once only"),
        (spoilt(value=1.0), "same"),
        (pd.concat([table(1), table(1).iloc[:1]]), "entered twice"),
        (table(1).query("not (part == '3' and appraiser == 'B')"), "did not measure"),
    ],
)
def test_what_cannot_be_judged_is_said(data: pd.DataFrame, words: str) -> None:
    with pytest.raises(CannotJudge, match=words):
        crossed(data)


def test_the_finding_shows_itself(aiag: pd.DataFrame) -> None:
    study = crossed(aiag, tolerance=8.0, unit="mm")
    assert "of the tolerance" in study.statement
    assert "SD (mm)" in study.table().columns
    assert study.figure().alt_text.startswith("Crossed gauge study")
    record = study.record()
    assert set(record["design"]) == {"parts", "appraisers", "trials", "balanced"}
    assert math.isclose(record["components"]["grr"]["sd"]["estimate"], 0.3023715, rel_tol=1e-6)
