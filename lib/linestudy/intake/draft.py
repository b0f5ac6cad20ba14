"""A study drafted from its files: characteristics, gauges and tables they speak of, and the questions they leave open."""

from __future__ import annotations

import difflib
import shutil
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from linestudy.intake.questions import Question, as_number, as_words, pick
from linestudy.records.infer.data_table import identifier
from linestudy.records.infer.description import Description, Readings, describe
from linestudy.records.infer.drawing import read_drawing
from linestudy.records.infer.words import plain_name
from linestudy.records.scales import factor_between, units_of
from linestudy.results import InputError

#: Names that say nothing of what was measured.
_NAMELESS = frozenset(["value", "reading", "measured", "x", "wert", "messwert", "actual", ""])


@dataclass
class Item:
    """A characteristic as far as it is known."""

    id: str
    name: str
    unit: str | None = None
    nominal: float | None = None
    lower: float | None = None
    upper: float | None = None
    special: bool = False
    position: bool = False
    judged: bool = False
    gauge: str = ""
    origin: str = ""
    #: Whether a person has said that there are no limits.
    without_limits: bool = False

    @property
    def middle(self) -> float:
        """Its size on the drawing, NaN where nobody has said it."""
        if self.nominal:
            return self.nominal
        if self.lower is not None and self.upper is not None:
            return (self.lower + self.upper) / 2
        return float("nan")


@dataclass
class Table:
    """One table of a file, whose readings are given to characteristics."""

    path: Path
    said: Description
    #: Label of its readings → id of the characteristic; "" leaves them out.
    ids: dict[str, str] = field(default_factory=dict)
    gauges: list[str] = field(default_factory=list)
    unit: str | None = None

    @property
    def named(self) -> str:
        """How it is called in a question."""
        return f"{self.said.file}, {self.said.title}" if self.said.title else self.said.file


