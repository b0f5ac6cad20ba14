"""Things that are made once for a whole run, however many workers share it.

Workers of pytest-xdist are processes of their own, and a session's fixture is made in each of them. What takes
seconds is therefore made by whoever asks first, in a folder that all workers see, while the others wait.
Nobody may change what lies there: a test that wants to change something copies it.
"""

from __future__ import annotations

import os
import pickle
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

#: Seconds after which a maker that gave no sign is taken for dead.
PATIENCE = 240.0


def common_folder(base: Path) -> Path:
    """The folder that all workers of this run see; `base` is the worker's own temporary folder."""
    return base.parent if os.environ.get("PYTEST_XDIST_WORKER") else base


def once(base: Path, name: str, make: Callable[[Path], object]) -> Path:
    """Give the folder `name` of this run, made by the first who asks.

    Parameters
    ----------
    base : Path
        The worker's temporary folder.
    name : str
        Of the folder, one for each thing.
    make : callable
        Fills the folder it is given. When it fails, the next who asks tries again.

    Returns
    -------
    Path
    """
    folder = common_folder(base) / name
    claim, done = folder.with_suffix(".claim"), folder.with_suffix(".done")
    asked = time.monotonic()
    while not done.exists():
        try:
            claim.touch(exist_ok=False)
        except FileExistsError:
            if time.monotonic() - asked > PATIENCE:
                raise TimeoutError(f"{name} was begun by another worker and never done") from None
            time.sleep(0.05)
            continue
        try:
            # Between the look and the claim another worker may have been done.
            if not done.exists():
                folder.mkdir()
                make(folder)
                done.touch()
        except BaseException:
            folder.rename(folder.with_name(f"{name}.failed.{time.monotonic_ns()}"))
            raise
        finally:
            claim.unlink()
    return folder


def keep(thing: Any, file: Path) -> None:
    """Write a Python object for the other workers."""
    file.write_bytes(pickle.dumps(thing, protocol=5))


def fetch(file: Path) -> Any:
    """Read what `keep` wrote in this run."""
    return pickle.loads(file.read_bytes())
