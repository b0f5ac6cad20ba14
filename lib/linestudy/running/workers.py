"""Use the cores: independent tasks in worker processes, the same way on Linux, macOS and Windows.

Workers come from ``loky`` (the process pool of joblib), because with the standard library's pool a script
or a notebook without ``if __name__ == "__main__"`` cannot start any where processes are not forked, and
a worker that dies may leave its caller waiting. A worker starts as a fresh interpreter, takes its task as
a pickle, stays for the next piece of work and ends when it has had none for a while or its parent has gone.

A task gives the same result in a worker as here: workers and callers let numerical libraries
use one thread (:class:`~linestudy.running.threads.one_thread`), since BLAS adds up in another order with another number of them.
How many processes there are is decided by the cores this process may use (affinity and container limits
included) or, where set, by the environment variable ``LINESTUDY_WORKERS``; 1 means that everything is done here.
"""

from __future__ import annotations

import contextlib
import functools
import importlib
import itertools
import os
import pickle
import shutil
import signal
import tempfile
import threading
import warnings
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

from linestudy.running.threads import one_thread

if TYPE_CHECKING:
    from concurrent.futures import Executor

_T = TypeVar("_T")
_R = TypeVar("_R")

#: Environment variable that says how many processes share the work.
VARIABLE = "LINESTUDY_WORKERS"
#: More processes than this gain nothing: a study has some six characteristics, and each costs memory.
MOST = 4
#: Seconds after which a worker without work ends.
PATIENCE = 60
#: What the usual numerical libraries read when they are loaded.
_THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "BLIS_NUM_THREADS")
#: Set in a worker: a worker has no workers of its own.
_INSIDE = "LINESTUDY_INSIDE_A_WORKER"


class WorkerEnded(RuntimeError):
    """A worker process was ended from outside, mostly for want of memory."""


def processes() -> int:
    """Count the processes that share work, this one included.

    Returns
    -------
    int
        What ``LINESTUDY_WORKERS`` says; else the usable cores, at most four. 1 within a worker.

    Examples
    --------
    >>> processes() >= 1
    True
    """
    if _INSIDE in os.environ:
        return 1
    asked = os.environ.get(VARIABLE, "").strip()
    if asked.isdigit() and int(asked) > 0:
        return int(asked)
    import loky

    return max(1, min(int(loky.cpu_count()), MOST))


def run_all(
    tasks: Sequence[Callable[[], Any]],
    done: Callable[[int], None] | None = None,
    *,
    workers: int | None = None,
) -> list[Any]:
    """Run tasks that do not depend on each other and return their results in order.

    Workers take the tasks from the front, this process from the back, until they meet: what is
    loaded here already is put to use, and the start of a fresh worker keeps nobody waiting. A worker gets its next
    task when it has done the last.

    Parameters
    ----------
    tasks : sequence of callable
        Each takes nothing; task and result can be pickled (closures too). Put the longest first.
    done : callable, optional
        Called with the number of each task (from 0) once it and all before it are done.
    workers : int, optional
        Processes beside this one; as many as :func:`processes` allows when absent.

    Returns
    -------
    list
        One result per task.

    Raises
    ------
    Exception
        That of the first task, in their order, that fails, as it was raised; tasks not begun by then are dropped.
    RuntimeError
        A worker died; what it was doing is lost.

    Examples
    --------
    >>> run_all([lambda: 1, lambda: 2], workers=0)
    [1, 2]
    """
    tell = done or (lambda number: None)
    beside = processes() - 1 if workers is None else workers
    if beside > 0 and len(tasks) > 1 and (pool := _pool(beside)) is not None:
        with tempfile.TemporaryDirectory(prefix="linestudy-") as place:
            file = _packed(tasks, place)
            if file is not None:
                return _shared(pool, tasks, file, tell, beside)
    results = []
    for number, task in enumerate(tasks):
        results.append(_alone(task))
        tell(number)
    return results


