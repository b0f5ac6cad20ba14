"""What was changed against an earlier revision of the study: limits, unit, class, criteria, confidence."""

from __future__ import annotations

import json
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from linestudy.records.files import locate
from linestudy.results import InputError
from linestudy.verdict.criteria import DEFAULTS, Criterion, resolve

if TYPE_CHECKING:
    from pathlib import Path

    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic

_LARGEST_MB = 50.0


def changes_since(
    study: Study, item: Characteristic
) -> tuple[str, tuple[str, ...], tuple[str, ...]]:
    """Hold one characteristic against the results of an earlier revision.

    Parameters
    ----------
    study : Study
        Its ``earlier`` names a results.json inside the study folder.
    item : Characteristic

    Returns
    -------
    revision : str
        Revision compared with; empty where study.toml names none.
    changed, relaxed : tuple of str
        Every change in words, and those that ask for less than before.

    Raises
    ------
    InputError
        The file is not the results.json of a dossier.
    """
    name = study.head.earlier
    if name is None:
        return "", (), ()
    content = _read(locate(study.folder, name, _LARGEST_MB), name)
    revision = f"revision {content['study'].get('revision', '-')}"
    before = content["characteristics"].get(item.id)
    if before is None:
        return revision, (f"{item.name} was not in it",), ()
    return revision, *_compared(study, item, content, before)


@lru_cache(maxsize=4)
def _cached(path: Path, stamp: tuple[int, int], name: str) -> Any:
    try:
        content = json.loads(path.read_text(encoding="utf-8"))
        sound = isinstance(content["study"], dict) and isinstance(content["characteristics"], dict)
    except (ValueError, KeyError, TypeError, RecursionError):
        sound = False
    if not sound:
        raise InputError(
            name,
            "is not the results.json of a dossier",
            "take it from the data folder of the earlier dossier",
        )
    return content


def _read(path: Path, name: str) -> Any:
    known = path.stat()
    return _cached(path, (known.st_size, known.st_mtime_ns), name)


def _compared(
    study: Study, item: Characteristic, content: Any, before: Any
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    changed: list[str] = []
    relaxed: list[str] = []

    def say(text: str, less: bool) -> None:
        changed.append(text)
        if less:
            relaxed.append(text)

    if before.get("unit") != item.unit:
        say(f"unit {before.get('unit') or 'none'} became {item.unit or 'none'}", True)
    for key, wider in (("lower", -1), ("upper", 1)):
        old, new = before.get(key), getattr(item, key)
        if old != new:
            less = new is None or (old is not None and wider * (new - old) > 0)
            say(f"{key} limit {_shown(old)} became {_shown(new)}", less)
    facts = _part(_part(before, "verdict"), "facts")
    if "special" in facts and bool(facts["special"]) != item.special:
        words = ("other", "special")
        say(
            f"class {words[bool(facts['special'])]} became {words[item.special]}",
            not item.special,
        )
    old_confidence = content["study"].get("confidence")
    if isinstance(old_confidence, float) and old_confidence != study.confidence:
        say(
            f"confidence {old_confidence:.0%} became {study.confidence:.0%}",
            study.confidence < old_confidence,
        )
    now = resolve(study.criteria, item)
    for key, old in _criteria_before(before).items():
        new = now[key].value
        if old != new:
            say(f"criterion {key} = {old} became {new}", _asks_for_less(key, old, new))
    return tuple(changed), tuple(relaxed)


def _part(content: Any, key: str) -> Any:
    found = content.get(key) if isinstance(content, dict) else None
    return found if isinstance(found, dict) else {}


def _criteria_before(before: Any) -> dict[str, Any]:
    rules = _part(before, "verdict").get("rules")
    found: dict[str, Any] = {}
    for rule in rules if isinstance(rules, list) else ():
        criterion = _part(rule, "criterion")
        key, value = criterion.get("key"), criterion.get("value")
        if key in DEFAULTS and isinstance(value, type(DEFAULTS[key].value)):
            found[key] = value
    return found


def _asks_for_less(key: str, old: Any, new: Any) -> bool:
    if isinstance(old, str):
        return Criterion(key, new, "").weaker or old == DEFAULTS[key].stricter
    return bool(new < old) if DEFAULTS[key].stricter == "higher" else bool(new > old)


def _shown(limit: float | None) -> str:
    return "none" if limit is None else f"{limit:g}"
