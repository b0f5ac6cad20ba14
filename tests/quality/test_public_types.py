"""What a reader and a type checker see: no argument of a public function, and no field of a result, is just anything."""

from __future__ import annotations

import dataclasses
import importlib
import inspect
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from packages import PACKAGES

import linestudy

FIGURES = Path(linestudy.__file__).parent / "figures"
#: What is anything by its nature: widgets of a notebook (no types of theirs), sliders of a lab, JSON.
ANYTHING = {
    "stability.explore returns",
    "simulate.play(sliders)",
    "simulate.play returns",
    "results.plain(value)",
    "results.plain returns",
    "stability.charts.explorer returns",
    "dossier.browse returns",
    "panel.panel(controls)",
    "panel.panel returns",
}


def modules() -> Iterator[tuple[str, Any, list[str]]]:
    """Rooms with what they export, and modules of pictures with their public functions."""
    for room in PACKAGES:
        module = importlib.import_module(f"linestudy.{room}")
        yield room, module, list(module.__all__)
    for file in sorted(FIGURES.rglob("*.py")):
        if file.stem[:2] != "__":
            name = ".".join(file.relative_to(FIGURES).with_suffix("").parts)
            module = importlib.import_module(f"linestudy.figures.{name}")
            own = [
                key
                for key, thing in vars(module).items()
                if key[0] != "_" and getattr(thing, "__module__", "") == module.__name__
            ]
            yield name, module, own


def is_anything(annotation: object) -> bool:
    """Whether an annotation is, or holds, Any outside a callable's arguments."""
    text = re.sub(r"Callable\[\[[^\]]*\]", "Callable[[]", str(annotation))
    return re.search(r"\bAny\b", text) is not None


def loose() -> Iterator[str]:
    """Arguments, returns and fields that are just anything."""
    for room, module, names in modules():
        for name in names:
            thing = getattr(module, name)
            if inspect.isfunction(thing):
                signature = inspect.signature(thing)
                for parameter in signature.parameters.values():
                    if is_anything(parameter.annotation):
                        yield f"{room}.{name}({parameter.name})"
                if is_anything(signature.return_annotation):
                    yield f"{room}.{name} returns"
            elif inspect.isclass(thing) and dataclasses.is_dataclass(thing):
                for field in dataclasses.fields(thing):
                    if is_anything(field.type):
                        yield f"{room}.{name}.{field.name}"


def test_nothing_public_is_just_anything() -> None:
    assert set(loose()) == ANYTHING


def test_anything_is_recognised() -> None:
    assert is_anything("dict[str, Any]")
    assert is_anything("Any | None")
    assert not is_anything("Callable[[Any], FloatArray]")
    assert not is_anything("Company")
