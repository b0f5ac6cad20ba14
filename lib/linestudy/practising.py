"""Commands for those who learn: a study with hidden faults, and the grade of a student's decisions about it."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from linestudy.running.command_lines import command_line


def practice(options: argparse.Namespace) -> int:
    """Write a study with hidden faults, and the teacher's file unless the student has no teacher."""
    from linestudy.simulate.practice import new_salt, read_salt, write_practice, write_salt

    folder: Path = options.folder
    if options.self:
        write_practice(folder, seed=options.seed, level=options.level, with_salt=True)
        how = command_line("grade", folder)
    else:
        teacher = _teacher(folder, options.teacher)
        salt = read_salt(teacher) if teacher.exists() else new_salt()
        write_practice(folder, seed=options.seed, level=options.level, salt=salt)
        if not teacher.exists():
            write_salt(teacher, salt)
        print(f"Teacher's file, not for the student: {teacher}")
        how = command_line("grade", folder, "--teacher", teacher)
    print(f"A study to be judged is in {folder}: {command_line('check', folder)}")
    print(f"Decisions and reasons go into {folder / 'decisions.toml'}; then: {how}")
    return 0


def grade(options: argparse.Namespace) -> int:
    """Reveal the truth of a practice study and grade the student's form.

    A truth that lies open beside the study (``--self``) is shown once: where the form has gaps, that is asked first.
    """
    from linestudy.simulate.practice import grade, lies_open, read_salt, undecided

    folder: Path = options.folder
    teacher = _teacher(folder, options.teacher)
    salt = read_salt(teacher) if options.teacher or teacher.exists() else None
    if salt is None and not options.open and lies_open(folder):
        left = undecided(folder)
        if left and not _wanted(left):
            return 1
    print(grade(folder, salt=salt))
    return 0


def _wanted(left: tuple[str, ...]) -> bool:
    """Ask whether to open the truth although decisions are left; without a terminal, refuse."""
    print(
        f"Not decided yet in decisions.toml: {', '.join(left)}. Grading shows the truth, and who has seen it cannot judge "
        "this study any more."
    )
    if sys.stdin is None or not sys.stdin.isatty():
        print("Decide first, or add --open to see the truth all the same.")
        return False
    return input("Show it all the same? Type yes: ").strip().lower() in ("yes", "y")


def _teacher(folder: Path, named: Path | None) -> Path:
    """Return the teacher's file: the one that was named, or the one beside the folder."""
    # "." and ".." have no name of their own, and nothing lies beside them under it.
    beside = folder.resolve().parent if folder.name in ("", "..") else folder.parent
    return named or beside / f"{folder.resolve().name}.teacher.toml"
