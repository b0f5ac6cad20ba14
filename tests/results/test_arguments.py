"""The door of a function: twenty things that are not let in, and what each is told."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest

from linestudy.results import CannotJudge, arguments, data_arguments

READINGS = pd.DataFrame({"part": [1, 1, 2, 2], "operator": list("aabb"), "y": [1.0, 2.0, 3.0, 4.0]})


@pytest.mark.parametrize(
    ("call", "kind", "says"),
    [
        (
            lambda: arguments.one_of("method", "MLs", ("pivotal", "MLS")),
            ValueError,
            "did you mean 'MLS'",
        ),
        (
            lambda: data_arguments.column(READINGS, "oprator", "appraiser"),
            ValueError,
            "did you mean 'operator'",
        ),
        (
            lambda: data_arguments.column(READINGS, "reading", "value"),
            ValueError,
            "'part', 'operator', 'y'",
        ),
        (lambda: data_arguments.table([1, 2, 3]), TypeError, "DataFrame"),
        (
            lambda: data_arguments.table(pd.concat([READINGS, READINGS], axis=1)),
            ValueError,
            "more than once",
        ),
        (lambda: data_arguments.one_dimensional(np.zeros((40, 5))), ValueError, r"shape \(40, 5\)"),
        (lambda: data_arguments.one_dimensional(READINGS), TypeError, "the one column"),
        (lambda: data_arguments.one_dimensional(3.0), ValueError, "single number"),
        (lambda: data_arguments.one_dimensional(["a", "b"]), TypeError, "not a number"),
        (lambda: data_arguments.one_dimensional(["1", "2"]), TypeError, "the text '1' at place 0"),
        (
            lambda: data_arguments.one_dimensional(np.array(["2026-01-01"], dtype="M8[D]")),
            TypeError,
            "not a number",
        ),
        (
            lambda: data_arguments.one_dimensional([1.0], least=2),
            CannotJudge,
            "There is one value where at least 2",
        ),
        (
            lambda: data_arguments.one_dimensional([1.0, np.nan, np.inf]),
            CannotJudge,
            "2 of 3 values are missing",
        ),
        (
            lambda: data_arguments.one_dimensional([1.0, np.nan]),
            CannotJudge,
            "1 of 2 values is missing",
        ),
        (lambda: arguments.limits(24, 8), ValueError, "swapped"),
        (lambda: arguments.limits(8, 8), ValueError, "not below"),
        (lambda: arguments.limits(None, None), ValueError, "at least one limit"),
        (lambda: arguments.limits(float("nan"), 8), ValueError, "finite"),
        (lambda: arguments.limits("8", None), TypeError, "single number"),
        (lambda: arguments.number("tolerance", -1, above=0), ValueError, "greater than 0"),
        (lambda: arguments.number("sigmas", True), TypeError, "single number"),
        (lambda: arguments.number("sigmas", 9, least=1, most=6), ValueError, "at most 6"),
        (lambda: arguments.share("confidence", 95), ValueError, "0.95 for 95 %"),
        (lambda: arguments.share("confidence", 1.0), ValueError, "between 0 and 1"),
        (lambda: arguments.whole("size", 2.5), ValueError, "whole number"),
        (
            lambda: arguments.same_length(values=[1, 2], order=[1]),
            ValueError,
            "values has 2 entries and order 1",
        ),
    ],
)
def test_what_is_not_let_in_is_told_why(call: Any, kind: type[Exception], says: str) -> None:
    with pytest.raises(kind, match=says):
        call()


def test_what_is_right_passes_unchanged() -> None:
    assert arguments.one_of("method", "MLS", ("pivotal", "MLS")) == "MLS"
    assert list(data_arguments.column(READINGS, "y", "value")) == [1, 2, 3, 4]
    assert data_arguments.one_dimensional(READINGS["y"], least=4).tolist() == [1, 2, 3, 4]
    assert data_arguments.one_dimensional(range(3)).dtype == float
    assert arguments.limits(None, 8) == (None, 8.0)
    assert arguments.limits(None, None, needed=False) == (None, None)
    assert arguments.share("confidence", 0.9) == 0.9
    assert arguments.whole("size", np.int64(5)) == 5
    assert arguments.same_length(values=[1, 2], order=None, station=["a", "b"]) == 2


def test_misuse_is_no_verdict_on_the_data() -> None:
    # CannotJudge is a ValueError too; what was asked wrongly must not look like data too few.
    with pytest.raises(ValueError, match="not known") as raised:
        arguments.one_of("rule", "foo", ("one point",))
    assert not isinstance(raised.value, CannotJudge)


@pytest.mark.parametrize(
    ("call", "kind", "says"),
    [
        (
            lambda: data_arguments.column(READINGS, "person", "appraiser", hint="Give None."),
            ValueError,
            "'y'. Give None.",
        ),
        (
            lambda: data_arguments.readings(np.zeros((2, 3))),
            ValueError,
            r"readings has shape \(2, 3\)",
        ),
        (lambda: data_arguments.readings([1.0]), CannotJudge, "one reading where at least 2"),
        (lambda: data_arguments.readings([1.0, 1e200]), CannotJudge, "A reading of 1e\\+200"),
        (
            lambda: data_arguments.readings([0.0, 1e-200]),
            CannotJudge,
            "differ by no more than 1e-200",
        ),
        (
            lambda: data_arguments.for_each([1.0, 2.0], 3, name="reference"),
            ValueError,
            "reference has 2 entries for 3 readings",
        ),
        (lambda: data_arguments.for_each(np.nan, 3, name="reference"), ValueError, "finite"),
        (lambda: data_arguments.for_each("6", 3, name="reference"), TypeError, "single number"),
        (lambda: data_arguments.width("tolerance", -0.2), ValueError, "tolerance = -0.2"),
        (lambda: arguments.one_of("method", "MLS", ("pivotal", "mls")), ValueError, "mean 'mls'"),
    ],
)
def test_what_readings_widths_and_columns_are_refused(
    call: Any, kind: type[Exception], says: str
) -> None:
    with pytest.raises(kind, match=says):
        call()


def test_what_passes_is_given_back_as_it_is() -> None:
    assert data_arguments.width("tolerance", None) is None
    assert data_arguments.width("tolerance", 0.2) == 0.2
    assert data_arguments.for_each(6.0, 2, name="reference").tolist() == [6.0, 6.0]
    assert data_arguments.for_each(READINGS["y"], 4, name="reference").tolist() == [1, 2, 3, 4]
    # The same readings a billion times larger are computed with.
    assert data_arguments.readings([1e60, 2e60]).tolist() == [1e60, 2e60]
