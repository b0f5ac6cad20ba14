"""A study drafted from its files: characteristics, gauges and tables they speak of, and the questions they leave open."""

from __future__ import annotations

import shutil
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from linestudy.intake.questions import Question, as_number, as_words, pick
from linestudy.records.headers import NAMING_KEYS, names_within
from linestudy.records.infer.data_table import identifier
from linestudy.records.infer.table_description import Description
from linestudy.records.infer.words import plain_name
from linestudy.records.units import is_unit
from linestudy.results import InputError, counted


@dataclass
class Item:
    """A characteristic as far as it is known."""

    id: str
    name: str
    unit: str | None = None
    nominal: float | None = None
    lower: float | None = None
    upper: float | None = None
    bound: float | None = None
    special: bool = False
    position: bool = False
    judged: bool = False
    gauge: str = ""
    origin: str = ""
    #: What a person should look at: a fit, a deviation that is missing.
    remark: str = ""
    #: Whether a list or document states its limits, or that there are none.
    listed: bool = False
    #: What is asked of its index alone, and by whom; None leaves the study's criteria.
    required: float | None = None
    asked_by: str = ""
    #: Whether its unit is the usual one, because neither a file nor a person said any.
    unit_taken: bool = False

    @property
    def middle(self) -> float:
        """Its size on the drawing, NaN where nobody has said it."""
        if self.nominal:
            return self.nominal
        if self.lower is not None and self.upper is not None:
            return (self.lower + self.upper) / 2
        return float("nan")

    @property
    def limits(self) -> str:
        """Its limits in words: 2.75 to 2.85 mm; empty where it has none."""
        unit = f" {self.unit}" if self.unit else ""
        if self.lower is not None and self.upper is not None:
            return f"{self.lower:.10g} to {self.upper:.10g}{unit}"
        if self.lower is not None:
            return f"at least {self.lower:.10g}{unit}"
        return "" if self.upper is None else f"at most {self.upper:.10g}{unit}"


