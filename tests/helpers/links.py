"""Links in the file system, where whoever runs the tests may make them."""

from __future__ import annotations

import os
from pathlib import Path

import pytest


def link(place: Path, to: Path) -> None:
    """Make `place` a link to `to`, or skip the test where the system does not allow it."""
    try:
        os.symlink(to, place)
    except OSError as error:
        pytest.skip(f"no links can be made here ({error})")