def _shared(
    pool: Executor,
    tasks: Sequence[Callable[[], Any]],
    file: str,
    tell: Callable[[int], None],
    beside: int,
) -> list[Any]:
    ends = _Ends(len(tasks))
    folder = os.getcwd()

    def feed() -> None:
        # One task at a time: what a pool holds ready for a worker nobody else can take any more.
        while (number := ends.front()) is not None:
            try:
                ends.keep(number, pool.submit(_by_number, folder, file, number).result())
            except BaseException as error:
                ends.fail(number, error)

    lanes = [threading.Thread(target=feed, daemon=True) for _ in range(beside)]
    for lane in lanes:
        lane.start()
    announced = 0
    try:
        while (number := ends.back()) is not None:
            try:
                ends.keep(number, _alone(tasks[number]))
            except Exception as error:
                ends.fail(number, error)
            while announced in ends.found and not ends.errors:
                tell(announced)
                announced += 1
        while announced < len(tasks) and ends.wait_for(announced):
            tell(announced)
            announced += 1
        # After an error what runs already is waited for.
        for lane in lanes:
            lane.join()
    except BaseException as error:
        ends.close()
        if isinstance(error, KeyboardInterrupt):
            stop()
        raise
    if ends.errors:
        raise _named(ends.errors[min(ends.errors)])
    return [ends.found[number] for number in range(len(tasks))]


class _Ends:
    """Tasks that are taken from both ends until these meet, and what became of them."""

    def __init__(self, size: int) -> None:
        self.found: dict[int, Any] = {}
        self.errors: dict[int, BaseException] = {}
        self._next, self._last = 0, size
        self._changed = threading.Condition()

    def front(self) -> int | None:
        with self._changed:
            if self._next >= self._last:
                return None
            self._next += 1
            return self._next - 1

    def back(self) -> int | None:
        with self._changed:
            if self._next >= self._last:
                return None
            self._last -= 1
            return self._last

    def keep(self, number: int, result: Any) -> None:
        with self._changed:
            self.found[number] = result
            self._changed.notify_all()

    def fail(self, number: int, error: BaseException) -> None:
        with self._changed:
            self.errors[number] = error
            self._last = 0
            self._changed.notify_all()

    def close(self) -> None:
        """Let nobody begin anything more."""
        with self._changed:
            self._last = 0

    def wait_for(self, number: int) -> bool:
        """Wait for a task; False where one failed."""
        with self._changed:
            self._changed.wait_for(lambda: number in self.found or bool(self.errors))
            return not self.errors


def _packed(tasks: Sequence[Callable[[], Any]], place: str) -> str | None:
    """Write tasks into a file, what they share once; None where one cannot be pickled.

    Pickled here and now: the pool would do it task by task in a thread, while this one changes what they hold.
    """
    import cloudpickle

    file = os.path.join(place, "tasks")
    try:
        with open(file, "wb") as out:
            cloudpickle.dump(list(tasks), out, protocol=5)
    except (pickle.PicklingError, TypeError, AttributeError, OSError):
        # Also a full disk: what cannot be sent is done here.
        return None
    return file


#: In a worker: the tasks it took from last, by the name of their file.
_TAKEN: dict[str, Sequence[Callable[[], Any]]] = {}


def _by_number(folder: str, file: str, number: int) -> Any:
    # Whoever changes folder between two pieces of work means the new one.
    os.chdir(folder)
    try:
        if file not in _TAKEN:
            _TAKEN.clear()
            with open(file, "rb") as packed:
                _TAKEN[file] = pickle.load(packed)
        return _alone(_TAKEN[file][number])
    except Exception as error:
        raise _carried(error) from None


def _carried(error: Exception) -> Exception:
    """Return the error, or its text where it cannot be unpickled, which would end the pool."""
    try:
        pickle.loads(pickle.dumps(error))
    except Exception:
        return RuntimeError(f"{type(error).__name__}: {error}")
    return error


