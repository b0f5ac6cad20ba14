"""What a number may differ by: nothing for counts, little for formulas, a share of its interval for what is searched."""

from __future__ import annotations

from typing import Any

import pytest

from linestudy.dossier.tolerances import SEARCHED_AT, allowed, table

FORMULA, SEARCHED = "characteristics.a.lower", "characteristics.a.capability.Ppk.estimate"


def test_an_end_among_several_tops_is_held_to_a_thousandth_of_its_interval() -> None:
    place = "characteristics.a.capability.Ppk.high"
    beside = {"estimate": 1.5, "low": 1.0, "high": 2.0, "method": "profile likelihood"}
    assert allowed(place, 2.0, beside).by == pytest.approx(1e-6)
    beside["method"] = "profile likelihood of a mixture; pivots of lots"
    assert allowed(place, 2.0, beside).by == pytest.approx(1e-3)
    beside["method"] = "profile likelihood with a threshold"
    assert allowed(place, 2.0, beside).by == pytest.approx(1e-3)


@pytest.mark.parametrize("value", [0, 7, True, 10**400])
@pytest.mark.parametrize("place", [FORMULA, SEARCHED, "study.seed"])
def test_counts_and_truth_values_are_equal(place: str, value: int) -> None:
    assert allowed(place, value).by == 0.0


@pytest.mark.parametrize(
    ("place", "value", "beside", "kind", "by"),
    [
        # What a formula gives, relative to the number.
        ("characteristics.a.gauges.c.bias.mean", 2.0, None, "formula", 2e-9),
        ("characteristics.a.gauges.c.bias.mean", -2.0, None, "formula", 2e-9),
        # A p-value, wherever it stands; a name that only ends so is none.
        ("characteristics.a.gauges.c.bias.p", 0.5, None, "searched", 5e-7),
        ("characteristics.a.gauges.c.bias.lack_of_fit_p", 0.5, None, "searched", 5e-7),
        ("characteristics.a.gauges.c.bias.step", 0.5, None, "formula", 5e-10),
        # What is searched: relative to the number, or to its interval where that is more.
        ("characteristics.a.shape.mean", 2.0, None, "searched", 2e-7),
        ("joint.share", 2.0, None, "searched", 2e-7),
        ("characteristics.a.verdict.facts.gauge.least_share", 0.2, None, "searched", 2e-7),
        ("characteristics.a.capability.lower_bound", 2.0, None, "searched", 2e-5),
    ],
)
def test_each_kind_has_its_own(place: str, value: float, beside: Any, kind: str, by: float) -> None:
    found = allowed(place, value, beside)
    assert found.kind == kind
    assert found.by == pytest.approx(by)


def test_an_interval_gives_its_width_to_its_three_numbers_alone() -> None:
    around = {"estimate": 1e-9, "low": -1.0, "high": 3.0, "confidence": 0.95}
    for name in ("estimate", "low", "high"):
        place = f"characteristics.a.capability.Ppk.{name}"
        assert allowed(place, 1e-9, around).by == pytest.approx(4e-6)
    beside = allowed("characteristics.a.capability.Ppk.confidence", 0.95, around)
    assert beside.by == pytest.approx(0.95e-7)
    # Open on one side it counts twice the other; open on both it has no width.
    open_above = {**around, "estimate": 1.0, "high": None}
    assert allowed(SEARCHED, 1.0, open_above).by == pytest.approx(4e-6)
    nothing = {"estimate": 1.0, "low": None, "high": None}
    assert allowed(SEARCHED, 1.0, nothing).by == pytest.approx(1e-7)


def test_what_cancels_is_a_share_of_the_limits() -> None:
    # A difference that is nought but for last digits, of limits of 25 mm; and of any number the last digits of 1.
    assert allowed(FORMULA, 1e-13, scale=25.0).by == pytest.approx(25e-12)
    assert allowed(FORMULA, 1e-7, scale=25.0).by == pytest.approx(25e-14)
    assert allowed(FORMULA, 1e-7, scale=0.01).by == pytest.approx(1e-14)


def test_the_table_says_what_is_held() -> None:
    """Whoever compares with a program of their own has the numbers that are used here."""
    said = table()
    assert said["formula"]["relative"] * 2.0 == allowed(FORMULA, 2.0).by
    assert said["searched"]["relative"] * 2.0 == allowed(SEARCHED, 2.0).by
    p = "characteristics.a.x.p"
    assert said["searched"]["relative_of_p_values"] * 0.5 == allowed(p, 0.5).by
    assert said["searched"]["places"] == list(SEARCHED_AT)
    assert said["cancelled"]["absolute_below_1e-9"] == allowed(FORMULA, 0.0).by
