"""Public names that load their module on first use, so that importing the kit costs nothing."""

from __future__ import annotations

import importlib
import sys
from collections.abc import Callable
from types import ModuleType
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
        Public name → submodule that defines it, relative to the package. A
        method may bear the name of its module (``crossed`` in ``crossed.py``):
        the package then offers the method. A name whose submodule does not
        define it is the submodule itself.

    Returns
    -------
    getattr, dir, all
        To be assigned to ``__getattr__``, ``__dir__`` and ``__all__``.
    """

    class Package(ModuleType):
        """Keeps a submodule, once imported, from hiding the method of the same name."""

        def __setattr__(self, name: str, value: Any) -> None:
            own_room = hasattr(value, "__path__")
            if isinstance(value, ModuleType) and names.get(name) == name and not own_room:
                value = getattr(value, name, value)
            super().__setattr__(name, value)

    sys.modules[package].__class__ = Package

    def load(name: str) -> Any:
        if name not in names:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        module = importlib.import_module(f"{package}.{names[name]}")
        # A room is offered as the room, also where one of its methods bears its name.
        return (
            module
            if hasattr(module, "__path__") and name == names[name]
            else getattr(module, name, module)
        )

    return load, lambda: sorted(names), sorted(names)
