"""A dossier that somebody has changed and sealed again, for auditors to practise on."""

from __future__ import annotations

import json
import math
import shutil
from pathlib import Path
from typing import Any

from linestudy.numerics import generator
from linestudy.results import InputError


def make_tampered_copy(dossier: str | Path, out: str | Path, *, seed: int = 1) -> Path:
    """Copy a dossier, change one number in results.json by a few per cent, and renew its checksums.

    Parameters
    ----------
    dossier : str or pathlib.Path
        An honest dossier; it is left as it is.
    out : str or pathlib.Path
        Where the changed copy goes; must not exist.
    seed : int
        Chooses the number.

    Returns
    -------
    pathlib.Path
        The copy: its checksums are right, its numbers are not. Only recomputing finds out.

    Raises
    ------
    InputError
        Not a dossier, or the place is taken.

    See Also
    --------
    linestudy.dossier.recompute : Check a dossier's files and compute every number again.

    Examples
    --------
    >>> make_tampered_copy("no/such/dossier", "copy")
    Traceback (most recent call last):
    linestudy.results.errors.InputError: no/such/dossier: is not a dossier; ...

    ``notebooks/audit/recompute_a_dossier.ipynb`` finds a copy out.
    """
    import bagit

    source, target = Path(dossier), Path(out)
    if not (source / "bagit.txt").is_file():
        raise InputError(str(dossier), "is not a dossier", "give the folder that holds bagit.txt")
    if target.exists():
        raise InputError(str(out), "exists already", "choose another place")
    shutil.copytree(source, target)
    file = target / "data" / "results.json"
    results = json.loads(file.read_text(encoding="utf-8"))
    places = list(_numbers(results.get("characteristics", {}), ("characteristics",)))
    rng = generator(seed, "tampered")
    place = places[int(rng.integers(len(places)))]
    branch: Any = results
    for key in place[:-1]:
        branch = branch[key]
    branch[place[-1]] *= 1 + 0.02 * (1 + float(rng.random()))
    text = json.dumps(results, sort_keys=True, indent=1, ensure_ascii=False, allow_nan=False)
    file.write_text(text + "\n", encoding="utf-8")
    bag = bagit.Bag(str(target))
    bag.save(manifests=True)
    return target


def _numbers(branch: Any, path: tuple[Any, ...]) -> Any:
    """Yield the places of numbers that are neither whole nor zero."""
    items = branch.items() if isinstance(branch, dict) else enumerate(branch)
    for key, value in items:
        if isinstance(value, dict | list):
            yield from _numbers(value, (*path, key))
        elif isinstance(value, float) and value != 0 and math.isfinite(value) and value % 1:
            yield (*path, key)
