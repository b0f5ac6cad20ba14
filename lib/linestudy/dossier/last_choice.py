"""What was chosen last in any notebook of a study: kept in the user's own cache, never in the study's folder."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
from pathlib import Path
from typing import TYPE_CHECKING

from linestudy.dossier.kept import cache_folder

if TYPE_CHECKING:
    from linestudy.study.load import Study

#: Names what to begin with ("id", or "id/stream"); empty begins with the first. Nothing is kept then.
VARIABLE = "LINESTUDY_CHOICE"
#: All streams together: a name that no stream can have.
ALL = ""


def last_chosen(study: Study) -> tuple[str, str]:
    """Return the characteristic and stream chosen last, in any notebook of this study.

    Parameters
    ----------
    study : Study

    Returns
    -------
    tuple of (str, str)
        Empty where nothing was chosen.
    """
    choice = os.environ.get(VARIABLE)
    if choice is not None:
        ident, _, stream = choice.partition("/")
        return ident, stream
    file = _file(study)
    with contextlib.suppress(OSError, ValueError, KeyError, TypeError, AttributeError):
        kept = json.loads(file.read_text(encoding="utf-8"))  # type: ignore[union-attr]
        return str(kept["characteristic"]), str(kept["stream"])
    return "", ""


def keep_chosen(study: Study, characteristic: str, stream: str) -> None:
    """Keep a choice for the next notebook.

    Parameters
    ----------
    study : Study
    characteristic, stream : str
    """
    file = _file(study)
    if file is None:
        return
    content = {"characteristic": characteristic, "stream": stream}
    # Where it cannot be kept the next notebook begins with the first, and nothing else is lost.
    with contextlib.suppress(OSError):
        file.write_text(json.dumps(content), encoding="utf-8")


def _file(study: Study) -> Path | None:
    place = cache_folder() if os.environ.get(VARIABLE) is None else None
    name = hashlib.sha256(str(study.folder.resolve()).encode()).hexdigest()
    return None if place is None else place / f"{name}.choice"
