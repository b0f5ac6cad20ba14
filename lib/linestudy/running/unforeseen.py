"""What a command ends with that is not about its input: the machine in the way, or an unforeseen error.

The file to report where the kit ends with an error that nobody foresaw.

It tells where in the code the error arose and with which versions, and nothing of the study: no
readings, no names, no path of the machine. What an error says may quote a cell or a name, so only the
messages of errors that speak of code are named, without quoted words and numbers.
"""

from __future__ import annotations

import contextlib
import errno
import os
import sys
from pathlib import Path

from linestudy.running.workers import WorkerEnded

#: Packages whose versions matter to whoever looks for the mistake.
_PACKAGES = (
    *("linestudy", "numpy", "scipy", "pandas", "pyarrow", "pydantic", "statsmodels"),
    *("matplotlib", "typst", "xlsxwriter", "bagit", "duckdb"),
)
_LONGEST = 300
#: Address space that the work takes, in MiB. Libraries reserve far more than they fill, and what they do when they cannot is
#: to end the process or to wait without end: the sample study did one or the other with 500 to 2,000, and was written
#: with 2,500.
_ADDRESS_SPACE = 2_900


def report(error: BaseException, command: str) -> Path | None:
    """Write the file.

    Parameters
    ----------
    error : BaseException
        What ended the command.
    command : str
        Which one, for example ``"dossier"``; its arguments are not named.

    Returns
    -------
    pathlib.Path or None
        In the system's folder for temporary files, else in the current one; None where neither can
        be written.
    """
    import tempfile

    text = _text(error, command)
    for place in (None, Path.cwd()):
        with contextlib.suppress(OSError):
            number, name = tempfile.mkstemp(prefix="linestudy-error-", suffix=".txt", dir=place)
            with os.fdopen(number, "w", encoding="utf-8", errors="replace") as stream:
                stream.write(text)
            return Path(name)
    return None


def _text(error: BaseException, command: str) -> str:
    import platform
    import traceback

    lines = [
        "linestudy ended with an error that it did not foresee.",
        "Please pass this file on to whoever looks after the kit. It holds no data of the study.",
        "",
        f"command: {command}",
        f"python: {platform.python_version()} on {sys.platform}, {platform.machine()}",
        *(f"{name}: {_version(name)}" for name in _PACKAGES),
        "",
    ]
    seen: set[int] = set()
    at: BaseException | None = error
    while at is not None and id(at) not in seen:
        seen.add(id(at))
        # What these say is of code; any other message may be of the study.
        of_code = isinstance(at, TypeError | AttributeError | NameError | ImportError | IndexError)
        said = without_data(str(at)) if of_code else "(its message is left out)"
        lines += [f"{type(at).__module__}.{type(at).__name__}: {said}"]
        lines += [
            f"  {_place(frame.filename)} line {frame.lineno}, in {frame.name}"
            for frame in traceback.extract_tb(at.__traceback__)
        ]
        at = at.__cause__ or at.__context__
        if at is not None:
            lines += ["", "which came after"]
    return "\n".join(lines) + "\n"


def without_data(message: str) -> str:
    """Remove quoted words, paths and numbers from an error's message.

    Parameters
    ----------
    message : str
        Text of an error, which may hold what is in a file.

    Returns
    -------
    str

    Examples
    --------
    >>> without_data("could not convert 'Line 4' at 12.5 in /home/me/x.csv")
    "could not convert '…' at # in …"
    """
    import re

    flat = " ".join(message[:20_000].split())
    # The apostrophe of "can't" begins no quotation, and a quotation that is never closed goes to the end.
    quoted = r"""(?<!\w)'(?:[^']|'(?=\w))*(?:'|$)|"[^"]*(?:"|$)|`[^`]*`|“[^”]*”"""
    flat = re.sub(quoted, "'…'", flat)
    flat = re.sub(r"\S*[/\\]\S*", "…", flat)
    flat = re.sub(r"[-+]?\d[\d.,]*(?:e[-+]?\d+)?", "#", flat)
    flat = "".join(c if c.isprintable() else " " for c in flat)
    return flat if len(flat) <= _LONGEST else flat[:_LONGEST] + "…"


def _place(name: str) -> str:
    """Write a code file's place within its package, without anybody's home folder."""
    parts = Path(name).parts
    for mark in ("site-packages", "dist-packages", "lib"):
        if mark in parts:
            return "/".join(parts[len(parts) - parts[::-1].index(mark) :])
    return parts[-1] if parts else name


def _version(name: str) -> str:
    from importlib import metadata

    try:
        return metadata.version(name)
    except metadata.PackageNotFoundError:
        return "not installed"


def confined() -> str | None:
    """Warn in one line where the system gives this process less address space than it needs.

    Returns
    -------
    str or None
        None also where the system knows no such limit, as Windows.

    Examples
    --------
    >>> confined() is None
    True
    """
    try:
        import resource
    except ImportError:
        return None
    soft, _ = resource.getrlimit(resource.RLIMIT_AS)
    if soft == resource.RLIM_INFINITY or soft >= _ADDRESS_SPACE * 2**20:
        return None
    return (
        f"this process may use {soft // 2**20:,} MiB of address space (ulimit -v), and the work takes "
        f"{_ADDRESS_SPACE:,} MiB, most of it reserved only; raise that limit"
    )


def of_the_machine(error: BaseException) -> str | None:
    """Explain in one line an error of the machine, not of the kit: disk, permissions, memory.

    Parameters
    ----------
    error : BaseException
        What was raised.

    Returns
    -------
    str or None

    Examples
    --------
    >>> of_the_machine(OSError(28, "No space left on device"))
    'the disk: the disk is full; make room and run the command again; nothing that was there is damaged'
    """
    seen: set[int] = set()
    at: BaseException | None = error
    while at is not None and id(at) not in seen:
        seen.add(id(at))
        if isinstance(at, WorkerEnded):
            return " ".join(str(at).split())
        if isinstance(at, MemoryError) or _no_memory_to_load(at):
            return "there is not enough memory; close other programs, or give a smaller study"
        if isinstance(at, OSError):
            return f"{_name(at.filename)}: {_reason(at)}; {_todo(at)}"
        at = at.__cause__
    return None


def _no_memory_to_load(error: BaseException) -> bool:
    """Check whether a library could not be loaded for want of memory, which only its message tells."""
    words = ("failed to map segment", "cannot allocate memory", "out of memory", "can't start new")
    return isinstance(error, ImportError | RuntimeError | OSError) and any(
        part in str(error).lower() for part in words
    )


def _name(filename: object) -> str:
    return Path(str(filename)).name if filename else "the disk"


def _reason(error: OSError) -> str:
    if error.errno == errno.ENOSPC:
        return "the disk is full"
    words = error.strerror or " ".join(str(error).split()) or type(error).__name__
    return words.lower()


def _todo(error: OSError) -> str:
    if error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        return "make room and run the command again; nothing that was there is damaged"
    if isinstance(error, PermissionError):
        # Windows also says this of a file or folder that another program holds open.
        return "close what has it open, or choose another place"
    place = FileExistsError | IsADirectoryError | NotADirectoryError
    return "choose another place" if isinstance(error, place) else "check the disk and the path"
