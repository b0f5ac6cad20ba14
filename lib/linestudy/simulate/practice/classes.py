"""Grade a class: one line for each student, whatever came back."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from itertools import permutations
from pathlib import Path
from typing import TYPE_CHECKING

from linestudy.results import InputError
from linestudy.results.tables import listed
from linestudy.simulate.practice.decision_form import NAME, read_form
from linestudy.simulate.practice.evidence import WORDS
from linestudy.simulate.practice.grading import Grade, grade, truth_of

if TYPE_CHECKING:
    import pandas as pd

#: One sentence may be the same by chance, number and all; two hardly.
_SHARED = 2


def grade_class(
    folder: str | Path, seeds: Mapping[str, int], salt: bytes
) -> tuple[pd.DataFrame, dict[str, Grade]]:
    """Grade every student of a class, and say of each what a teacher has to look at.

    Parameters
    ----------
    folder : str or pathlib.Path
        Holds a folder for each student.
    seeds : mapping of str to int
        By student, whose name is that of the folder: the seed of the study that was handed out.
    salt : bytes
        From the teacher's file.

    Returns
    -------
    table : pandas.DataFrame
        A line for each student: points, and whether files were changed, the study is somebody else's, a form cannot be
        read, or sentences that somebody else wrote too.
    grades : dict of str to Grade
        By student; without those whose form cannot be read.

    See Also
    --------
    grade : The grade of one student.

    Notes
    -----
    Every student has another study, so that two sentences with a number that has decimals are hardly the same by chance;
    counts, as of forty judged parts, are the same in all studies. Whether they were copied the teacher decides.

    Examples
    --------
    See ``notebooks/learning/teachers_notebook.ipynb``.
    """
    import pandas as pd

    grades: dict[str, Grade] = {}
    remarks: dict[str, list[str]] = {name: [] for name in seeds}
    for name, seed in seeds.items():
        try:
            found = grades[name] = grade(Path(folder) / name, salt=salt)
        except InputError as error:
            remarks[name].append(str(error))
            continue
        if found.seed != seed:
            remarks[name].append(f"the study of seed {found.seed}, not the one of seed {seed}")
        if found.changed:
            remarks[name].append(f"changed: {listed(list(found.changed))}")
    for name, others in _alike(Path(folder), grades).items():
        remarks[name].append(f"same sentences as {listed(sorted(others))}")
    lines = []
    for name in seeds:
        own = grades.get(name)
        points = (own.points, own.of, f"{100 * own.share:.0f} %") if own else (None, None, "–")
        lines.append((name, *points, "; ".join(remarks[name])))
    columns = ["student", "points", "of", "share", "to look at"]
    return pd.DataFrame(lines, columns=columns), grades


def faults_of_class(folder: str | Path, names: Iterable[str], salt: bytes) -> pd.DataFrame:
    """List what was planted in the studies of a class.

    Parameters
    ----------
    folder : str or pathlib.Path
        Holds a folder for each student.
    names : iterable of str
        Students.
    salt : bytes
        From the teacher's file.

    Returns
    -------
    pandas.DataFrame
        A line for each fault: student, kind, what it is about, where, and its number as a text of four digits.

    See Also
    --------
    grade_class : What the students made of them.
    truth_of : The truth of one study, its decisions too.

    Examples
    --------
    See ``notebooks/learning/teachers_notebook.ipynb``.
    """
    import pandas as pd

    return pd.DataFrame(
        [
            {"student": name, **fault, "number": f"{fault['number']:.4g}"}
            for name in names
            for fault in truth_of(Path(folder) / name, salt)["faults"]
        ]
    )


def _alike(folder: Path, students: Iterable[str]) -> dict[str, set[str]]:
    """List, by student, who else wrote the same sentences with a number."""
    written: dict[str, set[str]] = defaultdict(set)
    for name in students:
        form = read_form(folder / name / NAME)
        for text in (*form.reasons.values(), *(one.reason for one in form.faults)):
            if len(text.split()) >= WORDS and re.search(r"\d[.,]\d", text):
                written[re.sub(r"\W+", " ", text.lower()).strip()].add(name)
    shared = Counter(pair for names in written.values() for pair in permutations(names, 2))
    found: dict[str, set[str]] = defaultdict(set)
    for (name, other), times in shared.items():
        if times >= _SHARED:
            found[name].add(other)
    return found
