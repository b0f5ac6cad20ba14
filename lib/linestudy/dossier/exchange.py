"""Put a finished folder into the place of another in one step of the file system.

Linux has a call that swaps two names at once (``renameat2`` with ``RENAME_EXCHANGE``, since 3.15): at
every moment one whole folder stands at the place. Where the system or the file system lacks it, the old
folder steps aside first and the new one follows; a process killed between these two steps leaves the
place empty and the old folder whole beside it, from where the next run puts it back.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
from pathlib import Path

_AT_FDCWD = -100
_RENAME_EXCHANGE = 2


def swapped(one: Path, other: Path) -> bool:
    """Swap two names in one step.

    Parameters
    ----------
    one, other : pathlib.Path
        Both exist, on one file system.

    Returns
    -------
    bool
        False where the system cannot; then nothing has changed.

    Examples
    --------
    >>> swapped(Path("no/such"), Path("no/other"))
    False
    """
    if not sys.platform.startswith("linux"):
        return False
    import ctypes

    call = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None)
    if call is None:
        return False
    names = os.fsencode(one), os.fsencode(other)
    return bool(call(_AT_FDCWD, names[0], _AT_FDCWD, names[1], _RENAME_EXCHANGE) == 0)


def into_place(aside: Path, target: Path) -> None:
    """Move a finished folder to its place; what stood there is removed afterwards.

    Parameters
    ----------
    aside, target : pathlib.Path
        On one file system.

    Raises
    ------
    OSError
        The folder cannot be moved; what stood at its place still stands there.

    Examples
    --------
    >>> with tempfile.TemporaryDirectory() as place:
    ...     (Path(place) / "new").mkdir()
    ...     into_place(Path(place) / "new", Path(place) / "here")
    ...     (Path(place) / "here").is_dir()
    True
    """
    if not target.exists():
        os.replace(aside, target)
    elif swapped(aside, target):
        shutil.rmtree(aside, ignore_errors=True)
    else:
        _two_steps(aside, target)


def _two_steps(aside: Path, target: Path) -> None:
    old = Path(tempfile.mkdtemp(prefix=f"{_old(target)}", dir=target.parent))
    try:
        os.replace(target, old / "old")
        try:
            os.replace(aside, target)
        except OSError:
            os.replace(old / "old", target)
            raise
    finally:
        if target.exists():
            shutil.rmtree(old, ignore_errors=True)


def _old(target: Path) -> str:
    return f".{target.name}-old-"


def put_back(target: Path) -> None:
    """Undo the first of two steps where a process was killed before the second.

    Parameters
    ----------
    target : pathlib.Path

    Examples
    --------
    >>> put_back(Path("no/such/place"))
    """
    if target.exists() or not target.parent.is_dir():
        return
    for old in sorted(target.parent.glob(f"{_glob(_old(target))}*/old")):
        os.replace(old, target)
        shutil.rmtree(old.parent, ignore_errors=True)
        return


def beside(target: Path) -> Path:
    """Make an empty hidden folder beside a place, and remove those that killed processes left there.

    Parameters
    ----------
    target : pathlib.Path
        Its parent exists.

    Returns
    -------
    pathlib.Path
        Its name tells machine and process, so that a later run knows whether anybody still writes in it.

    Examples
    --------
    >>> with tempfile.TemporaryDirectory() as place:
    ...     beside(Path(place) / "here").is_dir()
    True
    """
    machine = f".{target.name}-{_machine()}-"
    for left in target.parent.glob(f"{_glob(machine)}*"):
        writer = left.name.removeprefix(machine).split("-")[0]
        if left.is_dir() and not left.is_symlink() and writer.isdigit() and not _runs(int(writer)):
            shutil.rmtree(left, ignore_errors=True)
    return Path(tempfile.mkdtemp(prefix=f"{machine}{os.getpid()}-", dir=target.parent))


def _machine() -> str:
    """A short name of this machine: on a shared disk another one's processes cannot be asked for."""
    import hashlib
    import platform

    return hashlib.sha256(platform.node().encode()).hexdigest()[:8]


def _runs(process: int) -> bool:
    """Whether a process of this number lives; where the system cannot be asked, it is taken to."""
    if os.name != "posix":
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True


def _glob(name: str) -> str:
    import glob

    return glob.escape(name)
