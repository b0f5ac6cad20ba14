"""Recompute a dossier from its inputs alone, and say what does not agree."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from linestudy.records.files import sha256
from linestudy.results import InputError
from linestudy.results.progress import watched

#: Two runs on different machines may differ in the last digits of a double.
AGREES = 1e-9


@dataclass(frozen=True)
class Difference:
    """One value that does not agree.

    Attributes
    ----------
    place : str
        Path in results.json, keys joined by dots.
    recorded, recomputed : str
        Both values.
    relative : float or None
        Relative difference, for numbers.
    """

    place: str
    recorded: str
    recomputed: str
    relative: float | None


@dataclass(frozen=True)
class RecomputeReport:
    """What an auditor is told.

    Attributes
    ----------
    damaged : tuple of str
        Files whose checksum or presence is not as the bag says.
    compared : dict of str to int
        Values compared, per room.
    differences : tuple of Difference
    printed : tuple of str
        Lines on printed numbers, where --against was given.
    unexplained : int
        Printed numbers that the recomputed ones do not round to.
    documents : tuple of str
        What page, PDF or workbook print otherwise than the recomputed numbers would.
    pictures : bool
        Whether the pictures were drawn again and compared.
    """

    damaged: tuple[str, ...]
    compared: dict[str, int]
    differences: tuple[Difference, ...]
    printed: tuple[str, ...] = ()
    unexplained: int = 0
    documents: tuple[str, ...] = ()
    pictures: bool = False

    @property
    def agrees(self) -> bool:
        """Whether nothing was found to differ."""
        found = self.damaged or self.differences or self.documents
        return not found and self.unexplained == 0

    def __str__(self) -> str:
        lines = []
        for name in self.damaged:
            lines.append(f"damaged: {name}")
        per_room: dict[str, int] = {}
        for item in self.differences:
            per_room[room_of(item.place)] = per_room.get(room_of(item.place), 0) + 1
        for room, count in self.compared.items():
            off = per_room.get(room, 0)
            lines.append(f"{room:>14}: {count - off:,} of {count:,} values agree")
        for item in self.differences[:200]:
            size = "" if item.relative is None else f" (relative {item.relative:.2g})"
            lines.append(
                f"differs: {item.place}: {item.recorded} recorded, {item.recomputed} recomputed{size}"
            )
        if len(self.differences) > 200:
            lines.append(f"… and {len(self.differences) - 200:,} more")
        lines += [f"document: {line}" for line in self.documents]
        lines += self.printed
        if self.compared and not self.pictures:
            lines.append("Pictures were not drawn again; --pictures (pictures=True) does that.")
        lines.append("Everything agrees." if self.agrees else "Not everything agrees.")
        return "\n".join(lines)


def recompute(
    folder: str | Path, against: str | Path | None = None, pictures: bool = False
) -> RecomputeReport:
    """Check a dossier's sums and compute every number again.

    Parameters
    ----------
    folder : str or pathlib.Path
        A dossier; or, together with `against`, a study folder.
    against : str or pathlib.Path, optional
        TOML file of printed numbers (see :mod:`linestudy.dossier.printed`).
    pictures : bool
        Whether every picture of page and PDF is drawn again and compared too, which takes about half
        as long again.

    Returns
    -------
    RecomputeReport

    Raises
    ------
    InputError
        Not a dossier, or the printed numbers cannot be read.

    Examples
    --------
    See ``notebooks/audit/recompute_a_dossier.ipynb``.
    """
    place = Path(folder)
    if not (place / "bagit.txt").is_file() and not (
        (place / "study.toml").is_file() and against is not None
    ):
        raise InputError(str(folder), "is not a dossier", "give the folder that holds bagit.txt")
    with watched(3, "recomputing") as tell:
        return _recomputed(place, against, pictures, tell)


def _recomputed(
    place: Path, against: str | Path | None, pictures: bool, tell: Callable[[str], None]
) -> RecomputeReport:
    from linestudy.dossier.documents import compare_documents
    from linestudy.dossier.evaluation import evaluate
    from linestudy.dossier.printed import compare_printed

    if not (place / "bagit.txt").is_file():
        assert against is not None
        tell("numbers")
        lines, unexplained = compare_printed(evaluate(place).results(), Path(against))
        return RecomputeReport((), {}, (), lines, unexplained)
    tell("checksums")
    damaged = _damaged(place)
    study = place / "data" / "study"
    recorded = _recorded(place / "data" / "results.json")
    tell("numbers")
    try:
        evaluation = evaluate(study)
        results = json.loads(json.dumps(evaluation.results()))
    except InputError as error:
        # A missing or spoilt input is a finding about the dossier, not about the call.
        return RecomputeReport((*damaged, f"study cannot be evaluated: {error}"), {}, ())
    compared: dict[str, int] = {}
    differences = []
    for path, old, new in _pairs(recorded, results, ()):
        name = ".".join(path)
        compared[room_of(name)] = compared.get(room_of(name), 0) + 1
        found = _differ(name, old, new)
        if found is not None:
            differences.append(found)
    lines, unexplained = (), 0
    if against is not None:
        lines, unexplained = compare_printed(results, Path(against))
    tell("documents")
    documents = compare_documents(evaluation, place / "data", pictures)
    return RecomputeReport(
        damaged, compared, tuple(differences), lines, unexplained, documents, pictures
    )


def _recorded(file: Path) -> Any:
    try:
        return json.loads(file.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return {}
    except (ValueError, RecursionError, UnicodeDecodeError):
        raise InputError("results.json", "is not JSON", "ask for the dossier again") from None


def _damaged(place: Path) -> tuple[str, ...]:
    return tuple(dict.fromkeys((*_by_bagit(place), *_tag_files(place))))


def _by_bagit(place: Path) -> tuple[str, ...]:
    import logging

    import bagit

    # bagit reports to its own log what it raises as well; once is enough.
    logging.getLogger("bagit").setLevel(logging.CRITICAL)
    bag = None
    try:
        bag = bagit.Bag(str(place))
        bag.validate(processes=1)
    except bagit.BagValidationError as error:
        named = tuple(dict.fromkeys(str(item) for item in error.details))
        if named:
            return named
        return _named(bag, place) if bag is not None else (str(error),)
    except (bagit.BagError, OSError, UnicodeDecodeError, ValueError) as error:
        return (f"the bag itself: {error}",)
    return ()


_SUMS = ("sha256", "sha512")


def _tag_files(place: Path) -> Iterator[str]:
    """Hold the bag's own files against the sums of them, which bagit skips in a bag of an older version.

    Its lists must stand as this kit writes them: a list that is missing protects nothing.
    """
    for kind in _SUMS:
        file = place / f"tagmanifest-{kind}.txt"
        if not file.is_file() or not (place / f"manifest-{kind}.txt").is_file():
            yield f"the lists of {kind} sums are missing"
            continue
        for line in file.read_bytes().decode("utf-8", "replace").removesuffix("\n").split("\n"):
            wanted, _, name = line.partition(" ")
            member = place / name
            known = name and member.resolve().is_relative_to(place.resolve())
            if not known or not member.is_file():
                yield f"{file.name} names {name or line!r}, which is not there"
            elif hashlib.new(kind, member.read_bytes()).hexdigest() != wanted:
                yield f"{name} was changed, or its {kind} sum was"


def _named(bag: Any, place: Path) -> tuple[str, ...]:
    """Name the files where bagit, which weighs the bag first, only says that its weight is off."""
    missing, added = bag.compare_manifests_with_fs()
    lines = [f"{name} is missing" for name in sorted(missing)]
    lines += [f"{name} was added" for name in sorted(added)]
    for name, sums in sorted(bag.payload_entries().items()):
        file = place / name
        if file.is_file() and sums.get("sha256") != sha256(file):
            lines.append(f"{name} was changed")
    return tuple(lines) or ("the bag's size is not as recorded",)


_ABSENT = object()


def _pairs(old: Any, new: Any, path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Any, Any]]:
    """Leaves of both trees side by side."""
    if isinstance(old, dict) and isinstance(new, dict):
        for key in sorted({*old, *new}):
            yield from _pairs(old.get(key, _ABSENT), new.get(key, _ABSENT), (*path, key))
    elif isinstance(old, list) and isinstance(new, list):
        for index in range(max(len(old), len(new))):
            left = old[index] if index < len(old) else _ABSENT
            right = new[index] if index < len(new) else _ABSENT
            yield from _pairs(left, right, (*path, str(index)))
    else:
        yield path, old, new


def _differ(place: str, old: Any, new: Any) -> Difference | None:
    number = (int, float)
    if isinstance(old, number) and isinstance(new, number) and type(old) is not bool:
        if old == new:
            return None
        relative = abs(old - new) / max(abs(old), abs(new), 1e-300)
        if relative <= AGREES and not math.isnan(relative):
            return None
        return Difference(place, repr(old), repr(new), relative)
    if type(old) is type(new) and old == new:
        return None
    return Difference(place, _shown(old), _shown(new), None)


def _shown(value: Any) -> str:
    if value is _ABSENT:
        return "nothing"
    text = json.dumps(value, ensure_ascii=True)
    return text if len(text) <= 120 else text[:117] + "…"


def room_of(place: str) -> str:
    """Which room a place in results.json belongs to."""
    parts = place.split(".")
    if parts[0] == "characteristics" and len(parts) > 2:
        return parts[2] if parts[2] in _ROOMS else "characteristic"
    return parts[0]


_ROOMS = ("gauges", "agreement", "attribute", "stability", "shape", "capability", "verdict")
