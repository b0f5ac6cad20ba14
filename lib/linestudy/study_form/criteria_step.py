"""The study's head and its criteria."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import ipywidgets

from linestudy.intake.draft import HEAD, Draft
from linestudy.study_form.parts import Step, choice, grid, plain, text
from linestudy.verdict.criteria import DEFAULTS

_LABELS = {
    "title": "Title of the study",
    "part": "Part number",
    "revision": "Revision of the drawing",
    "customer": "Customer",
    "supplier": "Supplier",
}
#: Key, what it is called, whether it is typed in per cent.
KEYS = (
    ("capability_accept", "Ppk at least", False),
    ("capability_review", "Ppk at least, with the customer's approval", False),
    ("grr_accept", "%GRR below, in %", True),
    ("grr_review", "%GRR below, with the customer's approval, in %", True),
    ("ndc_min", "ndc at least", False),
    ("effectiveness_min", "Effectiveness of judgements at least, in %", True),
    ("miss_max", "Miss rate at most, in %", True),
    ("false_alarm_max", "False alarm rate at most, in %", True),
    ("least_readings", "Readings at least", False),
    ("source", "Whose criteria: agreement, paragraph", False),
)
PARTS = (("", "all"), ("special", "special characteristics"), ("other", "other characteristics"))
_HELD = (
    ("the estimate (usual)", ""),
    ("the 95 % confidence bound", "lower bound"),
)


class HeadStep(Step):
    """What the cover says."""

    title = "Part and customer"
    purpose = "What the cover of the document says. Part number and title are needed."

    def __init__(self, changed: Callable[[], None]) -> None:
        super().__init__()
        self._changed = changed
        self._draft = Draft()
        self.fields = {key: text(label, width="24em") for key, label in _LABELS.items()}
        for key, field in self.fields.items():
            field.observe(self._setter(key), names="value")

    def show(self, draft: Draft) -> None:
        """Show the head of a draft."""
        self._draft = draft
        for key in HEAD:
            typed = self.fields[key].value.strip()
            # What was typed before the files were read is kept.
            if draft.before is None and typed and key not in ("title",):
                draft.head[key] = typed
            self.fields[key].value = draft.head.get(key, "")
        self.body.children = list(self.fields.values())

    def _setter(self, key: str) -> Callable[[dict[str, Any]], None]:
        def set_it(change: dict[str, Any]) -> None:
            word = change["new"].strip()
            if word:
                self._draft.head[key] = word
            else:
                self._draft.head.pop(key, None)
            self._changed()

        return set_it

    def faults(self) -> list[str]:
        """List what the head lacks."""
        needed = [key for key in ("title", "part") if not self._draft.head.get(key)]
        return [f"{_LABELS[key]}: is not given yet." for key in needed]


class CriteriaStep(Step):
    """What is asked, and by whom."""

    title = "Criteria"
    purpose = (
        "Leave a field blank and the usual value holds, which stands in grey with its source in the document. A "
        "value of your customer's needs its source, or the document asks the customer to approve it."
    )

    def __init__(self, changed: Callable[[], None]) -> None:
        super().__init__()
        self._changed = changed
        self._draft = Draft()
        self._wrong: dict[tuple[str, str], str] = {}
        self.fields: dict[tuple[str, str], ipywidgets.Text] = {}
        rows = [[plain("Criterion"), *(plain(f"of {words}") for _, words in PARTS)]]
        for key, label, share in KEYS:
            row = [plain(label)]
            for part, words in PARTS:
                name, hint = f"{label}, of {words}", _usual(key, share) if not part else ""
                field = text(name, hint=hint, bare=True, width="11em")
                field.observe(self._setter(part, key, share), names="value")
                self.fields[part, key] = field
                row.append(field)
            rows.append(row)
        self.held = choice("An index is held by", _HELD, "")
        self.held.observe(self._hold, names="value")
        self.body.children = [grid("24em 12em 12em 12em", rows), self.held]

    def show(self, draft: Draft) -> None:
        """Show the criteria of a draft."""
        self._draft, typed = draft, {at: field.value for at, field in self.fields.items()}
        for part, key, share in ((p, k, s) for p, _ in PARTS for k, _, s in KEYS):
            value = draft.criteria.get(part, {}).get(key)
            shown = (
                ""
                if value is None
                else f"{value * 100 if share else value:.6g}"
                if key != "source"
                else value
            )
            if draft.before is None and typed[part, key]:
                # What was typed before the files were read is kept.
                self._take(part, key, share, typed[part, key])
            else:
                self.fields[part, key].value = shown
        held = draft.criteria.get("", {}).get("decide_capability_on", "")
        self.held.value = "lower bound" if held == "lower bound" else ""

    def _setter(self, part: str, key: str, share: bool) -> Callable[[dict[str, Any]], None]:
        def set_it(change: dict[str, Any]) -> None:
            self._take(part, key, share, change["new"])
            found = self.faults()
            if found:
                self.says.wrong(*found)
            else:
                self.says.right("Understood.")
            self._changed()

        return set_it

    def _take(self, part: str, key: str, share: bool, typed: str) -> None:
        self._wrong.pop((part, key), None)
        own = self._draft.criteria.setdefault(part, {})
        try:
            value = typed.strip() or None if key == "source" else _number(typed, share)
        except ValueError as error:
            label = next(label for each, label, _ in KEYS if each == key)
            self._wrong[part, key] = f"{label}: {error}."
            return
        if value is None:
            own.pop(key, None)
        else:
            own[key] = value

    def _hold(self, change: dict[str, Any]) -> None:
        own = self._draft.criteria.setdefault("", {})
        if change["new"]:
            own["decide_capability_on"] = change["new"]
        else:
            own.pop("decide_capability_on", None)
        self._changed()

    def faults(self) -> list[str]:
        """List what cannot stay as it is among the criteria."""
        found = list(self._wrong.values())
        for part, words in PARTS:
            own = self._draft.criteria.get(part, {})
            source = own.get("source") or self._draft.criteria.get("", {}).get("source")
            if set(own) - {"source"} and not source:
                found.append(f"Criteria of {words}: say whose they are.")
            accept, review = own.get("capability_accept"), own.get("capability_review")
            if accept is not None and review is not None and review > accept:
                found.append(
                    f"Criteria of {words}: what needs approval lies below what is accepted."
                )
        return found


def _usual(key: str, share: bool) -> str:
    if key not in DEFAULTS:
        return ""
    value = float(DEFAULTS[key].value)
    return f"{value * 100:g}" if share else f"{value:g}"


def _number(typed: str, share: bool) -> float | None:
    """Read a criterion as typed; shares are in per cent, and one below 1 needs the sign %."""
    word = typed.strip().replace(",", ".")
    if not word:
        return None
    if not re.fullmatch(r"\d*\.?\d+\s*%?", word):
        raise ValueError(f'"{typed[:20]}" is no number')
    value = float(word.rstrip("% "))
    if not share:
        if value <= 0 or "%" in word:
            raise ValueError("has to be a number above 0")
        return value
    if value < 1 and "%" not in word:
        raise ValueError(
            f"is typed in %: write {value * 100:g}, or {value:g} % if so little is meant"
        )
    if not 0 < value < 100:
        raise ValueError("has to lie between 0 and 100 %")
    return value / 100
