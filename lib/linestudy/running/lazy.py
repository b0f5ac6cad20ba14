"""Packages whose names load on first use, whose functions are guarded, and that say what was meant where a name is not theirs."""

from __future__ import annotations

import difflib
import inspect
import sys
from collections.abc import Callable
from typing import Any

import lazy_loader

from linestudy.running.door import guarded


def attach_stub(
    package: str, file: str
) -> tuple[Callable[[str], Any], Callable[[], list[str]], list[str]]:
    """Let the names in a package's stub load on first use.

    Parameters
    ----------
    package, file : str
        ``__name__`` and ``__file__`` of the package; its stub lies beside the file.

    Returns
    -------
    load, directory : callable
        To be assigned to ``__getattr__`` and ``__dir__``.
    names : list of str
        To be assigned to ``__all__``.

    Examples
    --------
    >>> import linestudy
    >>> linestudy.stability.contol_chart
    Traceback (most recent call last):
    AttributeError: linestudy.stability has no 'contol_chart'; did you mean 'control_chart'?
    """
    load, directory, names = lazy_loader.attach_stub(package, file)

    def get(name: str) -> Any:
        try:
            found = load(name)
            if inspect.isfunction(found):
                found = guarded(found)
                # At home where the package hands it out, for whoever asks again and whoever pickles it.
                found.__module__ = package
                setattr(sys.modules[package], name, found)
            return found
        except AttributeError:
            # What a tool asks for, or what broke off while it was loading, is not misspelt.
            if name.startswith("__") or name in names:
                raise
            near = difflib.get_close_matches(name, names, 1)
            said = f"; did you mean {near[0]!r}?" if near else ""
            raise AttributeError(f"{package} has no {name!r}{said}") from None

    return get, directory, names
