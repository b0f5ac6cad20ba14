"""One evaluation for all notebooks: kept by the content of study.toml and of every file it names.

It is kept in the user's own cache, not in the study's folder: what is kept is read back as Python objects, which may
run code, and a study's folder is handed from one person to another. Nothing kept is ever part of a dossier.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import pickle
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from linestudy.dossier.evaluation import Evaluation, evaluate, kit_versions
from linestudy.study import open_study
from linestudy.study.load import Study

if TYPE_CHECKING:
    from collections.abc import Iterator

#: Evaluations that are kept; the one unused for longest goes first.
_MOST = 6
#: Names another folder for what is kept; empty keeps nothing.
VARIABLE = "LINESTUDY_CACHE"


def evaluate_once(
    study: Study | str | Path, *, progress: Callable[[str], None] | None = None
) -> Evaluation:
    """Evaluate a study, unless the same study has been evaluated by this kit already.

    Parameters
    ----------
    study : Study, str or pathlib.Path
        An opened study, or its folder; study.toml is read anew, so that what was recorded in it meanwhile counts.
    progress : callable, optional
        As for :func:`linestudy.evaluate`.

    Returns
    -------
    Evaluation
        As :func:`linestudy.evaluate` gives it.

    Raises
    ------
    InputError
        The folder or a file in it cannot be used.

    See Also
    --------
    linestudy.evaluate : Without looking whether it has been done.

    Notes
    -----
    Same study: the same folder with the same bytes in study.toml and in every file that it names. Same kit: the same
    versions and the same source files. The environment variable LINESTUDY_CACHE names another folder to keep
    evaluations in; set to nothing, none are kept.

    Examples
    --------
    >>> evaluate_once("no/such/folder")
    Traceback (most recent call last):
    linestudy.results.errors.InputError: no/such/folder: there is no such folder; ...
    """
    opened = open_study(study.folder if isinstance(study, Study) else study)
    place = cache_folder()
    if place is None:
        return evaluate(opened, progress=progress)
    file = place / f"{_key(opened)}.evaluation"
    found = _read(file)
    if found is None:
        found = evaluate(opened, progress=progress)
        _keep(found, file)
    return found


def cache_folder() -> Path | None:
    """Return the user's cache of this kit, or None where there is none that is theirs alone."""
    named = os.environ.get(VARIABLE)
    if named is not None:
        place = Path(named) if named else None
    else:
        try:
            import platformdirs
        except ImportError:
            return None
        place = Path(platformdirs.user_cache_dir("linestudy", appauthor=False))
    if place is None:
        return None
    try:
        place.mkdir(parents=True, exist_ok=True, mode=0o700)
        theirs = not hasattr(os, "getuid") or place.stat().st_uid == os.getuid()
        open_to_others = os.name == "posix" and place.stat().st_mode & 0o022
    except OSError:
        return None
    return place if theirs and not open_to_others else None


def _key(study: Study) -> str:
    """Hash everything that the findings follow from."""
    total = hashlib.sha256()
    for part in (str(study.folder.resolve()), repr(sorted(kit_versions().items())), _source()):
        total.update(part.encode() + b"\0")
    named = [data.file for data in study.data]
    named += [study.head.earlier] if study.head.earlier else []
    named += [item.file for item in study.file.attachment if item.file]
    for name in ("study.toml", *dict.fromkeys(named)):
        path = study.folder / name.replace("\\", "/")
        total.update(name.encode() + b"\0")
        # A file that is planned comes later; that it is not there yet is content too.
        if not path.is_file():
            total.update(b"-")
            continue
        with path.open("rb") as stream:
            total.update(hashlib.file_digest(stream, "sha256").digest())
    return total.hexdigest()


def _source() -> str:
    """Describe the kit's own files by size and time, so that a change of the code makes a new key."""
    import linestudy

    assert linestudy.__file__ is not None
    root = Path(linestudy.__file__).parent
    stats = sorted((str(p.relative_to(root)), p.stat()) for p in root.rglob("*.py"))
    return repr([(name, stat.st_size, stat.st_mtime_ns) for name, stat in stats])


def _read(file: Path) -> Evaluation | None:
    try:
        found = pickle.loads(file.read_bytes())
        os.utime(file)
    except Exception:
        # Absent, cut off, or of a class that has changed since: evaluated anew.
        return None
    return found if isinstance(found, Evaluation) else None


def _keep(evaluation: Evaluation, file: Path) -> None:
    """Keep an evaluation; where that cannot be done the next notebook evaluates again, and nothing else is lost."""
    rough = file.with_suffix(f".{os.getpid()}")
    with contextlib.suppress(OSError, pickle.PicklingError, TypeError, AttributeError):
        rough.write_bytes(pickle.dumps(evaluation, protocol=pickle.HIGHEST_PROTOCOL))
        rough.replace(file)
        for old in _oldest(file.parent):
            old.unlink(missing_ok=True)


def _oldest(place: Path) -> Iterator[Path]:
    kept = sorted(place.glob("*.evaluation"), key=lambda path: path.stat().st_mtime, reverse=True)
    yield from kept[_MOST:]
