"""Files matched with characteristics and gauges: by the drawing's list, by names, by sizes."""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from linestudy.intake.draft import HEAD, WITH_GAUGE, Draft, Item, Table
from linestudy.records.across.specs import spec_of
from linestudy.records.files import holds_qif
from linestudy.records.infer.data_table import identifier
from linestudy.records.infer.drawings.drawing import Drawn, read_drawing
from linestudy.records.infer.notices.day_or_month import settled_by_others
from linestudy.records.infer.table_description import Description, Readings, describe
from linestudy.records.infer.words import plain_name, says_deviation
from linestudy.records.units import without_unit
from linestudy.results import InputError

if TYPE_CHECKING:
    from linestudy.study.load import Study

#: Names that say nothing of what was measured.
_NAMELESS = frozenset(["value", "reading", "measured", "x", "wert", "messwert", "actual", ""])
#: Names of readings that give way to the characteristic that a line above the table names.
_READ = frozenset([
    "obs", "observation", "sample", "meas", "measurement", "measurements", "readings", "messung", "messwerte", "istwert", "part", "teil", "mesure", "valor",
])  # fmt: skip


def draft_study(files: Sequence[str | Path], *, study: Study | None = None) -> Draft:
    """Draft a study from raw files.

    Parameters
    ----------
    files : sequence of path-like
        Records, sheets, a list of characteristics, in any order.
    study : Study, optional
        A study that is there already, whose characteristics and gauges are known.

    Returns
    -------
    Draft
        Its ``questions`` are what no file says; ``answer`` takes answers, ``write`` writes the study.

    Raises
    ------
    InputError
        A file cannot be read, or two files have one name.

    See Also
    --------
    linestudy.records.infer_data_table : One file alone.

    Notes
    -----
    Characteristics come from the drawing's list, from QIF, or else from the names of the columns. Readings are given
    to the characteristic whose name they bear (in the column, sheet, block or file), else to the only one
    whose limits their median fits. What cannot be decided is asked.

    Examples
    --------
    >>> import tempfile, pathlib
    >>> folder = pathlib.Path(tempfile.mkdtemp())
    >>> _ = (folder / "list.csv").write_text("Name,Nominal,LSL,USL,Unit\\nWidth,2.8,2.7,2.9,mm\\nGap,1,0.9,1.1,mm\\n")
    >>> _ = (folder / "run.csv").write_text("Stroke,Width\\n" + "".join(f"{i},2.8\\n" for i in range(1, 9)))
    >>> draft = draft_study([folder / "list.csv", folder / "run.csv"])
    >>> [question.key for question in draft.questions()]
    ['title', 'part', 'revision', 'gauge:0']
    """
    draft = Draft() if study is None else _from_study(study)
    paths = [Path(file) for file in files]
    names = [path.name for path in paths]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise InputError(twice, "is the name of two files", "rename one")
    found = [(path, said) for path in paths for said in describe(path)]
    ordered = settled_by_others([said for _, said in found])
    found = [(path, said) for (path, _), said in zip(found, ordered, strict=True)]
    for path, said in found:
        if said.role == "drawing":
            _take_drawing(draft, path, said)
    for path in paths:
        if holds_qif(path):
            _take_qif(draft, path)
    for path, said in found:
        if said.role != "drawing":
            draft.tables.append(Table(path, said))
            if study is None and not any(each.role == "drawing" for _, each in found):
                _take(draft, path, said.listed, "")
    listed = bool(draft.items)
    # Runs first: what they hold tells what readings without a name may be of.
    for table in sorted(draft.tables, key=lambda table: table.said.role != "run"):
        _give(draft, table, listed)
    for table in draft.tables:
        _name_gauges(draft, table)
    if paths and study is None:
        draft.head["title"] = "Initial study"
    return draft


def readable_files(files: Sequence[Path]) -> tuple[list[Path], list[str]]:
    """Sort out what is no table, so that one stray picture keeps no other file out.

    Parameters
    ----------
    files : sequence of pathlib.Path

    Returns
    -------
    (list of pathlib.Path, list of str)
        The files that can be read, and one sentence for each of the others.
    """
    readable, remark = [], []
    for file in files:
        if file.is_dir():
            remark.append(f"Left out: {file.name} is a folder.")
            continue
        try:
            describe(file)
            readable.append(file)
        except InputError as error:
            remark.append(f"Left out: {error}.")
    return readable, remark


def _from_study(study: Study) -> Draft:
    """Return what an existing study already says; nothing of it is asked again."""
    draft = _as_written(study)
    draft.before = _as_written(study)
    return draft


