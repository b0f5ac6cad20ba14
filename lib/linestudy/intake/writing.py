"""A draft as study.toml; what a person wrote into one keeps its place, its order and its comments."""

from __future__ import annotations

import codecs
from typing import TYPE_CHECKING, Any

import tomlkit
from tomlkit.items import AoT, Array, InlineTable, Table

from linestudy.intake.draft import HEAD, Draft, Item

if TYPE_CHECKING:
    from tomlkit import TOMLDocument

_HEAD = """\
Drafted out of the files in data/. Each key of a file says behind it what speaks for it;
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
    for key in HEAD:
        if draft.head.get(key) or key in ("title", "part", "revision"):
            head.add(key, draft.head.get(key) or "-")
    document.add("study", head)
    _criteria(document, draft, Draft())
    _append(document, draft, set(), set(), set())
    return tomlkit.dumps(document)


def added(text: str, draft: Draft) -> str:
    """Add to a study.toml what a draft has and it lacks, and change what a person changed in the draft.

    Parameters
    ----------
    text : str
        The study.toml as it is.
    draft : Draft

    Returns
    -------
    str
        Everything that was there is kept, with its comments and in its order; new tables
        follow the others of their kind, and a changed value takes the place of the old one.
    """
    document = tomlkit.parse(text)
    if draft.before is not None:
        _change(document, draft, draft.before)
    known = {str(table.get("id")) for table in document.get("characteristic", [])}
    gauges = {str(table.get("id")) for table in document.get("gauge", [])}
    files = {
        (str(table.get("file")), str(table.get("sheet", "")), str(table.get("block", "")))
        for table in document.get("data", [])
    }
    _append(document, draft, known, gauges, files)
    return tomlkit.dumps(document)


#: What of a characteristic may be changed, in the order in which it is written.
_OF_ITEM = ("name", "unit", "nominal", "lower", "upper", "bound", "special")


def _change(document: TOMLDocument, draft: Draft, before: Draft) -> None:
    """Write what differs from what the study.toml said when it was read, and nothing else."""
    for key in HEAD:
        if draft.head.get(key) != before.head.get(key):
            _put(document["study"], key, draft.head.get(key) or None)
    _criteria(document, draft, before)
    for table in document.get("characteristic", []):
        item, old = (each.item(str(table.get("id"))) for each in (draft, before))
        if item is None or old is None:
            continue
        for key in _OF_ITEM:
            value = getattr(item, key)
            if value != getattr(old, key):
                _put(table, key, None if value is False else value)
        if (item.required, item.asked_by) != (old.required, old.asked_by):
            own = table.setdefault("criteria", tomlkit.inline_table())
            _put(own, "capability_accept", item.required)
            _put(own, "source", item.asked_by or None)
            if not own:
                del table["criteria"]


def _put(table: Any, key: str, value: Any) -> None:
    """Set a value in its place, with the comment behind it kept; None takes it out."""
    if value is None:
        table.pop(key, None)
    elif key in table:
        table[key] = value
    elif isinstance(table, Table):
        _insert(table, key, value)
    else:
        table[key] = value


def _insert(table: Table, key: str, value: Any) -> None:
    """Add a key behind the last one with a value, before blank lines and comments that follow the table."""
    last = next((name for name in reversed(list(table)) if not hasattr(table[name], "keys")), None)
    if last is None:
        table.add(key, value)
        return
    table.value._insert_after(last, key, tomlkit.item(value))


def _criteria(document: TOMLDocument, draft: Draft, before: Draft) -> None:
    for part in ("", "special", "other"):
        new, old = draft.criteria.get(part, {}), before.criteria.get(part, {})
        changed = [key for key in {**old, **new} if new.get(key) != old.get(key)]
        if not changed:
            continue
        if "criteria" not in document:
            document.add("criteria", tomlkit.table())
        table: Any = document["criteria"]
        if part and part not in table:
            table.add(part, tomlkit.table())
        for key in changed:
            _put(table[part] if part else table, key, new.get(key))


def _append(
    document: TOMLDocument,
    draft: Draft,
    known: set[str],
    gauges: set[str],
    files: set[tuple[str, str, str]],
) -> None:
    for item in draft.items:
        if item.id not in known:
            add_table(document, "characteristic", _characteristic(item))
    for identity, name in draft.gauges.items():
        if identity not in gauges:
            table = tomlkit.table()
            table.add("id", identity)
            table.add("name", name)
            add_table(document, "gauge", table)
    for keys, why in draft.data_tables():
        place = (str(keys["file"]), str(keys.get("sheet", "")), str(keys.get("block", "")))
        if place not in files:
            add_table(document, "data", _data(keys, why))


def add_table(document: TOMLDocument, name: str, table: Table) -> None:
    """Add a table of a kind behind the others of it, in the way in which the file writes them.

    Parameters
    ----------
    document : tomlkit.TOMLDocument
    name : str
    table : tomlkit.items.Table
        Becomes ``[[name]]``, or one more line where the file has ``name = [{ … }, { … }]``.
    """
    found = document.get(name)
    if isinstance(found, Array):
        line = tomlkit.inline_table()
        for key, value in table.unwrap().items():
            line.append(key, _inline(value) if isinstance(value, dict) else value)
        found.add_line(line)
        return
    if found is None:
        # A blank line before the first of its kind.
        last = list(document.values())[-1] if len(document) else None
        if tomlkit.dumps(document).endswith("\n\n"):
            pass
        elif isinstance(last, Table):
            last.add(tomlkit.nl())
        elif isinstance(last, AoT) and len(last):
            last[-1].add(tomlkit.nl())
        elif last is not None:
            document.add(tomlkit.nl())
        document.add(name, tomlkit.aot())
        found = document[name]
    assert isinstance(found, AoT)
    found.append(table)


def as_spelled(text: str, like: bytes) -> bytes:
    """Write a text with the line ends and the byte order mark that a file has.

    Parameters
    ----------
    text : str
        With ``\\n`` at the ends of its lines.
    like : bytes
        What is in the file now.

    Returns
    -------
    bytes
        In UTF-8.

    Examples
    --------
    >>> as_spelled("a = 1\\nb = 2\\n", b"a = 1\\r\\n")
    b'a = 1\\r\\nb = 2\\r\\n'
    """
    ends = "\r\n" if 2 * like.count(b"\r\n") > like.count(b"\n") else "\n"
    mark = codecs.BOM_UTF8 if like.startswith(codecs.BOM_UTF8) else b""
    return mark + text.replace("\n", ends).encode("utf-8")


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
    if item.unit_taken and item.unit is not None:
        table["unit"].comment("no file says it")
    if item.special:
        table.add("special", True)
    if item.position:
        position = tomlkit.inline_table()
        position.update({"at": [0, 0]})
        table.add("position", position)
    if item.required is not None:
        own = tomlkit.inline_table()
        own.update({"capability_accept": item.required})
        if item.asked_by:
            own.update({"source": item.asked_by})
        table.add("criteria", own)
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
    """Write tables within a [[data]] table on one line, as FORMAT.md shows them."""
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
