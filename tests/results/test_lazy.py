"""A method that bears the name of its module is what its package offers, however it is reached."""

from __future__ import annotations

import subprocess
import sys

import pytest


@pytest.mark.parametrize(
    "first",
    [
        "import linestudy.verdict.evaluation",
        "from linestudy.verdict.evaluation import decision_table",
        "",
    ],
)
def test_the_method_wins_over_its_module(first: str) -> None:
    code = f"{first}\nimport linestudy\nprint(callable(linestudy.verdict.evaluation))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.stdout.strip() == "True", done.stderr


def test_unknown_names_are_refused() -> None:
    import linestudy

    with pytest.raises(AttributeError, match="no attribute 'nonsense'"):
        _ = linestudy.nonsense
    assert "evaluate" in dir(linestudy.verdict)


def test_a_room_is_the_room_though_a_method_bears_its_name() -> None:
    code = "import linestudy\nprint(callable(linestudy.capability.capability), linestudy.capability.__all__[0])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.stdout.startswith("True"), done.stderr
