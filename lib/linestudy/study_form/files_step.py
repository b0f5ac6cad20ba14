"""The first step: which files."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path

import ipywidgets

from linestudy.intake import draft_study
from linestudy.intake.draft import Draft
from linestudy.intake.matching import readable_files
from linestudy.results import InputError, counted
from linestudy.study.load import Study
from linestudy.study_form.parts import Step, button, text

#: What files of records end with.
ENDINGS = frozenset(
    [
        ".csv",
        ".tsv",
        ".txt",
        ".log",
        ".html",
        ".htm",
        ".gz",
        ".bz2",
        ".xz",
        ".zip",
        ".xlsx",
        ".xlsm",
        ".xls",
        ".ods",
        ".qif",
        ".xml",
        ".json",
        ".jsonl",
        ".ndjson",
        ".parquet",
        ".feather",
        ".md",
    ]
)


class FilesStep(Step):
    """Files are picked from this computer, or found in a folder."""

    title = "Your files"
    purpose = (
        "Choose every file that belongs to the study, as it is: the drawing's list of characteristics, the log of "
        "the line, gauge studies, masters, judgements, tests. Files that were dropped into the list on the left of "
        "JupyterLab are found in their folder."
    )

    def __init__(self, known: Study | None, done: Callable[[Draft], None]) -> None:
        super().__init__()
        self._known, self._done = known, done
        self._uploads = tempfile.TemporaryDirectory(prefix="linestudy-")
        self.upload = ipywidgets.FileUpload(
            multiple=True,
            description="Pick files",
            layout=ipywidgets.Layout(width="auto", align_self="flex-start"),
        )
        self.upload.observe(self.says.guarded(self._uploaded), names="value")
        self.folder = text("Folder to look into", ".", width="24em")
        self.folder.observe(self.says.guarded(lambda _: self.look()), names="value")
        self.found = ipywidgets.SelectMultiple(
            options=[], description="Files in it", rows=8, layout=ipywidgets.Layout(width="38em")
        )
        self.found.style.description_width = "14em"
        self.read = button("Read these files", self._read, self.says)
        self.body.children = [self.upload, self.folder, self.found, self.read]
        self.look()

    def look(self) -> None:
        """List the files of the folder."""
        folder = Path(self.folder.value.strip() or ".").expanduser()
        if not folder.is_dir():
            self.found.options = []
            raise InputError(str(folder), "is no folder", "type the folder that holds your files")
        self.found.options = [
            (file.name, str(file))
            for file in sorted(folder.iterdir())
            if file.is_file() and file.suffix.lower() in ENDINGS
        ]

    def chosen(self) -> list[Path]:
        """Give the files that were picked and those marked in the folder."""
        picked = sorted(file for file in Path(self._uploads.name).iterdir())
        return [*picked, *(Path(name) for name in self.found.value)]

    def _uploaded(self, _: object) -> None:
        for item in self.upload.value:
            name = Path(str(item["name"]).replace("\\", "/")).name
            (Path(self._uploads.name) / name).write_bytes(bytes(item["content"]))
        files = self.chosen()
        self.says.right(f"{counted(len(files), 'file')}: {', '.join(file.name for file in files)}.")

    def _read(self) -> None:
        files = self.chosen()
        if not files and self._known is None:
            raise InputError(
                "your files", "are not chosen yet", "pick some, or mark them in the list"
            )
        unread: list[str] = []
        try:
            draft = draft_study(files, study=self._known)
        except InputError:
            # One file that is no table keeps none of the others out.
            files, unread = readable_files(files)
            draft = draft_study(files, study=self._known)
        self._done(draft)
        said = f"{counted(len(files), 'file')} read, {counted(len(draft.tables), 'table')} found."
        if unread:
            self.says.wrong(said, *unread)
        else:
            self.says.right(said)
