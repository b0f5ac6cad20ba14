"""The form on which a student decides, with reasons; written empty, read back with whatever was written into it."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from linestudy.results import InputError
from linestudy.results.errors import did_you_mean
from linestudy.simulate.exercises.answers import number_in, typed

# The faults enter themselves in the list of kinds.
from linestudy.simulate.practice import run_faults, study_faults
from linestudy.simulate.practice.as_typed import as_toml
from linestudy.simulate.practice.kinds import ASKS, DECISIONS, KINDS, MEANING
from linestudy.simulate.practice.line import FEATURES

#: What is decided, in the order of the form.
DECIDED = (*FEATURES, "appearance", "record")
NAME = "decisions.toml"
ENTERED = (run_faults, study_faults)

_HEAD = """\
# Would you sign this? Decide each line, and name every fault that you find with what shows it.
#
# A decision is one of:
{decisions}
# "record" is the record as a whole: meets, or cannot be judged.
# The strongest of all findings decides. A fault of the record as a whole is decided under "record" alone: decide the
# characteristics as they would be with it mended.
#
# A fault is named by its kind from this list. Behind each kind stand what says where it is, and which number shows it.
# A fault that is not there costs more than one that is left out, and one that is named without its number or place
# may have been guessed and counts less. Numbers bear their sign: down is negative.
#
{kinds}
#
# What you ask for is one of:
{asks}

student = ""
"""
_DECISION = """
[decision.{name}]
decision = ""
reason = ""       # a sentence of its own with the number it rests on: an index, a count, %GRR
"""
_FAULT = """
# Copy this table for each fault that you find.
# [[fault]]
# kind = ""
# about = ""      # {about}
# where = ""      # lane, coil, person or stroke, as the list says
# number = ""     # the number that the list asks for
# ask = ""        # one word of the list of what you ask for
# reason = ""     # a sentence of its own with the number it rests on
"""


@dataclass(frozen=True)
class Named:
    """A fault as a student named it.

    Attributes
    ----------
    kind, about, where, ask, reason : str
    number : float or None
    """

    kind: str
    about: str
    where: str
    ask: str
    reason: str
    number: float | None


@dataclass(frozen=True)
class Form:
    """A form that was filled in.

    Attributes
    ----------
    student : str
    decisions, reasons : dict of str to str
        By what is decided.
    faults : tuple of Named
    """

    student: str
    decisions: dict[str, str]
    reasons: dict[str, str]
    faults: tuple[Named, ...]


def empty_form() -> str:
    """Write the form without answers.

    Returns
    -------
    str
    """
    kinds = "\n".join(
        f"#   {one.key:<16} {one.text}"
        + (f"; where: {one.where}" if one.where else "")
        + f"; number: {one.number}"
        for one in KINDS.values()
    )
    asks = "\n".join(f"#   {key:<17} {text}" for key, text in ASKS.items())
    decisions = "\n".join(f"#   {word:<26} {text}" for word, text in MEANING.items())
    head = _HEAD.format(decisions=decisions, kinds=kinds, asks=asks)
    lines = [head, *(_DECISION.format(name=name) for name in DECIDED)]
    return "".join([*lines, _FAULT.format(about=", ".join(DECIDED))])


def read_form(file: Path) -> Form:
    """Read a form.

    Parameters
    ----------
    file : pathlib.Path

    Returns
    -------
    Form

    Raises
    ------
    InputError
        It is not there, is no TOML, or holds a word that is in none of its lists.
    """
    try:
        content = tomllib.loads(as_toml(file.read_bytes()))
    except FileNotFoundError:
        raise InputError(NAME, "is not in the folder", "write your decisions there") from None
    except tomllib.TOMLDecodeError as error:
        raise InputError(NAME, f"is not valid TOML ({error})", "mend that line") from None
    decided = _table(content.get("decision", {}), "decision")
    decisions, reasons = {}, {}
    for name, entry in decided.items():
        entry = _table(entry, f"decision.{name}")
        name = _one_of(name, DECIDED, "decision")
        decisions[name] = _text(entry, "decision")
        if decisions[name]:
            decisions[name] = _one_of(decisions[name], DECISIONS, f"decision.{name}")
        reasons[name] = _text(entry, "reason")
    entries = content.get("fault", [])
    if not isinstance(entries, list):
        raise InputError(NAME, "[fault] is one table", "write [[fault]], once for each fault")
    # A table that was copied and left blank names nothing.
    filled = [
        entry
        for entry in entries
        if any(str(value).strip() for value in _table(entry, "fault").values())
    ]
    faults = tuple(map(_named, filled))
    return Form(_text(content, "student"), decisions, reasons, faults)


def _named(entry: dict[str, Any]) -> Named:
    kind = _one_of(_text(entry, "kind"), tuple(KINDS), "kind")
    about, ask = _one_of(_text(entry, "about"), DECIDED, "about"), _text(entry, "ask")
    if ask:
        ask = _one_of(ask, tuple(ASKS), "ask")
    return Named(
        kind,
        about,
        _text(entry, "where"),
        ask,
        _text(entry, "reason"),
        number_in(entry.get("number")),
    )


def _table(entry: Any, name: str) -> dict[str, Any]:
    if not isinstance(entry, dict):
        raise InputError(NAME, f"{name} is no table", "leave the form as it was written")
    return entry


def _text(entry: dict[str, Any], key: str) -> str:
    return " ".join(str(entry.get(key, "")).split())


#: A list so short is shown whole to whoever writes a word that is not in it.
_TOLD_WHOLE = 6


def _one_of(word: str, known: tuple[str, ...], key: str) -> str:
    """Return the word of a list that was meant; capitals, hyphens for blanks, "can't" and a final stop do not matter."""
    if not word.strip():
        raise InputError(NAME, f"a fault has no {key}", "name it, or take the whole table out")
    meant = {_folded(one): one for one in known}.get(_folded(word))
    if meant is None:
        whole = f"use {', '.join(known[:-1])} or {known[-1]}" if len(known) <= _TOLD_WHOLE else ""
        raise InputError(
            NAME, f'{key}: "{word[:40]}" is not in the list;{did_you_mean(word, list(known))}'.rstrip(";"),
            whole or "use a word of the list at its head",
        )  # fmt: skip
    return meant


def _folded(word: str) -> str:
    plain = re.sub(r"[\s_-]+", " ", typed(word)).strip(" .,;:!").casefold().replace("’", "'")
    return plain.replace("can't", "cannot").replace("can not", "cannot").replace("n't", " not")
