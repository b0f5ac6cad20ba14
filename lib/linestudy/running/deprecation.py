"""Old names that keep working for a while: they warn, name the new one, and say when they go.

A name that is renamed is in its package's table for at least one minor version. A test reads all tables
and fails once the version of removal is reached, so that no old name is forgotten.
"""

from __future__ import annotations

import functools
import importlib
import os
import sys
import warnings
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ParamSpec, TypeVar

_P = ParamSpec("_P")
_R = TypeVar("_R")

#: Every rename that was declared in modules loaded so far, in the order it was declared.
DECLARED: list[Renamed] = []
_HERE = os.path.dirname(__file__)


@dataclass(frozen=True)
class Renamed:
    """One old name.

    Attributes
    ----------
    owner : str
        Full name of the package or function it belongs to.
    old, new : str
        Its names; the new name of a public name may lie elsewhere (``"linestudy.gauges.crossed"``).
    since, removal : str
        Versions in which it began to warn and in which it goes.
    """

    owner: str
    old: str
    new: str
    since: str
    removal: str

    @property
    def message(self) -> str:
        """What the warning says."""
        return (
            f"{self.owner}: {self.old!r} is called {self.new!r} since version {self.since}; "
            f"the old name goes in version {self.removal}"
        )

    def warn(self) -> None:
        """Tell whoever used the old name, at the line where it was used: the first outside of this package."""
        level, frame = 1, sys._getframe()
        while frame.f_back is not None and os.path.dirname(frame.f_code.co_filename) == _HERE:
            level, frame = level + 1, frame.f_back
        warnings.warn(self.message, DeprecationWarning, stacklevel=level)


def renamed(old: str, new: str, since: str, removal: str) -> tuple[str, str, str, str]:
    """Describe one rename, for :func:`old_names` and :func:`old_keywords`.

    Parameters
    ----------
    old, new : str
        The names. A public name may have moved: a new name with a dot is a full one.
    since, removal : str
        Version in which the old name begins to warn, and the later one in which it goes.

    Returns
    -------
    tuple of str
        The four, checked.

    Raises
    ------
    ValueError
        The names are the same, or the removal does not come after `since`.

    Examples
    --------
    >>> renamed("repeat", "repeatability", since="0.2.0", removal="0.4.0")
    ('repeat', 'repeatability', '0.2.0', '0.4.0')
    """
    if old == new:
        raise ValueError(f"{old!r} is renamed to itself")
    if _number(removal) <= _number(since):
        raise ValueError(f"{old!r} goes in {removal}, not later than it begins to warn, {since}")
    return old, new, since, removal


def old_names(
    package: str,
    names: Iterable[tuple[str, str, str, str]],
    load: Callable[[str], Any],
    *,
    positions: Mapping[str, Sequence[str]] | None = None,
) -> Callable[[str], Any]:
    """Make a package's ``__getattr__`` that also knows old public names.

    Parameters
    ----------
    package : str
        ``__name__`` of the package.
    names : iterable
        What :func:`renamed` describes.
    load : callable
        The package's own ``__getattr__``, asked for the new name.
    positions : mapping of str to sequence of str, optional
        For an old function that took options by position where the new one takes them by keyword:
        the new function's keywords, in the old order.

    Returns
    -------
    callable
        To be assigned to ``__getattr__``.

    Examples
    --------
    >>> import math, warnings
    >>> get = old_names("math", [renamed("root", "sqrt", "0.2.0", "0.4.0")], lambda n: getattr(math, n))
    >>> with warnings.catch_warnings(record=True) as told:
    ...     warnings.simplefilter("always")
    ...     get("root") is math.sqrt, str(told[0].message)
    (True, "math: 'root' is called 'sqrt' since version 0.2.0; the old name goes in version 0.4.0")
    """
    known = {name[0]: _declared(package, *name) for name in names}

    def get(name: str) -> Any:
        if name not in known:
            return load(name)
        one = known[name]
        one.warn()
        if "." not in one.new:
            found = load(one.new)
        else:
            module, _, attribute = one.new.rpartition(".")
            found = getattr(importlib.import_module(module), attribute)
        order = (positions or {}).get(name)
        return found if order is None else _by_position(found, order)

    return get


def _by_position(function: Callable[..., _R], order: Sequence[str]) -> Callable[..., _R]:
    """Wrap the function so that it takes its keywords by position, as before."""

    @functools.wraps(function)
    def call(*args: Any, **kwargs: Any) -> _R:
        if len(args) > len(order):
            raise TypeError(f"{function.__name__} takes at most {len(order)} arguments by position")
        by_name = dict(zip(order, args, strict=False))
        twice = by_name.keys() & kwargs.keys()
        if twice:
            raise TypeError(f"{function.__name__} got {sorted(twice)[0]!r} twice")
        return function(**by_name, **kwargs)

    return call


def old_keywords(
    *names: tuple[str, str, str, str],
) -> Callable[[Callable[_P, _R]], Callable[_P, _R]]:
    """Let a function be called by old names of its keyword arguments.

    Parameters
    ----------
    *names
        What :func:`renamed` describes.

    Returns
    -------
    callable
        A decorator. The function raises TypeError where old and new name are both given.

    Examples
    --------
    >>> import warnings
    >>> @old_keywords(renamed("conf", "confidence", "0.2.0", "0.4.0"))
    ... def width(*, confidence: float) -> float:
    ...     return 1 - confidence
    >>> with warnings.catch_warnings():
    ...     warnings.simplefilter("ignore")
    ...     width(conf=0.75)
    0.25
    """

    def decorate(function: Callable[_P, _R]) -> Callable[_P, _R]:
        owner = f"{function.__module__}.{function.__qualname__}"
        known = {name[0]: _declared(owner, *name) for name in names}

        @functools.wraps(function)
        def call(*args: _P.args, **kwargs: _P.kwargs) -> _R:
            for old in [key for key in kwargs if key in known]:
                one = known[old]
                if one.new in kwargs:
                    raise TypeError(f"{owner} got {old!r} and {one.new!r}, which are the same")
                one.warn()
                kwargs[one.new] = kwargs.pop(old)
            return function(*args, **kwargs)

        return call

    return decorate


def overdue(version: str) -> list[Renamed]:
    """List old names that should be gone.

    Parameters
    ----------
    version : str
        Of the kit.

    Returns
    -------
    list of Renamed
        Those among the modules loaded so far whose version of removal is reached.

    Examples
    --------
    >>> overdue("0.0.1")
    []
    """
    return [one for one in DECLARED if _number(version) >= _number(one.removal)]


def _declared(owner: str, old: str, new: str, since: str, removal: str) -> Renamed:
    one = Renamed(owner, old, new, since, removal)
    DECLARED.append(one)
    return one


def _number(version: str) -> Any:
    from packaging.version import Version

    return Version(version)
