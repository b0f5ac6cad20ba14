"""Public names that load their module on first use, so that importing the kit costs nothing."""

from __future__ import annotations

import importlib
from collections.abc import Callable
from typing import Any


def attach(
    package: str, names: dict[str, str]
) -> tuple[Callable[[str], Any], Callable[[], list[str]], list[str]]:
    """Module-level ``__getattr__``, ``__dir__`` and ``__all__`` for a package (PEP 562).

    Parameters
    ----------
    package : str
        ``__name__`` of the calling package.
    names : dict of str to str
        Public name → submodule that defines it, relative to the package.
        A name mapped to itself is the submodule.

    Returns
    -------
    getattr, dir, all
        To be assigned to ``__getattr__``, ``__dir__`` and ``__all__``.
    """

    def load(name: str) -> Any:
        if name not in names:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        module = importlib.import_module(f"{package}.{names[name]}")
        return module if names[name] == name and not hasattr(module, name) else getattr(module, name)

    return load, lambda: sorted(names), sorted(names)
