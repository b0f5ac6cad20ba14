"""Tasks in processes of their own: results in order, errors as they were, no waiting for ever."""

from __future__ import annotations

import os
import pickle

import pytest

from linestudy.core import CannotJudge, InputError
from linestudy.core import parallel as module
from linestudy.core.parallel import beside, run_all


class Odd(Exception):
    """Pickled by its message, it cannot be made again."""

    def __init__(self, one: str, two: str) -> None:
        super().__init__(f"{one} and {two}")


@pytest.fixture(params=[True, False], ids=["shared", "alone"])
def shared(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> bool:
    monkeypatch.setattr(module, "_may_fork", lambda: request.param)
    return bool(request.param)


def test_results_come_in_order_and_are_told_of(shared: bool) -> None:
    told: list[int] = []
    found = run_all([lambda i=i: (i, os.getpid()) for i in range(7)], told.append)
    assert [number for number, _ in found] == list(range(7))
    assert told == list(range(7))
    assert ({pid for _, pid in found} == {os.getpid()}) != shared


@pytest.mark.parametrize(
    "error", [InputError("a", "b", "c"), CannotJudge("no"), ValueError("x", 1), Odd("a", "b")]
)
def test_an_error_reaches_whoever_asked(shared: bool, error: Exception) -> None:
    def fail() -> None:
        raise error

    kind = RuntimeError if shared and isinstance(error, Odd) else type(error)
    with pytest.raises(kind) as caught:
        run_all([lambda: 1, fail, lambda: 2, lambda: 3])
    assert str(error) in str(caught.value)
    wait = beside(fail)
    with pytest.raises(kind):
        wait()


def test_an_input_error_travels_whole() -> None:
    error = InputError("study.toml line 3", "has no unit", "add one")
    again = pickle.loads(pickle.dumps(error))
    assert (again.where, again.what, again.todo) == (error.where, error.what, error.todo)
    assert str(again) == str(error)
