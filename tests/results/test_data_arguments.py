"""Data at the door of a function: what is not let in is told why, and nothing is flattened or guessed."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest

from linestudy.results import CannotJudge, data_arguments

READINGS = pd.DataFrame({"part": [1, 1, 2, 2], "operator": list("aabb"), "y": [1.0, 2.0, 3.0, 4.0]})


@pytest.mark.parametrize(
    ("call", "kind", "says"),
    [
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
        (
            lambda: data_arguments.one_dimensional(np.array([1 + 0j, 2 + 3j])),
            TypeError,
            "not a number",
        ),
        (
            lambda: data_arguments.one_dimensional(np.ma.masked_equal([1.0, 2.0, 999.0], 999.0)),
            CannotJudge,
            "1 of 3 values is missing",
        ),
        (
            lambda: data_arguments.one_dimensional(pd.Series([1.0, None, "x"], dtype=object)),
            TypeError,
            "not a number",
        ),
        (
            lambda: data_arguments.one_dimensional([], least=1, what="reading"),
            CannotJudge,
            "There is no reading where at least 1",
        ),
        (lambda: data_arguments.width("step", 0.0), ValueError, "greater than 0"),
        (lambda: data_arguments.width("step", float("inf")), ValueError, "finite"),
        (
            lambda: data_arguments.by_label([1.0, 2.0], coil=["a"]),
            ValueError,
            "values has 2 entries and coil 1",
        ),
        (lambda: data_arguments.by_label([1.0], coil=["a"]), CannotJudge, "at least 2"),
    ],
)
def test_what_is_not_let_in_is_told_why(call: Any, kind: type[Exception], says: str) -> None:
    with pytest.raises(kind, match=says):
        call()


def test_what_is_right_passes_unchanged() -> None:
    assert list(data_arguments.column(READINGS, "y", "value")) == [1, 2, 3, 4]
    assert data_arguments.one_dimensional(READINGS["y"], least=4).tolist() == [1, 2, 3, 4]
    assert data_arguments.one_dimensional(range(3)).dtype == float


def test_what_passes_is_given_back_as_it_is() -> None:
    assert data_arguments.width("tolerance", None) is None
    assert data_arguments.width("tolerance", 0.2) == 0.2
    assert data_arguments.for_each(6.0, 2, name="reference").tolist() == [6.0, 6.0]
    assert data_arguments.for_each(READINGS["y"], 4, name="reference").tolist() == [1, 2, 3, 4]
    # The same readings a billion times larger are computed with.
    assert data_arguments.readings([1e60, 2e60]).tolist() == [1e60, 2e60]


@pytest.mark.parametrize(
    ("sizes", "let_in"),
    [
        ([1e70, -1e70], True),
        ([1.01e70, 0.0], False),
        ([-1.01e70, 0.0], False),
        ([0.0, 1.01e-70], True),
        ([0.0, 0.99e-70], False),
        # Alike to the last digit: nothing is divided by a difference that is not there.
        ([5.0, 5.0], True),
    ],
)
def test_sizes_whose_fourth_powers_a_double_holds(sizes: list[float], let_in: bool) -> None:
    if let_in:
        assert data_arguments.readings(sizes).tolist() == sizes
        assert np.isfinite(np.ptp(sizes) ** 4)
    else:
        with pytest.raises(CannotJudge, match="beyond what can be computed with"):
            data_arguments.readings(sizes)


def test_each_value_stays_with_its_label_in_the_order_of_the_labels() -> None:
    groups = data_arguments.by_label([5, 1, 4, 2, 3], station=["b", "a", "b", None, "a"])
    assert {name: part.tolist() for name, part in groups.items()} == {"b": [5, 4], "a": [1, 3]}
    assert list(groups) == ["b", "a"]
    numbered = data_arguments.by_label([5.0, 1.0, 4.0], coil=pd.Series([7, 3, 7], index=[9, 8, 9]))
    assert {name: part.tolist() for name, part in numbered.items()} == {"7": [5, 4], "3": [1]}


def test_a_label_written_as_number_and_as_text_loses_no_reading() -> None:
    """So a column of a workbook may be: the cavity 1 is the cavity "1"."""
    mixed = data_arguments.by_label([5.0, 1.0, 4.0], cavity=np.array([1, "1", 1], dtype=object))
    assert {name: part.tolist() for name, part in mixed.items()} == {"1": [5, 1, 4]}
