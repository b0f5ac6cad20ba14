"""What no file says: the questions of a draft, in the order in which to ask."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from linestudy.intake.questions import Question
from linestudy.records.units import factor_between, units_of

if TYPE_CHECKING:
    from linestudy.intake.draft import Draft, Item, Table

#: Answer that takes every part number of a file.
ALL_PARTS = "all of them together"
#: Roles whose readings one gauge gives.
_BY_A_GAUGE = ("run", "machine", "crossed", "reference", "drift")


def open_points(draft: Draft) -> list[Question]:
    """List what a draft's files do not say, answered or not.

    Parameters
    ----------
    draft : Draft

    Returns
    -------
    list of Question
    """
    found = [
        Question(
            "title",
            "Title of the study",
            "what the cover says",
            default=draft.head.get("title", "Initial study"),
        ),
        Question("part", "Part number", "of the drawing", default=draft.head.get("part", "")),
        Question(
            "revision",
            "Revision of the drawing",
            "as it stands there",
            default=draft.head.get("revision", "-"),
        ),
    ]
    for at, table in enumerate(draft.tables):
        if table.used:
            found += _of_table(draft, at, table)
    for item in draft.items:
        if not item.judged:
            found += _of_item(draft, item)
    if draft.items and not any(item.listed for item in draft.items):
        why = "names, with commas between; blank for none"
        names = [item.name for item in draft.items]
        found.append(
            Question("special", "Which are special characteristics?", why, "words", choices=names)
        )
    return found


def _of_table(draft: Draft, at: int, table: Table) -> Iterator[Question]:
    names = [item.name for item in draft.items]
    for label, wanted in table.ids.items():
        if wanted != "?" and f"about:{at}:{label}" not in draft.asked:
            continue
        readings = next(each for each in table.said.readings if each.label == label)
        size = f"{readings.middle:.4g}{f' {readings.unit}' if readings.unit else ''}"
        yield Question(
            f"about:{at}:{label}",
            f'Which characteristic is "{label}" in {table.named}?',
            f"{table.said.why}; the median is {size}",
            choices=[*names, "none of them"],
            default=names[0] if len(names) == 1 else "",
        )
    for column, entries in table.said.parts:
        own = draft.head.get("part", "")
        yield Question(
            f"only:{at}:{column}",
            f'Which part of "{column}" in {table.named} is the study about?',
            f"the file holds {len(entries)} part numbers",
            choices=[*entries, ALL_PARTS],
            default=own if own in entries else "",
        )
    grades = table.said.key("grades")
    if grades:
        yield Question(
            f"accept:{at}",
            f"Which grades of {table.named} accept a part?",
            f"names, with commas between, of {', '.join(grades)}; blank leaves the sheet out",
            "words",
            choices=list(grades),
        )
    known = list(draft.gauges.values())
    if table.said.role in _BY_A_GAUGE and (not table.gauges or f"gauge:{at}" in draft.asked):
        yield Question(
            f"gauge:{at}",
            f"Which gauge gave {table.named}?",
            "its name, as the calibration list has it",
            choices=known,
            free=True,
            default=known[0] if len(known) == 1 else "",
        )
    factor = _factor(draft, table)
    if factor is not None:
        unit, why = factor
        yield Question(
            f"unit:{at}", f"In which unit are the readings of {table.named}?", why, default=unit
        )


def _of_item(draft: Draft, item: Item) -> Iterator[Question]:
    if item.unit is None or f"item:{item.id}:unit" in draft.asked:
        yield Question(
            f"item:{item.id}:unit",
            f"Unit of {item.name}",
            "as on the drawing",
            default=item.unit or _usual_unit(draft),
        )
    if not item.listed:
        why = "blank where there is none"
        if not item.position:
            yield Question(f"item:{item.id}:lower", f"Lower limit of {item.name}", why, "number")
        yield Question(f"item:{item.id}:upper", f"Upper limit of {item.name}", why, "number")
    key = f"item:{item.id}:bound"
    if (
        item.lower == 0 and item.upper is not None and item.nominal in (0, None)
    ) or key in draft.asked:
        below = _below_nought(draft, item)
        choices = ["no, 0 is a bound of what can be", "yes, 0 is the lower limit"]
        evidence = (
            "readings below 0 are in the files" if below else "no reading in the files is below 0"
        )
        yield Question(
            key,
            f"Can {item.name} be below 0 at all?",
            evidence,
            choices=choices,
            default=choices[int(below)],
        )


def _below_nought(draft: Draft, item: Item) -> bool:
    lows = [
        readings.low
        for table in draft.tables
        for readings in table.said.readings
        if table.ids.get(readings.label) == item.id
    ]
    return bool(lows) and bool(np.nanmin(lows) < 0)


def _factor(draft: Draft, table: Table) -> tuple[str, str] | None:
    """Find the unit a table is likely in, where its sizes differ from the drawing's by a factor."""
    for readings in table.said.readings:
        item = draft.item(table.ids.get(readings.label, ""))
        if item is None or readings.unit or table.said.key("units") or table.said.key("unit"):
            continue
        factor = factor_between(readings.middle, item.middle)
        if factor is not None:
            own, drawn = units_of(factor)
            if _same_unit(item.unit, drawn):
                evidence = f"the median {readings.middle:.4g} is {1 / factor:.4g} times what the drawing says, {item.middle:g} {item.unit}"
                return ("in" if own == "inch" else own), evidence
    return None


def _usual_unit(draft: Draft) -> str:
    """Find the unit of length that the drawing is in, as far as its other characteristics say."""
    lengths = [item.unit for item in draft.items if item.unit in ("mm", "in", "inch", "µm", "cm")]
    return max(lengths, key=lengths.count) if lengths else "mm"


def _same_unit(unit: str | None, named: str) -> bool:
    return unit is None or {unit, named} <= {"in", "inch", '"'} or unit == named
