"""What was recognised in a file, put right by a person: its role, and what each of its columns is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from linestudy.records.infer.guesses import joint_time_format
from linestudy.records.infer.words import split_judgement
from linestudy.study.model import NEEDED

if TYPE_CHECKING:
    from linestudy.intake.draft import Draft, Table
    from linestudy.intake.preview import Preview
    from linestudy.records.infer.column_kinds import ColumnKind

#: Role → what a column of it may be, besides readings.
TAGS: dict[str, tuple[str, ...]] = {
    "run": ("order", "time", "station", "coil", "stop", "verdict", "reason"),
    "machine": ("order", "time", "station"),
    "crossed": ("part", "appraiser", "trial", "station", "factor"),
    "nested": ("levels", "order"),
    "reference": ("reference", "part"),
    "drift": ("order", "time"),
    "paired": ("part",),
    "attribute": ("part", "appraiser", "trial", "judgement", "reference", "measured"),
    "bins": ("period", "accepted", "rejected", "purged"),
    "layout": tuple(
        f"layout:{key}"
        for key in (
            "number",
            "name",
            "nominal",
            "lower",
            "upper",
            "spec",
            "unit",
            "gauge",
            "values",
        )
    ),
}
#: Role → what it is, in a few words.
ROLES = {
    "run": "run of the process: every part, or samples, in order",
    "machine": "short run of the machine",
    "crossed": "gauge study: parts by appraisers by trials",
    "nested": "destructive test: readings within coils or batches",
    "reference": "masters or a reference part, read several times",
    "drift": "one reference part read over time",
    "paired": "the same parts read by two gauges",
    "attribute": "judgements: accept or reject",
    "bins": "counts of accepted and rejected parts",
    "layout": "dimensions of the drawing, each measured on one or a few parts",
}
#: Tag → what it is called.
WORDS = {
    "order": "number of stroke or part",
    "time": "date and time (or one of each)",
    "station": "station, lane or cavity",
    "coil": "coil or batch",
    "stop": "stop of the line",
    "verdict": "verdict of the sorter",
    "reason": "reason of the rejection",
    "part": "part",
    "appraiser": "appraiser",
    "trial": "trial",
    "factor": "third factor: fixture, day",
    "levels": "level of nesting: coil, batch",
    "reference": "known value",
    "judgement": "judgement",
    "measured": "value behind the judgement",
    "period": "period",
    "accepted": "accepted parts",
    "rejected": "rejected parts",
    "purged": "purged parts",
    "layout:number": "number on the drawing",
    "layout:name": "name of the dimension",
    "layout:nominal": "nominal",
    "layout:lower": "lower limit",
    "layout:upper": "upper limit",
    "layout:spec": "tolerance as a text",
    "layout:unit": "unit",
    "layout:gauge": "gauge",
    "layout:values": "what was measured",
}
#: Keys that go with a tag and are worthless without it.
_WITH = {
    "time": ("time_format",),
    "verdict": ("accept", "reject"),
    "judgement": ("accept", "reject"),
}
_CORRECTED = "as corrected"


def meanings(table: Table) -> dict[str, str]:
    """Tell what each column of a table is taken for.

    Parameters
    ----------
    table : Table

    Returns
    -------
    dict of str to str
        Column → a tag, ``readings:ID`` of a characteristic, or ``within:LABEL`` where several columns side by
        side hold the readings of one; columns that are not used are left out.
    """
    found: dict[str, str] = {}
    for key, value, _ in table.said.keys:
        if key in WORDS:
            found |= {
                name: key if isinstance(value, str | list) else "within:" for name in _names(value)
            }
    for part, value in (table.said.key("layout") or {}).items():
        found |= dict.fromkeys(_names(value), f"layout:{part}")
    for readings in table.said.readings:
        names = _names(readings.source)
        identity = table.ids.get(readings.label, "")
        if isinstance(readings.source, str):
            if identity not in ("", "?"):
                found[readings.source] = f"readings:{identity}"
        else:
            found |= dict.fromkeys(names, f"within:{readings.label}")
    return found


def set_role(table: Table, role: str) -> None:
    """Say what a table is; the role that was recognised brings its columns back.

    Parameters
    ----------
    table : Table
    role : str
        One of ``ROLES``.
    """
    if role not in ROLES:
        raise ValueError(f"{role!r} is no role; roles are {', '.join(ROLES)}")
    first = table.first
    if first is not None and role == first.role:
        table.said = first
        return
    others = set(WORDS) - set(TAGS[role])
    others |= {key for tag in others for key in _WITH.get(tag, ())} | {"across"}
    others |= {"layout"} if role != "layout" else set()
    keys = tuple(key for key in table.said.keys if key[0] not in others)
    table.first = first or table.said
    table.said = replace(table.said, role=role, why=_CORRECTED, keys=keys, open=())


def set_meaning(draft: Draft, table: Table, seen: Preview, column: str, meaning: str) -> None:
    """Say what a column is.

    Parameters
    ----------
    draft : Draft
    table : Table
    seen : Preview
        What the file holds.
    column : str
    meaning : str
        As in :func:`meanings`; blank for a column that is not used.

    Raises
    ------
    ValueError
        There is no such column, or what is meant is no column's.
    """
    kind = next((kind for kind in seen.kinds if kind.name == column), None)
    if kind is None:
        raise ValueError(f'there is no column "{column}"')
    table.first = table.first or table.said
    _forget(table, column)
    what, _, identity = meaning.partition(":")
    if not meaning:
        return
    if what == "readings":
        item = draft.item(identity)
        if item is None:
            raise ValueError(f"there is no characteristic {identity!r}")
        _take_readings(table, kind, identity)
    elif meaning in TAGS["layout"] and table.said.role == "layout":
        _take_into_layout(table, column, identity)
    elif what in TAGS[table.said.role]:
        _take_tag(table, kind, what, seen)
    else:
        raise ValueError(f'a column of a file of role "{table.said.role}" cannot be {what!r}')


def _forget(table: Table, column: str) -> None:
    """Remove a column from every key that names it, and a tag that it alone provided."""
    keys: list[tuple[str, Any, str]] = []
    gone: set[str] = set()
    for key, value, why in table.said.keys:
        if key == "layout":
            keys.append((key, _layout_without(value, column), why))
        elif key not in WORDS or column not in _names(value):
            keys.append((key, value, why))
        elif isinstance(value, list) and len(value) > 1:
            left = [name for name in value if name != column]
            # Of date and time of day one alone is a clock of its own, written in its own way.
            keys.append((key, left[0] if key == "time" else left, why))
            gone |= {"time_format"} if key == "time" else set()
        else:
            gone |= {key, *_WITH.get(key, ())}
    for label in [r.label for r in table.said.readings if r.source == column]:
        table.ids[label] = ""
    table.said = replace(table.said, keys=tuple(key for key in keys if key[0] not in gone))


def _layout_without(layout: dict[str, Any], column: str) -> dict[str, Any]:
    """Return a layout without one of its columns."""
    left = {
        part: [name for name in value if name != column] if isinstance(value, list) else value
        for part, value in layout.items()
        if value != column
    }
    return {part: value for part, value in left.items() if value != []}


def _take_into_layout(table: Table, column: str, part: str) -> None:
    """Give a part of a layout its column; what was measured may have several."""
    held = dict(table.said.key("layout") or {})
    held[part] = [*held.get("values", []), column] if part == "values" else column
    kept = tuple(key for key in table.said.keys if key[0] != "layout")
    table.said = replace(table.said, keys=(*kept, ("layout", held, _CORRECTED)))


def _take_readings(table: Table, kind: ColumnKind, identity: str) -> None:
    from linestudy.records.infer.table_description import readings_of

    if kind.kind != "numbers":
        raise ValueError(f'"{kind.name}" holds no numbers')
    for label, known in table.ids.items():
        if known == identity:
            table.ids[label] = ""
    labels = [r.label for r in table.said.readings if r.source == kind.name]
    if not labels:
        new = readings_of(kind.name, kind.name, {kind.name: kind})
        table.said = replace(table.said, readings=(*table.said.readings, new))
    table.ids[labels[0] if labels else kind.name] = identity


def _take_tag(table: Table, kind: ColumnKind, tag: str, seen: Preview) -> None:
    held = {key: value for key, value, _ in table.said.keys}
    value: Any = kind.name
    if tag == "levels":
        value = [*held.get("levels", []), kind.name]
    new: list[tuple[str, Any, str]] = [(tag, value, _CORRECTED)]
    beside = next((k for k in seen.kinds if k.name == held.get("time")), None)
    if tag == "time" and beside is not None and {kind.clock, beside.clock} == {"date", "hour"}:
        date, hour = (kind, beside) if kind.clock == "date" else (beside, kind)
        new = [(tag, [date.name, hour.name], _CORRECTED), *joint_time_format(date, hour)]
    elif tag == "time" and kind.layout not in ("", "ISO8601"):
        new.append(("time_format", kind.layout, "how they are written"))
    if tag in ("verdict", "judgement"):
        accepted, rejected, _ = split_judgement(set(kind.entries))
        if accepted:
            new.append(("accept", accepted, "entries that say accepted"))
        if rejected:
            new.append(("reject", rejected, "entries that say rejected"))
    names = {key for key, _, _ in new} | set(_WITH.get(tag, ()))
    kept = tuple(key for key in table.said.keys if key[0] not in names)
    table.said = replace(table.said, keys=(*kept, *new))


def faults(draft: Draft, table: Table) -> list[str]:
    """Say what a table still lacks before it can be read.

    Parameters
    ----------
    draft : Draft
    table : Table

    Returns
    -------
    list of str
        Sentences; empty where nothing is missing.
    """
    if not table.used:
        return []
    said, found = table.said, []
    across = said.key("across") or ()
    if said.role == "layout":
        held = said.key("layout") or {}
        if "values" not in held:
            found.append("Choose the columns that hold what was measured.")
        if "number" not in held and "name" not in held:
            found.append("Choose the column that holds the number or the name of each dimension.")
        return found
    for key in NEEDED[said.role]:
        if key in WORDS and said.key(key) is None and key not in across:
            found.append(f"Choose the column that holds: {WORDS[key]}.")
    if (
        "accept" in NEEDED[said.role]
        and said.key("judgement") is not None
        and not said.key("accept")
        and not table.accept
    ):
        found.append("No entry of the judgements says accepted; give the words in the file, as OK.")
    if said.role in _BY_A_GAUGE and not table.gauges:
        found.append("Name the gauge.")
    if said.role == "paired" and len(table.gauges) != 2:
        found.append("Name both gauges, with a comma between.")
    at = next((i for i, each in enumerate(draft.tables) if each is table), 0)
    for column, _ in said.parts:
        if f"only:{at}:{column}" not in draft.asked:
            found.append(f'Say which part of "{column}" the study is about.')
    open_ids = [label for label, identity in table.ids.items() if identity == "?"]
    found += [f'Say which characteristic "{label}" is.' for label in open_ids]
    given = [identity for identity in table.ids.values() if identity not in ("", "?")]
    if not given and not open_ids and said.role != "bins" and said.key("long") is None:
        found.append("No column is given to a characteristic.")
    twice = {identity for identity in given if given.count(identity) > 1}
    for identity in sorted(twice):
        item = draft.item(identity)
        found.append(f"Two columns are given to {item.name if item else identity}.")
    return found


_BY_A_GAUGE = ("crossed", "reference", "drift")


def _names(source: Any) -> Iterator[str]:
    """List the columns within the value of a key; a number names none."""
    from linestudy.records.headers import names_within

    if isinstance(source, str | list | tuple | dict):
        yield from names_within(source)
