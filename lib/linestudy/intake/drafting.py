"""Drafting a study on the console: what was recognised, the questions left, the study, and what it still lacks."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from linestudy.intake.matching import draft_study, readable_files
from linestudy.intake.questions import ask_all
from linestudy.results import InputError
from linestudy.results.tables import listed
from linestudy.running.command_lines import command_line


def draft_by_questions(
    folder: Path,
    files: Sequence[Path],
    ask: Callable[[str], str],
    tell: Callable[[str], None],
    defaults: bool = False,
) -> Path:
    """Draft a study from files, ask what they do not say, and write it.

    Parameters
    ----------
    folder : pathlib.Path
        Where it goes.
    files : sequence of pathlib.Path
    ask : callable
        Shows a line and gives what was typed.
    tell : callable
        Shows a line.
    defaults : bool
        Ask nothing.

    Returns
    -------
    pathlib.Path
        The study.toml.
    """
    from linestudy.intake.missing import missing_for_submission
    from linestudy.intake.relations import unit_doubts
    from linestudy.records.read_files import read
    from linestudy.study.load import open_study

    # What is there is known, and none of it is asked again.
    known = open_study(folder) if (folder / "study.toml").is_file() else None
    try:
        draft = draft_study(files, study=known)
    except InputError:
        rest, unread = readable_files(files)
        if not rest:
            raise
        draft = draft_study(rest, study=known)
        for line in unread:
            tell(line)
    for line in draft.recognised():
        tell(line)
    ask_all(draft, ask, tell, defaults)
    file = draft.write(folder)
    tell("")
    tell(f"Written: {file}")
    for line in draft.left_out():
        tell(f"Left out: {line}")
    for line in draft.doubts():
        tell(f"Look at this: {line}")
    taken = [item for item in draft.items if item.unit_taken]
    if taken:
        names = listed([item.name for item in taken])
        tell(f"Look at this: no file says the unit of {names}; {taken[0].unit} is taken")
    records = read(open_study(folder))
    for line in unit_doubts(records):
        tell(f"Look at this: {line}")
    tell(records.ledger.statement)
    missing = missing_for_submission(records.study)
    if missing:
        tell(missing)
    tell(f"Next: {command_line('check', folder)}, then: {command_line('dossier', folder)}")
    return file
