"""Command lines that a message proposes, so that they can be copied into a terminal as they are printed."""

from __future__ import annotations

import os
import shlex
import subprocess
from pathlib import Path


def command_line(*words: str | Path) -> str:
    """Write a command of the kit with its arguments, quoted where a terminal asks for it.

    Parameters
    ----------
    *words : str or pathlib.Path
        The command's name (``"check"``) and its arguments, in order.

    Returns
    -------
    str

    Notes
    -----
    Quoted for POSIX shells by `shlex`, on Windows by the rules of its programs (`subprocess.list2cmdline`). Letters that are no
    ASCII need no quotes in either.

    Examples
    --------
    >>> command_line("check", "my_study")
    'linestudy check my_study'
    """
    plain = [str(word) for word in words]
    if os.name == "nt":
        return "linestudy " + subprocess.list2cmdline(plain)
    return " ".join(["linestudy", *(_quoted(word) for word in plain)])


def _quoted(word: str) -> str:
    # shlex would put every umlaut into quotes.
    ascii_only = "".join("a" if sign.isalpha() else sign for sign in word)
    return word if shlex.quote(ascii_only) == ascii_only else shlex.quote(word)
