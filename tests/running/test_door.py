"""A function taken from a package refuses what is of another kind than its annotations say."""

from __future__ import annotations

import pickle
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
import pandas as pd
import pytest

import linestudy
from linestudy.running.door import guarded, kind_of

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from linestudy.shape.fitting import FittedDistribution

Word = Literal["one", "two"]


@guarded
def asked(
    number: float = 0.0,
    whole: int | None = None,
    text: str = "",
    truth: bool = False,
    values: ArrayLike = (),
    ends: tuple[float, float] = (0.0, 1.0),
    names: Sequence[str] | None = None,
    table: Mapping[str, float] | None = None,
    fitted: FittedDistribution | None = None,
    word: Word = "one",
    file: Path | str = "",
    draw: Callable[[], None] | None = None,
) -> str:
    return "answered"


@pytest.mark.parametrize(
    "given",
    [
        {"number": 3},
        {"number": np.float32(1.5)},
        {"number": np.array(2.0)},
        {"whole": np.int64(3)},
        {"whole": 3.0},
        {"truth": np.bool_(True)},
        {"values": ["a", "b"]},
        {"values": pd.Series([1.0, None])},
        {"values": 3.0},
        {"ends": [1, 2]},
        {"ends": np.array([1.0, 2.0])},
        {"names": pd.Index(["L", "R"])},
        {"names": iter(["L"])},
        {"table": {"a": 1}},
        # A name that is no class of the kit is the function's own affair.
        {"word": 7},
        {"file": Path("a.csv")},
        # So is what has the same attributes as a class of the kit.
        {"fitted": SimpleNamespace(family="normal")},
        {"draw": print},
    ],
    ids=lambda given: f"{next(iter(given))} {type(next(iter(given.values()))).__name__}",
)
def test_what_is_of_its_kind_passes(given: dict[str, Any]) -> None:
    assert asked(**given) == "answered"


@pytest.mark.parametrize(
    ("given", "kind", "said"),
    [
        ({"number": "3"}, TypeError, "number must be a single number, not str '3'."),
        ({"number": True}, TypeError, "number must be a single number, not bool True."),
        ({"number": None}, TypeError, "number must be a single number, not NoneType None."),
        ({"number": 1j}, TypeError, "number must be a single number, not complex 1j."),
        (
            {"number": np.ones((3, 2))},
            TypeError,
            "number must be a single number, not ndarray of shape (3, 2).",
        ),
        (
            {"number": float("nan")},
            ValueError,
            "number = nan cannot be used; it must be a finite number.",
        ),
        (
            {"number": float("inf")},
            ValueError,
            "number = inf cannot be used; it must be a finite number.",
        ),
        ({"whole": 2.5}, TypeError, "whole must be a whole number or None, not float 2.5."),
        ({"text": 4}, TypeError, "text must be text, not int 4."),
        ({"truth": 1}, TypeError, "truth must be True or False, not int 1."),
        (
            {"values": None},
            TypeError,
            "values must be an array of numbers or labels, not NoneType None.",
        ),
        (
            {"values": [[1, 2], [3]]},
            TypeError,
            "values must be an array of numbers or labels, not list [[1, 2], [3]].",
        ),
        ({"ends": (1.0,)}, TypeError, "ends must be a list of 2, not tuple (1.0,)."),
        (
            {"ends": ("a", 2)},
            TypeError,
            "ends must be a list of which each is a single number, not tuple ('a', 2).",
        ),
        ({"names": "LR"}, TypeError, "names must be a list or None, not str 'LR'."),
        (
            {"names": [1, 2]},
            TypeError,
            "names must be a list of which each is text or None, not list [1, 2].",
        ),
        (
            {"table": {"a": "b"}},
            TypeError,
            "table must be a dict of which each is a single number or None, not dict {'a': 'b'}.",
        ),
        (
            {"fitted": 3},
            TypeError,
            "fitted must be a FittedDistribution or None, not int 3.",
        ),
        ({"file": 3}, TypeError, "file must be a path or text, not int 3."),
        ({"draw": 3}, TypeError, "draw must be a function or None, not int 3."),
    ],
    ids=lambda value: f"{next(iter(value))}" if isinstance(value, dict) else "",
)
def test_what_is_not_is_named_with_what_may_be_given(
    given: dict[str, Any], kind: type[Exception], said: str
) -> None:
    with pytest.raises(kind) as told:
        asked(**given)
    assert str(told.value) == said


def test_of_arguments_without_number_each_is_looked_at() -> None:
    @guarded
    def named(*place: str, **sizes: float) -> int:
        return len(place) + len(sizes)

    assert named("a", "b", c=1) == 3
    with pytest.raises(TypeError, match="place must be text, not int 1"):
        named("a", 1)  # type: ignore[arg-type]
    with pytest.raises(TypeError, match="sizes must be a single number, not str 'x'"):
        named(c="x")  # type: ignore[arg-type]


def test_too_many_arguments_are_told_in_the_words_of_python() -> None:
    with pytest.raises(TypeError, match="unexpected keyword argument 'numbr'"):
        asked(numbr=3)


def test_a_long_value_is_cut_and_a_table_is_told_by_its_shape() -> None:
    assert len(kind_of("x" * 1000)) < 50
    assert kind_of(pd.DataFrame({"a": [1, 2]})) == "DataFrame of shape (2, 1)"


def test_what_a_package_hands_out_is_one_thing_and_can_be_sent_to_a_process() -> None:
    from linestudy.capability import cpk

    assert cpk is linestudy.capability.cpk is linestudy.capability.cpk
    with pytest.raises(TypeError, match="mean must be a single number"):
        linestudy.capability.cpk([1.0], 1.0, n=30, df=29, lower=0.0, upper=None)
    assert pickle.loads(pickle.dumps(cpk)) is cpk


def test_an_old_name_of_an_argument_still_works_at_the_door() -> None:
    from linestudy.running.deprecation import old_keywords, renamed

    @guarded
    @old_keywords(renamed("size", "number", "0.2.0", "99.0.0"))
    def half(*, number: float) -> float:
        return number / 2

    with pytest.warns(DeprecationWarning, match="number"):
        assert half(size=3.0) == 1.5


def test_a_reading_that_is_masked_is_missing_and_a_truth_is_no_reading() -> None:
    from linestudy.results import CannotJudge
    from linestudy.results.data_arguments import one_dimensional

    masked = np.ma.masked_array([1.0, 99.0, 2.0], mask=[False, True, False])
    with pytest.raises(CannotJudge, match="1 of 3 values is missing"):
        one_dimensional(masked)
    assert one_dimensional(np.ma.masked_array([1, 2])).tolist() == [1.0, 2.0]
    with pytest.raises(TypeError, match="not a number: the truth value True at place 0"):
        one_dimensional([True, False])