def _as_written(study: Study) -> Draft:
    draft = Draft(gauges={gauge.id: gauge.name for gauge in study.gauges})
    for c in study.characteristics:
        judged = c.is_attribute and not c.unit and c.nominal is None
        draft.items.append(
            Item(
                c.id, c.name, c.unit, c.nominal, c.lower, c.upper, c.bound, special=c.special,
                position=c.position is not None, judged=judged, listed=True,
                required=c.criteria.capability_accept if c.criteria else None,
                asked_by=(c.criteria.source or "") if c.criteria else "",
            )
        )  # fmt: skip
        draft.asked |= {f"item:{c.id}:unit", f"item:{c.id}:bound"}
    draft.asked |= {"title", "part", "revision", "special"}
    head = study.head.model_dump(exclude_none=True)
    draft.head = {key: str(head[key]) for key in HEAD if key in head}
    given = study.criteria.model_dump(exclude_none=True)
    draft.criteria = {name: given.pop(name, {}) for name in ("special", "other")} | {"": given}
    return draft


def _take_drawing(draft: Draft, path: Path, said: Description) -> None:
    _take(draft, path, read_drawing(path, said.key("sheet")), ", drawing")


def _take(draft: Draft, path: Path, listed: Sequence[Drawn], whence: str) -> None:
    """Take up the characteristics that a list or a file of readings names with their limits."""
    for drawn in listed:
        if any(plain_name(item.name) == plain_name(drawn.name) for item in draft.items):
            continue
        taken = {item.id for item in draft.items}
        item = Item(
            identifier(drawn.name, taken),
            drawn.name,
            drawn.unit,
            drawn.nominal,
            drawn.lower,
            drawn.upper,
            special=drawn.special,
            listed=True,
            gauge=drawn.gauge,
            origin=f"{path.name} line {drawn.line}{whence}",
            remark=drawn.remark,
        )
        item.judged = drawn.lower is None and drawn.upper is None and drawn.nominal is None
        item.judged &= bool(whence)
        draft.items.append(item)


def _take_qif(draft: Draft, path: Path) -> None:
    from linestudy.records.files import content
    from linestudy.records.formats.qif import characteristics_of
    from linestudy.study.model import Data

    bare = Data(role="run", file=path.name, columns={"x": "x"})
    raw, _ = content(path, bare)
    for drawn in characteristics_of(raw, bare):
        if any(plain_name(item.name) == plain_name(drawn.name) for item in draft.items):
            continue
        taken = {item.id for item in draft.items}
        item = Item(
            identifier(drawn.name, taken), drawn.name, drawn.unit, drawn.nominal, drawn.lower, drawn.upper,
            listed=True, origin=f"{path.name}, drawing",
        )  # fmt: skip
        draft.items.append(item)


def _give(draft: Draft, table: Table, listed: bool) -> None:
    """Give each of a table's readings to a characteristic."""
    said = table.said
    if said.role == "attribute":
        words = [said.title, Path(said.file).stem]
        behind = said.key("measured")
        item = (
            _by_name(draft, words)
            or (_by_name(draft, [behind]) if behind else None)
            or _judged_only(draft)
        )
        table.ids[""] = (
            item.id
            if item
            else _new_item(draft, said.title or Path(said.file).stem, None, judged=True)
        )
        return
    for readings in said.readings:
        item = _by_name(draft, [readings.label]) or _by_name(
            draft, [said.title, Path(said.file).stem]
        )
        if item is None and listed:
            item = _by_size(draft, readings)
        elif item is None and said.role in ("reference", "drift") and _is_nameless(readings.label):
            item = _by_readings(draft, readings)
        if item is not None and _is_deviation(item, readings):
            table.ids[readings.label] = ""
            remark = (
                f'"{readings.label}" holds deviations from the nominal of {item.name}, {item.nominal:g}: give a file with the '
                "sizes themselves"
            )
            table.said = replace(table.said, open=(*table.said.open, remark))
        elif item is not None and item.id not in table.ids.values():
            table.ids[readings.label] = item.id
            if item.unit is None and _fits(item, readings, 1.0):
                item.unit = readings.unit
        elif listed and (_is_nameless(readings.label) or _near_some(draft, readings)):
            table.ids[readings.label] = "?"
        elif listed:
            # A column that is on no drawing is left out, and the draft says so.
            table.ids[readings.label] = ""
        else:
            nameless = _is_nameless(readings.label)
            of_line = said.about and len(said.readings) == 1
            if of_line and (nameless or plain_name(readings.label) in _READ):
                name = said.about
            else:
                name = said.title or Path(said.file).stem if nameless else readings.label
            position = (
                isinstance(readings.source, list)
                and said.role in ("run", "machine")
                and not said.key("across")
            )
            identity = _new_item(draft, name, readings.unit, position=position)
            table.ids[readings.label] = identity
            own = draft.item(identity)
            if (
                own is not None
                and not own.listed
                and any(each is not None for each in readings.limits)
            ):
                own.nominal, own.lower, own.upper = readings.limits
                own.listed = True
                own.origin = f"{said.file}, beside the readings"


