"""Measuring systems on the same parts: bias by SciPy, variance of a two-way table by statsmodels, ratio by F, Bartlett."""

from __future__ import annotations

import json
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
import pytest

from linestudy.gauges import system_comparison
from linestudy.gauges.comparison.systems import _grr_ratio
from linestudy.results import Absent, CannotJudge, Interval

REFERENCE = Path(__file__).parents[1] / "reference"


def read(
    seed: int,
    *,
    ev: tuple[float, ...] = (0.1, 0.1),
    bias: float = 0.0,
    parts: int = 10,
    people: int = 3,
    by_person: float = 0.0,
) -> pd.DataFrame:
    """Crossed studies of several systems on the same parts, twice each."""
    draw = np.random.default_rng(seed)
    at = np.indices((len(ev), parts, people, 2)).reshape(4, -1)
    size, own = draw.normal(size=parts), by_person * draw.normal(size=(len(ev), people))
    value = (
        size[at[1]]
        + bias * at[0]
        + own[at[0], at[2]]
        + np.array(ev)[at[0]] * draw.normal(size=at.shape[1])
    )
    names = np.array(["left", "right", "spare"])[at[0]]
    table = pd.DataFrame({"part": at[1], "appraiser": at[2].astype(str), "system": names})
    return table.assign(value=value)


def test_the_bias_of_automatic_gauges_is_a_paired_t_test() -> None:
    from scipy.stats import ttest_rel

    data = read(1, people=1, bias=0.05)
    means = data.groupby(["part", "system"])["value"].mean().unstack()
    expected = ttest_rel(means["right"], means["left"])
    pair = system_comparison(data, appraiser=None).pairs[0]
    assert isinstance(pair.bias, Interval)
    ends = expected.confidence_interval(0.95)
    assert (pair.bias.low, pair.bias.high) == pytest.approx((ends.low, ends.high), rel=1e-9)
    assert pair.bias_p == pytest.approx(expected.pvalue, rel=1e-9)


def test_a_gauge_that_reads_by_itself_beside_one_that_people_read_with() -> None:
    """A blank appraiser is nobody; levels of a third factor count to GRR and not to repeatability."""
    from scipy.stats import ttest_rel

    data = read(3, people=1, bias=0.05)
    right = data["system"] == "right"
    nests = [
        data[right].assign(nest=nest, value=data["value"] + up)
        for nest, up in (("L", -1.0), ("R", 1.0))
    ]
    mixed = pd.concat([data[~right].assign(appraiser=None), *nests])
    found = system_comparison(mixed, factor="nest")
    means = data.groupby(["part", "system"])["value"].mean().unstack()
    expected = ttest_rel(means["right"], means["left"])
    (pair,) = found.pairs
    assert pair.parts == 10
    assert isinstance(pair.bias, Interval)
    assert pair.bias_p == pytest.approx(expected.pvalue, rel=1e-9)
    own = found.systems["right"]
    assert isinstance(own.repeatability_sd, Interval)
    assert own.repeatability_sd.estimate < 0.3
    assert isinstance(own.grr_sd, Interval)
    assert own.grr_sd.estimate == pytest.approx(2**0.5, rel=0.05)


def test_appraisers_who_see_a_bias_each_widen_it() -> None:
    from statsmodels.formula.api import ols
    from statsmodels.stats.anova import anova_lm

    data = read(2, by_person=0.2, parts=12)
    cell = data.groupby(["part", "appraiser", "system"])["value"].mean().unstack().reset_index()
    cell["apart"] = cell["right"] - cell["left"]
    table = anova_lm(ols("apart ~ C(part) + C(appraiser)", cell).fit())
    squares = table["mean_sq"].to_numpy()
    variance = (squares[0] + squares[1] - squares[2]) / 36
    bias = system_comparison(data).pairs[0].bias
    assert isinstance(bias, Interval)
    df = (36 * variance) ** 2 / (squares**2 / table["df"].to_numpy()).sum()
    from scipy.stats import t

    assert bias.high - bias.estimate == pytest.approx(
        t.ppf(0.975, min(df, 11)) * variance**0.5, rel=1e-9
    )


def test_ratio_of_repeatability_is_f_and_all_of_them_bartletts() -> None:
    from scipy.stats import bartlett, f

    # Two readings of each part, as far apart in every part: no tails, so all 15 degrees of freedom count.
    sds = {"left": 0.1, "right": 0.25, "spare": 0.1}
    rows = [
        (part, name, part**0.5 + sign * sd / 2**0.5)
        for name, sd in sds.items()
        for part in range(15)
        for sign in (-1, 1)
    ]
    data = pd.DataFrame(rows, columns=["part", "system", "value"])
    found = system_comparison(data, appraiser=None, tolerance=6.0)
    pair = found.pairs[0]
    assert (pair.first, pair.second) == ("left", "right")
    assert isinstance(pair.repeatability_ratio, Interval)
    # Three pairs share the confidence.
    quantile = f.ppf(1 - 0.05 / 6, 15, 15) ** 0.5
    ratio = pair.repeatability_ratio
    ends = (ratio.estimate, ratio.low, ratio.high)
    assert ends == pytest.approx((2.5, 2.5 / quantile, 2.5 * quantile), rel=1e-9)
    assert pair.ratio_equivalent is False
    # SciPy takes samples about their mean: sixteen values have as many degrees of freedom.
    sixteen = np.linspace(-1, 1, 16) / np.linspace(-1, 1, 16).std(ddof=1)
    expected = bartlett(*(sd * sixteen for sd in sds.values())).pvalue
    assert found.equal_repeatability_p == pytest.approx(float(expected), rel=1e-9)


