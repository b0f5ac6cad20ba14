"""Commands for those who learn: a study with hidden faults, and what a student's decisions about it are worth."""

from __future__ import annotations

import argparse
from pathlib import Path


def practice(options: argparse.Namespace) -> int:
    """Write a study with hidden faults, and the teacher's file unless the student has no teacher."""
    from linestudy.simulate.practice import new_salt, read_salt, write_practice, write_salt

    folder: Path = options.folder
    if options.self:
        write_practice(folder, seed=options.seed, level=options.level, with_salt=True)
        how = f"linestudy grade {folder}"
    else:
        teacher = _teacher(folder, options.teacher)
        salt = read_salt(teacher) if teacher.exists() else new_salt()
        write_practice(folder, seed=options.seed, level=options.level, salt=salt)
        if not teacher.exists():
            write_salt(teacher, salt)
        print(f"Teacher's file, not for the student: {teacher}")
        how = f"linestudy grade {folder} --teacher {teacher}"
    print(f"A study to be judged is in {folder}: linestudy check {folder}")
    print(f"Decisions and reasons go into {folder / 'decisions.toml'}; then: {how}")
    return 0


def grade(options: argparse.Namespace) -> int:
    """Reveal the truth of a practice study and print what the student's form is worth."""
    from linestudy.simulate.practice import grade, read_salt

    teacher = _teacher(options.folder, options.teacher)
    salt = read_salt(teacher) if options.teacher or teacher.exists() else None
    print(grade(options.folder, salt=salt))
    return 0


def _teacher(folder: Path, named: Path | None) -> Path:
    """The teacher's file: the one that was named, or the one beside the folder."""
    return named or folder.with_name(f"{folder.resolve().name}.teacher.toml")
