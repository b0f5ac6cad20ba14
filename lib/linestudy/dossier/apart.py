"""Do a piece of work in a process beside the notebook's, which may use the second core.

A notebook's kernel has threads and therefore may not fork (see ``parallel``); a fresh process has none.
Work and answer travel as pickles through its pipes. The process stays for the next piece of work, so that
what it has loaded is loaded once, and ends with the kernel or after two minutes without work. Where no such process can be had, or where
it breaks off without an answer, the work is done here.
"""

from __future__ import annotations

import atexit
import contextlib
import importlib
import os
import pickle
import select
import subprocess
import sys
import threading
from collections.abc import Callable
from functools import partial
from typing import Any

from linestudy.results.progress import in_a_notebook

#: Seconds after which a process without work ends: every open notebook may have one.
_PATIENCE = 120.0
#: The process that is there already.
_BESIDE: list[subprocess.Popen[bytes]] = []
#: ``-P``: nothing that lies in the folder where the notebook runs may stand in for a module.
_COMMAND = ("-P", "-c", "from linestudy.dossier.apart import serve; serve()")


def apart(
    work: Callable[..., Any],
    *arguments: Any,
    tell: Callable[[str], None],
    needed: tuple[str, ...] = (),
    then: tuple[str, ...] = (),
) -> Any:
    """Do work in a process beside this one if this is a notebook on a machine with two cores, else here.

    Parameters
    ----------
    work : callable
        A function that can be imported; called with `arguments` and, as its last argument, what it
        tells its stages to.
    *arguments
        Whatever can be pickled.
    tell : callable
        Told the name of each stage.
    needed : tuple of str
        Modules that the answer is made of; they are loaded here while the other process still
        loads its own.
    then : tuple of str
        Modules that the process beside loads once it has answered, while this one looks at the answer.

    Returns
    -------
    object
        What the work returns.

    Raises
    ------
    Exception
        What the work raises.

    Examples
    --------
    >>> apart(_example, 2, tell=lambda stage: None)
    4
    """
    if _pays():
        answered, kind, value = _asked(work, arguments, tell, needed, then)
        if answered:
            if kind == "error":
                raise value
            return value
    return work(*arguments, tell)


def _example(number: int, tell: Callable[[str], None]) -> int:
    tell("doubling")
    return 2 * number


def _pays() -> bool:
    return in_a_notebook() and sys.platform.startswith("linux") and (os.cpu_count() or 1) > 1


def _asked(
    work: Callable[..., Any],
    arguments: tuple[Any, ...],
    tell: Callable[[str], None],
    needed: tuple[str, ...],
    then: tuple[str, ...],
) -> tuple[bool, str, Any]:
    """Whether an answer came, of what kind, and the answer."""
    try:
        process = _waiting() or _begun()
    except OSError:
        return False, "", None
    assert process.stdin is not None
    assert process.stdout is not None
    sound = False
    try:
        # Whoever changes folder between two cells means the new one.
        pickle.dump((os.getcwd(), work, arguments, then), process.stdin, protocol=5)
        process.stdin.flush()
        for name in needed:
            importlib.import_module(name)
        while True:
            kind, value = pickle.load(process.stdout)
            if kind != "stage":
                sound = True
                return True, kind, value
            tell(value)
    except (EOFError, BrokenPipeError, pickle.PickleError, AttributeError, TypeError):
        return False, "", None
    finally:
        if sound:
            _BESIDE.append(process)
        else:
            # Also where the reader interrupts the kernel.
            end(process)


def _waiting() -> subprocess.Popen[bytes] | None:
    """The process that is there already, if it is there still."""
    while _BESIDE:
        process = _BESIDE.pop()
        if process.poll() is None:
            return process
        end(process)
    return None


def _begun() -> subprocess.Popen[bytes]:
    process = subprocess.Popen(
        [sys.executable, *_COMMAND],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        # As the command line does: threads of small matrices stand in the second process's way.
        env={"OPENBLAS_NUM_THREADS": "1", **os.environ},
    )
    # A kernel that shuts down ends its children and waits seconds for one that nobody takes note of.
    threading.Thread(target=process.wait, daemon=True).start()
    return process


def end(process: subprocess.Popen[bytes] | None = None) -> None:
    """End this process beside, or the one that waits for work."""
    for one in [process] if process is not None else [_BESIDE.pop() for _ in tuple(_BESIDE)]:
        one.kill()
        one.wait()
        for pipe in (one.stdin, one.stdout):
            if pipe is not None:
                with contextlib.suppress(BrokenPipeError):
                    pipe.close()


atexit.register(end)


def serve() -> None:
    """The other end: read work from standard input, do it, write stages and the answer, until it ends."""
    with os.fdopen(os.dup(1), "wb") as out:
        # What the work prints must not get between the pickles.
        os.dup2(2, 1)

        def send(kind: str, value: Any) -> None:
            out.write(pickle.dumps((kind, value), protocol=5))
            out.flush()

        while True:
            try:
                if not select.select([sys.stdin], [], [], _PATIENCE)[0]:
                    return
                folder, work, arguments, then = pickle.load(sys.stdin.buffer)
            except (EOFError, KeyboardInterrupt):
                return
            try:
                os.chdir(folder)
                result = work(*arguments, partial(send, "stage"))
            except KeyboardInterrupt:
                return
            except Exception as error:
                send("error", error)
            else:
                send("result", result)
                # It waits with empty hands.
                del work, arguments, result
                for name in then:
                    importlib.import_module(name)
