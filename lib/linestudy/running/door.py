"""The door of a package: a function taken from it looks at the kinds of what it is given before it begins.

The kinds are those of its own annotations, so that a type checker and a call at run time apply the same rules.
What only the method knows (ranges, columns, lengths) it checks itself, with :mod:`linestudy.results.arguments`.
"""

from __future__ import annotations

import ast
import functools
import importlib
import inspect
import math
import numbers
import os
import sys
from collections.abc import Callable, Collection, Iterable, Mapping
from typing import Any, TypeVar, cast

_F = TypeVar("_F", bound=Callable[..., Any])


@functools.cache
def guarded(function: _F) -> _F:
    """Let a function check the kinds of its arguments.

    Parameters
    ----------
    function : callable
        With annotations as text (``from __future__ import annotations``).

    Returns
    -------
    callable
        The same, which raises TypeError or ValueError with name, what was got and what is allowed.

    Examples
    --------
    >>> def half(value: float | None = None) -> float:
    ...     return (value or 0) / 2
    >>> half.__annotations__["value"] = "float | None"
    >>> guarded(half)([1.0])
    Traceback (most recent call last):
    TypeError: value must be a single number or None, not list [1.0].
    """
    notes = {name: str(note) for name, note in function.__annotations__.items() if name != "return"}

    @functools.wraps(function)
    def call(*args: Any, **kwargs: Any) -> Any:
        try:
            given = _signature(function).bind(*args, **kwargs).arguments
        except TypeError:
            # An argument too many or too few, or under an old name: Python's own words, or what knows old names.
            return function(*args, **kwargs)
        for name, value in given.items():
            for one in _each(_signature(function).parameters[name], value):
                if name in notes:
                    _check(function, name, one, notes[name])
        return function(*args, **kwargs)

    return cast("_F", call)


@functools.cache
def _signature(function: Callable[..., Any]) -> inspect.Signature:
    return inspect.signature(function)


def _each(parameter: inspect.Parameter, value: Any) -> Iterable[Any]:
    """Return the values that a parameter's annotation describes: one, or each of any number."""
    if parameter.kind is inspect.Parameter.VAR_POSITIONAL:
        return cast("Iterable[Any]", value)
    return value.values() if parameter.kind is inspect.Parameter.VAR_KEYWORD else (value,)


def _check(function: Callable[..., Any], name: str, value: Any, note: str) -> None:
    """Raise TypeError or ValueError unless a value is of one of the kinds that a note names."""
    refused = []
    for kind in _split(note, "|"):
        words = _refusal(function, kind, value)
        if words is None:
            return
        refused.append(words)
    if (
        isinstance(value, numbers.Real)
        and not math.isfinite(value)
        and "a single number" in refused
    ):
        raise ValueError(f"{name} = {value} cannot be used; it must be a finite number.")
    raise TypeError(f"{name} must be {' or '.join(refused)}, not {kind_of(value)}.")


def _refusal(function: Callable[..., Any], kind: str, value: Any) -> str | None:
    """Say what a value must be to match an annotation; None where it does, or the annotation is unknown."""
    outer, _, inner = kind.removesuffix("]").partition("[")
    holds, words = _KINDS.get(outer, (None, ""))
    if holds is None:
        named = _class_named(function, kind, value)
        return None if named is None or isinstance(value, named) else _a(named.__name__)
    if not holds(value):
        return words
    if not inner or not isinstance(value, Collection) or getattr(value, "shape", None) == ():
        return None
    items = list(value.values() if isinstance(value, Mapping) else value)
    kinds = _split(inner, ",")
    if outer != "tuple" or kinds[-1] == "...":
        # A dict names the kind of its keys first.
        kinds = (kinds[-1] if isinstance(value, Mapping) else kinds[0],) * len(items)
    if len(kinds) != len(items):
        return f"a list of {len(kinds)}"
    for one, item in zip(kinds, items, strict=True):
        wanted = _split(one, "|")
        if all(_refusal(function, part, item) for part in wanted):
            return f"{words} of which each is {' or '.join(map(_words, wanted))}"
    return None


def _words(kind: str) -> str:
    return _KINDS.get(kind.split("[")[0], (None, _a(kind)))[1]


def _a(name: str) -> str:
    return f"{'an' if name[0] in 'AEIOU' else 'a'} {name}"


