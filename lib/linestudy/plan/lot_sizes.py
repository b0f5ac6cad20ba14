"""How many coils or batches, and how many parts of each, a destructive test needs.

Model: lots normal about the process mean, parts normal within them; studies are simulated and taken through
:func:`linestudy.capability.process_capability` with its lots, as a distribution known to be normal has its bound. The verdict does not
know it: its bound is the lowest among the descriptions that the readings do not reject. How much lower that is was measured
(:func:`linestudy.plan.found_shape.cost_over_lots`), and a plan counts it in, unless the distribution is declared to be normal. Misleads where the lots at
hand are neighbours: the next delivery differs more than they do.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from linestudy.numerics import generator
from linestudy.plan.chances import BASES, DecideOn, per_cent_of
from linestudy.plan.found_shape import LEAST, cost_over_lots
from linestudy.results import CannotJudge, Finding, arguments
from linestudy.results.tables import Rows

#: Lots and parts of each that are compared unless others are asked for.
DESIGNS = ((3, 20), (5, 12), (5, 25), (10, 6), (10, 12), (20, 5), (30, 5), (30, 10))
STUDIES = 200


@dataclass(frozen=True, slots=True)
class LotDesign:
    """One design and what it can show.

    Attributes
    ----------
    lots, parts : int
        Lots, and parts of each.
    chance : float
        Share of simulated studies that pass where the distribution is known to be normal.
    found : float or None
        The same where the verdict finds the distribution from the readings, as it does unless study.toml states it; None
        where it is known, and on the estimate, where that was not measured.
    """

    lots: int
    parts: int
    chance: float
    found: float | None = None

    @property
    def decisive(self) -> float:
        """Chance that counts: that of the distribution found, where it is not known."""
        return self.chance if self.found is None else self.found

    @property
    def readings(self) -> int:
        """Parts in all."""
        return self.lots * self.parts

    @property
    def label(self) -> str:
        """How a picture names it."""
        return f"{self.lots} lots × {self.parts} parts = {self.readings}"

    def __str__(self) -> str:
        return f"{self.lots} lots of {self.parts}"


@dataclass(frozen=True)
class LotStudySize(Finding):
    """What designs of a study by lots can show.

    Attributes
    ----------
    true_index, required : float
        Ppk over all lots, and what it must be shown to exceed.
    between : float
        Share of the variance that lies between lots.
    power, confidence : float
        Chance asked for; confidence of the one-sided lower bound.
    decide_on : str
        ``"lower bound"`` or ``"estimate"``.
    designs : tuple of LotDesign
        What each can show.
    cautions : tuple of str
        What to hold in mind.
    """

    true_index: float
    required: float
    between: float
    power: float
    confidence: float
    decide_on: DecideOn
    designs: tuple[LotDesign, ...]
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Lots and parts of a destructive test"
    picture: ClassVar[str] = "plan:chance_of_designs"

    @property
    def statement(self) -> str:
        good = [item for item in self.designs if item.decisive >= self.power]
        aim = f"that an index of {self.true_index:g} lies above {self.required:g}"
        if not good:
            best = max(self.designs, key=lambda item: item.decisive)
            return f"None of these designs shows {aim} in {self.power:.0%} of studies; {best} does in {best.decisive:.0%}."
        least = min(good, key=lambda item: (item.readings, item.lots))
        return f"The smallest of these designs that shows {aim} in {self.power:.0%} of studies is {least}."

    def _rows(self) -> Rows:
        return [
            {
                "lots": item.lots,
                "parts of each": item.parts,
                "readings": item.readings,
                "chance to show it, normal (%)": per_cent_of(item.chance),
            }
            | ({} if item.found is None else {"distribution found (%)": per_cent_of(item.found)})
            for item in self.designs
        ]


def lot_study_size(
    *,
    true_index: float = 2.0,
    required: float = 1.33,
    between: float = 0.3,
    designs: tuple[tuple[int, int], ...] = DESIGNS,
    decide_on: DecideOn = "lower bound",
    power: float = 0.8,
    confidence: float = 0.95,
    family: str = "auto",
    runs: int = STUDIES,
    seed: int | None = None,
) -> LotStudySize:
    """Find the probability that a study by lots shows an index, for several designs.

    Parameters
    ----------
    true_index : float
        Ppk over all lots, towards the one limit that decides.
    required : float
        What it must be shown to exceed.
    between : float
        Share of the variance that lies between lots, from 0 to below 1.
    designs : tuple of (int, int)
        Lots, parts of each; at least two of each.
    decide_on : {"lower bound", "estimate"}
        What the verdict decides on (``decide_capability_on`` in study.toml).
    power : float
        Probability of success that is asked for, between 0 and 1.
    confidence : float
        Of the one-sided lower bound, above 0.5 and below 1.
    family : {"auto", "normal"}
        ``"auto"``, the default of a characteristic: the verdict finds the distribution from the readings, which takes more
        of them. ``"normal"``: study.toml states it.
    runs : int
        Studies simulated for each design.
    seed : int, optional
        Of the simulation.

    Returns
    -------
    LotStudySize
        With the probability of each design.

    Raises
    ------
    CannotJudge
        The true index is not above what is required.
    ValueError
        An argument outside its range.

    See Also
    --------
    nested_sheet : A sheet for the design chosen.
    linestudy.capability.lot_capability : What lots leave open, from readings.

    Notes
    -----
    Simulated, not computed: the bound over lots has no closed chance. Where the distribution is found from the readings, each
    simulated bound is lowered by a draw of what that costs (:func:`linestudy.plan.found_shape.cost_over_lots`), and designs
    with fewer readings than the verdict asks for show nothing.

    References
    ----------
    Burdick & Graybill (1992), *Confidence Intervals on Variance Components*, ch. 3, for why lots and not parts decide.

    Examples
    --------
    >>> found = lot_study_size(designs=((3, 10), (15, 2)), runs=20, seed=1)
    >>> found.designs[0].chance <= found.designs[1].chance
    True
    """
    arguments.number("true_index", true_index)
    arguments.number("required", required)
    arguments.number("between", between, least=0, below=1)
    arguments.one_of("decide_on", decide_on, BASES)
    arguments.one_of("family", family, ("auto", "normal"))
    arguments.share("power", power)
    arguments.number("confidence", confidence, above=0.5, below=1)
    arguments.whole("runs", runs, least=1)
    if true_index <= required:
        raise CannotJudge("No study shows an index above a value that it does not exceed.")
    rng = generator(seed, "lot study size")
    found = []
    for lots, parts in designs:
        for name, levels, least in (("lots", lots, 2), ("parts", parts, 2)):
            arguments.whole(f"{name} of a design", levels, least=least)
        arguments.whole("readings of a design", lots * parts, least=10)
        reached = np.array([
            _reached(rng, lots, parts, true_index, between, decide_on, confidence) for _ in range(runs)
        ])  # fmt: skip
        lowered = None
        if decide_on == "lower bound" and family == "auto":
            cost = true_index * cost_over_lots(rng, runs, lots, parts, between)
            lowered = float(np.mean(reached - cost > required)) if lots * parts >= LEAST else 0.0
        found.append(LotDesign(lots, parts, float(np.mean(reached > required)), lowered))
    error = math.sqrt(0.25 / runs)
    return LotStudySize(
        true_index,
        required,
        between,
        power,
        confidence,
        decide_on,
        tuple(found),
        (
            f"Chances are drawn {runs:,} times and known to about {2 * error:.0%}.",
            "Lots must be taken apart from each other: neighbours of one delivery differ less.",
            *_of_the_verdict(family, decide_on),
        ),
    )


def _of_the_verdict(family: str, decide_on: DecideOn) -> tuple[str, ...]:
    """Say what the verdict asks for beside the bound, and which of the chances holds when."""
    if decide_on == "estimate":
        return ()
    if family == "normal":
        return ('The chances "normal" hold where study.toml states family = "normal".',)
    return (
        f"The verdict finds the distribution from the readings and asks for at least {LEAST} of them (least_readings); where study.toml states "
        'family = "normal" the chances "normal" hold. What finding it costs was measured on simulated studies of normal processes.',
    )


def _reached(
    rng: np.random.Generator,
    lots: int,
    parts: int,
    true_index: float,
    between: float,
    decide_on: DecideOn,
    confidence: float,
) -> float:
    """Simulate one study, and give what is decided on: the bound, or the estimate."""
    from linestudy.capability import process_capability

    means = rng.normal(0, math.sqrt(between), (lots, 1))
    values = means + rng.normal(0, math.sqrt(1 - between), (lots, parts))
    names = np.repeat(np.arange(lots), parts)
    study = process_capability(
        values.ravel(), lower=-3 * true_index, lots=(names,), confidence=confidence
    )
    found = study.Ppk.estimate if decide_on == "estimate" else study.lower_bounds["Ppk"]  # type: ignore[union-attr]
    return float(found)  # type: ignore[arg-type]
