"""The second step: what each file is, column by column."""

from __future__ import annotations

from collections.abc import Callable

import ipywidgets

from linestudy.intake.corrections import ROLES, TAGS, WORDS, faults, meanings, set_meaning, set_role
from linestudy.intake.draft import WITH_GAUGE, Draft
from linestudy.intake.open_points import ALL_PARTS
from linestudy.intake.preview import preview
from linestudy.records.units import is_unit
from linestudy.results import counted
from linestudy.study_form.parts import Says, Step, choice, grid, heading, of_whom, plain, text, tick


class TablesStep(Step):
    """What was recognised, with what speaks for it, and what a person says instead."""

    title = "What each file is"
    purpose = (
        "Each table with what it was taken for and its first rows. Correct what is wrong; what is not used stays in "
        "the file and out of the study."
    )

    def __init__(self, changed: Callable[[], None]) -> None:
        super().__init__()
        self._changed = changed
        self.cards: list[TableCard] = []

    def show(self, draft: Draft) -> None:
        """Show the tables of a draft."""
        self.cards = [TableCard(draft, at, self._changed) for at in range(len(draft.tables))]
        self.body.children = [card.widget for card in self.cards]
        self.says.nothing()
        if not self.cards:
            self.says.right("No table besides the list of characteristics.")

    def refresh(self) -> None:
        """Follow the names of characteristics and gauges; the only gauge that is named serves where none is."""
        for card in self.cards:
            card.take_only_gauge()
            card.refresh()

    def faults(self) -> list[str]:
        """List what prevents reading the tables."""
        return [f"{card.table.named}: {fault}" for card in self.cards for fault in card.faults()]