def test_equivalence_asks_for_narrow_intervals() -> None:
    many = read(4, parts=30, people=3)
    pair = system_comparison(many, tolerance=6.0).pairs[0]
    assert pair.bias_equivalent
    assert pair.ratio_equivalent
    few = system_comparison(read(4, parts=4, people=1), appraiser=None, tolerance=0.5).pairs[0]
    assert not few.bias_equivalent
    assert not few.ratio_equivalent
    off = system_comparison(read(5, parts=30, bias=0.5), tolerance=6.0)
    assert not off.pairs[0].bias_equivalent
    assert "its 90 % interval not within 5 % of the tolerance" in off.statement
    assert isinstance(pair.bias_within, Interval)
    assert pair.bias_within.confidence == pytest.approx(0.90)


def test_studies_over_time_are_held_against_the_one_before_and_the_first() -> None:
    found = system_comparison(read(6, ev=(0.1, 0.1, 0.4)), in_time=True)
    assert [(p.first, p.second) for p in found.pairs] == [
        ("left", "right"),
        ("right", "spare"),
        ("left", "spare"),
    ]
    assert found.equal_repeatability_p is not None
    assert found.equal_repeatability_p < 0.001
    assert "differ (p < 0.001)" in found.statement
    found.figure()
    shuffled = read(6, ev=(0.1, 0.1, 0.4)).sample(frac=1, random_state=2)
    again = system_comparison(shuffled)
    assert again.systems["spare"].grr_sd == found.systems["spare"].grr_sd


def test_other_parts_and_hidden_spread_are_named() -> None:
    data = read(7)
    other = data["system"] == "right"
    data.loc[other, "part"] = (data.loc[other, "part"] + 3) % 10
    pair = system_comparison(data).pairs[0]
    assert isinstance(pair.bias, Absent)
    assert "may be other parts" in pair.bias.reason
    coarse = read(8, ev=(0.001, 0.1)).assign(value=lambda t: t["value"].round(1))
    ratio = system_comparison(coarse).pairs[0].repeatability_ratio
    assert isinstance(ratio, Absent)
    with pytest.raises(CannotJudge, match="one measuring system"):
        system_comparison(data[other])
    apart = data.assign(part=data["part"] + 100 * other, value=data["value"].round(0))
    apart = apart.drop_duplicates(["part", "appraiser", "system"])
    with pytest.raises(CannotJudge, match="No two"):
        system_comparison(apart)
    with pytest.raises(ValueError, match="allowed_ratio"):
        system_comparison(data, allowed_ratio=0.5)


@pytest.mark.checks(
    "two systems read by the same people, one with a third factor, ratio of two GRR",
    source="R, anova; Donner & Zou (2012) written out",
)
def test_systems_that_people_read_against_r() -> None:
    """Data and values are those of reference/people.R."""
    known = json.loads((REFERENCE / "people.json").read_text(encoding="utf-8"))
    three = pd.read_csv(REFERENCE / "crossed_three.csv")
    two = three[three["day"].isin(sorted(three["day"].unique())[:2])].astype({"day": str})
    cells = two.drop_duplicates(["part", "who", "day"]).groupby("part").size()
    two = two[two["part"].isin(cells[cells == cells.max()].index)]
    (pair,) = system_comparison(two, system="day", appraiser="who").pairs
    expected = known["same_people"]
    assert isinstance(pair.bias, Interval)
    found = (pair.bias.estimate, pair.bias.low, pair.bias.high, pair.bias_p)
    assert found == pytest.approx(tuple(expected.values()), rel=1e-8)
    first = system_comparison(three, system="who", appraiser=None, factor="day").pairs[0]
    assert isinstance(first.repeatability_ratio, Interval)
    ratio = known["third_factor"]["ratio"]
    assert first.repeatability_ratio.estimate == pytest.approx(ratio, rel=1e-8)
    spreads: Any = [
        SimpleNamespace(spread=SimpleNamespace(grr_sd=Interval(*one, 0.95, "given")))
        for one in ((0.10, 0.08, 0.15), (0.12, 0.10, 0.20))
    ]
    both = _grr_ratio(*spreads, 0.95)
    assert isinstance(both, Interval)
    ends = (both.estimate, both.low, both.high)
    assert ends == pytest.approx(tuple(known["ratio"].values()), rel=1e-8)
