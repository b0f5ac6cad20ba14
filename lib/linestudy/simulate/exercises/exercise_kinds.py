"""What an exercise is: a number to be worked out with hints for known mistakes, or a decision with a reply to each choice."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial


@dataclass(frozen=True)
class Exercise:
    """A question with a number for an answer.

    Attributes
    ----------
    question : str
    answer : callable
        Takes nothing, returns the right number.
    tolerance : float
        Relative to the answer.
    hints : tuple of (callable, str)
        For a wrong number: takes it and the right one, says whether the hint fits.
    otherwise : str
        Hint for any other wrong number.
    why : str
        One sentence for a right answer.
    """

    question: str
    answer: Callable[[], float]
    tolerance: float
    hints: tuple[tuple[Callable[[float, float], bool], str], ...]
    otherwise: str
    why: str


def near(value: float, other: float, share: float = 0.05) -> bool:
    """Say whether two numbers are alike within a share of the larger.

    Parameters
    ----------
    value, other, share : float

    Returns
    -------
    bool
    """
    return math.isclose(value, other, rel_tol=share, abs_tol=1e-9)


@dataclass(frozen=True)
class Choice:
    """One way to decide.

    Attributes
    ----------
    text : str
        What one would do.
    reply : callable
        Takes nothing; says why it is right, or which mistake it is.
    right : bool
    """

    text: str
    reply: Callable[[], str]
    right: bool = False


@dataclass(frozen=True)
class Decision:
    """A situation and the ways to decide in it.

    Attributes
    ----------
    question : str
    choices : dict of str to Choice
        By letter.
    """

    question: str
    choices: dict[str, Choice]

    def text(self) -> str:
        """Write the question and its choices, as lines."""
        lines = [f"{letter}: {choice.text}" for letter, choice in self.choices.items()]
        return "\n".join([self.question, *lines])


def decision(question: str, right: str, **choices: tuple[str, str | Callable[[], str]]) -> Decision:
    """Put a decision together.

    Parameters
    ----------
    question, right : str
        `right` is the letter of the right choice.
    **choices : tuple
        By letter: what one would do, and the reply to it, or what makes that reply.

    Returns
    -------
    Decision
    """
    made = {}
    for letter, (text, reply) in choices.items():
        made[letter] = Choice(text, partial(_reply_text, reply), letter == right)
    return Decision(question, made)


def _reply_text(reply: str | Callable[[], str]) -> str:
    return reply if isinstance(reply, str) else reply()
