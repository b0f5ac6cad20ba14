"""The third step: the characteristics in a grid, as the drawing has them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import ipywidgets

from linestudy.intake.draft import Draft, Item
from linestudy.intake.questions import as_number
from linestudy.records.units import is_unit
from linestudy.study_form.parts import Says, Step, button, grid, plain, text, tick

#: Heading, attribute of the item, width.
COLUMNS = (
    ("Name", "name", "12em"),
    ("Unit", "unit", "4em"),
    ("Nominal", "nominal", "6em"),
    ("Lower limit", "lower", "6em"),
    ("Upper limit", "upper", "6em"),
    ("Physical bound", "bound", "6em"),
    ("Ppk at least", "required", "5em"),
    ("asked by", "asked_by", "9em"),
)
_NUMBERS = ("nominal", "lower", "upper", "bound", "required")


class GridStep(Step):
    """One row a characteristic; each cell is checked when it is left."""

    title = "Characteristics"
    purpose = (
        "What the drawing asks: unit, nominal and limits (blank where there is none), and whether it is a special "
        "characteristic. A physical bound is what no part can pass, as 0 for a burr; it is no limit. Ppk is asked "
        "by the criteria below unless a customer asks something else of this one."
    )

    def __init__(self, changed: Callable[[], None]) -> None:
        super().__init__()
        self._changed = changed
        self.rows: list[ItemRow] = []
        self._draft = Draft()
        self.new = text("One more characteristic", hint="its name", width="16em")
        self.add = button("Add it", self._add, self.says)

    def show(self, draft: Draft) -> None:
        """Show the characteristics of a draft."""
        self._draft = draft
        self.rows = [ItemRow(draft, item, self._changed, self._remove) for item in draft.items]
        self._lay_out()

    def _lay_out(self) -> None:
        widths = " ".join(width for _, _, width in COLUMNS)
        head = [plain(name) for name, _, _ in COLUMNS] + [plain("Special"), plain("")]
        table = grid(f"{widths} 4em auto", [head, *(row.cells for row in self.rows)])
        answers = ipywidgets.VBox([row.says.widget for row in self.rows])
        adding = ipywidgets.HBox([self.new, self.add])
        self.body.children = [table, answers, adding]

    def _add(self) -> None:
        name = self.new.value.strip()
        if not name:
            raise ValueError("type its name first")
        if any(item.name.casefold() == name.casefold() for item in self._draft.items):
            raise ValueError(f"there is a characteristic called {name} already")
        self.rows.append(
            ItemRow(self._draft, self._draft.new_item(name), self._changed, self._remove)
        )
        self.new.value = ""
        self._lay_out()
        self.says.right(f"{name} is in the last row; give its unit and limits.")
        self._changed()

    def _remove(self, row: ItemRow) -> None:
        self._draft.remove_item(row.item.id)
        self.rows.remove(row)
        self._lay_out()
        self.says.right(f"{row.item.name} is left out, and its readings are not used.")
        self._changed()

    def faults(self) -> list[str]:
        """List what cannot stay as it is among the characteristics."""
        return [fault for row in self.rows for fault in row.faults()]


def _read(item: Item) -> str:
    """Say where it was read, and what of it a person should look at."""
    remark = f"; {item.remark}" if item.remark else ""
    return f"Read from {item.origin}{remark}." if item.origin else ""


class ItemRow:
    """One characteristic."""

    def __init__(
        self,
        draft: Draft,
        item: Item,
        changed: Callable[[], None],
        remove: Callable[[ItemRow], None],
    ) -> None:
        self.item, self._changed = item, changed
        self.says = Says()
        self._wrong: dict[str, str] = {}
        self._note = " ".join(filter(None, (_bound(draft, item), _read(item))))
        self.fields = {
            key: text(f"{label} of {item.name}", _shown(getattr(item, key)), bare=True, width=width)
            for label, key, width in COLUMNS
        }
        self.special = tick(f"{item.name} is special", item.special, bare=True)
        for key, field in self.fields.items():
            field.observe(self._setter(key), names="value")
        self.special.observe(self._set_special, names="value")
        out = button(f"Leave out {item.name}", lambda: remove(self), self.says)
        self.cells = [*self.fields.values(), self.special, out]
        self._tell()

    def _setter(self, key: str) -> Callable[[dict[str, Any]], None]:
        def set_it(change: dict[str, Any]) -> None:
            self._wrong.pop(key, None)
            try:
                setattr(self.item, key, _taken(key, change["new"]))
            except ValueError as error:
                self._wrong[key] = f"{self.item.name}: {error}."
            self._note = ""
            self._tell()
            self._changed()

        return set_it

    def _set_special(self, change: dict[str, Any]) -> None:
        self.item.special = bool(change["new"])
        self._changed()

    def faults(self) -> list[str]:
        """List what cannot stay as it is in this characteristic."""
        item, found = self.item, list(self._wrong.values())
        low, high, middle = item.lower, item.upper, item.nominal
        if low is not None and high is not None and low >= high:
            found.append(f"{item.name}: the lower limit has to lie below the upper.")
        if middle is not None and low is not None and middle < low:
            found.append(f"{item.name}: the nominal lies below the lower limit.")
        if middle is not None and high is not None and middle > high:
            found.append(f"{item.name}: the nominal lies above the upper limit.")
        if not item.judged and not item.unit and (low is not None or high is not None):
            found.append(f"{item.name}: give the unit of its limits.")
        if item.required is not None and not item.asked_by:
            found.append(f"{item.name}: say who asks for this Ppk (agreement, paragraph).")
        return found

    def _tell(self) -> None:
        found = self.faults()
        if found:
            self.says.wrong(*found)
        else:
            self.says.right(_in_words(self.item), *([self._note] if self._note else []))


def _taken(key: str, typed: str) -> Any:
    """Convert what was typed to what the draft keeps."""
    word = typed.strip()
    if key in _NUMBERS:
        return as_number(word)
    if key == "unit" and word and not is_unit(word):
        raise ValueError(f'"{word}" is no unit that is known here: mm, in, µm, N')
    if key == "name" and not word:
        raise ValueError("it needs a name")
    return word if key in ("name", "asked_by") else word or None


def _shown(value: Any) -> str:
    return "" if value is None else f"{value:.10g}" if isinstance(value, float) else str(value)


def _in_words(item: Item) -> str:
    """Say how the limits were understood."""
    if item.limits:
        return f"{item.name}: {item.limits}"
    if item.judged:
        return f"{item.name}: judged, accept or reject"
    return f"{item.name}: no limits; it is measured and held against nothing"


def _bound(draft: Draft, item: Item) -> str:
    """Take a lower limit of 0 for what it most likely is, and say so."""
    key = f"item:{item.id}:bound"
    question = next((q for q in draft.questions() if q.key == key), None)
    if question is None:
        return ""
    draft.answer(key, "")
    taken = "a limit" if item.bound is None else "a physical bound and no limit"
    return f"0 is taken for {taken}, for {question.why}. Move it if the drawing says otherwise."
