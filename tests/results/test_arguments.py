"""The door of a function: what is not let in, and what each is told."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest

from linestudy.results import CannotJudge, arguments

READINGS = pd.DataFrame({"part": [1, 1, 2, 2], "operator": list("aabb"), "y": [1.0, 2.0, 3.0, 4.0]})


@pytest.mark.parametrize(
    ("call", "kind", "says"),
    [
        (
            lambda: arguments.one_of("method", "MLs", ("pivotal", "MLS")),
            ValueError,
            "did you mean 'MLS'",
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


def test_misuse_is_no_verdict_on_the_data() -> None:
    # CannotJudge is a ValueError too; what was asked wrongly must not look like data too few.
    with pytest.raises(ValueError, match="not known") as raised:
        arguments.one_of("rule", "foo", ("one point",))
    assert not isinstance(raised.value, CannotJudge)


@pytest.mark.parametrize(
    ("call", "kind", "says"),
    [
        (lambda: arguments.one_of("method", "MLS", ("pivotal", "mls")), ValueError, "mean 'mls'"),
    ],
)
def test_what_readings_widths_and_columns_are_refused(
    call: Any, kind: type[Exception], says: str
) -> None:
    with pytest.raises(kind, match=says):
        call()


def test_what_is_right_passes_unchanged() -> None:
    assert arguments.one_of("method", "MLS", ("pivotal", "MLS")) == "MLS"
    assert arguments.limits(None, 8) == (None, 8.0)
    assert arguments.limits(None, None, needed=False) == (None, None)
    assert arguments.share("confidence", 0.9) == 0.9
    assert arguments.whole("size", np.int64(5)) == 5
    assert arguments.same_length(values=[1, 2], order=None, station=["a", "b"]) == 2
