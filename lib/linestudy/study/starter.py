"""A starter study: a folder that works at once and is meant to be overwritten."""

from __future__ import annotations

import os
import random
import shutil
import tempfile
from pathlib import Path

from linestudy.results import InputError
from linestudy.study.shipped import shipped

_STUDY = """\
# A starter study. It runs as it stands, on example rows made for it; replace the
# files in data/ by your own and change the names below, or let `linestudy new FOLDER --from FILES`
# write one of your files. What every key means: `linestudy help format`.
format = 1

[study]
title = "Initial study of my part"
part = "part number"
revision = "A"
line_rate = 200            # strokes per minute
confidence = 0.95          # of every interval
seed = 20260101            # every random step derives from it

# Criteria you leave out keep their defaults, and the dossier says where those come from.
# [criteria]
# capability_accept = 1.67
# capability_review = 1.33
# decide_on = "lower bound"       # judge by the confidence bound, not by the estimate
# source = "Customer requirement 4711, section 3"

[[characteristic]]
id = "width"               # used in the tables below
name = "Blade width"
unit = "mm"
nominal = 6.30
lower = 6.25
upper = 6.35
special = true
# bound = 0.0              # for offsets and forms: a value no part can pass
# family = "auto"          # or a named distribution
# plausible = [6.0, 6.6]   # readings outside cannot be this part; set aside and counted

[[gauge]]
id = "camera"
name = "Camera"
resolution = 0.001
unit = "mm"

# One row is one part, in production order.
[[data]]
role = "run"
gauge = "camera"
file = "data/run.csv"
columns = { width = "Width" }      # characteristic id = column in the file
order = "Part"
subgroup = { size = 5, every = 5 } # neighbours together; every 5th part starts a subgroup
missing = ["", "NA"]
unit = "mm"

# One row is one reading: part x appraiser x trial.
[[data]]
role = "crossed"
gauge = "camera"
file = "data/crossed.csv"
columns = { width = "Width" }
part = "Part"
appraiser = "Appraiser"
trial = "Trial"
unit = "mm"

# Periods are set aside only here, with their reason; the dossier shows both results.
# [[set_aside]]
# first = 40
# last = 44
# reason = "strip jam, tool opened"

# [[event]]
# at = 60
# name = "coil change"
"""


def start_study(folder: str | Path) -> Path:
    """Write a commented starter study that can be checked and run at once.

    Parameters
    ----------
    folder : str or pathlib.Path
        A folder that does not exist yet, or is empty.

    Returns
    -------
    pathlib.Path
        The folder.

    Raises
    ------
    InputError
        The folder exists and holds something.

    See Also
    --------
    linestudy.open_study : Read and check study.toml.
    linestudy.simulate.write_sample : Write a whole study with known truth.

    Notes
    -----
    The folder appears whole or not at all. Where linestudy's notebooks are at
    hand, a copy of the submission notebooks is put into ``notebooks/``.

    Examples
    --------
    >>> import tempfile
    >>> start_study(tempfile.mkdtemp() + "/study").joinpath("study.toml").exists()
    True
    """
    target = Path(folder)
    if target.exists() and (not target.is_dir() or any(target.iterdir())):
        raise InputError(
            str(folder), "exists already and is not empty", "name a folder that does not exist yet"
        )
    target.parent.mkdir(parents=True, exist_ok=True)
    aside = Path(tempfile.mkdtemp(prefix=".linestudy-", dir=target.parent))
    try:
        _fill(aside)
        aside.chmod(0o755)
        if target.exists():
            target.rmdir()
        os.replace(aside, target)
    finally:
        shutil.rmtree(aside, ignore_errors=True)
    return target


def _fill(folder: Path) -> None:
    (folder / "study.toml").write_text(_STUDY, encoding="utf-8")
    (folder / "data").mkdir()
    draw = random.Random(20260101)
    run = [f"{n},{draw.gauss(6.302, 0.008):.3f}" for n in range(1, 151)]
    _write(folder / "data" / "run.csv", "Part,Width", run)
    crossed = []
    for part in range(1, 11):
        size = draw.gauss(6.302, 0.012)
        for person, shift in (("first", -0.0003), ("second", 0.0002), ("third", 0.0001)):
            for trial in range(1, 4):
                crossed.append(f"{part},{person},{trial},{draw.gauss(size + shift, 0.0012):.4f}")
    _write(folder / "data" / "crossed.csv", "Part,Appraiser,Trial,Width", crossed)
    notebooks = submission_notebooks()
    if notebooks is not None:
        shutil.copytree(
            notebooks, folder / "notebooks", ignore=shutil.ignore_patterns(".*", "__pycache__")
        )


def _write(file: Path, header: str, rows: list[str]) -> None:
    file.write_text("\n".join([header, *rows, ""]), encoding="utf-8")


def submission_notebooks() -> Path | None:
    """Find the folder of the submission notebooks; None where the kit came without."""
    notebooks = shipped("notebooks")
    return None if notebooks is None else notebooks / "submission"


def find_study() -> Path:
    """Find the study folder that a notebook is about.

    Returns
    -------
    pathlib.Path
        What the environment variable LINESTUDY_STUDY names; else the folder above the
        notebook, if it is a study (as after ``linestudy new``); else the sample study.

    Raises
    ------
    InputError
        None of them is there.

    See Also
    --------
    linestudy.start_study : Write a small commented study to begin with.

    Examples
    --------
    >>> find_study().name
    'fork_receptacle'
    """
    named = os.environ.get("LINESTUDY_STUDY")
    if named:
        return Path(named)
    for place in (Path(".."), Path(".")):
        if (place / "study.toml").is_file():
            return place
    # As `linestudy notebooks` lays them out: the data beside the notebooks.
    for above in Path.cwd().parents[:2]:
        if (above / "sample_data" / "fork_receptacle" / "study.toml").is_file():
            return above / "sample_data" / "fork_receptacle"
    samples = shipped("sample_data")
    if samples is not None:
        return samples / "fork_receptacle"
    raise InputError(
        "study.toml", "is neither here nor in the folder above", "name your folder: STUDY = '...'"
    )