@dataclass
class Table:
    """One table of a file, whose readings are given to characteristics."""

    path: Path
    said: Description
    #: Label of its readings → id of the characteristic; "" leaves them out.
    ids: dict[str, str] = field(default_factory=dict)
    gauges: list[str] = field(default_factory=list)
    unit: str | None = None
    #: Column → the entry whose rows are read, where the file holds several parts.
    only: dict[str, str] = field(default_factory=dict)
    #: Grades that accept a part.
    accept: list[str] = field(default_factory=list)
    #: Whether it goes into the study.
    used: bool = True
    #: As it was recognised, where somebody has put it right since.
    first: Description | None = None

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
    criteria : dict of str to dict
        Criteria of all ("", by key), of ``special`` and of ``other`` characteristics.
    before : Draft or None
        The same as a study.toml has it that is there already; only what differs from it is written.
    doubted : set of (str, str)
        Units of characteristics that are not known, and were asked about.
    """

    items: list[Item] = field(default_factory=list)
    gauges: dict[str, str] = field(default_factory=dict)
    tables: list[Table] = field(default_factory=list)
    head: dict[str, str] = field(default_factory=dict)
    asked: set[str] = field(default_factory=set)
    criteria: dict[str, dict[str, Any]] = field(default_factory=dict)
    before: Draft | None = None
    doubted: set[tuple[str, str]] = field(default_factory=set)

    # -- what is not known yet

    def questions(self) -> list[Question]:
        """List what no file says and nobody has answered yet, in the order in which to ask."""
        from linestudy.intake.open_points import open_points

        return [question for question in open_points(self) if question.key not in self.asked]

    @property
    def used(self) -> list[Table]:
        """The tables that go into the study."""
        return [table for table in self.tables if table.used]

    def item(self, identity: str) -> Item | None:
        """Give the characteristic with this id, None where there is none."""
        return next((item for item in self.items if item.id == identity), None)

    def recognised(self) -> list[str]:
        """Say in one line each what the files are taken for."""
        found = [
            "; ".join(filter(None, (f"{item.name}: {item.origin}", item.limits, item.remark)))
            for item in self.items
            if item.origin
        ]
        for table in self.used:
            names = [item.name for item in self.items if item.id in table.ids.values()]
            about = f", of {', '.join(names)}" if names else ""
            rows = counted(table.said.rows, "row")
            found.append(f"{table.named}: {table.said.role}{about}, {rows} ({table.said.why})")
        return found

    def left_out(self) -> list[str]:
        """List what the files hold and the study does not use: on no drawing, or of unknown meaning."""
        found = []
        found += [f"{table.named}, as was said" for table in self.tables if not table.used]
        for table in self.used:
            found += [
                f'"{label}" in {table.named}, which is given to no characteristic'
                for label, identity in table.ids.items()
                if identity in ("", "?")
            ]
        return found

    def doubts(self) -> list[str]:
        """Say what a person has to look at in the files before anything is computed with them."""
        from linestudy.intake.relations import in_several_files
        from linestudy.records.infer.judged import WHICH_ACCEPT

        tables = [f for table in self.used for f in _data_tables(self, table)]
        found = [
            f"{table.named}: {each}"
            for table in self.used
            for each in table.said.open
            if not (table.accept and each == WHICH_ACCEPT)
        ]
        return found + in_several_files(tables)[1]

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
        from linestudy.intake.open_points import ALL_PARTS, open_points

        question = next((q for q in open_points(self) if q.key == key), None)
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
        elif kind == "accept":
            taken = [pick(name, question.choices) for name in as_words(text)]
            if len(taken) == len(question.choices):
                raise ValueError("where every grade accepts, nothing is judged")
            self.tables[int(rest[0])].accept = taken
            self.tables[int(rest[0])].used = bool(taken)
        elif kind == "only":
            entry = pick(text, question.choices)
            self.tables[int(rest[0])].only.pop(rest[1], None)
            if entry != ALL_PARTS:
                self.tables[int(rest[0])].only[rest[1]] = entry
        elif kind == "gauge":
            if not text:
                raise ValueError("a gauge needs a name")
            number = int(text) if text.isdigit() else 0
            if 1 <= number <= len(question.choices):
                text = question.choices[number - 1]
            self.tables[int(rest[0])].gauges = [self.gauge(text)]
        elif kind == "unit":
            if not is_unit(text):
                raise ValueError(f'"{text}" is no unit that is known here: mm, in, µm, N …')
            self.tables[int(rest[0])].unit = text
        else:
            self._of_item(question, rest[0], rest[1], text)
        self.asked.add(key)

    def _of_item(self, question: Question, identity: str, what: str, text: str) -> None:
        item = next(item for item in self.items if item.id == identity)
        if what == "unit":
            if text and not is_unit(text) and (identity, text) not in self.doubted:
                self.doubted.add((identity, text))
                raise ValueError(
                    f'"{text[:40]}" is no unit that is known here: mm, in, µm, N …; the same answer once more keeps it'
                )
            item.unit, item.unit_taken = text or None, False
            return
        if what == "bound":
            if pick(text, question.choices) == question.choices[0]:
                item.lower, item.bound = None, item.lower
            return
        number = as_number(text)
        other = item.upper if what == "lower" else item.lower
        if number is not None and other is not None and (number < other) != (what == "lower"):
            raise ValueError(f"the lower limit has to lie below the upper, {other:g}")
        setattr(item, what, number)

    def gauge(self, name: str) -> str:
        """Give the id of a gauge by its name; a new one is taken up."""
        for identity, known in self.gauges.items():
            if plain_name(known) == plain_name(name):
                return identity
        identity = identifier(name, set(self.gauges))
        self.gauges[identity] = name.strip()
        return identity

    def new_item(self, name: str) -> Item:
        """Take up one more characteristic."""
        item = Item(identifier(name, {item.id for item in self.items}), name, listed=True)
        self.items.append(item)
        return item

    def remove_item(self, identity: str) -> None:
        """Leave out a characteristic with its readings; one that a study.toml has already stays there."""
        if self.before is not None and self.before.item(identity) is not None:
            raise ValueError("it is in study.toml already; take it out there")
        self.items = [item for item in self.items if item.id != identity]
        for table in self.tables:
            table.ids = {
                label: "" if given == identity else given for label, given in table.ids.items()
            }

    # -- writing

    def data_tables(self) -> list[tuple[dict[str, Any], dict[str, str]]]:
        """Give the [[data]] tables, each with the evidence for its keys."""
        from linestudy.intake.relations import in_several_files

        tables = [f for table in self.used for f in _data_tables(self, table)]
        return in_several_files(tables)[0]

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
        from linestudy.intake.writing import added, as_spelled, written

        target = Path(folder)
        file = target / "study.toml"
        if not self.items:
            names = ", ".join(dict.fromkeys(table.path.name for table in self.tables))
            open_points = [each for table in self.tables for each in table.said.open]
            # What is asked of a column ("station, coil or appraiser = … ?") is nothing to do.
            remark = [each for each in open_points if " ? " not in each]
            raise InputError(
                names or "the files",
                "no column of readings was recognised",
                remark[0]
                if remark and not any(table.said.readings for table in self.tables)
                else "put the names of the columns into one row with the numbers below (commas, semicolons or tabs between), or list the characteristics in a file: "
                "name, nominal, limits",
            )
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
        for path in dict.fromkeys(table.path for table in self.used):
            place = target / "data" / path.name
            if place.exists() and place.read_bytes() != path.read_bytes():
                raise InputError(
                    f"data/{path.name}",
                    "is in the study already with other content",
                    "rename the new file",
                )
            if not place.exists():
                shutil.copyfile(path, place)
        before = file.read_bytes() if file.is_file() else b""
        text = added(file.read_text(encoding="utf-8-sig"), self) if before else written(self)
        rough = target / ".study.toml.new"
        rough.write_bytes(as_spelled(text, before))
        rough.replace(file)
        return file


#: What of a study's head is asked for.
HEAD = ("title", "part", "revision", "customer", "supplier")
WITH_GAUGE = ("run", "machine", "crossed", "reference", "drift")


def _data_tables(draft: Draft, table: Table) -> list[tuple[dict[str, Any], dict[str, str]]]:
    """Return the keys of a table, and their evidence; one for each gauge where the drawing's list names several."""
    said = table.said
    ids = {label: identity for label, identity in table.ids.items() if identity not in ("", "?")}
    if not ids and said.key("long") is None and said.role not in ("bins", "layout"):
        return []
    keys: dict[str, Any] = {"role": said.role, "file": f"data/{said.file}"}
    why = {"role": said.why}
    if said.role == "paired":
        keys["gauges"] = table.gauges
    elif table.gauges and said.role in WITH_GAUGE:
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
    if table.accept:
        keys["accept"] = list(table.accept)
        why["accept"] = "as answered"
    if table.only:
        keys["only"] = dict(table.only)
        why["only"] = "as answered"
    if table.unit is not None:
        keys["unit"] = table.unit
        why["unit"] = "as answered"
    if "missing" in keys:
        # The marks that are always known stay so.
        keys["missing"] = sorted({"", "NA", *keys["missing"]})
    return [(_by_place(keys, said.twice, why), why)]


def _by_place(keys: dict[str, Any], twice: dict[str, int], why: dict[str, str]) -> dict[str, Any]:
    """Name a column by its place where another one has its name too, and nothing is read from that."""
    if not twice:
        return keys
    # A known value may stand where the name of a column may.
    naming = [key for key in NAMING_KEYS if isinstance(keys.get(key), str | list | dict)]
    naming = [key for key in naming if key != "reference" or isinstance(keys[key], str)]
    used = {name for key in naming for name in names_within(keys[key])}
    first = {
        name: f"column {place}"
        for name, place in twice.items()
        if name in used and f"{name} again" not in used
    }

    def named(source: Any) -> Any:
        if isinstance(source, str):
            return first.get(source, source)
        if isinstance(source, dict):
            return {label: named(each) for label, each in source.items()}
        return [named(each) for each in source]

    for key in naming if first else ():
        if not first.keys().isdisjoint(names_within(keys[key])):
            keys[key] = named(keys[key])
            other = next(name for name in first if first[name] in names_within(keys[key]))
            said = f'"{other}" stands there twice, and this is the first'
            why[key] = "; ".join(filter(None, [why.get(key, ""), said]))
    return keys
