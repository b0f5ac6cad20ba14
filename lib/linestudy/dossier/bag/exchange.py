"""Put a finished folder into the place of another in one step of the file system.

Linux has a call that swaps two names at once (``renameat2`` with ``RENAME_EXCHANGE``, since 3.15): at
every moment one whole folder is at the place. Where the system or the file system lacks it, the old
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
    """Move a finished folder to its place; what was there is removed afterwards.

    Parameters
    ----------
    aside, target : pathlib.Path
        On one file system.

    Raises
    ------
    OSError
        The folder cannot be moved; what was at its place is still there.

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


def kept_aside(aside: Path, target: Path) -> Path:
    """Move a finished folder to its place; what was there is kept beside it under its own date.

    Parameters
    ----------
    aside, target : pathlib.Path
        Both folders, on one file system.

    Returns
    -------
    pathlib.Path
        Where the older one is kept.

    Raises
    ------
    OSError
        The folder cannot be moved; what was at its place is still there.

    Notes
    -----
    Killed at any moment both are whole: the new one waits under a hidden name that no run sweeps away,
    and :func:`put_back` finds whichever of the two is left there.

    Examples
    --------
    >>> with tempfile.TemporaryDirectory() as place:
    ...     (Path(place) / "new").mkdir()
    ...     (Path(place) / "my.dossier").mkdir()
    ...     kept = kept_aside(Path(place) / "new", Path(place) / "my.dossier")
    ...     kept.name.startswith("my.2"), kept.name.endswith(".dossier")
    (True, True)
    """
    kept = dated(target)
    waiting = Path(tempfile.mkdtemp(prefix=_old(target), dir=target.parent))
    new = waiting / "old"
    os.replace(aside, new)
    if swapped(new, target):
        os.replace(new, kept)
    else:
        os.replace(target, kept)
        try:
            os.replace(new, target)
        except OSError:
            os.replace(kept, target)
            raise
    waiting.rmdir()
    return kept


def dated(target: Path) -> Path:
    """Choose an unused name for an older file or folder: its own, with the day it was written.

    Parameters
    ----------
    target : pathlib.Path
        It exists.

    Returns
    -------
    pathlib.Path
        ``my.dossier`` gives ``my.2026-03-02.dossier``, the next of that day ``my.2026-03-02-2.dossier``.
    """
    import datetime

    inner = target / "bagit.txt"
    written = (inner if inner.is_file() else target).stat().st_mtime
    day = datetime.date.fromtimestamp(written).isoformat()
    number = 1
    while True:
        mark = day if number == 1 else f"{day}-{number}"
        name = target.with_name(f"{target.stem}.{mark}{target.suffix}")
        if not os.path.lexists(name):
            return name
        number += 1


def put_back(target: Path) -> None:
    """Put in order what a process left that was killed between two steps; nothing whole is thrown away.

    Parameters
    ----------
    target : pathlib.Path
        Where it is absent, the folder that waits for the place comes there; where it stands, that folder
        is kept beside it under its date.

    Examples
    --------
    >>> put_back(Path("no/such/place"))
    """
    if not target.parent.is_dir():
        return
    for old in sorted(target.parent.glob(f"{_glob(_old(target))}*/old")):
        place = dated(target) if target.exists() else target
        os.replace(old, place)
        shutil.rmtree(old.parent, ignore_errors=True)


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
    """Return a short name of this machine; processes of another one on a shared disk cannot be looked up."""
    import hashlib
    import platform

    return hashlib.sha256(platform.node().encode()).hexdigest()[:8]


def _runs(process: int) -> bool:
    """Check whether a process of this number lives; where the system cannot be asked, assume so."""
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
