"""The lock of versions that a dossier carries: everything its numbers and documents were made with."""

from __future__ import annotations

import functools
import platform
from importlib import metadata

from linestudy import __version__


@functools.cache
def lock() -> str:
    """List every distribution the kit needs, directly or not, with its version.

    Returns
    -------
    str
        Lines as pip reads them, in the order of the names; the first, a comment, names Python.
        What else is installed is not listed.

    Examples
    --------
    >>> "numpy==" in lock()
    True
    """
    from packaging.requirements import Requirement
    from packaging.utils import canonicalize_name

    found: dict[str, str] = {}
    wanted = ["linestudy"]
    while wanted:
        name = canonicalize_name(wanted.pop())
        if name in found:
            continue
        try:
            there = metadata.distribution(name)
        except metadata.PackageNotFoundError:
            # Asked for by a platform or an extra that is not this one.
            continue
        # What runs is this package, whatever was noted when it was installed.
        found[name] = __version__ if name == "linestudy" else there.version
        for text in there.requires or ():
            need = Requirement(text)
            if need.marker is None or need.marker.evaluate({"extra": ""}):
                wanted.append(need.name)
    head = f"# Python {platform.python_version()}"
    return "\n".join([head, *(f"{name}=={found[name]}" for name in sorted(found))]) + "\n"
