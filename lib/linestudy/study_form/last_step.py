"""The last steps: what is missing, the study written, the dossier made."""

from __future__ import annotations

import html
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from linestudy.intake import (
    ambiguous_times,
    missing_for_submission,
    places_without_readings,
    unit_doubts,
)
from linestudy.intake.draft import Draft
from linestudy.records.read_files import read
from linestudy.study.load import open_study
from linestudy.study_form.parts import Step, button, text

if TYPE_CHECKING:
    from linestudy.records.read_files import Records


class CheckStep(Step):
    """Everything is read as the study will read it, and nothing is written."""

    title = "What is missing"
    purpose = "Reads everything as the study will, in a folder of its own that is thrown away, and computes nothing."

    def __init__(self, folder: Callable[[], Path], faults: Callable[[], list[str]]) -> None:
        super().__init__()
        self._folder, self._faults, self._draft = folder, faults, Draft()
        self.check = button("Check everything", self._check, self.says)
        self.body.children = [self.check]

    def show(self, draft: Draft) -> None:
        """Take up a draft."""
        self._draft = draft
        self.follow()

    def follow(self) -> None:
        """Say at once what can be said without reading the files."""
        found = self._faults()
        if found:
            self.says.wrong("Still open:", *found)
        else:
            self.says.right(
                "Nothing is open in the steps above. Check everything to read the files."
            )

    def _check(self) -> None:
        self.says.right("Reading …")
        with tempfile.TemporaryDirectory(prefix="linestudy-") as place:
            copy = Path(place) / "study"
            if (self._folder() / "study.toml").is_file():
                shutil.copytree(
                    self._folder(),
                    copy,
                    ignore=shutil.ignore_patterns(".*", "notebooks", "*.dossier"),
                )
            self._draft.write(copy)
            records = read(open_study(copy))
            self.says.html(reading_report(records, self._draft))


def reading_report(records: Records, draft: Draft) -> str:
    """Say what was read, what looks odd and what a submission still lacks, as HTML."""
    doubts = (
        *unit_doubts(records),
        *ambiguous_times(records),
        *places_without_readings(records),
        *draft.doubts(),
    )
    missing = missing_for_submission(records.study)
    found = [
        f"<p>{html.escape(records.ledger.statement)}</p>",
        records.ledger.shown().to_html(index=False, border=0),
    ]
    if doubts:
        found.append(_listed("Look at this", doubts))
    if draft.left_out():
        found.append(_listed("Left out", draft.left_out()))
    found.append(
        f"<p>{html.escape(missing or 'Nothing is missing for a complete submission.')}</p>"
    )
    return "".join(found)


def _listed(words: str, lines: tuple[str, ...] | list[str]) -> str:
    said = "".join(f"<li>{html.escape(line)}</li>" for line in lines)
    return f"<p>{words}:</p><ul>{said}</ul>"


class WriteStep(Step):
    """study.toml and copies of the files; then the dossier."""

    title = "Write the study"
    purpose = (
        "Writes study.toml and copies of the files into data/. Of a study.toml that is there already every word, "
        "comment and order is kept; only what was changed or added here is. The dossier then computes everything."
    )

    def __init__(self, folder: Path, faults: Callable[[], list[str]]) -> None:
        super().__init__()
        self._faults, self._draft = faults, Draft()
        self.folder = text("Folder of the study", str(folder), width="30em")
        self.write = button("Write the study", self._write, self.says)
        self.dossier = button("Make the dossier", self._dossier, self.says)
        self.dossier.disabled = not (folder / "study.toml").is_file()
        self.body.children = [self.folder, self.write, self.dossier]

    @property
    def place(self) -> Path:
        """The folder as typed."""
        return Path(self.folder.value.strip() or "my_study").expanduser()

    def show(self, draft: Draft) -> None:
        """Take up a draft."""
        self._draft = draft

    def _write(self) -> None:
        found = self._faults()
        if found:
            self.says.wrong("Nothing was written. Still open:", *found)
            return
        if not self._draft.items:
            raise ValueError("read your files first: there is nothing to write yet")
        file = self._draft.write(self.place)
        study = open_study(self.place)
        self.dossier.disabled = False
        missing = missing_for_submission(study)
        self.says.right(f"Written: {file}", *([missing] if missing else []))

    def _dossier(self) -> None:
        from linestudy.dossier import write
        from linestudy.dossier.bag.writing import check_place
        from linestudy.dossier.evaluation import evaluate
        from linestudy.verdict import decision_table

        study = open_study(self.place)
        folder = study.folder.resolve()
        out = folder.with_name(f"{folder.name}.dossier")
        check_place(out, study.folder)

        def tell(stage: str) -> None:
            self.says.right(f"Computing, which takes up to some minutes: {stage} …")

        evaluation = evaluate(study, progress=tell)
        written = write(evaluation, out, progress=tell)
        table = decision_table(evaluation.study, evaluation.findings).to_html(index=False, border=0)
        self.says.html(
            f"{table}<p>Written: {html.escape(str(written))}. Its document is data/dossier.pdf, the same as a page "
            "data/index.html.</p>"
        )