def _is_deviation(item: Item, readings: Readings) -> bool:
    """Check whether readings are deviations from a nominal: their name says so, and their size is not the drawing's."""
    if not item.nominal or not says_deviation(readings.label):
        return False
    return abs(readings.middle) < 0.5 * abs(item.nominal) or readings.unit != item.unit


def _is_nameless(label: str) -> bool:
    plain = plain_name(label)
    # One sign of East Asia is a word: 幅, 폭.
    return plain in _NAMELESS or (len(plain) < 2 and plain.isascii())


def _near_some(draft: Draft, readings: Readings) -> bool:
    return any(_fits(item, readings, 1.0) for item in draft.items)


def _new_item(
    draft: Draft, name: str, unit: str | None, judged: bool = False, position: bool = False
) -> str:
    for item in draft.items:
        if plain_name(item.name) == plain_name(name):
            return item.id

    spec = spec_of(name)
    if spec is not None and spec.limited and spec.rest:
        name, unit = spec.rest, unit or spec.unit or None
    shown = without_unit(name).strip()
    item = Item(
        identifier(shown, {i.id for i in draft.items}),
        shown,
        unit,
        judged=judged,
        position=position,
    )
    draft.items.append(item)
    return item.id


def _judged_only(draft: Draft) -> Item | None:
    # One that was made of the name of another sheet is about that sheet.
    judged = [item for item in draft.items if item.judged and item.listed]
    return judged[0] if len(judged) == 1 else None


def _by_name(draft: Draft, names: list[str]) -> Item | None:
    """Find the characteristic that one of these names means, if only one does."""
    for name in names:
        plain = plain_name(name)
        if len(plain) < 2:
            continue
        same = [i for i in draft.items if plain in (plain_name(i.name), plain_name(i.id))]
        if len(same) == 1:
            return same[0]
        words = set(plain.split())
        within = [i for i in draft.items if set(plain_name(i.name).split()) <= words]
        within = within or [i for i in draft.items if _joined(i.name) in _joined(name)]
        # The longest name contained in it: "contact height left" is no "height".
        if within:
            longest = max(len(i.name) for i in within)
            best = [i for i in within if len(i.name) == longest]
            if len(best) == 1:
                return best[0]
        part = [i for i in draft.items if words and words <= set(plain_name(i.name).split())]
        if len(part) == 1:
            return part[0]
        close = difflib.get_close_matches(
            plain, [plain_name(i.name) for i in draft.items], n=2, cutoff=0.85
        )
        if len(close) == 1:
            return next(i for i in draft.items if plain_name(i.name) == close[0])
    return None


def _joined(name: str) -> str:
    return plain_name(name).replace(" ", "")


def _by_size(draft: Draft, readings: Readings) -> Item | None:
    """Find the only characteristic whose limits the readings fit, in its unit or in another of length."""
    from linestudy.records.units import unit_factor

    fitting = []
    for item in draft.items:
        try:
            factor = unit_factor(readings.unit, item.unit, "")
        except InputError:
            continue
        if _fits(item, readings, factor):
            fitting.append(item)
    return fitting[0] if len(fitting) == 1 else None


def _by_readings(draft: Draft, readings: Readings) -> Item | None:
    """Find the only characteristic whose readings in the run are of this size."""
    found = set()
    for table in draft.tables:
        for known in table.said.readings if table.said.role == "run" else ():
            width = max(known.high - known.low, 1e-12)
            if known.low - 3 * width <= readings.middle <= known.high + 3 * width:
                found.add(table.ids.get(known.label, ""))
    return draft.item(found.pop()) if len(found) == 1 else None


def _fits(item: Item, readings: Readings, factor: float) -> bool:
    middle = readings.middle * factor
    if item.lower is not None and item.upper is not None:
        width = item.upper - item.lower
        return item.lower - width <= middle <= item.upper + width
    if item.upper is not None:
        return 0 <= middle <= 2 * item.upper if item.upper > 0 else False
    if item.lower is not None:
        return item.lower * 0.5 <= middle <= item.lower * 10 if item.lower > 0 else False
    return bool(item.nominal) and abs(middle - float(item.nominal or 0)) < 0.1 * abs(
        float(item.nominal or 0)
    )


def _name_gauges(draft: Draft, table: Table) -> None:
    """Name gauges by the drawing's list, by the columns of two gauges, by the name of file or sheet."""
    said = table.said
    if said.gauges:
        table.gauges = [draft.gauge(name) for name in said.gauges]
        return
    if said.role == "paired" and said.readings:
        table.gauges = [draft.gauge(name) for name in said.readings[0].source]
        return
    if said.role not in WITH_GAUGE:
        return
    named = {item.gauge for item in draft.items if item.id in table.ids.values() and item.gauge}
    if len(named) == 1:
        table.gauges = [draft.gauge(named.pop())]
        return
    words = plain_name(f"{said.title} {Path(said.file).stem}")
    for item in draft.items:
        if item.gauge and plain_name(item.gauge) in words:
            table.gauges = [draft.gauge(item.gauge)]
            return
