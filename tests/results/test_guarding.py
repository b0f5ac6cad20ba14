"""A numerical failure of one method stands as such; a mistake of the programmer comes up."""

from __future__ import annotations

import warnings

import numpy as np
import pytest

from linestudy.results import Findings, InputError, Unjudged
from linestudy.results.guarding import NotComputed, clause


@pytest.fixture
def as_a_user(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LINESTUDY_STRICT", "0")


def singular() -> Unjudged:
    np.linalg.inv(np.zeros((2, 2)))
    return Unjudged("", "")


def too_large() -> Unjudged:
    _ = 1e200**2
    return Unjudged("", "")


def by_nothing() -> Unjudged:
    _ = 1 / 0
    return Unjudged("", "")


def warned() -> Unjudged:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        np.log(np.zeros(1))
    return Unjudged("", "")


def of_a_library() -> Unjudged:
    from statsmodels.tools.sm_exceptions import MissingDataError

    raise MissingDataError("exog contains inf or nans")


def refused() -> Unjudged:
    raise ValueError("x0 = 12.000000001 is infeasible")


@pytest.mark.parametrize(
    ("compute", "words"),
    [
        (singular, "a matrix of the calculation has no inverse"),
        (too_large, "a number grew beyond what the machine can hold"),
        (by_nothing, "something was divided by zero"),
        (warned, "its arithmetic broke off (divide by zero encountered in log)"),
        (of_a_library, "its arithmetic broke off (exog contains inf or nans)"),
        # Digits differ between machines, and results recomputed elsewhere must say the same.
        (refused, "the numbers are outside what its arithmetic allows"),
    ],
)
@pytest.mark.usefixtures("as_a_user")
def test_a_numerical_failure_is_a_finding_and_the_rest_goes_on(compute, words: str) -> None:
    found = Findings()
    failed = found.attempt("w", ("a",), "Method", compute)
    found.attempt("w", ("b",), "Next", lambda: Unjudged("Next", "Only one part."))
    assert isinstance(failed, Unjudged)
    assert failed.reason == f"It could not be computed: {words}."
    assert len(found) == 2


@pytest.mark.usefixtures("as_a_user")
def test_a_finding_that_cannot_tell_what_it_found_is_none() -> None:
    class Mute(Unjudged):
        def _rows(self):
            raise OverflowError

    failed = Findings().attempt("w", ("a",), "Method", lambda: Mute("Method", "x"))
    assert failed.statement.startswith("Method: cannot be judged. It could not be computed")


@pytest.mark.parametrize("kind", [KeyError, TypeError, AttributeError, NameError, AssertionError])
@pytest.mark.usefixtures("as_a_user")
def test_a_mistake_of_the_programmer_comes_up(kind: type[Exception]) -> None:
    def wrong() -> Unjudged:
        raise kind("x")

    with pytest.raises(kind):
        Findings().attempt("w", ("a",), "Method", wrong)


@pytest.mark.usefixtures("as_a_user")
def test_input_that_cannot_be_used_comes_up() -> None:
    def wrong() -> Unjudged:
        raise InputError("f.csv", "is wrong", "mend it")

    with pytest.raises(InputError):
        Findings().attempt("w", ("a",), "Method", wrong)


def test_who_works_on_the_kit_sees_the_error_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LINESTUDY_STRICT", "1")
    with pytest.raises(np.linalg.LinAlgError):
        Findings().attempt("w", ("a",), "Method", singular)


def test_words_are_one_clause() -> None:
    assert "\n" not in NotComputed.because(ValueError("a\nb")).reason
    assert clause(ValueError("no bracket found")) == "its arithmetic broke off (no bracket found)"
