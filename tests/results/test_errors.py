"""Errors for a reader: one line whatever a file holds, the same on the other side of a process, no calls in a notebook."""

from __future__ import annotations

import pickle

import pytest

from linestudy.results import CannotJudge, InputError
from linestudy.results.errors import LinestudyError, did_you_mean


def test_an_input_error_says_where_what_and_what_to_do_in_one_line() -> None:
    error = InputError("run.csv line 3", "'a\nb\x1b[31m' is no number", "write one")
    assert "\n" not in str(error)
    assert "\x1b" not in str(error)
    assert str(error).startswith("run.csv line 3: 'a b")
    assert str(error).endswith(" is no number; write one")
    long = InputError("f", "x" * 5000, "mend it")
    assert len(long.what) == 400
    assert str(long).endswith("…; mend it")


@pytest.mark.parametrize(
    "error", [InputError("where", "what", "todo"), CannotJudge("Only one part was measured.")]
)
def test_an_error_of_a_worker_is_the_same_here(error: LinestudyError) -> None:
    again = pickle.loads(pickle.dumps(error))
    assert type(again) is type(error)
    assert vars(again) == vars(error)
    assert str(again) == str(error)


def test_a_notebook_shows_the_sentence_alone() -> None:
    assert CannotJudge("Only one part.")._render_traceback_() == ["Only one part."]


def test_data_that_cannot_be_judged_are_no_misuse_of_a_file() -> None:
    assert issubclass(CannotJudge, ValueError)
    assert not issubclass(InputError, ValueError)


@pytest.mark.parametrize(
    ("value", "known", "said"),
    [
        ("oprator", ["part", "operator"], " did you mean 'operator'?"),
        # Letters' case is no difference, and what is proposed is written as it must be.
        ("MLs", ["pivotal", "MLS"], " did you mean 'MLS'?"),
        ("zzz", ["part", "operator"], ""),
        ("x", [], ""),
        (12, [11, 120], " did you mean '120'?"),
    ],
)
def test_what_is_near_is_proposed(value: object, known: list[object], said: str) -> None:
    assert did_you_mean(value, known) == said
