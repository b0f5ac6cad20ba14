"""One thread for linear algebra of small matrices, where waking a second one takes longest."""

from __future__ import annotations

import contextlib
import functools
import threading
from typing import Any


class one_thread(contextlib.ContextDecorator):  # noqa: N801
    """Let numerical libraries use one thread within, as a context or a decorator.

    Small matrices gain nothing from threads, which only spin; and a sum taken by one thread is the
    same whatever the machine has. Entering again within costs next to nothing. The setting is that of the
    whole process while anybody is within, as OpenBLAS and MKL know no other.

    Examples
    --------
    >>> with one_thread():
    ...     pass
    """

    _lock = threading.Lock()
    _inside = 0
    _limit: Any = None

    def __enter__(self) -> one_thread:
        with one_thread._lock:
            if one_thread._inside == 0:
                one_thread._limit = _controller().limit(limits=1)
            one_thread._inside += 1
        return self

    def __exit__(self, *error: object) -> None:
        with one_thread._lock:
            one_thread._inside -= 1
            if one_thread._inside == 0:
                one_thread._limit.restore_original_limits()


@functools.cache
def _controller() -> Any:
    """Look once for the libraries that have threads: searching takes a hundred times what setting does."""
    # Both bring a BLAS of their own; it must be there to be found.
    import scipy.linalg  # noqa: F401
    from threadpoolctl import ThreadpoolController

    return ThreadpoolController()
