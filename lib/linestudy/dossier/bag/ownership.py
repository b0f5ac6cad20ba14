"""Whether a folder is a dossier of this kit and nothing else, so that a newer one may take its place.

Many programs write BagIt bags, and people put their own files into folders. A folder is this kit's own
only if its results.json names the kit, if every file in it is in the bag's lists, and if each still
has the bytes that were written: then nothing in it is lost that the kit did not make. What a system lays
into folders without asking is nobody's.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from linestudy.dossier.sealing.signature import SIGNATURE
from linestudy.records.files import sha256

_LISTS = ("manifest-sha256.txt", "tagmanifest-sha256.txt")
#: The bag's lists of its lists are in no list themselves, nor is a signature.
_UNLISTED = frozenset(["tagmanifest-sha256.txt", "tagmanifest-sha512.txt", SIGNATURE])
#: What file systems and programs that have a folder open lay into it without asking.
_LAID_THERE = re.compile(r"\.DS_Store|\._.+|Thumbs\.db|desktop\.ini|~\$.+|\.~lock\..+#")
#: results.json of a year's log is far smaller; anything larger is not read for a mark.
_LARGEST_BYTES = 1_000_000_000


def strange(folder: Path) -> str | None:
    """Say in one clause what in a folder this kit did not write; None where it wrote all of it.

    Parameters
    ----------
    folder : pathlib.Path
        It exists. An empty folder holds nothing strange.

    Returns
    -------
    str or None

    Examples
    --------
    >>> import tempfile
    >>> place = Path(tempfile.mkdtemp())
    >>> strange(place) is None
    True
    >>> _ = (place / "bagit.txt").write_text("")
    >>> strange(place)
    'exists and is not a dossier of this kit'
    """
    if folder.is_symlink():
        return "is a link to somewhere else"
    if not folder.is_dir():
        return "exists and is not a dossier"
    if not any(folder.iterdir()):
        return None
    try:
        if not (folder / "bagit.txt").is_file() or not _names_the_kit(folder):
            return "exists and is not a dossier of this kit"
        return _first_strange_file(folder)
    except (OSError, ValueError, RecursionError):
        return "exists and is not a sound dossier of this kit"


def laid_there(name: str) -> bool:
    """Tell whether a file is one that systems and open programs lay into folders.

    Parameters
    ----------
    name : str
        Path within the folder, with forward slashes.

    Returns
    -------
    bool

    Examples
    --------
    >>> laid_there("data/.DS_Store"), laid_there("data/~$workbook.xlsx"), laid_there("data/notes.txt")
    (True, True, False)
    """
    return _LAID_THERE.fullmatch(name.rpartition("/")[2]) is not None


def _names_the_kit(folder: Path) -> bool:
    file = folder / "data" / "results.json"
    if not file.is_file() or file.stat().st_size > _LARGEST_BYTES:
        return False
    content: Any = json.loads(file.read_text(encoding="utf-8"))
    kit = content.get("kit") if isinstance(content, dict) else None
    return isinstance(kit, dict) and "linestudy" in kit and "format" in content


def _first_strange_file(folder: Path) -> str | None:
    listed: dict[str, str] = {}
    for name in _LISTS:
        listed |= _entries(folder / name)
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        if path.is_symlink():
            return f'holds the link "{name}", which this kit did not write'
        if path.is_dir() or name in _UNLISTED or laid_there(name):
            continue
        # Line ends in names are written as their numbers (RFC 8493, 2.1.3).
        entry = name.replace("\r", "%0D").replace("\n", "%0A")
        if entry not in listed:
            return f'holds "{name}", which this kit did not write'
        if sha256(path) != listed[entry]:
            return f'holds "{name}", which was changed since this kit wrote it'
    return None


def _entries(file: Path) -> dict[str, str]:
    """Read a checksum list into a dict of sums by name, names as the list writes them."""
    found = {}
    for line in file.read_text(encoding="utf-8").split("\n"):
        total, _, name = line.strip("\r").partition(" ")
        if name:
            found[name.lstrip(" ")] = total.lower()
    return found


def same_content(new: Path, old: Path) -> bool:
    """Check whether two dossiers are equal byte for byte and the older one's signature, if any, is kept.

    Parameters
    ----------
    new, old : pathlib.Path
        Dossiers of this kit.

    Returns
    -------
    bool
    """
    sums = [(place / "tagmanifest-sha256.txt").read_bytes() for place in (new, old)]
    if sums[0] != sums[1]:
        return False
    seal = old / SIGNATURE
    if not seal.is_file():
        return True
    return (new / SIGNATURE).is_file() and (new / SIGNATURE).read_bytes() == seal.read_bytes()