def begin(task: Callable[[], _T]) -> Callable[[], _T]:
    """Begin a task in a worker, and return a function that waits for its result.

    Parameters
    ----------
    task : callable
        Takes nothing; task and result can be pickled.

    Returns
    -------
    callable
        Takes nothing and returns the task's result, or raises what it raised. A task that no worker
        has taken by then is done here.

    Examples
    --------
    >>> begin(lambda: 3)()
    3
    """
    beside = processes() - 1
    pool = _pool(beside) if beside > 0 else None
    place = tempfile.mkdtemp(prefix="linestudy-")
    file = _packed([task], place) if pool is not None else None
    if pool is None or file is None:
        shutil.rmtree(place, ignore_errors=True)
        return functools.partial(_alone, task)
    future = pool.submit(_by_number, os.getcwd(), file, 0)
    future.add_done_callback(lambda done: shutil.rmtree(place, ignore_errors=True))

    def wait() -> _T:
        if future.cancel():
            return _alone(task)
        try:
            found: _T = future.result()
        except KeyboardInterrupt:
            stop()
            raise
        except Exception as error:
            raise _named(error) from None
        return found

    return wait


def warm(*modules: str) -> None:
    """Let a worker start and load modules while this process does something else.

    Parameters
    ----------
    *modules : str
        Full names. One that cannot be loaded is passed over.

    Examples
    --------
    >>> warm("math")
    """
    beside = processes() - 1
    pool = _pool(beside) if beside > 0 else None
    for _ in range(beside if pool is not None else 0):
        pool.submit(_load, modules)  # type: ignore[union-attr]


def in_threads(work: Callable[[_T], _R], items: Iterable[_T]) -> Iterator[_R]:
    """Do the same work for each item, a thread to each core, and yield the results in order.

    For work that mostly is in libraries which let go of the interpreter. No more is begun than is
    soon asked for, so memory is that of a few items.

    Parameters
    ----------
    work : callable
        Takes one item.
    items : iterable
        Taken one by one.

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

    cores = processes()
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


def stop() -> None:
    """End all workers at once; the next piece of work starts new ones.

    Examples
    --------
    >>> stop()
    """
    pool = _POOL.pop("pool", None)
    if pool is not None:
        pool.shutdown(wait=True, kill_workers=True)


#: The pool in use, so that it can be ended.
_POOL: dict[str, Any] = {}


def _pool(beside: int) -> Executor | None:
    """Return the pool of that many workers, started if needed; None where none can be had."""
    if _INSIDE in os.environ:
        return None
    try:
        import loky
    except ImportError:
        return None
    # loky replaces a worker whose memory grew by itself; the caller can do nothing about it.
    warnings.filterwarnings("ignore", message="A worker (stopped|was restarted) while some jobs")
    try:
        _POOL["pool"] = loky.get_reusable_executor(
            max_workers=beside,
            timeout=PATIENCE,
            initializer=_begin_worker,
            # The libraries alone take a worker beyond what loky holds for a leak (300 MB).
            env={**dict.fromkeys(_THREADS, "1"), _INSIDE: "1", "LOKY_MAX_MEMORY_LEAK_SIZE": "1e9"},
        )
    except (OSError, ImportError):
        # No processes, or no semaphores, on this system.
        return None
    pool: Executor = _POOL["pool"]
    return pool


def _begin_worker() -> None:
    # Ctrl-C reaches every process of a terminal; the one that was asked answers it.
    with contextlib.suppress(ValueError):
        signal.signal(signal.SIGINT, signal.SIG_IGN)


def _alone(task: Callable[[], _T]) -> _T:
    with one_thread():
        return task()


def _load(modules: tuple[str, ...]) -> None:
    for name in modules:
        with contextlib.suppress(ImportError):
            importlib.import_module(name)


def _named(error: BaseException) -> BaseException:
    """Return the error as it was raised; where a worker died, explain what that means."""
    from concurrent.futures.process import BrokenProcessPool

    if not isinstance(error, BrokenProcessPool):
        return error
    _POOL.pop("pool", None)
    if "pickle" in str(error):
        # What a task returned, or was given, cannot travel.
        return RuntimeError(str(error))
    return WorkerEnded(
        "a worker process ended before its task was done (was memory short?); "
        f"with {VARIABLE}=1 everything is done in one process"
    )
