"""Laboratories: printed critical values, analysis of variance of other libraries, coverage and false alarms."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linestudy.gauges import grr_anova, interlaboratory
from linestudy.gauges.comparison.laboratories import _cells, _off_and_rest
from linestudy.gauges.comparison.levels import Level
from linestudy.results import CannotJudge

COLUMNS = ("value", "part", "laboratory")


def table(
    seed: int, labs: int = 8, parts: int = 5, repeats: int = 3, between: float = 0.05
) -> pd.DataFrame:
    rng = np.random.default_rng(seed)
    cube = (
        np.arange(parts)[None, :, None]
        + rng.normal(0, between, (labs, parts, 1))
        + rng.normal(0, 0.1, (labs, parts, repeats))
    )
    at = np.indices(cube.shape).reshape(3, -1)
    return pd.DataFrame(
        {
            "laboratory": [f"lab {i}" for i in at[0]],
            "part": at[1].astype(str),
            "value": cube.ravel(),
        }
    )


@pytest.mark.checks("variances within and between laboratories", source="statsmodels, anova_lm")
def test_variances_against_statsmodels() -> None:
    import statsmodels.formula.api as smf
    from statsmodels.stats.anova import anova_lm

    data = table(1)
    found = interlaboratory(data)
    for level in found.levels:
        one = data[data["part"] == level.part]
        squares = anova_lm(smf.ols("value ~ C(laboratory)", one).fit())["mean_sq"]
        within, labs = squares["Residual"], squares["C(laboratory)"]
        assert level.repeatability_sd.estimate == pytest.approx(within**0.5, rel=1e-9)
        expected = (within + max((labs - within) / 3, 0.0)) ** 0.5
        assert level.reproducibility_sd.estimate == pytest.approx(expected, rel=1e-9)
    # All parts together: laboratory within part, and what is left.
    both = anova_lm(smf.ols("value ~ C(part) + C(part):C(laboratory)", data).fit())["mean_sq"]
    within, labs = both["Residual"], both["C(part):C(laboratory)"]
    assert found.repeatability_sd.estimate == pytest.approx(within**0.5, rel=1e-9)
    assert found.reproducibility_sd.estimate == pytest.approx(
        (within + max((labs - within) / 3, 0.0)) ** 0.5, rel=1e-9
    )


def test_mandels_h_and_k_by_hand() -> None:
    # Means 1, 2, 6: mean 3, SD sqrt(7); variances 2, 8, 2 of two readings: k = s sqrt(3 / 12).
    data = pd.DataFrame(
        {
            "laboratory": list("AABBCC"),
            "part": ["a"] * 6,
            "value": [0.0, 2.0, 0.0, 4.0, 5.0, 7.0],
        }
    )
    level = interlaboratory(data).levels[0]
    assert level.h == pytest.approx({"A": -2 / 7**0.5, "B": -1 / 7**0.5, "C": 3 / 7**0.5})
    assert level.k == pytest.approx({"A": 0.5**0.5, "B": 2**0.5, "C": 0.5**0.5})


def test_who_stands_out_is_named() -> None:
    data = table(2)
    data.loc[(data["laboratory"] == "lab 3") & (data["part"] == "2"), "value"] += 1.5
    found = interlaboratory(data, unit="mm", tolerance=2.0)
    assert [(s.laboratory, s.part, s.kind) for s in found.stragglers][:1] == [
        ("lab 3", "2", "mean")
    ]
    assert "lab 3 is an outlier by its mean on part 2" in found.statement
    data = table(2)
    wide = (data["laboratory"] == "lab 5") & (data["part"] == "1")
    data.loc[wide, "value"] = data.loc[wide, "value"].mean() + np.array([-1.0, 0.0, 1.0])
    spread = interlaboratory(data).stragglers[0]
    assert (spread.laboratory, spread.part, spread.kind) == ("lab 5", "1", "spread")
    assert found.figure().axes


@settings(max_examples=15)
@given(st.integers(0, 30), st.floats(0.001, 1000), st.floats(-100, 100))
def test_unit_zero_order_and_names(seed: int, unit: float, zero: float) -> None:
    data = table(seed, labs=4, parts=3, repeats=2)
    one = interlaboratory(data)
    moved = data.assign(value=data["value"] * unit + zero).sample(frac=1.0, random_state=seed)
    other = interlaboratory(moved)
    assert other.reproducibility_sd.estimate == pytest.approx(
        unit * one.reproducibility_sd.estimate, rel=1e-6
    )
    for ours, theirs in zip(one.levels, other.levels, strict=True):
        assert theirs.h == pytest.approx(ours.h, rel=1e-5, abs=1e-6)


def test_gaps_are_counted_and_too_few_refused() -> None:
    data = table(3).drop(index=[0, 1, 2, 50])
    found = interlaboratory(data)
    assert any("1 combination of part" in note for note in found.cautions)
    assert len(found.levels) == 5
    with pytest.raises(CannotJudge, match="No part was read by three laboratories"):
        interlaboratory(data[data["laboratory"].isin(["lab 1", "lab 2"])])


def test_appraisers_as_laboratories_agree_with_the_crossed_study() -> None:
    # The same table: repeatability of a crossed study with nothing pooled is that within laboratories.
    data = table(4, between=0.2)
    data["value"] += data["laboratory"].str[-1].astype(int) / 10
    crossed = grr_anova(data, appraiser="laboratory", pool_above=None, draws=0, method="mls")
    found = interlaboratory(data)
    assert found.repeatability_sd.estimate == pytest.approx(
        crossed.components["repeatability"].sd.estimate, rel=1e-9
    )
    # What is off on all parts has the freedom of laboratories, as appraisers' spread has in GRR.
    ours, theirs = found.reproducibility_sd, crossed.components["grr"].sd
    assert crossed.tail_factor == 1
    assert (ours.estimate, ours.low, ours.high) == pytest.approx(
        (theirs.estimate, theirs.low, theirs.high), rel=1e-9
    )


@pytest.mark.checks(
    "laboratories over all parts and from part to part, readings missing",
    source="statsmodels, anova_lm",
)
def test_split_against_statsmodels() -> None:
    import statsmodels.formula.api as smf
    from statsmodels.stats.anova import anova_lm

    data = table(6).drop(index=[*range(12), 50, 51, 52, 70])
    levels = [Level(name, found) for name, found in _cells(data, *COLUMNS).items()]
    off, rest = _off_and_rest(levels)
    fit = smf.ols("value ~ C(part.astype(str) + laboratory)", data).fit()
    cells = smf.ols("value ~ C(part) + C(laboratory)", data).fit()
    alone = anova_lm(cells)
    assert off == pytest.approx((alone["sum_sq"].iloc[1], alone["df"].iloc[1]), rel=1e-9)
    assert rest == pytest.approx((cells.ssr - fit.ssr, cells.df_resid - fit.df_resid), rel=1e-9)


def test_a_part_that_too_few_read_is_told() -> None:
    data = table(7, labs=3)
    short = data[~((data["laboratory"] == "lab 1") & (data["part"] == "2"))]
    found = interlaboratory(short)
    assert len(found.levels) == 4
    assert any(note.startswith("1 part left out") for note in found.cautions)
    assert not any("left out" in note for note in interlaboratory(data).cautions)


def test_spread_that_the_resolution_hides_is_not_nought() -> None:
    rows = [(p, who, round(p / 10, 1)) for p in range(5) for who in "ABC" for _ in range(2)]
    data = pd.DataFrame(rows, columns=["part", "laboratory", "value"])
    with pytest.raises(
        CannotJudge, match=r"never differed in 15 cells; the resolution of 0\.1 hides"
    ):
        interlaboratory(data)
    # One reading a step off: the interval reaches what rounding hides.
    data.loc[0, "value"] += 0.1
    found = interlaboratory(data)
    assert found.repeatability_sd.estimate < 0.1 / 12**0.5
    assert found.repeatability_sd.high >= 0.1 / 12**0.5


def test_a_laboratory_that_repeats_too_well_is_asked() -> None:
    honest = table(3)
    assert not any("repeats with" in note for note in interlaboratory(honest).cautions)
    means = honest.groupby(["laboratory", "part"])["value"].transform("mean")
    calm = honest["value"].where(honest["laboratory"] != "lab 2", means)
    notes = interlaboratory(honest.assign(value=calm)).cautions
    assert any(note.startswith("lab 2 repeats with a standard deviation of 0,") for note in notes)


def test_honest_laboratories_are_seldom_asked() -> None:
    asked = sum(
        any("repeats with" in n for n in interlaboratory(table(seed)).cautions)
        for seed in range(100)
    )
    assert asked <= 2
