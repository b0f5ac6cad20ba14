"""Worker processes: results in order, errors as they were, no waiting for ever, the same number from any of them."""

from __future__ import annotations

import os
import pickle
import signal
import subprocess
import sys
import textwrap
import threading
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

import cloudpickle
import pytest

from linestudy.results import CannotJudge, InputError
from linestudy.running import workers as module
from linestudy.running.threads import one_thread
from linestudy.running.workers import VARIABLE, begin, in_threads, processes, run_all, stop


class Odd(Exception):
    """Pickled by its message, it cannot be made again."""

    def __init__(self, one: str, two: str) -> None:
        super().__init__(f"{one} and {two}")


def slow(number: int) -> tuple[int, int]:
    time.sleep(0.05)
    return number, os.getpid()


@pytest.fixture(scope="module", autouse=True)
def of_this_module() -> Iterator[None]:
    # pytest loads this file under a name that no worker could import it by.
    here = sys.modules[__name__]
    cloudpickle.register_pickle_by_value(here)
    yield
    cloudpickle.unregister_pickle_by_value(here)
    stop()


@pytest.fixture(params=["2", "1"], ids=["shared", "alone"])
def shared(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> bool:
    monkeypatch.setenv(VARIABLE, request.param)
    return bool(request.param == "2")


@pytest.fixture
def two(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(VARIABLE, "2")


def test_results_come_in_order_and_are_told_of(shared: bool) -> None:
    run_all([partial(slow, 0)] * 2)
    told: list[int] = []
    found = run_all([partial(slow, i) for i in range(40)], told.append)
    assert [number for number, _ in found] == list(range(40))
    assert told == list(range(40))
    # This process works as well as its helpers.
    here = {pid for _, pid in found}
    assert os.getpid() in here
    assert (len(here) > 1) == shared


def test_none_is_begun_after_one_that_fails(shared: bool, tmp_path: Path) -> None:
    def mark(number: int) -> None:
        (tmp_path / str(number)).touch()
        time.sleep(0.05)
        if number in (1, 2, 57):
            raise InputError(f"file {number}", "is bad", "mend it")

    with pytest.raises(InputError, match="is bad"):
        run_all([partial(mark, i) for i in range(60)])
    assert len(list(tmp_path.iterdir())) < 30


@pytest.mark.proof
def test_of_two_errors_that_of_the_earlier_task_is_raised(two: None) -> None:
    def fail(number: int) -> None:
        time.sleep(0.3 if number == 0 else 0.4)
        raise ValueError(number)

    for _ in range(3):
        with pytest.raises(ValueError, match="0"):
            run_all([partial(fail, 0), partial(fail, 1)])


def test_a_worker_that_dies_is_named_and_the_next_work_gets_another(two: None) -> None:
    here = os.getpid()

    def dies() -> None:
        time.sleep(0.2)
        if os.getpid() != here:
            os._exit(3)

    with pytest.raises(RuntimeError, match="a worker process ended"):
        run_all([dies] * 6)
    assert [number for number, _ in run_all([partial(slow, i) for i in range(6)])] == list(range(6))


def test_what_cannot_be_sent_is_done_here_and_what_cannot_come_back_is_an_error(two: None) -> None:
    # A lock stands for whatever cannot be pickled.
    lock = threading.Lock()
    found = run_all([lambda: (lock.locked(), os.getpid())] * 4)
    assert {pid for _, pid in found} == {os.getpid()}

    def locks() -> Any:
        time.sleep(0.2)
        return threading.Lock()

    with pytest.raises(TypeError, match="pickle"):
        run_all([locks] * 4)


def test_a_worker_has_no_workers(two: None) -> None:
    here = os.getpid()

    def of_its_own() -> tuple[int, set[int], int]:
        time.sleep(0.1)
        return os.getpid(), set(run_all([os.getpid] * 3, workers=1)), processes()

    run_all([partial(slow, 0)] * 2)
    found = run_all([of_its_own] * 8)
    assert any(pid != here for pid, _, _ in found)
    for pid, inner, count in found:
        if pid != here:
            assert inner == {pid}
            assert count == 1


@pytest.mark.parametrize(
    ("sort", "words"),
    [(InputError, ("a", "b", "c")), (CannotJudge, ("no",)), (ValueError, ("x", 1)), (Odd, "ab")],
)
def test_an_error_reaches_whoever_asked(
    shared: bool, sort: type[Exception], words: tuple[Any, ...]
) -> None:
    def fail() -> None:
        raise sort(*words)

    error = sort(*words)

    # What a worker cannot send comes as its words; in this process it is what it is.
    kind = (RuntimeError, Odd) if shared and isinstance(error, Odd) else type(error)
    for work in (lambda: run_all([fail, partial(slow, 1), partial(slow, 2)]), begin(fail)):
        with pytest.raises(kind) as caught:
            work()
        assert str(error) in str(caught.value)


def test_an_input_error_travels_whole() -> None:
    error = InputError("study.toml line 3", "has no unit", "add one")
    again = pickle.loads(pickle.dumps(error))
    assert (again.where, again.what, again.todo) == (error.where, error.what, error.todo)
    assert str(again) == str(error)


def test_tasks_are_packed_before_this_process_goes_on(two: None) -> None:
    # What a task holds may grow while it waits: a worker still gets it as it was, and whole.
    held: dict[int, int] = dict.fromkeys(range(50_000), 1)

    def grows() -> int:
        size = len(held)
        for number in range(2_000):
            held[size + number] = 1
        return len(held)

    for _ in range(5):
        assert min(run_all([grows] * 6)) >= 52_000


def test_a_worker_follows_into_another_folder(
    two: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    run_all([partial(slow, 0)] * 2)
    monkeypatch.chdir(tmp_path)

    def where() -> str:
        time.sleep(0.02)
        return os.getcwd()

    assert {Path(place).resolve() for place in run_all([where] * 8)} == {tmp_path.resolve()}


def test_what_is_shared_travels_once(two: None, tmp_path: Path) -> None:
    held = b"x" * 1_000_000
    packed = module._packed([partial(len, held) for _ in range(50)], str(tmp_path))
    assert packed is not None
    assert Path(packed).stat().st_size < 1_100_000


SCRIPT = """
    import os, time
    from functools import partial
    from linestudy.running.workers import run_all

    def work(number):
        time.sleep(0.05)
        return number, os.getpid()

    found = run_all([partial(work, n) for n in range(20)])
    print([n for n, _ in found] == list(range(20)), len({pid for _, pid in found}))
"""


def script(tmp_path: Path, code: str) -> Path:
    file = tmp_path / "script.py"
    file.write_text(textwrap.dedent(code), encoding="utf-8")
    return file


@pytest.mark.proof
def test_a_script_needs_no_guard(tmp_path: Path, two: None) -> None:
    # Every system but Linux starts workers as fresh processes, which must not run the script again.
    done = subprocess.run(
        [sys.executable, str(script(tmp_path, SCRIPT))], capture_output=True, text=True, timeout=60
    )
    assert (done.stdout, done.stderr) == ("True 2\n", "")


@pytest.mark.skipif(not hasattr(os, "killpg"), reason="needs groups of processes")
def test_ctrl_c_ends_everything_without_a_word_from_the_workers(tmp_path: Path, two: None) -> None:
    code = """
        import os, time
        from linestudy.running.workers import run_all
        run_all([os.getpid] * 2)

        def work():
            time.sleep(30)

        print("begun", flush=True)
        try:
            run_all([work] * 4)
        except KeyboardInterrupt:
            print("stopped", flush=True)
    """
    child = subprocess.Popen(
        [sys.executable, str(script(tmp_path, code))],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    assert child.stdout is not None
    assert child.stdout.readline() == "begun\n"
    time.sleep(1.5)
    # As a terminal does: to every process of the group.
    os.killpg(child.pid, signal.SIGINT)
    out, err = child.communicate(timeout=20)
    assert (out, err, child.returncode) == ("stopped\n", "", 0)


@pytest.mark.parametrize("number", ["1", "2", "3"])
def test_a_sum_is_the_same_from_any_worker(number: str, monkeypatch: pytest.MonkeyPatch) -> None:
    # Shown against this process alone with one thread; BLAS sums in another order with more of them.
    import numpy as np

    def sums(seed: int) -> bytes:
        x = np.random.default_rng(seed).standard_normal((400, 300))
        return bytes(np.linalg.solve(x.T @ x, x.T @ x[:, 0]).tobytes())

    monkeypatch.setenv(VARIABLE, number)
    with one_thread():
        alone = [sums(seed) for seed in range(6)]
    assert run_all([partial(sums, seed) for seed in range(6)]) == alone


def blas_threads() -> set[int]:
    from threadpoolctl import threadpool_info

    return {each["num_threads"] for each in threadpool_info() if each["user_api"] == "blas"}


def test_the_number_of_processes_can_be_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(VARIABLE, "3")
    assert processes() == 3
    for word in ("", "many", "0", "-1"):
        monkeypatch.setenv(VARIABLE, word)
        assert 1 <= processes() <= module.MOST


@pytest.mark.proof
def test_threads_answer_in_order_and_begin_no_more_than_is_soon_asked_for() -> None:
    begun: list[int] = []

    def work(number: int) -> int:
        begun.append(number)
        time.sleep(0.02 if number % 2 else 0.0)
        return number * number

    found = in_threads(work, range(100))
    assert [next(found) for _ in range(3)] == [0, 1, 4]
    assert len(begun) <= 3 + processes() + 1
    assert list(found) == [n * n for n in range(3, 100)]
    assert list(in_threads(work, ())) == []


def test_an_error_in_a_thread_comes_in_its_turn_and_ends_the_work() -> None:
    begun: list[int] = []

    def work(number: int) -> int:
        begun.append(number)
        if number == 2:
            raise CannotJudge("no")
        return number

    found: Iterator[int] = in_threads(work, range(100))
    assert [next(found), next(found)] == [0, 1]
    with pytest.raises(CannotJudge):
        next(found)
    assert len(begun) < 10


def test_where_no_process_can_be_had_all_is_done_here(
    monkeypatch: pytest.MonkeyPatch, two: None
) -> None:
    import loky

    def none(**words: object) -> Callable[[], None]:
        raise OSError("this system has no semaphores")

    monkeypatch.setattr(loky, "get_reusable_executor", none)
    assert {pid for _, pid in run_all([partial(slow, i) for i in range(3)])} == {os.getpid()}
    assert begin(os.getpid)() == os.getpid()