@dataclass
class Draft:
    """A study as its files tell it.

    Attributes
    ----------
    items : list of Item
        Characteristics.
    gauges : dict of str to str
        Id → name.
    tables : list of Table
    head : dict of str to str
        Title, part, revision, customer.
    asked : set of str
        Questions that have been answered.
    """

    items: list[Item] = field(default_factory=list)
    gauges: dict[str, str] = field(default_factory=dict)
    tables: list[Table] = field(default_factory=list)
    head: dict[str, str] = field(default_factory=dict)
    asked: set[str] = field(default_factory=set)

    # -- what is not known yet

    def questions(self) -> list[Question]:
        """List what no file says and nobody has answered yet, in the order in which to ask."""
        found = [q for q in self._all() if q.key not in self.asked]
        return found

    def _all(self) -> list[Question]:
        found = [
            Question(
                "title",
                "Title of the study",
                "what the cover says",
                default=self.head.get("title", "Initial study"),
            ),
            Question("part", "Part number", "of the drawing", default=self.head.get("part", "")),
            Question("revision", "Revision of the drawing", "as it stands there", default="-"),
        ]
        names = [item.name for item in self.items]
        for at, table in enumerate(self.tables):
            for label, wanted in table.ids.items():
                if wanted == "?":
                    told = f"{table.said.why}; the median is {_shown(table, label)}"
                    found.append(
                        Question(
                            f"about:{at}:{label}",
                            f'Which characteristic is "{label}" in {table.named}?',
                            told,
                            choices=[*names, "none of them"],
                            default=names[0] if len(names) == 1 else "",
                        )
                    )
            if table.said.role in _WITH_GAUGE and not table.gauges:
                found.append(
                    Question(
                        f"gauge:{at}",
                        f"Which gauge gave {table.named}?",
                        "its name, as the calibration list has it",
                        choices=list(self.gauges.values()),
                        free=True,
                        default=next(iter(self.gauges.values()), "")
                        if len(self.gauges) == 1
                        else "",
                    )
                )
            factor = self._factor(table)
            if table.unit is None and factor is not None:
                unit, why = factor
                found.append(
                    Question(
                        f"unit:{at}",
                        f"In which unit are the readings of {table.named}?",
                        why,
                        default=unit,
                    )
                )
        for item in self.items:
            if item.judged or item.without_limits:
                continue
            if item.unit is None:
                found.append(
                    Question(
                        f"item:{item.id}:unit",
                        f"Unit of {item.name}",
                        "as on the drawing",
                        default="mm",
                    )
                )
            if item.lower is None and item.upper is None:
                why = "blank where there is none"
                found.append(
                    Question(
                        f"item:{item.id}:lower",
                        f"Lower limit of {item.name}",
                        why,
                        kind="number",
                        default="",
                    )
                )
                found.append(
                    Question(
                        f"item:{item.id}:upper",
                        f"Upper limit of {item.name}",
                        why,
                        kind="number",
                        default="",
                    )
                )
        if self.items and not any(item.origin.endswith("drawing") for item in self.items):
            found.append(
                Question(
                    "special",
                    "Which are special characteristics?",
                    "names, with commas between; blank for none",
                    kind="words",
                    choices=names,
                    default="",
                )
            )
        return found

    def _factor(self, table: Table) -> tuple[str, str] | None:
        """The unit a table is likely in, where its sizes differ from the drawing's by a factor."""
        for readings in table.said.readings:
            item = self._item(table.ids.get(readings.label, ""))
            if item is None or readings.unit or table.said.key("units") or table.said.key("unit"):
                continue
            factor = factor_between(readings.middle, item.middle)
            if factor is not None:
                own, drawn = units_of(factor)
                if _same_unit(item.unit, drawn):
                    told = f"the median {readings.middle:.4g} is {1 / factor:.4g} times what the drawing says, {item.middle:g} {item.unit}"
                    return ("in" if own == "inch" else own), told
        return None

    def _item(self, identity: str) -> Item | None:
        return next((item for item in self.items if item.id == identity), None)

    # -- answers

    def answer(self, key: str, text: str) -> None:
        """Take the answer to a question.

        Parameters
        ----------
        key : str
            Of the question.
        text : str
            As typed; blank takes the default.

        Raises
        ------
        ValueError
            The answer cannot be used; says why.
        """
        question = next((q for q in self._all() if q.key == key), None)
        if question is None:
            raise ValueError(f"there is no question {key!r}")
        text = text.strip() or question.default
        kind, *rest = key.split(":", 2)
        if kind in ("title", "part", "revision"):
            self.head[kind] = text or "-"
        elif kind == "special":
            for name in as_words(text):
                chosen = pick(name, [item.name for item in self.items])
                next(item for item in self.items if item.name == chosen).special = True
        elif kind == "about":
            table = self.tables[int(rest[0])]
            if text in ("", "none of them"):
                table.ids[rest[1]] = ""
            else:
                chosen = pick(text, [item.name for item in self.items])
                table.ids[rest[1]] = next(item.id for item in self.items if item.name == chosen)
        elif kind == "gauge":
            if not text:
                raise ValueError("a gauge needs a name")
            self.tables[int(rest[0])].gauges = [self.gauge(text)]
        elif kind == "unit":
            from linestudy.records.units import is_unit

            if not is_unit(text):
                raise ValueError(f'"{text}" is no unit that is known here: mm, in, µm, N …')
            self.tables[int(rest[0])].unit = text
        else:
            self._of_item(rest[0], rest[1], text)
        self.asked.add(key)

    def _of_item(self, identity: str, what: str, text: str) -> None:
        item = next(item for item in self.items if item.id == identity)
        if what == "unit":
            item.unit = text or None
            return
        number = as_number(text)
        other = item.upper if what == "lower" else item.lower
        if number is not None and other is not None and (number < other) != (what == "lower"):
            raise ValueError(f"the lower limit has to lie below the upper, {other:g}")
        setattr(item, what, number)
        if what == "upper" and item.lower is None and number is None:
            item.without_limits = True

    def gauge(self, name: str) -> str:
        """Give the id of a gauge by its name; a new one is taken up."""
        for identity, known in self.gauges.items():
            if plain_name(known) == plain_name(name):
                return identity
        identity = identifier(name, set(self.gauges))
        self.gauges[identity] = name.strip()
        return identity

    # -- writing

    def data_tables(self) -> list[tuple[dict[str, Any], dict[str, str]]]:
        """Give the [[data]] tables, each with the evidence for its keys."""
        return [found for table in self.tables for found in _data_tables(self, table)]

    def write(self, folder: str | Path) -> Path:
        """Write the study: study.toml, and copies of the files under data/.

        Parameters
        ----------
        folder : str or pathlib.Path
            New or empty; of a study that is there already only what it lacks is added, and nothing that a person
            wrote is changed.

        Returns
        -------
        pathlib.Path
            The study.toml.

        Raises
        ------
        InputError
            The folder holds something that is no study.
        """
        from linestudy.intake.writing import added, written

        target = Path(folder)
        file = target / "study.toml"
        if (
            target.exists()
            and not file.is_file()
            and (not target.is_dir() or any(target.iterdir()))
        ):
            raise InputError(
                str(folder),
                "exists already and is no study",
                "name a folder that does not exist yet",
            )
        (target / "data").mkdir(parents=True, exist_ok=True)
        for path in dict.fromkeys(table.path for table in self.tables):
            place = target / "data" / path.name
            if place.exists() and place.read_bytes() != path.read_bytes():
                raise InputError(
                    f"data/{path.name}",
                    "is in the study already with other content",
                    "rename the new file",
                )
            if not place.exists():
                shutil.copyfile(path, place)
        text = added(file.read_text(encoding="utf-8"), self) if file.is_file() else written(self)
        rough = target / ".study.toml.new"
        rough.write_text(text, encoding="utf-8")
        rough.replace(file)
        return file


