"""The two ways a study can fail its reader: input that cannot be used, data that cannot be judged."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from typing import Any


class LinestudyError(Exception):
    """Base of every error the kit raises on purpose."""

    def _render_traceback_(self) -> list[str]:
        """Give a notebook the sentence alone, without the calls that led to it.

        IPython asks an exception for this before it draws the calls itself.
        """
        return [str(self)]


class InputError(LinestudyError):
    """A file, row or key that cannot be used.

    Parameters
    ----------
    where : str
        The file, and the line or key inside it, relative to the study folder.
    what : str
        What is wrong, in one clause.
    todo : str
        What the reader should do about it, in one clause.

    Notes
    -----
    The command line prints it as one line and ends with exit code 2.
    """

    def __init__(self, where: str, what: str, todo: str) -> None:
        self.where = _one_line(where)
        self.what = _one_line(what)
        self.todo = _one_line(todo)
        super().__init__(f"{self.where}: {self.what}; {self.todo}")

    def __reduce__(self) -> tuple[type[InputError], tuple[str, str, str]]:
        """Pickle all arguments; the default keeps the message alone."""
        return type(self), (self.where, self.what, self.todo)


class CannotJudge(LinestudyError, ValueError):
    """Data that were read but do not allow this method to say anything.

    Parameters
    ----------
    reason : str
        One plain sentence for the submission, for example
        "Only one part was measured, so part-to-part spread is unknown."

    Notes
    -----
    Methods raise it; a package's ``evaluate`` turns it into an
    :class:`~linestudy.results.Unjudged` finding and goes on with the others.
    """

    def __init__(self, reason: str) -> None:
        self.reason = reason
        super().__init__(reason)


def did_you_mean(value: Any, known: Iterable[Any]) -> str:
    """Return " did you mean …?" where something known is near, else nothing.

    Parameters
    ----------
    value : object
        What was given.
    known : iterable
        What there is.

    Returns
    -------
    str
        Begins with a blank, so that it can follow a sign.

    Examples
    --------
    >>> did_you_mean("oprator", ["part", "operator"])
    " did you mean 'operator'?"
    """
    words = {str(item).lower(): str(item) for item in known}
    near = difflib.get_close_matches(str(value).lower(), words, n=1)
    return f" did you mean {words[near[0]]!r}?" if near else ""


def _one_line(text: str, limit: int = 400) -> str:
    """Shorten text from a file, which may hold anything, to one line for an error message."""
    flat = " ".join(str(text).split())
    flat = "".join(c if c.isprintable() else "�" for c in flat)
    return flat if len(flat) <= limit else flat[: limit - 1] + "…"
