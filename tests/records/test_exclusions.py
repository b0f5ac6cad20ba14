"""Why a row or a value is set aside: the first reason stands, bounds on either side, repeated and reused numbers."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from linestudy.records import exclusions as ex
from linestudy.study.model import Characteristic, Gauge

NAN = np.nan


def test_the_first_reason_stands_and_reasons_are_counted_as_they_occur() -> None:
    reasons = ex.Reasons(5)
    reasons.give(np.array([False, True, False, True, False]), "late")
    reasons.give(np.array([True, True, False, False, False]), "odd")
    reasons.give(np.zeros(5, dtype=bool), "never")
    assert [reasons.of(row) for row in range(5)] == ["odd", "late", "", "late", ""]
    assert reasons.unset.tolist() == [False, False, True, False, True]
    assert list(reasons.counted().items()) == [("odd", 1), ("late", 2)]
    assert reasons.counted(np.array([True, False, False, True, True])) == {"odd": 1, "late": 1}
    assert reasons.are("odd", "unheard of").tolist() == [True, False, False, False, False]
    assert len(reasons) == 5
    assert ex.Reasons(3).counted() == {}


def judged(
    values: list[float], gauge: Gauge | None = None, none: list[bool] | None = None, **item: object
) -> list[str]:
    reasons = ex.Reasons(len(values))
    no_reading = np.array(none if none is not None else [False] * len(values))
    characteristic = Characteristic(id="x", name="X", unit="mm", **item)
    ex.judge_values(reasons, np.array(values), no_reading, characteristic, gauge)
    return [reasons.of(row) for row in range(len(values))]


def test_a_value_at_its_bound_is_a_measurement_and_one_below_is_not() -> None:
    assert judged([-0.001, 0.0, 0.05], bound=0.0, upper=0.1) == [ex.BELOW_BOUND, "", ""]


def test_a_bound_above_the_limits_is_one_that_parts_cannot_exceed_and_is_called_so() -> None:
    found = judged([99.0, 100.0, 100.5], bound=100.0, lower=80.0, upper=99.5)
    assert found == ["", "", "above the physical bound"]


def test_a_bound_above_the_only_limit_is_one_that_parts_cannot_exceed() -> None:
    assert judged([79.0, 95.0, 100.5], bound=100.0, lower=80.0) == ["", "", ex.ABOVE_BOUND]
    assert judged([-1.0, 55.0, 70.0], bound=0.0, lower=60.0) == [ex.BELOW_BOUND, "", ""]


def test_ends_of_ranges_belong_to_them() -> None:
    gauge = Gauge(id="g", name="G", range=(1.0, 4.0))
    found = judged(
        [0.9, 1.0, 2.0, 3.0, 3.1, 4.1], gauge, lower=1.5, upper=2.5, plausible=(0.95, 3.0)
    )
    assert found == [ex.IMPLAUSIBLE, "", "", "", ex.IMPLAUSIBLE, ex.IMPLAUSIBLE]
    alone = judged([0.9, 1.0, 4.0, 4.1], gauge, lower=1.5, upper=2.5)
    assert alone == [ex.OUT_OF_RANGE, "", "", ex.OUT_OF_RANGE]


def test_no_reading_comes_before_every_other_reason() -> None:
    found = judged([-5.0, NAN], none=[True, True], bound=0.0, upper=0.1)
    assert found == [ex.NO_READING, ex.NO_READING]


@pytest.mark.parametrize(
    ("value", "wrong"),
    [(2.8e9, False), (3e9, True), (-3e9, True), (1e-31, True), (0.0, False), (NAN, False)],
)
def test_no_measure_lies_a_thousand_million_times_the_size_away(value: float, wrong: bool) -> None:
    item = Characteristic(id="x", name="X", nominal=2.8, lower=2.75, upper=2.85)
    assert ex.beyond(np.array([value]), item).tolist() == [wrong]


def test_without_a_drawing_only_what_no_double_can_be_squared_with_is_beyond() -> None:
    item = Characteristic(id="x", name="X", unit="mm")
    assert ex.beyond(np.array([1e29, 1e31, -1e31, np.inf]), item).tolist() == [
        False,
        True,
        True,
        True,
    ]


def test_verdicts_that_are_set_aside_bear_their_word_and_why() -> None:
    reasons = ex.Reasons(3)
    data = SimpleNamespace(set_aside_verdict={"EMPTY": "no part in the nest"})
    ex.judge_verdicts(reasons, pd.Series(["ok", " EMPTY ", "empty"]), data)
    assert [reasons.of(row) for row in range(3)] == ["", "verdict EMPTY: no part in the nest", ""]


def rows(order: list[float], content: list[str], **named: object) -> list[str]:
    reasons = ex.repeated_rows(np.array(order), pd.DataFrame({"cell": content}), **named)
    return [reasons.of(row) for row in range(len(order))]


def test_a_row_again_is_repeated_and_a_number_again_is_reused() -> None:
    assert rows([1, 2, 2, 3, 2], list("abbcd")) == ["", "", ex.REPEATED, "", ex.REUSED]


def test_a_row_without_a_number_repeats_none() -> None:
    assert rows([1, NAN, NAN, 2], list("aaab")) == ["", ex.NO_ORDER, ex.NO_ORDER, ""]


def test_the_same_cells_under_another_number_are_another_part() -> None:
    assert rows([1, 2, 3, 3], list("aaaa")) == ["", "", "", ex.REPEATED]


def test_a_tool_of_two_makes_two_parts_of_a_stroke() -> None:
    assert rows([1, 1, 1, 2], list("abca"), parts=2) == ["", "", ex.REUSED, ""]
    streams = ["L", "R", "L", "L"]
    found = rows([1, 1, 1, 2], list("abac"), parts=2, stream=streams)
    assert found == ["", "", ex.REPEATED, ""]
    third = rows([1, 1, 1], list("abc"), parts=2, stream=["L", "R", "M"])
    assert third == ["", "", ex.TOO_MANY_PARTS]


def test_in_a_file_of_one_value_a_row_each_characteristic_has_its_own() -> None:
    owner = pd.Series(["width", "gap", "width"])
    assert rows([1, 1, 1], list("aab"), owner=owner) == ["", "", ex.REUSED]
