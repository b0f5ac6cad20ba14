"""What every key of results.json holds: its page and its schema, written from the declared findings.

Types come from a finding's class, meaning and unit from the *Attributes* section of its docstring:
a description may begin with the unit in square brackets and may end with ``Formula:`` and the
formula. Nothing is listed a second time, so that neither can fall behind the other.
"""

from __future__ import annotations

import builtins
import dataclasses
import re
import sys
import types
import typing
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from linestudy.results import Absent, Finding, Interval
from linestudy.results.declared import Declaration, declarations

#: Packages whose modules declare findings.
PACKAGES = ("gauges", "stability", "shape", "capability", "verdict")

_REFERENCES = {Interval: "interval", Absent: "absent"}
_PLAIN: dict[Any, dict[str, Any]] = {
    float: {"type": "number"},
    int: {"type": "integer"},
    str: {"type": "string"},
    bool: {"type": "boolean"},
    type(None): {"type": "null"},
}


@dataclass(frozen=True)
class Key:
    """One key of a finding's record.

    Attributes
    ----------
    name : str
    type : str
        In words: ``number``, ``interval``, ``list of …``.
    unit : str
        ``"unit of the readings"``, ``"ppm"``; empty where it has none.
    meaning : str
    formula : str
        Empty where the meaning says it all.
    schema : dict
        JSON schema of the value.
    """

    name: str
    type: str
    unit: str
    meaning: str
    formula: str
    schema: dict[str, Any]


def keys_of(finding: type[Any]) -> tuple[Key, ...]:
    """Return the keys of a record, in the order of its fields.

    Parameters
    ----------
    finding : type
        A finding's class, or that of a part of one.

    Returns
    -------
    tuple of Key
    """
    described = _attributes(finding)
    hints = _hints(finding)
    keys = []
    for name in recorded(finding):
        schema = _schema(hints.get(name, Any))
        unit, meaning, formula = _in_parts(described.get(name, ""))
        keys.append(Key(name, _words(schema), unit, meaning, formula, schema))
    return tuple(keys)


def recorded(finding: type[Any]) -> tuple[str, ...]:
    """Return the names of the fields that are in results.json.

    Parameters
    ----------
    finding : type

    Returns
    -------
    tuple of str
    """
    own = getattr(finding, "recorded", None)
    if own is not None:
        return tuple(own)
    names = tuple(item.name for item in dataclasses.fields(finding) if item.repr)
    return tuple(name for name in names if name != "cautions")


def schema() -> dict[str, Any]:
    """Return the JSON schema of results.json.

    Returns
    -------
    dict
        Draft 2020-12. Findings are open to keys that a later version adds.
    """
    declared = declarations(*PACKAGES)
    characteristic: dict[str, Any] = {
        key: {"type": ["string", "null"] if key == "unit" else ["number", "null"]}
        for key in ("unit", "nominal", "lower", "upper")
    } | {"name": {"type": "string"}}
    of_study: dict[str, Any] = {}
    for item in declared:
        _put(of_study if item.of_study else characteristic, item)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "results.json, format 2",
        "type": "object",
        "required": ["format", "kit", "study", "inputs", "characteristics", "verdict"],
        "properties": {
            "format": {"const": 2},
            "kit": {"type": "object", "additionalProperties": {"type": "string"}},
            "study": {"type": "object"},
            "inputs": {"type": "array", "items": {"type": "object"}},
            "not_evaluated": {"type": "array"},
            "characteristics": {
                "type": "object",
                "additionalProperties": {"type": "object", "properties": characteristic},
            },
            **of_study,
        },
        "$defs": {
            "absent": {
                "type": "object",
                "required": ["absent"],
                "properties": {"absent": {"type": "string"}},
            },
            "interval": {
                "type": "object",
                "required": ["estimate", "low", "high", "confidence", "method"],
                "properties": {
                    **{
                        end: {"anyOf": [{"type": "number"}, {"$ref": "#/$defs/absent"}]}
                        for end in ("estimate", "low", "high")
                    },
                    "confidence": {"type": "number", "exclusiveMinimum": 0, "exclusiveMaximum": 1},
                    "method": {"type": "string"},
                },
                "additionalProperties": False,
            },
        },
    }