_WITH_GAUGE = ("run", "machine", "crossed", "reference", "drift")


def _same_unit(unit: str | None, named: str) -> bool:
    return unit is None or {unit, named} <= {"in", "inch", '"'} or unit == named


def _shown(table: Table, label: str) -> str:
    readings = next(each for each in table.said.readings if each.label == label)
    return f"{readings.middle:.4g}{f' {readings.unit}' if readings.unit else ''}"


def draft_study(files: Sequence[str | Path]) -> Draft:
    """Draft a study from raw files.

    Parameters
    ----------
    files : sequence of path-like
        Records, sheets, a list of characteristics, in any order.

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
    whose limits their median fits. What cannot be told is asked.

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
    draft = Draft()
    paths = [Path(file) for file in files]
    names = [path.name for path in paths]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise InputError(twice, "is the name of two files", "rename one")
    found = [(path, said) for path in paths for said in describe(path)]
    for path, said in found:
        if said.role == "drawing":
            _take_drawing(draft, path, said)
    for path in paths:
        if path.suffix.lower() in (".qif", ".xml"):
            _take_qif(draft, path)
    for path, said in found:
        if said.role != "drawing":
            draft.tables.append(Table(path, said))
    listed = bool(draft.items)
    for table in draft.tables:
        _give(draft, table, listed)
    for table in draft.tables:
        _name_gauges(draft, table)
    if paths:
        draft.head["title"] = "Initial study"
    return draft


def _take_drawing(draft: Draft, path: Path, said: Description) -> None:
    for drawn in read_drawing(path, said.key("sheet")):
        taken = {item.id for item in draft.items}
        item = Item(
            identifier(drawn.name, taken),
            drawn.name,
            drawn.unit,
            drawn.nominal,
            drawn.lower,
            drawn.upper,
            drawn.special,
            gauge=drawn.gauge,
            origin=f"{path.name} line {drawn.line}, drawing",
        )
        item.without_limits = drawn.lower is None and drawn.upper is None
        item.judged = item.without_limits and drawn.nominal is None
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
            origin=f"{path.name}, drawing",
        )  # fmt: skip
        item.without_limits = drawn.lower is None and drawn.upper is None
        draft.items.append(item)


def _give(draft: Draft, table: Table, listed: bool) -> None:
    """Give each of a table's readings to a characteristic."""
    said = table.said
    if said.role == "attribute":
        words = [said.title, Path(said.file).stem]
        item = _by_name(draft, words) or _judged_only(draft)
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
        if item is not None and item.id not in table.ids.values():
            table.ids[readings.label] = item.id
        elif listed and (_is_nameless(readings.label) or _near_some(draft, readings)):
            table.ids[readings.label] = "?"
        elif listed:
            # A column that is on no drawing is left out, and the draft says so.
            table.ids[readings.label] = ""
        else:
            name = (
                readings.label
                if not _is_nameless(readings.label)
                else (said.title or Path(said.file).stem)
            )
            position = (
                isinstance(readings.source, list)
                and said.role in ("run", "machine")
                and not said.key("across")
            )
            table.ids[readings.label] = _new_item(draft, name, readings.unit, position=position)


