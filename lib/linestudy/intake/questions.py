"""Questions that files leave open, asked on the console or in a form, and what is made of the answers."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from linestudy.intake.draft import Draft


#: Name of a gauge that nobody has named.
NO_GAUGE = "Gauge, not named yet"


@dataclass(frozen=True)
class Question:
    """One thing that nobody has said yet.

    Attributes
    ----------
    key : str
    text : str
        What is asked.
    why : str
        What it is for, or what speaks for the default.
    kind : str
        ``text``, ``number`` or ``words``.
    default : str
        Taken where the answer is blank.
    choices : list of str
        What may be answered; one of them, unless `free`.
    free : bool
        Whether something else may be answered too.
    """

    key: str
    text: str
    why: str
    kind: str = "text"
    default: str = ""
    choices: list[str] = field(default_factory=list)
    free: bool = False


def as_number(text: str) -> float | None:
    """Read a number as people type it, with a point or a comma; None where nothing is typed.

    Parameters
    ----------
    text : str

    Returns
    -------
    float or None

    Raises
    ------
    ValueError
        It is none.
    """
    plain = text.strip().replace("−", "-")
    if not plain or plain in ("-", "none"):
        return None
    if not re.fullmatch(r"[-+]?\d*[.,]?\d+", plain):
        raise ValueError(f'"{text[:40]}" is no number')
    return float(plain.replace(",", "."))


def as_words(text: str) -> list[str]:
    """Split what was typed at commas or semicolons."""
    return [word.strip() for word in re.split(r"[,;]", text) if word.strip()]


def pick(text: str, choices: list[str]) -> str:
    """Find the choice that is meant: by its number, its name, or the nearest name.

    Parameters
    ----------
    text : str
    choices : list of str

    Returns
    -------
    str

    Raises
    ------
    ValueError
        None of them is near.
    """
    plain = text.strip()
    if plain in choices:
        return plain
    if plain.isdigit() and 1 <= int(plain) <= len(choices):
        return choices[int(plain) - 1]
    for choice in choices:
        if choice.casefold() == plain.casefold():
            return choice
    close = difflib.get_close_matches(
        plain.casefold(), [c.casefold() for c in choices], n=1, cutoff=0.6
    )
    if close:
        return next(choice for choice in choices if choice.casefold() == close[0])
    raise ValueError(f'"{text[:40]}" is none of: {", ".join(choices)}')


def ask_all(
    draft: Draft, ask: Callable[[str], str], tell: Callable[[str], None], defaults: bool = False
) -> None:
    """Ask every open question of a draft until each has an answer that can be used.

    Parameters
    ----------
    draft : Draft
    ask : callable
        Shows a line and gives what was typed; raises EOFError where nobody answers.
    tell : callable
        Shows a line.
    defaults : bool
        Ask nothing and take every default; what has none stays open.
    """
    silent = defaults
    left: set[str] = set()
    while True:
        question = next((q for q in draft.questions() if q.key not in left), None)
        if question is None:
            return
        if silent:
            try:
                # A gauge that nobody names is there to be named, or the study could not be opened.
                needed = question.key.startswith("gauge:") and not question.default
                draft.answer(question.key, NO_GAUGE if needed else "")
                if question.key.endswith(":unit") and (
                    item := draft.item(question.key.split(":")[1])
                ):
                    item.unit_taken = True
            except ValueError:
                left.add(question.key)
            continue
        try:
            answered = ask(_line(question, tell))
        except EOFError:
            silent = True
            continue
        try:
            draft.answer(question.key, answered)
        except ValueError as error:
            tell(f"  {error}.")


def _line(question: Question, tell: Callable[[str], None]) -> str:
    tell("")
    tell(f"{question.text}   ({question.why})")
    for number, choice in enumerate(question.choices, start=1):
        tell(f"  {number}  {choice}")
    return f"[{question.default}] " if question.default else "> "
