"""Modules that stand beside a test: cases, scenes, the proof's harness.

Tests are imported by their path and are no package, so what they share is loaded by its path too, once, under
a name that other processes and other tests find it by.
"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType


def load(name: str, file: Path) -> ModuleType:
    """The module of a file, under a name of its own."""
    if name not in sys.modules:
        spec = importlib.util.spec_from_file_location(name, file)
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules[name] = module
        spec.loader.exec_module(module)
    return sys.modules[name]
