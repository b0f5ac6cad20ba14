"""Write a practice study: draw faults that can occur together, plant them, seal what was planted."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any

import numpy as np

from linestudy.results import InputError
from linestudy.simulate.practice.decision_form import DECIDED, NAME, empty_form
from linestudy.simulate.practice.kinds import (
    DECISIONS,
    FIRST,
    IN_ORDER,
    KINDS,
    LAST,
    MEETS,
    OF_STUDY,
    Kind,
)
from linestudy.simulate.practice.line import honest_line
from linestudy.simulate.practice.sealing import new_salt, sealed, seed_of

#: Faults that are planted at each level.
LEVELS = {1: 2, 2: 4, 3: 6, 4: 9}
SEALED = "truth.sealed"


def write_practice(
    folder: str | Path,
    *,
    seed: int,
    level: int = 1,
    salt: bytes | None = None,
    with_salt: bool = False,
    kinds: tuple[str, ...] | None = None,
) -> Path:
    """Write a study of a line with hidden faults, a form for decisions, and the truth, sealed.

    Parameters
    ----------
    folder : str or pathlib.Path
        New or empty.
    seed : int
        With level and salt it gives the same study again.
    level : int
        1 to 4: two, four, six or nine faults.
    salt : bytes, optional
        What the truth is drawn and sealed with; a new one when absent, known to nobody unless `with_salt`.
    with_salt : bool
        Whether the salt lies beside the truth, so that a student alone may grade.
    kinds : tuple of str, optional
        Kinds to be planted in place of those that are drawn.

    Returns
    -------
    pathlib.Path
        The folder.

    Raises
    ------
    InputError
        The folder holds something, or there is no such level or kind.

    Examples
    --------
    >>> import tempfile
    >>> folder = write_practice(tempfile.mkdtemp() + "/p", seed=1, level=1, with_salt=True)
    >>> sorted(path.name for path in folder.iterdir())
    ['data', 'decisions.toml', 'study.toml', 'truth.sealed']
    """
    target = Path(folder)
    if target.exists() and (not target.is_dir() or any(target.iterdir())):
        raise InputError(
            str(folder), "exists already and is not empty", "name a folder that does not exist yet"
        )
    if level not in LEVELS:
        raise InputError("level", f"is {level}", "give a level from 1 to 4")
    unknown = [name for name in kinds or () if name not in KINDS]
    if unknown:
        raise InputError("kinds", f'"{unknown[0]}" is none', f"known are {', '.join(KINDS)}")
    salt = new_salt() if salt is None else salt
    rng = np.random.default_rng(seed_of(salt, seed, level))
    chosen = _chosen(rng, LEVELS[level]) if kinds is None else _placed(rng, kinds)
    line = honest_line(rng)
    planted = []
    for kind, about in sorted(chosen, key=_when):
        where, number = kind.plant(line, about, rng)
        planted.append({"kind": kind.key, "about": about, "where": where, "number": number})
    line.write(target)
    (target / NAME).write_text(empty_form(), encoding="utf-8")
    truth = {
        "seed": seed,
        "level": level,
        "faults": planted,
        "decisions": _decisions(planted),
        "sums": sums(target),
    }
    content = {"sealed": sealed(truth, salt), **({"salt": salt.hex()} if with_salt else {})}
    (target / SEALED).write_text(json.dumps(content) + "\n", encoding="utf-8")
    return target


def sums(folder: Path) -> dict[str, str]:
    """Compute checksums of the files that a student receives.

    Parameters
    ----------
    folder : pathlib.Path

    Returns
    -------
    dict of str to str
        By name; what was added since is not looked at.
    """
    files = sorted((folder / "data").glob("*.csv"))
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in files}


def _when(chosen: tuple[Kind, str]) -> int:
    return -1 if chosen[0].key in FIRST else 1 if chosen[0].key in LAST else 0


def _chosen(rng: np.random.Generator, count: int) -> list[tuple[Kind, str]]:
    """Draw faults that share no part of the study."""
    drawn = [KINDS[str(name)] for name in rng.permutation(list(KINDS))]
    return _fitting(rng, drawn, count)


def _placed(rng: np.random.Generator, kinds: tuple[str, ...]) -> list[tuple[Kind, str]]:
    found = _fitting(rng, [KINDS[name] for name in kinds], len(kinds))
    if len(found) < len(kinds):
        raise InputError("kinds", "cannot stand beside each other", "name fewer")
    return found


def _fitting(rng: np.random.Generator, drawn: list[Kind], count: int) -> list[tuple[Kind, str]]:
    taken: set[tuple[str, str]] = set()
    chosen: list[tuple[Kind, str]] = []
    for kind in drawn:
        for about in rng.permutation(list(kind.about)):
            slots = {("" if slot in OF_STUDY else str(about), slot) for slot in kind.slots}
            if kind.key in IN_ORDER:
                # What only an order shows, and an order that was changed, exclude each other.
                slots |= {("", f"order of {about}")}
            if kind.key == "reordered":
                slots |= {("", f"order of {name}") for name in DECIDED}
            if not slots & taken:
                taken |= slots
                chosen.append((kind, str(about)))
                break
        if len(chosen) == count:
            break
    return chosen


def _decisions(planted: list[dict[str, Any]]) -> dict[str, str]:
    found = dict.fromkeys(DECIDED, MEETS)
    for fault in planted:
        allowed = KINDS[fault["kind"]].decision
        name = fault["about"]
        found[name] = max(found[name], allowed, key=DECISIONS.index)
    return found
