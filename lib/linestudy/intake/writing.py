"""A draft as study.toml; what a person wrote into one keeps its place, its order and its comments."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import tomlkit
from tomlkit.items import AoT, InlineTable, Table

if TYPE_CHECKING:
    from tomlkit import TOMLDocument

    from linestudy.intake.draft import Draft, Item

_HEAD = """\
Drafted by `linestudy new --from` out of the files in data/. Each key of a file says behind it what speaks for it;
change what is wrong. What every key means: `linestudy help format`.
"""


def written(draft: Draft) -> str:
    """Write a draft as a new study.toml.

    Parameters
    ----------
    draft : Draft

    Returns
    -------
    str
    """
    document = tomlkit.document()
    for line in _HEAD.strip().split("\n"):
        document.add(tomlkit.comment(line))
    document.add("format", tomlkit.item(1))
    document.add(tomlkit.nl())
    head = tomlkit.table()
    for key in ("title", "part", "revision"):
        head.add(key, draft.head.get(key) or "-")
    document.add("study", head)
    _append(document, draft, set(), set(), set())
    return tomlkit.dumps(document)


def added(text: str, draft: Draft) -> str:
    """Add to a study.toml what a draft has and it lacks.

    Parameters
    ----------
    text : str
        The study.toml as it stands.
    draft : Draft

    Returns
    -------
    str
        Everything that stood there stands there still, with its comments and in its order; new tables
        follow the others of their kind.
    """
    document = tomlkit.parse(text)
    known = {str(table.get("id")) for table in document.get("characteristic", [])}
    gauges = {str(table.get("id")) for table in document.get("gauge", [])}
    files = {
        (str(table.get("file")), str(table.get("sheet", "")), str(table.get("block", "")))
        for table in document.get("data", [])
    }
    _append(document, draft, known, gauges, files)
    return tomlkit.dumps(document)


def _append(
    document: TOMLDocument,
    draft: Draft,
    known: set[str],
    gauges: set[str],
    files: set[tuple[str, str, str]],
) -> None:
    for item in draft.items:
        if item.id not in known:
            tables_of(document, "characteristic").append(_characteristic(item))
    for identity, name in draft.gauges.items():
        if identity not in gauges:
            table = tomlkit.table()
            table.add("id", identity)
            table.add("name", name)
            tables_of(document, "gauge").append(table)
    for keys, why in draft.data_tables():
        place = (str(keys["file"]), str(keys.get("sheet", "")), str(keys.get("block", "")))
        if place not in files:
            tables_of(document, "data").append(_data(keys, why))


def tables_of(document: TOMLDocument, name: str) -> AoT:
    """The tables of one kind, ``[[name]]``; where there are none, a place for them at the end.

    Parameters
    ----------
    document : tomlkit.TOMLDocument
    name : str

    Returns
    -------
    tomlkit.items.AoT
    """
    if name not in document:
        # A blank line before the first of its kind.
        last = list(document.values())[-1] if len(document) else None
        if isinstance(last, Table):
            last.add(tomlkit.nl())
        elif isinstance(last, AoT) and len(last):
            last[-1].add(tomlkit.nl())
        document.add(name, tomlkit.aot())
    found = document[name]
    assert isinstance(found, AoT)
    return found


def _characteristic(item: Item) -> Table:
    table = tomlkit.table()
    table.add("id", item.id)
    table.add("name", item.name)
    if item.origin:
        table["name"].comment(_plain(item.origin))
    for key in ("unit", "nominal", "lower", "upper", "bound"):
        value = getattr(item, key)
        if value is not None:
            table.add(key, value)
    if item.special:
        table.add("special", True)
    if item.position:
        position = tomlkit.inline_table()
        position.update({"at": [0, 0]})
        table.add("position", position)
    return table


def _data(keys: dict[str, Any], why: dict[str, str]) -> Table:
    table = tomlkit.table()
    for key, value in keys.items():
        item = tomlkit.item(_inline(value))
        table.add(key, item)
        if key in why:
            item.comment(_plain(why[key]))
    return table


def _inline(value: Any) -> Any:
    """Tables within a [[data]] table stand on one line, as FORMAT.md shows them."""
    if isinstance(value, dict):
        found: InlineTable = tomlkit.inline_table()
        for key, each in value.items():
            found.append(str(key), _inline(each))
        return found
    if isinstance(value, list):
        found_list = tomlkit.array()
        for each in value:
            found_list.append(_inline(each))
        return found_list
    return value


def _plain(text: str) -> str:
    return "".join(c if c.isprintable() else "�" for c in text)[:160]
