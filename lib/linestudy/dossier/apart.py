"""Do a piece of work in a fresh process of its own, which may use the second core.

A notebook's kernel has threads and therefore may not fork (see ``parallel``); a fresh process has none.
Work and answer travel as pickles through its pipes. Where no such process can be had, or where it
breaks off without an answer, the work is done here.
"""

from __future__ import annotations

import importlib
import os
import pickle
import subprocess
import sys
from collections.abc import Callable
from functools import partial
from typing import Any

from linestudy.core.progress import in_a_notebook

#: ``-P``: nothing that lies in the folder where the notebook runs may stand in for a module.
_COMMAND = ("-P", "-c", "from linestudy.dossier.apart import serve; serve()")


def apart(
    work: Callable[..., Any],
    *arguments: Any,
    tell: Callable[[str], None],
    needed: tuple[str, ...] = (),
) -> Any:
    """Do work in a fresh process if this is a notebook on a machine with two cores, else here.

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
        answered, kind, value = _asked(work, arguments, tell, needed)
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
) -> tuple[bool, str, Any]:
    """Whether an answer came, of what kind, and the answer."""
    try:
        process = subprocess.Popen(
            [sys.executable, *_COMMAND],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            # As the command line does: threads of small matrices stand in the second process's way.
            env={"OPENBLAS_NUM_THREADS": "1", **os.environ},
        )
    except OSError:
        return False, "", None
    assert process.stdin is not None
    assert process.stdout is not None
    try:
        pickle.dump((work, arguments), process.stdin, protocol=5)
        process.stdin.close()
        for name in needed:
            importlib.import_module(name)
        while True:
            kind, value = pickle.load(process.stdout)
            if kind != "stage":
                return True, kind, value
            tell(value)
    except (EOFError, BrokenPipeError, pickle.PickleError, AttributeError, TypeError):
        return False, "", None
    finally:
        # Also where the reader interrupts the kernel.
        process.kill()
        process.wait()
        process.stdout.close()


def serve() -> None:
    """The other end: read work from standard input, do it, write stages and the answer."""
    with os.fdopen(os.dup(1), "wb") as out:
        # What the work prints must not get between the pickles.
        os.dup2(2, 1)
        work, arguments = pickle.load(sys.stdin.buffer)

        def send(kind: str, value: Any) -> None:
            out.write(pickle.dumps((kind, value), protocol=5))
            out.flush()

        try:
            result = work(*arguments, partial(send, "stage"))
        except Exception as error:
            send("error", error)
        else:
            send("result", result)
