"""The door of the form: which folder it is about, and the form itself."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from linestudy.results.extras import require

if TYPE_CHECKING:
    from linestudy.study_form.form import StudyForm


def own_folder() -> Path:
    """Find the folder of the reader's own study, or say where it is to be.

    Returns
    -------
    pathlib.Path
        What the environment variable LINESTUDY_STUDY names; else the folder above the notebook, if that is a
        study; else ``my_study`` beside the notebook, which need not exist.

    See Also
    --------
    linestudy.find_study : The same for the other notebooks, with the sample study in the last place.

    Examples
    --------
    >>> isinstance(own_folder(), Path)
    True
    """
    named = os.environ.get("LINESTUDY_STUDY")
    if named:
        return Path(named)
    return Path("..") if (Path("..") / "study.toml").is_file() else Path("my_study")


def open_form(folder: str | Path) -> StudyForm:
    """Open the form that sets up a study (notebook only).

    Parameters
    ----------
    folder : str or pathlib.Path
        Where the study is to be. One that is there already is known to the form: files are added to it, and
        what a person wrote into its study.toml keeps its words, its order and its comments.

    Returns
    -------
    StudyForm
        Shows itself in a notebook.

    Raises
    ------
    InputError
        ipywidgets is not installed, or the study.toml that is there cannot be read.

    See Also
    --------
    linestudy.intake.draft_study : What the form shows and corrects.

    Notes
    -----
    Nothing is written before the button of the last step is pressed. ``linestudy new FOLDER --from FILES`` asks
    the same questions on the console.

    Examples
    --------
    >>> import tempfile
    >>> form = open_form(tempfile.mkdtemp() + "/my_part")
    >>> [step.title for step in form.steps][:3]
    ['Your files', 'What each file is', 'Characteristics']
    """
    require("notebooks", "ipywidgets", purpose="the form")
    from linestudy.study_form.form import StudyForm

    return StudyForm(Path(folder))
