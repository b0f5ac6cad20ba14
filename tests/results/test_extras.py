"""Whoever lacks a package of an extra is told in one line what to type."""

from __future__ import annotations

import sys

import pytest

from linestudy.results import InputError
from linestudy.results.extras import require


def test_all_that_is_missing_is_named_with_what_to_type() -> None:
    with pytest.raises(InputError) as told:
        require("notebooks", "math", "no_such_a", "no_such_b", purpose="sliders")
    assert str(told.value) == (
        'sliders: no_such_a and no_such_b are not installed; type: pip install "linestudy[notebooks]"'
    )


def test_what_is_there_is_let_pass_without_being_imported() -> None:
    """Asking costs nobody the import of what may not be needed."""
    require("log", "math", "this", purpose="sums")
    assert "this" not in sys.modules
    with pytest.raises(InputError, match="no_such_a is not installed"):
        require("log", "math", "no_such_a", purpose="sums")