@functools.cache
def _split(note: str, at: str) -> tuple[str, ...]:
    """Split a note at a sign outside all brackets."""
    parts, depth = [""], 0
    for sign in note:
        depth += {"[": 1, "]": -1}.get(sign, 0)
        if sign == at and depth == 0:
            parts.append("")
        else:
            parts[-1] += sign
    return tuple(part.strip() for part in parts)


def _class_named(function: Callable[..., Any], kind: str, value: Any) -> type | None:
    """Return the kit's class that an annotation names; None for other names, or where a stand-in will do."""
    if not kind.isidentifier() or any(base.__name__ == kind for base in type(value).__mro__):
        return None
    # A class of somebody else's that has what is asked for is as good.
    if type(value).__module__.partition(".")[0] not in _NO_STAND_INS:
        return None
    module = inspect.unwrap(function).__module__
    found = _imported(module).get(kind, module)
    thing = getattr(importlib.import_module(found), kind, None)
    own = inspect.isclass(thing) and thing.__module__.startswith("linestudy")
    return thing if own and not getattr(thing, "_is_protocol", False) else None


@functools.cache
def _imported(module: str) -> dict[str, str]:
    """Map imported names of the kit to their modules, those for a type checker alone included."""
    tree = ast.parse(inspect.getsource(sys.modules[module]))
    return {
        alias.name: node.module
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("linestudy")
        for alias in node.names
        if node.module
    }


def _is_number(value: Any) -> bool:
    """Check whether a value is one finite number and no truth value."""
    if isinstance(value, bool | str | bytes) or getattr(value, "shape", ()) != ():
        return False
    try:
        return math.isfinite(float(value))
    except (TypeError, ValueError, OverflowError):
        return False


def _is_whole(value: Any) -> bool:
    return _is_number(value) and float(value).is_integer()


def _is_truth(value: Any) -> bool:
    return isinstance(value, bool) or type(value).__name__ in ("bool_", "bool")


def _is_row(value: Any) -> bool:
    """Check whether a value is an ordered sequence, neither text nor a table with named columns."""
    named = isinstance(value, str | bytes | Mapping) or hasattr(value, "columns")
    return isinstance(value, Iterable) and not named


def _is_array(value: Any) -> bool:
    """Check whether a value can be an array of numbers or labels: no text, no mapping, no ragged rows."""
    import numpy as np

    if value is None or isinstance(value, str | bytes | Mapping | complex):
        return False
    try:
        return np.asarray(value).dtype.kind != "O" or np.ndim(value) > 0
    except ValueError:
        return False


#: Where classes come from that stand in for none of the kit.
_NO_STAND_INS = {"builtins", "collections", "datetime", "linestudy", "numpy", "pandas"}
#: Whether a value is of a kind, and the kind in words.
_KINDS: dict[str, tuple[Callable[[Any], bool], str]] = {
    "Path": (lambda value: isinstance(value, os.PathLike), "a path"),
    "Callable": (callable, "a function"),
    "np.random.Generator": (lambda value: hasattr(value, "standard_normal"), "a NumPy generator"),
    "None": (lambda value: value is None, "None"),
    "str": (lambda value: isinstance(value, str), "text"),
    "bool": (_is_truth, "True or False"),
    "float": (_is_number, "a single number"),
    "int": (_is_whole, "a whole number"),
    "ArrayLike": (_is_array, "an array of numbers or labels"),
    "Sequence": (_is_row, "a list"),
    "Iterable": (_is_row, "a list"),
    "tuple": (_is_row, "a list"),
    "Mapping": (lambda value: isinstance(value, Mapping), "a dict"),
    "dict": (lambda value: isinstance(value, Mapping), "a dict"),
}


def kind_of(value: Any) -> str:
    """Say what was given: its class and itself, cut where it is long, or its shape.

    Parameters
    ----------
    value : object

    Returns
    -------
    str

    Examples
    --------
    >>> kind_of("twelve")
    "str 'twelve'"
    """
    shape = getattr(value, "shape", ())
    if isinstance(shape, tuple) and shape:
        return f"{type(value).__name__} of shape {shape}"
    text = " ".join(repr(value).split())
    return f"{type(value).__name__} {text if len(text) <= 40 else text[:39] + '…'}"