def page() -> str:
    """Return the tables of keys for RESULTS.md.

    Returns
    -------
    str
        Markdown: a heading and a table for each finding.
    """
    parts = []
    for item in declarations(*PACKAGES):
        place = item.key if item.of_study else f"characteristics.ID.{item.key}"
        parts.append(
            f"### `{re.sub(r'{(.+?)}', lambda m: m.group(1).upper(), place)}`: {item.heading}\n"
        )
        parts.append("| key | type | unit | meaning |\n|---|---|---|---|")
        for key in _nested(item.finding):
            formula = f" Formula: {key.formula}" if key.formula else ""
            text = f"{key.meaning}{formula}".strip().replace("|", "\\|")
            parts.append(f"| `{key.name}` | {key.type} | {key.unit} | {text} |")
        parts.append("")
    return "\n".join(parts)


def _nested(finding: type[Any], before: str = "") -> Iterator[Key]:
    hints = _hints(finding)
    for key in keys_of(finding):
        yield dataclasses.replace(key, name=f"{before}{key.name}")
        inner, suffix = _inner(hints.get(key.name))
        if inner is not None:
            yield from _nested(inner, f"{before}{key.name}{suffix}.")


def _inner(hint: Any) -> tuple[type[Any] | None, str]:
    """Return the dataclass inside a field's type, and the suffix by which its keys are reached."""
    if dataclasses.is_dataclass(hint) and isinstance(hint, type) and hint not in _REFERENCES:
        return hint, ""
    origin, arguments = typing.get_origin(hint), typing.get_args(hint)
    if origin in (typing.Union, types.UnionType):
        for argument in arguments:
            inner, suffix = _inner(argument)
            if inner is not None:
                return inner, suffix
    if origin in (tuple, list) and arguments:
        inner, _ = _inner(arguments[0])
        return inner, "[]"
    if origin is dict:
        inner, _ = _inner(arguments[1])
        return inner, ".NAME"
    return None, ""


def _put(tree: dict[str, Any], item: Declaration) -> None:
    """Put a finding's schema at its place in the tree of properties."""
    node: dict[str, Any] = {"properties": tree}
    for part in item.path:
        if part.startswith("{"):
            node = node.setdefault("additionalProperties", {"type": "object"})
        else:
            node = node.setdefault("properties", {}).setdefault(part, {"type": "object"})
    own = {key.name: {**key.schema, "description": key.meaning} for key in keys_of(item.finding)}
    node.setdefault("properties", {}).update(
        own | {"statement": {"type": "string"}, "cautions": {"type": "array"}}
    )


def _schema(hint: Any) -> dict[str, Any]:
    if hasattr(hint, "recorded_schema"):
        # It is recorded as something shorter than its fields.
        return dict(hint.recorded_schema)
    if hint in _REFERENCES:
        return {"$ref": f"#/$defs/{_REFERENCES[hint]}"}
    if hint is float:
        # A number that is not finite has no place in JSON; its reason is given instead.
        return {"anyOf": [{"type": "number"}, {"$ref": "#/$defs/absent"}]}
    if hint in _PLAIN:
        return _PLAIN[hint]
    origin, arguments = typing.get_origin(hint), typing.get_args(hint)
    if origin in (typing.Union, types.UnionType):
        found: list[dict[str, Any]] = []
        for argument in arguments:
            one = _schema(argument)
            found += [s for s in one.get("anyOf", [one]) if s not in found]
        return {"anyOf": found}
    if origin is typing.Literal:
        return {"enum": list(arguments)}
    if origin in (tuple, list, set, frozenset):
        return {"type": "array", "items": _schema(arguments[0]) if arguments else {}}
    if origin is dict:
        return {"type": "object", "additionalProperties": _schema(arguments[1])}
    if dataclasses.is_dataclass(hint) and isinstance(hint, type):
        if issubclass(hint, Finding):
            return {"type": "object"}
        return {"type": "object", "properties": {k.name: k.schema for k in keys_of(hint)}}
    return {}


