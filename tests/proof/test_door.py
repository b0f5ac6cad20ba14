"""Every public function of the statistics, called as its own example calls it, with one argument after the other spoilt.

Whoever mistakes an argument is told so by the kit: a ValueError or TypeError raised in its own words, or CannotJudge.
Never a KeyError, an AttributeError or what a library says of its own insides.
"""

from __future__ import annotations

import contextlib
import doctest
import importlib
import inspect
import io
import traceback
import warnings
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import pandas as pd
import pytest

from linestudy.results import CannotJudge, InputError

pytestmark = pytest.mark.proof

PACKAGES = ("gauges", "stability", "shape", "tails", "capability", "plan")
#: Writes files, or asks of the kit's own objects what only a whole study has.
APART = {"plan.write_floor_sheet", "plan.write_sheets", "stability.explore"}
SPOILT = {
    "nothing": None,
    "text": "text",
    "nan": float("nan"),
    "infinite": float("inf"),
    "negative": -1,
    "nought": 0,
    "empty": [],
    "two dimensions": np.ones((3, 3)),
    "a table": pd.DataFrame({"a": [1.0, 2, 3], "b": [1, 2, 3]}),
    "words": ["a", "b", "c", "d"],
    "one": [1.0],
    "a truth": True,
    "complex": 1j,
    "by name": {"a": 1},
    "an object": object(),
    "missing": [1.0, float("nan"), 2.0] * 5,
    "times": pd.date_range("2026-01-01", periods=20),
    "categories": pd.Categorical(["a", "b"] * 10),
    "unlike rows": [[1, 2], [3]],
}


def functions() -> Iterator[str]:
    for package in PACKAGES:
        module = importlib.import_module(f"linestudy.{package}")
        for name in module.__all__:
            if inspect.isfunction(getattr(module, name)) and f"{package}.{name}" not in APART:
                yield f"{package}.{name}"


def example(package: str, name: str) -> tuple[Callable[..., Any], inspect.BoundArguments | None]:
    """A function and the arguments its own example calls it with; None where the example cannot be replayed alone."""
    module = importlib.import_module(f"linestudy.{package}")
    function = getattr(module, name)
    held: list[inspect.BoundArguments] = []

    def noted(*args: Any, **kwargs: Any) -> Any:
        if not held:
            held.append(inspect.signature(function).bind(*args, **kwargs))
        return function(*args, **kwargs)

    scope = vars(inspect.getmodule(inspect.unwrap(function))) | {name: noted}
    for one in doctest.DocTestParser().get_examples(inspect.getdoc(function) or ""):
        # An example that imports the function takes the noted one.
        source = one.source if f"import {name}" not in one.source else "pass"
        with contextlib.redirect_stdout(io.StringIO()), contextlib.suppress(Exception):
            exec(compile(source, "<example>", "single"), scope)
    return function, held[0] if held else None


def answer(function: Callable[..., Any], given: inspect.BoundArguments) -> str:
    """What is wrong with how a call ends; nothing where it answers, or refuses in the kit's own words."""
    try:
        function(*given.args, **given.kwargs)
    except (CannotJudge, InputError):
        return ""
    except (ValueError, TypeError) as error:
        last = traceback.extract_tb(error.__traceback__)[-1]
        foreign = "linestudy" not in last.filename
        return f"{type(error).__name__} of a library: {error}" if foreign else ""
    except Exception as error:
        return f"{type(error).__name__}: {error}"
    return ""


@pytest.mark.parametrize("place", list(functions()))
def test_a_spoilt_argument_is_told_in_the_kits_own_words(place: str) -> None:
    package, name = place.split(".")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        function, given = example(package, name)
        if given is None:
            pytest.skip("its example needs more than itself")
        wrong = {}
        for argument in given.arguments:
            for what, value in SPOILT.items():
                spoilt = inspect.BoundArguments(given.signature, given.arguments.copy())
                spoilt.arguments[argument] = value
                if spoilt.signature.parameters[argument].kind is inspect.Parameter.VAR_KEYWORD:
                    continue
                said = answer(function, spoilt)
                if said:
                    wrong[argument, what] = said[:160]
    assert not wrong
