"""Whether 03/04/2026 is in March or in April, where the column alone does not tell: what else in the file speaks for one of them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from linestudy.records.formats.times_written import first_of_date, turned
from linestudy.records.units import INCHES

if TYPE_CHECKING:
    from linestudy.records.infer.column_kinds import ColumnKind
    from linestudy.records.infer.table_description import Description

DAY, MONTH = "day", "month"
#: Letters that English does not write; signs of units and diameters are none.
_FOREIGN = re.compile("[À-ÖÙ-öù-ɏͰ-ӿ]")
#: Plain words of columns in languages that write the day first.
_WORDS = frozenset([
    "datum", "zeit", "uhrzeit", "hub", "teil", "breite", "dicke", "spalt", "ergebnis", "heure", "cote", "essai", "largeur", "epaisseur", "resultat",
    "fecha", "hora", "ancho", "espesor", "pieza", "resultado", "data", "ora", "larghezza", "spessore", "pezzo", "esito", "largura", "altura", "tijd",
    "breedte", "tid", "bredd", "godzina", "wynik", "tarih", "saat",
])  # fmt: skip
_NAMED_DATE = re.compile(r"(?<!\d)(20\d\d)[-_.]?(\d\d)[-_.]?(\d\d)(?!\d)")


def date_order(column: ColumnKind, columns: Sequence[ColumnKind], file: str) -> tuple[str, str]:
    """Say whether the day or the month comes first in an ambiguous column of dates.

    Parameters
    ----------
    column : ColumnKind
        One that nothing in it tells the order of.
    columns : sequence of ColumnKind
        All of the table.
    file : str
        Its name.

    Returns
    -------
    (str, str)
        ``day``, ``month`` or nothing, and the evidence.

    Notes
    -----
    In this order: another column of dates in the file, the date in its name, decimal commas or names in a language that
    writes the day first, sizes in inches. Nobody who writes decimal commas writes the month first. Common practice, no
    source; it misleads where a program writes dates for one country and numbers for another.
    """
    for other in columns:
        if other.kind == "times" and other.name != column.name and not other.twofold:
            first = first_of_date(other.layout)
            if first:
                return first, f'"{other.name}" has the {first} first'
    named = _NAMED_DATE.search(file)
    if named is not None:
        parts = [int(each) for each in re.findall(r"\d+", column.twofold)[:2]]
        month, day = int(named[2]), int(named[3])
        for first, order in ((DAY, [day, month]), (MONTH, [month, day])):
            if parts == order and day != month:
                return first, f"the name of the file has the date {named[0]}"
    if any(other.comma for other in columns):
        return DAY, "its numbers have decimal commas"
    foreign = next((c.name for c in columns if _is_foreign(c.name)), None)
    if foreign is not None:
        return DAY, f'"{foreign}" is no English'
    inches = next((c.name for c in columns if c.unit in INCHES), None)
    if inches is not None:
        return MONTH, f'"{inches}" is in inches'
    return "", ""


def _is_foreign(name: str) -> bool:
    words = re.findall(r"[^\W\d_]+", name.casefold())
    return _FOREIGN.search(name) is not None or not _WORDS.isdisjoint(words)


def settled(column: ColumnKind, columns: Sequence[ColumnKind], file: str) -> tuple[ColumnKind, str]:
    """Give a column of dates its order where the file tells it.

    Parameters
    ----------
    column : ColumnKind
    columns : sequence of ColumnKind
    file : str

    Returns
    -------
    (ColumnKind, str)
        The column, and how its dates are written, in words.
    """
    written = "how they are written"
    if not column.twofold:
        return column, written
    first, why = date_order(column, columns, file)
    if not first:
        return column, written
    layout = column.layout if first_of_date(column.layout) in ("", first) else turned(column.layout)
    return replace(
        column, layout=layout, twofold=""
    ), f"{written}; the {first} first, because {why}"


def ask(name: str, cell: str) -> str:
    """Write the sentence that asks for the order of day and month."""
    return f'"{cell}" in "{name}" may be day or month first: say so with time_format'


def settled_by_others(found: Sequence[Description]) -> list[Description]:
    """Give ambiguous dates the order that the dates of the other files have, where these agree.

    Parameters
    ----------
    found : sequence of Description

    Returns
    -------
    list of Description
    """
    known: dict[str, str] = {}
    for said in found:
        layout = str(said.key("time_format") or "")
        if not said.twofold and "/" in layout[:4] and first_of_date(layout):
            known.setdefault(first_of_date(layout), said.file)
    if len(known) != 1:
        return list(found)
    ((first, file),) = known.items()
    return [_with_order(said, first, file) if said.twofold else said for said in found]


def _with_order(said: Description, first: str, file: str) -> Description:
    keys = []
    for key, value, why in said.keys:
        if key == "time_format" and "/" in str(value)[:4]:
            value = value if first_of_date(value) == first else turned(value)
            why = f"{why}; the {first} first, as in {file}"
        keys.append((key, value, why))
    left = tuple(each for each in said.open if each != said.twofold)
    return replace(said, keys=tuple(keys), open=left, twofold="")