def _words(schema: dict[str, Any]) -> str:
    """Describe a JSON schema in words."""
    if "$ref" in schema:
        return str(schema["$ref"]).rsplit("/", 1)[-1]
    if "enum" in schema:
        return " or ".join(f"`{item}`" for item in schema["enum"])
    if "anyOf" in schema:
        words = [_words(item) for item in schema["anyOf"]]
        if words == ["number", "absent"]:
            return "number"
        return " or ".join("none" if word == "null" else word for word in dict.fromkeys(words))
    kind = schema.get("type", "anything")
    if kind == "array":
        return f"list of {_words(schema['items'])}" if schema.get("items") else "list"
    if kind == "object" and isinstance(schema.get("additionalProperties"), dict):
        return f"by name: {_words(schema['additionalProperties'])}"
    return str(kind)


def _hints(cls: type[Any]) -> dict[str, Any]:
    class Lenient(dict[str, Any]):
        def __missing__(self, name: str) -> Any:
            return Any

    hints: dict[str, Any] = {}
    for base in reversed(cls.__mro__):
        module = {**vars(builtins), **vars(sys.modules[base.__module__])}
        for name, text in getattr(base, "__annotations__", {}).items():
            try:
                # Names that only a type checker imports may be anything here.
                hints[name] = eval(text, Lenient(module)) if isinstance(text, str) else text
            except (TypeError, AttributeError):
                hints[name] = Any
    return hints


def _attributes(cls: type[Any]) -> dict[str, str]:
    """Read the descriptions of a class's attributes from its docstring."""
    import inspect

    found: dict[str, str] = {}
    for base in reversed(cls.__mro__):
        doc = inspect.cleandoc(base.__doc__ or "")
        match = re.search(r"^Attributes\n-+\n(.*?)(?=^\S[^\n]*\n-+\n|\Z)", doc, re.M | re.S)
        for block in re.split(r"(?m)^(?=\S)", match.group(1) if match else ""):
            head, _, body = block.partition("\n")
            names, _, _ = head.partition(" : ")
            for name in names.split(","):
                if name.strip():
                    found[name.strip()] = " ".join(body.split())
    return found


def _in_parts(text: str) -> tuple[str, str, str]:
    unit = ""
    match = re.match(r"\[([^\]]+)\]\s*", text)
    if match:
        unit, text = match.group(1), text[match.end() :]
    meaning, mark, formula = text.partition("Formula:")
    return unit, meaning.strip(), formula.strip() if mark else ""


#: Where the generated part of RESULTS.md begins and ends.
BEGIN, END = "<!-- keys: begin -->", "<!-- keys: end -->"


def written() -> dict[str, str]:
    """Return what the page of keys and the schema hold, by file name.

    Returns
    -------
    dict of str to str
        ``RESULTS.md`` with its generated part made anew, and ``results.schema.json``.
    """
    import json
    from pathlib import Path

    text = Path(__file__).with_name("RESULTS.md").read_text(encoding="utf-8")
    head, _, rest = text.partition(BEGIN)
    _, _, tail = rest.partition(END)
    return {
        "RESULTS.md": f"{head}{BEGIN}\n\n{page()}\n{END}{tail}",
        "results.schema.json": json.dumps(schema(), indent=1, ensure_ascii=False) + "\n",
    }


if __name__ == "__main__":
    from pathlib import Path

    for name, text in written().items():
        Path(__file__).with_name(name).write_text(text, encoding="utf-8")
