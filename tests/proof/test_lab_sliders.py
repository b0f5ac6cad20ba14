"""Every slider of every lab at both ends: something is shown, nothing fails, whatever a student moves."""

from __future__ import annotations

import ast
import json
from pathlib import Path
from typing import Any

import pytest

from linestudy.simulate import labs, play

pytestmark = pytest.mark.proof
LEARNING = Path(__file__).resolve().parents[2] / "notebooks" / "learning"


def played(file: Path) -> tuple[str, dict[str, Any]]:
    """Name of the lab that a notebook plays, and its sliders."""
    for cell in json.loads(file.read_text(encoding="utf-8"))["cells"]:
        if cell["cell_type"] != "code":
            continue
        for node in ast.walk(ast.parse("".join(cell["source"]))):
            if isinstance(node, ast.Call) and ast.unparse(node.func).endswith("play"):
                sliders = {str(k.arg): ast.literal_eval(k.value) for k in node.keywords}
                return ast.unparse(node.args[0]).split(".")[-1], sliders
    raise AssertionError(file)


@pytest.mark.parametrize("file", sorted(LEARNING.glob("[0-9]*.ipynb")), ids=lambda file: file.stem)
def test_both_ends_of_each_slider(file: Path) -> None:
    name, sliders = played(file)
    box = play(getattr(labs, name), **sliders)
    *controls, _ = box.children[0].children
    assert len(controls) == len(sliders)
    for control in controls:
        begun = control.value
        ends = control.options if hasattr(control, "options") else (control.min, control.max)
        for end in ends:
            control.value = end
            shown = box.children[1].value
            assert "<img" in shown or "Nothing can be said here" in shown, (
                control.description,
                end,
            )
            assert "nan" not in shown.split('src="')[0]
        control.value = begun
