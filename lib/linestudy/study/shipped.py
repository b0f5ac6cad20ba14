"""Notebooks and sample data that come with the kit, wherever it was installed from.

A wheel carries them inside the package; in a clone (also one installed with ``pip install -e``) they lie at
its top.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path
from typing import Literal

from linestudy.results import InputError

_PACKAGE = Path(__file__).resolve().parents[1]
#: What a wheel carries, and what is copied out of it.
NAMES = ("notebooks", "sample_data")


def shipped(name: Literal["notebooks", "sample_data"]) -> Path | None:
    """Find a folder that comes with the kit.

    Parameters
    ----------
    name : {"notebooks", "sample_data"}

    Returns
    -------
    pathlib.Path or None
        None where the package was copied without it.

    Examples
    --------
    >>> shipped("notebooks").joinpath("start_here.ipynb").is_file()
    True
    """
    for place in (_PACKAGE / "_shipped" / name, _PACKAGE.parents[1] / name):
        # A folder of that name may lie above any package; ours holds these.
        mark = "start_here.ipynb" if name == "notebooks" else "fork_receptacle"
        if (place / mark).exists():
            return place
    return None


def copy_notebooks(folder: str | Path) -> Path:
    """Copy all notebooks and the sample data into a new folder, to work in.

    Parameters
    ----------
    folder : str or pathlib.Path
        A folder that does not exist yet, or is empty.

    Returns
    -------
    pathlib.Path
        The folder, with ``notebooks/`` and ``sample_data/`` in it.

    Raises
    ------
    InputError
        The folder holds something, or the package came without notebooks.

    Examples
    --------
    >>> with tempfile.TemporaryDirectory() as place:
    ...     copy_notebooks(place + "/kit").joinpath("notebooks", "start_here.ipynb").is_file()
    True
    """
    target = Path(folder)
    if target.exists() and (not target.is_dir() or any(target.iterdir())):
        raise InputError(
            str(folder), "exists already and is not empty", "name a folder that does not exist yet"
        )
    found = {name: shipped(name) for name in NAMES}  # type: ignore[arg-type]
    if found["notebooks"] is None:
        raise InputError("notebooks", "did not come with this copy of the kit", "install the wheel")
    target.parent.mkdir(parents=True, exist_ok=True)
    aside = Path(tempfile.mkdtemp(prefix=".linestudy-", dir=target.parent))
    try:
        for name, place in found.items():
            if place is not None:
                shutil.copytree(
                    place,
                    aside / name,
                    ignore=shutil.ignore_patterns(".*", "__pycache__", "*.dossier"),
                )
        aside.chmod(0o755)
        if target.exists():
            target.rmdir()
        os.replace(aside, target)
    finally:
        shutil.rmtree(aside, ignore_errors=True)
    return target