class TableCard:
    """One table of a file."""

    def __init__(self, draft: Draft, at: int, changed: Callable[[], None]) -> None:
        self.draft, self.table, self._at, self._changed = draft, draft.tables[at], at, changed
        self.says = Says()
        self._quiet = False
        self._unit_note, self._gauge_note = self._take_unit(), ""
        table, named = self.table, self.table.named
        self._seen = preview(table)
        self.used = tick(f"Use {named}", table.used)
        self.role = choice(
            f"What {named} is", [(words, role) for role, words in ROLES.items()], table.said.role
        )
        self.role.description = "It is a"
        self.gauge = ipywidgets.Combobox(
            value=self._gauge_names(),
            description="Gauge",
            ensure_option=False,
            continuous_update=False,
            placeholder="its name in the calibration list",
        )
        self.gauge.style.description_width = "14em"
        self.gauge.layout.width = "38em"
        self.unit = text(
            "Unit of its readings", table.unit or "", width="12em", hint=self._unit_hint()
        )
        self._columns = self._column_fields()
        self._wide = {
            readings.label: choice(
                "Readings side by side are",
                self._items(),
                self._given(readings.label),
            )
            for readings in table.said.readings
            if not isinstance(readings.source, str)
        }
        if table.said.role == "attribute":
            self._wide[""] = choice("They are about", self._items(), self._given(""))
        self._parts = {
            column: choice(
                f'Part taken of "{column}"',
                [("choose …", ""), *((each, each) for each in (*entries, ALL_PARTS))],
                table.only.get(column, ""),
            )
            for column, entries in table.said.parts
        }
        grades = ", ".join(table.said.key("grades") or ())
        self._grades = (
            [text("Grades that accept", ", ".join(table.accept), width="24em", hint=f"of {grades}")]
            if grades
            else []
        )
        for field in (self.role, self.gauge, self.unit, *self._parts.values(), *self._grades):
            of_whom(field, named)
        for label, field in self._wide.items():
            of_whom(field, f"{label}, {named}" if label else named)
        self.widget = ipywidgets.VBox(self._children())
        self._listen()
        self.refresh()

    # -- what is shown

    def _children(self) -> list[ipywidgets.Widget]:
        said = self.table.said
        about = f"{counted(said.rows, 'row')}; taken for this because: {said.why}."
        rows = [
            [plain(name), plain(self._cells(name), "ls-cells"), field]
            for name, field in self._columns.items()
        ]
        rows += [
            [plain(name), plain(shown, "ls-cells"), plain(is_)]
            for name, shown, is_ in self._beside()
        ]
        head = [plain("Column"), plain("First rows"), plain("What it is")]
        return [
            heading(self.table.named, about, *said.remarks, *self._limits(), *self._look()),
            self.used,
            self.role,
            self.gauge,
            self.unit,
            *self._parts.values(),
            *self._grades,
            *self._wide.values(),
            grid("14em minmax(8em, 22em) 26em", [head, *rows]),
            self.says.widget,
        ]

    def _limits(self) -> list[str]:
        """List the limits that this file itself gives, as they were read."""
        mine = [item for item in self.draft.items if item.origin.startswith(self.table.said.file)]
        return [f"Limits in this file: {i.name} {i.limits}." for i in mine if i.limits]

    def _look(self) -> list[str]:
        return [f"Look at this: {each}." for each in self.table.said.open]

    def _cells(self, name: str) -> str:
        cells = [cell if cell else "(blank)" for cell in self._seen.cells(name)]
        return "  ".join(cell[:24] for cell in cells)

    def _beside(self) -> list[tuple[str, str, str]]:
        """List columns side by side, of which only the first few are shown."""
        taken = meanings(self.table)
        beside = [k.name for k in self._seen.kinds if taken.get(k.name, "").startswith("within:")]
        words = (
            "one of the judgements"
            if self.table.said.role == "attribute"
            else "one of the readings"
        )
        found = [(name, self._cells(name), words) for name in beside[:4]]
        more = len(beside) - len(found)
        return [*found, (f"and {counted(more, 'column')} more", "", "")] if more > 0 else found

    def _unit_hint(self) -> str:
        """Say what the file gives as its unit."""
        said = self.table.said
        own = said.key("unit") or ", ".join(dict.fromkeys((said.key("units") or {}).values()))
        return f"in the file: {own}" if own else "as on the drawing"

    def _column_fields(self) -> dict[str, ipywidgets.Dropdown]:
        found = {}
        taken = meanings(self.table)
        for kind in self._seen.kinds:
            if not taken.get(kind.name, "").startswith("within:"):
                name = kind.name[:60]
                options = [("not used", "")]
                label = f"What column {name} is, {self.table.named}"
                found[kind.name] = choice(label, options, "", bare=True)
        return found

    def _items(self) -> list[tuple[str, str]]:
        # What is measured may be judged by eye as well.
        items = [(item.name, item.id) for item in self.draft.items]
        return [("choose …", "?"), *items, ("none of them", "")]

    def _given(self, label: str) -> str:
        return self.table.ids.get(label, "?")

    def _gauge_names(self) -> str:
        return ", ".join(self.draft.gauges[each] for each in self.table.gauges)

    def _take_unit(self) -> str:
        """Take the unit that the sizes speak for, and say so."""
        key = f"unit:{self._at}"
        question = next((q for q in self.draft.questions() if q.key == key), None)
        if question is None:
            return ""
        self.draft.answer(key, "")
        return f"Taken to be in {question.default}: {question.why}."

    # -- what is typed

    def _listen(self) -> None:
        for widget, work in (
            (self.used, self._use),
            (self.role, self._set_role),
            (self.gauge, self._set_gauge),
            (self.unit, self._set_unit),
        ):
            widget.observe(self._when(work), names="value")
        for name, field in self._columns.items():
            field.observe(self._when(self._setter(name)), names="value")
        for label, field in self._wide.items():
            field.observe(self._when(self._giver(label)), names="value")
        for field in self._grades:
            field.observe(self._when(self._accept), names="value")
        for column, field in self._parts.items():
            field.observe(self._when(self._taker(column)), names="value")

    def _when(self, work: Callable[[str], None]) -> Callable[[dict[str, str]], None]:
        def run(change: dict[str, str]) -> None:
            if self._quiet:
                return
            self.says.nothing()
            self.says.guarded(work)(change["new"])
            wrong = self.says.widget.value
            self._changed()
            if wrong:
                # What was refused stays said until something else is typed.
                self.says.widget.value = wrong

        return run

    def _use(self, value: str) -> None:
        self.table.used = bool(value)

    def _set_role(self, value: str) -> None:
        set_role(self.table, value)

    def _set_gauge(self, value: str) -> None:
        names = [name.strip() for name in value.split(",") if name.strip()]
        self.table.gauges = [self.draft.gauge(name) for name in names]
        self._gauge_note = ""

    def _set_unit(self, value: str) -> None:
        unit = value.strip()
        if unit and not is_unit(unit):
            raise ValueError(f'"{unit}" is no unit that is known here: mm, in, µm, N')
        self.table.unit = unit or None
        self._unit_note = ""

    def _setter(self, column: str) -> Callable[[str], None]:
        return lambda value: set_meaning(self.draft, self.table, self._seen, column, value)

    def _giver(self, label: str) -> Callable[[str], None]:
        def give(value: str) -> None:
            self.table.ids[label] = value

        return give

    def _accept(self, value: str) -> None:
        self.draft.answer(f"accept:{self._at}", value)

    def _taker(self, column: str) -> Callable[[str], None]:
        def take(value: str) -> None:
            if value:
                self.draft.answer(f"only:{self._at}:{column}", value)

        return take

    # -- what follows

    def take_only_gauge(self) -> None:
        """Take the only gauge of the study where a gauge is wanted and none is named."""
        table, known = self.table, list(self.draft.gauges)
        if len(known) == 1 and not table.gauges and table.used and table.said.role in WITH_GAUGE:
            table.gauges = known
            self._gauge_note = f"Taken to be read by {self.draft.gauges[known[0]]}, the only gauge; change it if not."

    def faults(self) -> list[str]:
        """List what prevents reading this table."""
        return faults(self.draft, self.table)

    def refresh(self) -> None:
        """Show the draft as it is now, in the widgets that are there: nobody loses their place."""
        self._quiet = True
        try:
            said = self.table.said
            self.role.value = said.role
            self.gauge.options = tuple(self.draft.gauges.values())
            self.gauge.value = self._gauge_names()
            shown = "" if said.role in (*WITH_GAUGE, "paired") else "none"
            self.gauge.layout.display = shown or None
            self.unit.layout.display = "none" if said.role in ("attribute", "bins") else None
            taken = meanings(self.table)
            tags = [(WORDS[tag], tag) for tag in TAGS[said.role]]
            items = [
                (f"readings of {i.name}", f"readings:{i.id}")
                for i in self.draft.items
                if not i.judged
            ]
            for name, field in self._columns.items():
                field.options = [("not used", ""), *tags, *items]
                field.value = taken.get(name, "")
            for label, field in self._wide.items():
                field.options = self._items()
                field.value = self._given(label)
            found = self.faults()
            if found:
                self.says.wrong(*found)
            elif not self.table.used:
                self.says.right("Left out.")
            else:
                notes = [note for note in (self._unit_note, self._gauge_note) if note]
                self.says.right("Nothing is missing here.", *notes)
        finally:
            self._quiet = False
