"""Use a second core where the system can fork; otherwise one thing after the other.

Only work whose result can be pickled goes here. Figures cannot be sent to another process, so
the workers inherit them: that is why this needs a fork and not a fresh process.
"""

from __future__ import annotations

import gc
import itertools
import os
import sys
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any, TypeVar

_T = TypeVar("_T")
_R = TypeVar("_R")


def run_all(
    tasks: Sequence[Callable[[], Any]], done: Callable[[int], None] | None = None
) -> list[Any]:
    """Run tasks that do not depend on each other and return their results in order.

    This process works like its helpers: each takes the next task that nobody has taken, so that what is
    loaded here already is put to use and a long task keeps nobody waiting.

    Parameters
    ----------
    tasks : sequence of callable
        Each takes nothing; what it returns must be picklable. The longest are best put first.
    done : callable, optional
        Told the number of each task (from 0) once it and all before it are done.

    Returns
    -------
    list

    Raises
    ------
    Exception
        That of the first task, in their order, that fails; none is begun after it.

    Examples
    --------
    >>> run_all([lambda: 1, lambda: 2])
    [1, 2]
    """
    tell = done or (lambda number: None)
    if len(tasks) < 2 or not _may_fork():
        results = []
        for number, task in enumerate(tasks):
            results.append(task())
            tell(number)
        return results
    return _Shared(tasks, tell).results()


class _Shared:
    """Tasks that this process and its helpers take turns at."""

    def __init__(self, tasks: Sequence[Callable[[], Any]], tell: Callable[[int], None]) -> None:
        import multiprocessing

        self._context = multiprocessing.get_context("fork")
        self._tasks, self._tell, self._told = tasks, tell, 0
        self._next = self._context.Value("i", 0)
        self._ready = self._context.Array("b", len(tasks), lock=False)

    def results(self) -> list[Any]:
        found: dict[int, tuple[bool, Any]] = {}
        helpers = []
        # What is there already is not gone through by the collectors of several processes.
        gc.freeze()
        try:
            for _ in range(min(os.cpu_count() or 1, 4, len(self._tasks)) - 1):
                receive, send = self._context.Pipe(duplex=False)
                helper = self._context.Process(target=self._help, args=(send,), daemon=True)
                helper.start()
                send.close()
                helpers.append((helper, receive))
            for number, outcome in self._taken():
                found[number] = outcome
                self._tell_of_finished()
            for _, receive in helpers:
                while not receive.poll(0.05):
                    self._tell_of_finished()
                found |= receive.recv()
            self._tell_of_finished()
        except EOFError:
            raise RuntimeError("a process that shared the work broke off") from None
        finally:
            gc.unfreeze()
            for helper, receive in helpers:
                # One that has answered is at its end; any other has nobody to answer to.
                receive.close()
                helper.kill()
                helper.join()
        for number in sorted(found):
            good, value = found[number]
            if not good:
                raise value
        return [found[number][1] for number in range(len(self._tasks))]

    def _taken(self) -> Iterator[tuple[int, tuple[bool, Any]]]:
        """Task after task, until none is left: its number, whether it went well, result or error."""
        while True:
            with self._next.get_lock():
                number = self._next.value
                self._next.value += 1
            if number >= len(self._tasks):
                return
            try:
                outcome = True, self._tasks[number]()
            except Exception as error:
                outcome = False, error
                with self._next.get_lock():
                    self._next.value = len(self._tasks)
            self._ready[number] = outcome[0]
            yield number, outcome

    def _help(self, send: Any) -> None:
        found = {}
        for number, (good, value) in self._taken():
            found[number] = good, value if good else _carried(value)
        try:
            send.send(found)
        except Exception as error:
            # A result that cannot travel: the error is that of every task done here.
            what = RuntimeError(f"{type(error).__name__}: {error}")
            send.send(dict.fromkeys(found, (False, what)))
        send.close()

    def _tell_of_finished(self) -> None:
        while self._told < len(self._tasks) and self._ready[self._told]:
            self._tell(self._told)
            self._told += 1


def in_threads(work: Callable[[_T], _R], items: Iterable[_T]) -> Iterator[_R]:
    """Do the same work for each item, a core to each, and yield the results in order.

    For work that mostly stands in libraries which let go of the interpreter. No more is begun than is
    soon asked for, so memory is that of a few items.

    Parameters
    ----------
    work : callable
    items : iterable

    Yields
    ------
    object
        What `work` returns for each item.

    Examples
    --------
    >>> list(in_threads(abs, [-1, 2]))
    [1, 2]
    """
    from concurrent.futures import ThreadPoolExecutor

    cores = min(os.cpu_count() or 1, 4)
    rest = iter(items)
    with ThreadPoolExecutor(cores) as threads:
        begun = deque(threads.submit(work, item) for item in itertools.islice(rest, cores + 1))
        try:
            while begun:
                yield begun.popleft().result()
                begun.extend(threads.submit(work, item) for item in itertools.islice(rest, 1))
        finally:
            # Whoever breaks off does not wait for what nobody will ask for.
            threads.shutdown(cancel_futures=True)


def beside(task: Callable[[], Any]) -> Callable[[], Any]:
    """Begin a task on the second core, and get what waits for its result.

    Parameters
    ----------
    task : callable
        Takes nothing; what it returns must be picklable.

    Returns
    -------
    callable
        Takes nothing and returns the task's result. Where the system cannot fork the task runs
        only then.

    Examples
    --------
    >>> beside(lambda: 3)()
    3
    """
    if not _may_fork():
        return task
    import multiprocessing

    context = multiprocessing.get_context("fork")
    receive, send = context.Pipe(duplex=False)
    # A process and no pool: a pool's threads would keep everybody else from forking meanwhile.
    helper = context.Process(target=_answer, args=(task, send), daemon=True)
    helper.start()
    send.close()

    def wait() -> Any:
        try:
            good, value = receive.recv()
        except EOFError:
            raise RuntimeError("the process on the second core broke off") from None
        finally:
            receive.close()
            helper.join()
        if not good:
            raise value
        return value

    return wait


def _answer(task: Callable[[], Any], send: Any) -> None:
    try:
        outcome = True, task()
    except Exception as error:
        outcome = False, _carried(error)
    try:
        send.send(outcome)
    except Exception as error:
        send.send((False, RuntimeError(f"{type(error).__name__}: {error}")))
    send.close()


def _may_fork() -> bool:
    """Two cores, a system that forks, and no other thread: a fork may inherit a lock for ever."""
    if (os.cpu_count() or 1) < 2 or not sys.platform.startswith("linux"):
        return False
    import multiprocessing
    import threading

    # A helper has no helpers of its own.
    return threading.active_count() == 1 and not multiprocessing.current_process().daemon


def _carried(error: Exception) -> Exception:
    """The error, or its words where it cannot travel between processes: a pool would wait for ever."""
    import pickle

    try:
        pickle.loads(pickle.dumps(error))
    except Exception:
        return RuntimeError(f"{type(error).__name__}: {error}")
    return error
