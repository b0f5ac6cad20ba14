"""What kinds of fault a practice study may hide: where each fits, what shows it, and what a good reader says of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from linestudy.simulate.practice.line import FEATURES
from linestudy.simulate.practice.line import PracticeLine as Line

UNKNOWN, FAILS = "cannot be judged", "does not meet"
APPROVAL, MEETS = "customer approval required", "meets"
#: Weakest first: of several the strongest decides. What each means, for the form.
MEANING = {
    MEETS: "gauge, process and parts are as asked (Ppk above 1.67)",
    APPROVAL: "gauge and record are good and the parts fit, but something moves or is special that the customer must be told of",
    FAILS: "the parts do not fit, or the people who judge them accept bad ones",
    UNKNOWN: "gauge, judgements or record do not let anybody know how the parts are",
}
DECISIONS = tuple(MEANING)

#: What may be asked for before anybody signs.
ASKS = {
    "before_sorting": "readings of every part, taken before the sorter",
    "as_written": "the record as the line wrote it",
    "cause": "cause, corrective action and a new run",
    "gauge": "gauge repaired or set, and studied again",
    "people": "people trained, and the study repeated",
    "parts": "the study repeated with other parts",
    "nothing_left_out": "the evaluation with nothing left out",
    "drawing": "the limits of the drawing in place of those used",
    "distribution": "the index by the quantiles of its own distribution",
    "calibration": "a valid calibration",
}
BOTH = ("width", "height")
ALL = tuple(FEATURES)
Rng = np.random.Generator


@dataclass(frozen=True)
class Kind:
    """A kind of fault.

    Attributes
    ----------
    key : str
    text : str
        What the list given to the student says.
    slots : tuple of str
        Parts of the study that it takes up: two faults never share one.
    about : tuple of str
        Where it may be planted.
    where : str
        What says where it is (lane, coil, person, stroke); empty where nothing does.
    number : str
        Which number shows it.
    tolerance : float
        Relative, within which that number is right.
    ask : tuple of str
        Any of these is right to ask for.
    decision : str
        What the fault alone allows.
    plant : callable
        Changes the line; returns where it is and its number.
    """

    key: str
    text: str
    slots: tuple[str, ...]
    about: tuple[str, ...]
    where: str
    number: str
    tolerance: float
    ask: tuple[str, ...]
    decision: str
    plant: Callable[[Line, str, Rng], tuple[str, float]]

    @property
    def in_per_cent(self) -> bool:
        """Whether its number is a share, which may be written as one too."""
        return "per cent" in self.number or self.number.startswith("%")


KINDS: dict[str, Kind] = {}
Plant = Callable[[Line, Any, Rng], tuple[str, float]]


def kind(
    text: str, number: str, ask: str, decision: str, *, about: tuple[str, ...] = ALL,
    slots: tuple[str, ...] = ("run",), where: str = "", tolerance: float = 0.25,
) -> Callable[[Plant], Plant]:  # fmt: skip
    """Enter a function that plants a fault under its own name.

    Parameters
    ----------
    text, number, ask, decision, about, slots, where, tolerance
        As in :class:`Kind`; `ask` with blanks between.

    Returns
    -------
    callable
        A decorator that leaves the function as it is.
    """

    def enter(plant: Plant) -> Plant:
        def on(line: Line, name: str, rng: Rng) -> tuple[str, float]:
            return plant(line, FEATURES.get(name), rng)

        key = plant.__name__
        KINDS[key] = Kind(
            key, text, slots, about, where, number, tolerance, tuple(ask.split()), decision, on
        )
        return plant

    return enter


def between(rng: Rng, low: float, high: float) -> float:
    """Draw evenly between two numbers."""
    return float(low + (high - low) * rng.random())


def sign(rng: Rng) -> float:
    """Draw up or down."""
    return float(rng.choice([-1.0, 1.0]))


#: Faults that only an order of parts can show: none of them where the rows were re-ordered.
IN_ORDER = ("coil_apart", "tool_wear", "jump", "restless", "alike", "over_adjusted", "excluded", "copied_readings", "camera_drift")  # fmt: skip
#: What takes rows away comes first, what moves rows last: the others then find them where they are looked for.
FIRST, LAST = ("sorted_parts",), ("sent_twice", "reordered")
#: Parts of a study that there is one of; the others there are for each characteristic.
OF_STUDY = ("bins", "record", "order", "due", "appearance")
