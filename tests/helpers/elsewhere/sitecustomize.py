"""Take from a Linux what other systems lack: a stand-in for Windows, as far as Linux can stand in for it.

Loaded by every Python process that is started with this folder on its path: ``tests/conftest.py`` loads it
and puts the folder there where ``LINESTUDY_ELSEWHERE`` is set. Gone are forks (``os.fork``, multiprocessing's
start methods built on it), the call that swaps two names at once, links and groups of processes. What it cannot stand in for: paths, the console and the clock of Windows.
"""

from __future__ import annotations

import ctypes
import multiprocessing.context
import os
from typing import Any

for _name in ("fork", "forkpty", "killpg", "setpgid", "setsid", "mkfifo"):
    if hasattr(os, _name):
        delattr(os, _name)
_contexts = multiprocessing.context._concrete_contexts  # type: ignore[attr-defined]
for _method in ("fork", "forkserver"):
    _contexts.pop(_method, None)
multiprocessing.context._default_context._default_context = _contexts["spawn"]  # type: ignore[attr-defined]

_found = ctypes.CDLL.__getattr__


def _without_swap(library: ctypes.CDLL, name: str) -> Any:
    if name == "renameat2":
        raise AttributeError(name)
    return _found(library, name)


ctypes.CDLL.__getattr__ = _without_swap  # type: ignore[method-assign]


def _no_links(*words: Any, **options: Any) -> None:
    # Windows: "A required privilege is not held by the client".
    raise OSError(1314, "a required privilege is not held by the client")


os.symlink = _no_links
