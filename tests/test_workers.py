"""Tasks in processes of their own: results in order, errors as they were, no waiting for ever."""

from __future__ import annotations

import os
import pickle
import time
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from linestudy.core import CannotJudge, InputError
from linestudy.core import parallel as module
from linestudy.core.parallel import beside, in_threads, run_all


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

    def slow(number: int) -> tuple[int, int]:
        time.sleep(0.05)
        return number, os.getpid()

    found = run_all([partial(slow, i) for i in range(7)], told.append)
    assert [number for number, _ in found] == list(range(7))
    assert told == list(range(7))
    # This process works as well as its helpers.
    here = {pid for _, pid in found}
    assert os.getpid() in here
    assert (len(here) > 1) == shared


def test_none_is_begun_after_one_that_fails(shared: bool, tmp_path: Path) -> None:
    def mark(number: int) -> None:
        (tmp_path / str(number)).touch()
        time.sleep(0.05)
        if number in (1, 2):
            raise InputError(f"file {number}", "is bad", "mend it")

    with pytest.raises(InputError, match="file 1"):
        run_all([partial(mark, i) for i in range(20)])
    assert len(list(tmp_path.iterdir())) < 8


def test_a_helper_that_breaks_off_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    here = os.getpid()

    def breaks_off() -> None:
        time.sleep(0.1)
        if os.getpid() != here:
            os._exit(3)

    with pytest.raises(RuntimeError, match="broke off"):
        run_all([breaks_off] * 6)


def test_a_result_that_cannot_travel_is_an_error_and_helpers_have_no_helpers() -> None:
    def of_its_own() -> Any:
        time.sleep(0.1)
        return run_all([os.getpid, os.getpid]), os.getpid()

    assert all(
        set(inner) == {pid} for inner, pid in run_all([of_its_own] * 4) if pid != os.getpid()
    )

    def stays() -> Any:
        time.sleep(0.1)
        return lambda: None

    with pytest.raises(RuntimeError):
        run_all([stays] * 4)


@pytest.mark.parametrize(
    "error", [InputError("a", "b", "c"), CannotJudge("no"), ValueError("x", 1), Odd("a", "b")]
)
def test_an_error_reaches_whoever_asked(shared: bool, error: Exception) -> None:
    def fail() -> None:
        raise error

    # What a helper cannot send comes as its words; in this process it is what it is.
    kind = (RuntimeError, Odd) if shared and isinstance(error, Odd) else type(error)
    with pytest.raises(kind) as caught:
        run_all([lambda: time.sleep(0.05), fail, lambda: 2, lambda: 3])
    assert str(error) in str(caught.value)
    wait = beside(fail)
    with pytest.raises(kind):
        wait()


def test_an_input_error_travels_whole() -> None:
    error = InputError("study.toml line 3", "has no unit", "add one")
    again = pickle.loads(pickle.dumps(error))
    assert (again.where, again.what, again.todo) == (error.where, error.what, error.todo)
    assert str(again) == str(error)


def test_threads_answer_in_order_and_begin_no_more_than_is_soon_asked_for() -> None:
    begun: list[int] = []

    def work(number: int) -> int:
        begun.append(number)
        time.sleep(0.02 if number % 2 else 0.0)
        return number * number

    found = in_threads(work, range(100))
    assert [next(found) for _ in range(3)] == [0, 1, 4]
    assert len(begun) <= 3 + min(os.cpu_count() or 1, 4) + 1
    assert list(found) == [n * n for n in range(3, 100)]
    assert list(in_threads(work, ())) == []


def test_an_error_in_a_thread_comes_in_its_turn_and_ends_the_work() -> None:
    begun: list[int] = []

    def work(number: int) -> int:
        begun.append(number)
        if number == 2:
            raise CannotJudge("no")
        return number

    found = in_threads(work, range(100))
    assert [next(found), next(found)] == [0, 1]
    with pytest.raises(CannotJudge):
        next(found)
    assert len(begun) < 10
