"""Use a second core where the system can fork; otherwise one thing after the other.

Only work whose result is bytes or a file goes here. Figures cannot be sent to another process, so
the workers inherit them: that is why this needs a fork and not a fresh process.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from typing import Any

_TASKS: Sequence[Callable[[], Any]] = ()


def run_all(tasks: Sequence[Callable[[], Any]]) -> list[Any]:
    """Run tasks that do not depend on each other and return their results in order.

    Parameters
    ----------
    tasks : sequence of callable
        Each takes nothing; what it returns must be picklable.

    Returns
    -------
    list

    Examples
    --------
    >>> run_all([lambda: 1, lambda: 2])
    [1, 2]
    """
    global _TASKS
    cores = min(os.cpu_count() or 1, 4)
    if cores < 2 or len(tasks) < 4 or not sys.platform.startswith("linux"):
        return [task() for task in tasks]
    import multiprocessing
    import threading

    if threading.active_count() > 1:
        # A fork among other threads may inherit a lock that nobody will release (notebooks).
        return [task() for task in tasks]
    _TASKS = tasks
    try:
        with multiprocessing.get_context("fork").Pool(cores) as pool:
            return pool.map(_run, range(len(tasks)), chunksize=1)
    finally:
        _TASKS = ()


def _run(index: int) -> Any:
    return _TASKS[index]()
