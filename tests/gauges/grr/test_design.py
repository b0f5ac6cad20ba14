"""Layout of a crossed study: factors that change together, misspelt columns, strange units."""

from __future__ import annotations

import math

import pytest
from crossed_readings import crossed_readings

from linestudy.gauges import average_and_range, grr_anova, influence, nested_components
from linestudy.results import CannotJudge


def test_a_factor_that_changes_with_the_appraiser_is_one_with_it_and_said() -> None:
    data = crossed_readings(1, person=1.0)
    with_day = grr_anova(data.assign(day=data["appraiser"]), factor="day")
    alone = grr_anova(data)
    assert any("day" in note or "factor" in note for note in with_day.cautions)
    assert any("cannot separate the two" in note for note in with_day.cautions)
    assert with_day.components["appraiser"].sd == alone.components["appraiser"].sd
    assert with_day.components["grr"].sd == alone.components["grr"].sd


def test_appraisers_of_two_days_are_one_with_their_day() -> None:
    data = crossed_readings(1, people=4, person=1.0)
    found = grr_anova(data.assign(day=data["appraiser"] // 2), factor="day")
    assert found.design.merged == ("factor", "appraiser")
    assert found.components["grr"].sd == grr_anova(data).components["grr"].sd


def test_levels_that_are_not_linked_are_refused_and_named() -> None:
    # Appraisers 0 and 1 on days 0 and 1, appraisers 2 and 3 on days 2 and 3: two islands.
    data = crossed_readings(1, people=4, levels=4)
    data = data[data["appraiser"] // 2 == data["day"] // 2]
    with pytest.raises(CannotJudge, match=r"part, appraiser and factor: .*\(0 with 0"):
        grr_anova(data, factor="day")


def test_averages_and_ranges_refuse_a_third_factor() -> None:
    with pytest.raises(CannotJudge, match="third factor"):
        average_and_range(crossed_readings(2, levels=2), factor="day")


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
    data = crossed_readings(1, levels=2).rename(columns=renamed)
    with pytest.raises(ValueError) as caught:
        grr_anova(data, **arguments)  # type: ignore[arg-type]
    assert not isinstance(caught.value, CannotJudge)
    for words in says:
        assert words in str(caught.value)


def test_companions_refuse_misspelt_columns_too() -> None:
    data = crossed_readings(1).rename(columns={"appraiser": "operator"})
    for call in (influence, average_and_range):
        with pytest.raises(ValueError, match="appraiser=None"):
            call(data)
    with pytest.raises(ValueError, match="did you mean 'part'"):
        nested_components(data, ("prt",))
    with pytest.raises(TypeError, match="DataFrame"):
        grr_anova([1.0, 2.0])  # type: ignore[arg-type]


@pytest.mark.parametrize("unit", [1e-60, 1e60])
def test_strange_units_are_computed(unit: float) -> None:
    plain = grr_anova(crossed_readings(1)).components["grr"].sd.estimate
    data = crossed_readings(1).assign(value=lambda d: d["value"] * unit)
    assert grr_anova(data).components["grr"].sd.estimate == pytest.approx(plain * unit, rel=1e-9)


@pytest.mark.parametrize("unit", [1e-320, 1e-200, 1e-100, 1e100, 1e200, 1e300])
def test_units_beyond_a_double_are_refused(unit: float) -> None:
    data = crossed_readings(1).assign(value=lambda d: d["value"] * unit)
    for call in (grr_anova, influence, average_and_range):
        with pytest.raises(CannotJudge, match="beyond what can be computed"):
            call(data)


def test_an_order_of_rows_changes_no_bit() -> None:
    data = crossed_readings(5, person=0.5).drop(index=[3, 17])
    one = grr_anova(data, seed=1)
    other = grr_anova(data.sample(frac=1, random_state=2), seed=1)
    assert one.components == other.components
    assert one.anova == other.anova