def _is_nameless(label: str) -> bool:
    return plain_name(label) in _NAMELESS or len(plain_name(label)) < 2


def _near_some(draft: Draft, readings: Readings) -> bool:
    return any(_fits(item, readings, 1.0) for item in draft.items)


def _new_item(
    draft: Draft, name: str, unit: str | None, judged: bool = False, position: bool = False
) -> str:
    for item in draft.items:
        if plain_name(item.name) == plain_name(name):
            return item.id
    import re

    shown = re.sub(r"\s*(?:\[[^\[\]]*\]|\([^()]*\))\s*$", "", name).strip() or name
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
    judged = [item for item in draft.items if item.judged]
    return judged[0] if len(judged) == 1 else None


def _by_name(draft: Draft, names: list[str]) -> Item | None:
    """The characteristic that one of these names means, if only one does."""
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
        # The longest name that stands in it: "contact height left" is no "height".
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
    """The only characteristic whose limits the readings fit, in its unit or in another of length."""
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
    """Gauges by the drawing's list, by the columns of two gauges, by the name of file or sheet."""
    said = table.said
    if said.role == "paired" and said.readings:
        table.gauges = [draft.gauge(name) for name in said.readings[0].source]
        return
    if said.role not in _WITH_GAUGE:
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


def _data_tables(draft: Draft, table: Table) -> list[tuple[dict[str, Any], dict[str, str]]]:
    """The keys of a table, and their evidence; one for each gauge where the drawing's list names several."""
    said = table.said
    ids = {label: identity for label, identity in table.ids.items() if identity not in ("", "?")}
    if not ids and said.key("long") is None and said.role != "bins":
        return []
    keys: dict[str, Any] = {"role": said.role, "file": f"data/{said.file}"}
    why = {"role": said.why}
    if said.role == "paired":
        keys["gauges"] = table.gauges
    elif table.gauges and said.role in _WITH_GAUGE:
        keys["gauge"] = table.gauges[0]
    if said.role == "attribute":
        keys["characteristic"] = ids[""]
    elif said.readings:
        sources = {readings.label: readings.source for readings in said.readings}
        keys["columns"] = {identity: sources[label] for label, identity in ids.items()}
    for key, value, evidence in said.keys:
        if key == "across" and said.role == "nested":
            continue
        keys[key] = list(value) if isinstance(value, tuple) else value
        why[key] = evidence
    if table.unit is not None:
        keys["unit"] = table.unit
        why["unit"] = "as answered"
    if "missing" in keys:
        # The marks that are always known stay so.
        keys["missing"] = sorted({"", "NA", *keys["missing"]})
    return [(keys, why)]
