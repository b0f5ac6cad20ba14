"""The whole form, step by step, about one draft."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import ipywidgets

from linestudy.intake.draft import Draft
from linestudy.study.load import open_study
from linestudy.study_form.criteria_step import CriteriaStep, HeadStep
from linestudy.study_form.files_step import FilesStep
from linestudy.study_form.grid_step import GridStep
from linestudy.study_form.last_step import CheckStep, WriteStep
from linestudy.study_form.parts import STYLE, Step
from linestudy.study_form.tables_step import TablesStep

#: JupyterLab takes arrows and letters for the notebook where a list or a button has the focus: with an arrow another cell would
#: be chosen in place of another entry, and "d" twice would delete one. From an element with this attribute it takes none; its
#: rules look at the element itself, so each gets it when the focus comes to it.
KEYS_STAY = """const own = element[0] || element;
function watch(left) {
  const area = own.closest('.jp-OutputArea');
  if (area) { area.addEventListener('focusin', (event) => event.target.setAttribute('data-lm-suppress-shortcuts', 'true')); }
  else if (left) { setTimeout(watch, 50, left - 1); }
}
watch(200);"""


class StudyForm:
    """A form that sets up a study.

    Parameters
    ----------
    folder : pathlib.Path
        Of the study.

    Attributes
    ----------
    steps : list of Step
        In their order; each says what it is for and answers at once.
    draft : Draft
        The study as the form has it.
    widget : ipywidgets.VBox
    """

    def __init__(self, folder: Path) -> None:
        known = open_study(folder) if (folder / "study.toml").is_file() else None
        self.draft = Draft()
        self.files = FilesStep(known, self._take)
        self.tables = TablesStep(self._changed)
        self.grid = GridStep(self._changed)
        self.head = HeadStep(self._changed)
        self.criteria = CriteriaStep(self._changed)
        self.write = WriteStep(folder, self._faults)
        self.check = CheckStep(lambda: self.write.place, self._faults)
        self.steps: list[Step] = [
            self.files, self.tables, self.grid, self.head, self.criteria, self.check, self.write,
        ]  # fmt: skip
        laid_out = [step.laid_out(number) for number, step in enumerate(self.steps, start=1)]
        self.widget = ipywidgets.VBox([ipywidgets.HTML(STYLE), *laid_out])
        self.widget.add_class("ls-form")
        self._later = laid_out[1:]
        self._show_later(False)
        if known is not None:
            from linestudy.intake import draft_study

            self._take(draft_study([], study=known))

    def _show_later(self, shown: bool) -> None:
        for step in self._later:
            step.layout.display = None if shown else "none"

    def _take(self, draft: Draft) -> None:
        """Take up what was read."""
        self.draft = draft
        for step in (self.head, self.criteria, self.grid, self.tables, self.check, self.write):
            step.show(draft)
        self._show_later(True)
        self._changed()

    def _changed(self) -> None:
        self.tables.refresh()
        self.check.follow()

    def _faults(self) -> list[str]:
        steps = (self.tables, self.grid, self.head, self.criteria)
        return [fault for step in steps for fault in step.faults()]

    def _repr_mimebundle_(self, **given: Any) -> Any:
        return self.widget._repr_mimebundle_(**given)

    def _ipython_display_(self) -> None:
        """Show the form, with the keys that are pressed in it left to it."""
        from IPython.display import display

        display(self.widget)  # type: ignore[no-untyped-call]
        display({"application/javascript": KEYS_STAY, "text/plain": ""}, raw=True)  # type: ignore[no-untyped-call]
