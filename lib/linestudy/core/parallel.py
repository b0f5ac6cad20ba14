"""Use a second core where the system can fork; otherwise one thing after the other.

Only work whose result can be pickled goes here. Figures cannot be sent to another process, so
the workers inherit them: that is why this needs a fork and not a fresh process.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any

_TASKS: Sequence[Callable[[], Any]] = ()


def run_all(
    tasks: Sequence[Callable[[], Any]], done: Callable[[int], None] | None = None
) -> list[Any]:
    """Run tasks that do not depend on each other and return their results in order.

    Parameters
    ----------
    tasks : sequence of callable
        Each takes nothing; what it returns must be picklable.
    done : callable, optional
        Told the number of each task (from 0) once it and all before it are done.

    Returns
    -------
    list

    Examples
    --------
    >>> run_all([lambda: 1, lambda: 2])
    [1, 2]
    """
    global _TASKS
    tell = done or (lambda number: None)
    if len(tasks) < 4 or not _may_fork():
        return list(_told(tell, (task() for task in tasks)))
    import multiprocessing

    cores = min(os.cpu_count() or 1, 4)
    _TASKS = tasks
    try:
        with multiprocessing.get_context("fork").Pool(cores) as pool:
            return list(_told(tell, pool.imap(_run, range(len(tasks)))))
    finally:
        _TASKS = ()


def _told(tell: Callable[[int], None], results: Iterable[Any]) -> Iterator[Any]:
    for number, result in enumerate(results):
        tell(number)
        yield result


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
    global _TASKS
    if not _may_fork():
        return task
    import multiprocessing

    _TASKS = (task,)
    try:
        pool = multiprocessing.get_context("fork").Pool(1)
    finally:
        _TASKS = ()
    running = pool.apply_async(_run, (0,))
    pool.close()

    def wait() -> Any:
        result = running.get()
        # Its helper threads must be gone before anybody forks again.
        pool.join()
        return result

    return wait


def _may_fork() -> bool:
    """Two cores, a system that forks, and no other thread: a fork may inherit a lock for ever."""
    if (os.cpu_count() or 1) < 2 or not sys.platform.startswith("linux"):
        return False
    import threading

    return threading.active_count() == 1


def _run(index: int) -> Any:
    try:
        return _TASKS[index]()
    except Exception as error:
        raise _carried(error) from None


def _carried(error: Exception) -> Exception:
    """The error, or its words where it cannot travel between processes: a pool would wait for ever."""
    import pickle

    try:
        pickle.loads(pickle.dumps(error))
    except Exception:
        return RuntimeError(f"{type(error).__name__}: {error}")
    return error
