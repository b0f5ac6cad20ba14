"""One thread for linear algebra of small matrices, where waking a second one takes longest."""

from __future__ import annotations

import functools
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

_LOCK = threading.Lock()
_LIMITS: list[Any] = []


@contextmanager
def one_thread() -> Iterator[None]:
    """Hold the numerical libraries to one thread; within another such block it costs nothing.

    Examples
    --------
    >>> with one_thread():
    ...     pass
    """
    with _LOCK:
        _LIMITS.append(None if _LIMITS else _controller().limit(limits=1))
    try:
        yield
    finally:
        with _LOCK:
            # The limit is the first entry, and goes with the last block to end.
            if len(_LIMITS) == 1:
                _LIMITS[0].restore_original_limits()
            _LIMITS.pop()


@functools.cache
def _controller() -> Any:
    """Look for the libraries once: that takes a hundred times what setting a limit does."""
    # Both NumPy and SciPy bring one, and it must be there to be found.
    import scipy.linalg  # noqa: F401
    from threadpoolctl import ThreadpoolController

    return ThreadpoolController()
