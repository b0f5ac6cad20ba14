"""Crossed studies that go wrong in practice: hidden spread, three factors, columns and options misspelt."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest

from linestudy.gauges import average_and_range, grr_anova, influence, nested_components
from linestudy.results import CannotJudge


def study(
    seed: int,
    parts: int = 10,
    people: int = 3,
    levels: int = 1,
    trials: int = 2,
    error: float = 0.1,
    three_way: float = 0.0,
    person: float = 0.0,
) -> pd.DataFrame:
    """Readings with known truth; a third factor where it has more than one level."""
    rng = np.random.default_rng(seed)
    shape = (parts, people, levels, trials)
    at = np.indices(shape).reshape(4, -1)
    value = rng.normal(0, 3, parts)[at[0]] + rng.normal(0, 1, people)[at[1]] * person
    value = value + rng.normal(0, 1, shape[:3])[at[0], at[1], at[2]] * three_way
    value = value + rng.normal(0, error, at.shape[1])
    data = pd.DataFrame({"part": at[0], "appraiser": at[1], "day": at[2], "value": value})
    return data if levels > 1 else data.drop(columns="day")


# -- Repeated readings that never differ


@pytest.fixture
def coarse() -> pd.DataFrame:
    # Repeatability 0.001 read in steps of 0.01: all readings of a cell agree.
    return study(3, error=0.0, person=0.05).round({"value": 2})


def test_a_hidden_spread_reaches_what_rounding_hides(coarse: pd.DataFrame) -> None:
    # Sheppard 1898: rounding to a step has the standard deviation step / sqrt(12).
    found = grr_anova(coarse, tolerance=1.0)
    least = 0.01 / math.sqrt(12)
    assert found.components["repeatability"].sd.estimate == 0
    for name in ("repeatability", "grr"):
        assert found.components[name].sd.high >= least * (1 - 1e-9)
    share = found.components["repeatability"].share_of_tolerance
    assert share.high >= 6 * least * (1 - 1e-9)
    assert "Repeated readings never differed in 30 cells" in " ".join(found.cautions)


def test_a_gauge_that_shows_nothing_is_not_called_perfect() -> None:
    found = grr_anova(study(3, error=0.0).round({"value": 2}), tolerance=1.0, unit="mm")
    assert found.components["grr"].sd.estimate == 0
    assert "hidden by the resolution and may reach a standard deviation of 0.002" in found.statement
    assert "1.7 % of the tolerance" in found.statement
    assert found.components["grr"].share_of_sd.high > 0


def test_without_a_step_nothing_bounds_a_hidden_spread() -> None:
    with pytest.raises(CannotJudge, match="never differed in 30 cells"):
        grr_anova(study(3, error=0.0))


def test_a_missing_reading_changes_nothing_of_that(coarse: pd.DataFrame) -> None:
    whole, lost = grr_anova(coarse), grr_anova(coarse.drop(index=[7]))
    assert lost.estimator == "REML"
    assert lost.components["repeatability"].sd.estimate == 0
    for name in ("part", "appraiser"):
        assert lost.components[name].sd.estimate == pytest.approx(
            whole.components[name].sd.estimate, rel=1e-9
        )


def test_leaving_out_works_or_says_why_where_readings_never_differ(coarse: pd.DataFrame) -> None:
    assert {row.kind for row in influence(coarse).rows} == {"part", "appraiser", "reading"}
    with pytest.raises(CannotJudge, match="never differed"):
        influence(study(3, error=0.0).round({"value": 2}))


# -- A third factor


def test_a_smaller_interaction_stays_while_a_larger_one_does() -> None:
    # Known truth: repeatability 0.10, interaction of all three 1.0. Pooled into repeatability, the
    # interaction of two would carry that of three into it.
    found = []
    for seed in range(20):
        data = study(seed, levels=3, three_way=1.0)
        result = grr_anova(data, factor="day", draws=0, method="mls")
        assert "part:appraiser" not in result.pooled
        found.append(result.components["repeatability"].sd.estimate)
    assert np.mean(found) == pytest.approx(0.10, rel=0.05)


def test_a_factor_that_changes_with_the_appraiser_is_one_with_it_and_said() -> None:
    data = study(1, person=1.0)
    with_day = grr_anova(data.assign(day=data["appraiser"]), factor="day")
    alone = grr_anova(data)
    assert any("day" in note or "factor" in note for note in with_day.cautions)
    assert any("do not tell the two apart" in note for note in with_day.cautions)
    assert with_day.components["appraiser"].sd == alone.components["appraiser"].sd
    assert with_day.components["grr"].sd == alone.components["grr"].sd


def test_appraisers_of_two_days_are_one_with_their_day() -> None:
    data = study(1, people=4, person=1.0)
    found = grr_anova(data.assign(day=data["appraiser"] // 2), factor="day")
    assert found.design.merged == ("factor", "appraiser")
    assert found.components["grr"].sd == grr_anova(data).components["grr"].sd


def test_levels_that_are_not_linked_are_refused_and_named() -> None:
    # Appraisers 0 and 1 on days 0 and 1, appraisers 2 and 3 on days 2 and 3: two islands.
    data = study(1, people=4, levels=4)
    data = data[data["appraiser"] // 2 == data["day"] // 2]
    with pytest.raises(CannotJudge, match=r"part, appraiser and factor .*\(0 with 0"):
        grr_anova(data, factor="day")


def test_leaving_out_takes_the_third_factor() -> None:
    data = study(2, levels=2, three_way=0.3, person=0.3)
    whole = grr_anova(data, factor="day")
    found = influence(data, factor="day")
    assert found.grr_sd == whole.components["grr"].sd
    row = next(row for row in found.rows if row.kind == "part" and row.name == "4")
    rest = grr_anova(data[data["part"] != 4], factor="day", draws=0, method="mls")
    assert row.grr_sd == pytest.approx(rest.components["grr"].sd.estimate, rel=1e-9)
    readings = [row.change for row in found.rows if row.kind == "reading"]
    assert max(map(abs, readings)) < 0.05


def test_averages_and_ranges_refuse_a_third_factor() -> None:
    with pytest.raises(CannotJudge, match="third factor"):
        average_and_range(study(2, levels=2), factor="day")


# -- Wrong use


@pytest.mark.parametrize(
    ("arguments", "renamed", "says"),
    [
        ({}, {"appraiser": "operator"}, ["appraiser", "operator", "appraiser=None"]),
        (
            {"appraiser": "oprator"},
            {"appraiser": "operator"},
            ["oprator", "did you mean 'operator'?"],
        ),
        ({"factor": "statoin"}, {"day": "station"}, ["statoin", "did you mean 'station'?"]),
        ({"value": "reading"}, {}, ["reading", "'part', 'appraiser', 'day', 'value'"]),
        ({"part": "Prat"}, {}, ["Prat", "did you mean 'part'?"]),
        ({"trial": "trail"}, {}, ["trail"]),
        ({"method": "MLS"}, {}, ["MLS", "pivotal", "mls"]),
        ({"tolerance": -1.0}, {}, ["tolerance = -1", "greater than 0"]),
        ({"tolerance": math.nan}, {}, ["tolerance = nan", "finite"]),
        ({"sigma_multiplier": 0.0}, {}, ["sigma_multiplier = 0"]),
        ({"confidence": 95}, {}, ["confidence = 95", "between 0 and 1", "0.95 for 95 %"]),
    ],
)
def test_wrong_use_names_argument_and_choices(
    arguments: dict[str, object], renamed: dict[str, str], says: list[str]
) -> None:
    data = study(1, levels=2).rename(columns=renamed)
    with pytest.raises(ValueError) as caught:
        grr_anova(data, **arguments)  # type: ignore[arg-type]
    assert not isinstance(caught.value, CannotJudge)
    for words in says:
        assert words in str(caught.value)


def test_companions_refuse_misspelt_columns_too() -> None:
    data = study(1).rename(columns={"appraiser": "operator"})
    for call in (influence, average_and_range):
        with pytest.raises(ValueError, match="appraiser=None"):
            call(data)
    with pytest.raises(ValueError, match="did you mean 'part'"):
        nested_components(data, ("prt",))
    with pytest.raises(TypeError, match="DataFrame"):
        grr_anova([1.0, 2.0])  # type: ignore[arg-type]


@pytest.mark.parametrize("unit", [1e-60, 1e60])
def test_strange_units_are_computed(unit: float) -> None:
    plain = grr_anova(study(1)).components["grr"].sd.estimate
    data = study(1).assign(value=lambda d: d["value"] * unit)
    assert grr_anova(data).components["grr"].sd.estimate == pytest.approx(plain * unit, rel=1e-9)


@pytest.mark.parametrize("unit", [1e-320, 1e-200, 1e-100, 1e100, 1e200, 1e300])
def test_units_beyond_a_double_are_refused(unit: float) -> None:
    data = study(1).assign(value=lambda d: d["value"] * unit)
    for call in (grr_anova, influence, average_and_range):
        with pytest.raises(CannotJudge, match="beyond what can be computed"):
            call(data)


def test_an_order_of_rows_changes_no_bit() -> None:
    data = study(5, person=0.5).drop(index=[3, 17])
    one = grr_anova(data, seed=1)
    other = grr_anova(data.sample(frac=1, random_state=2), seed=1)
    assert one.components == other.components
    assert one.anova == other.anova
