"""Which gauge study shows that a gauge is good enough.

Model: a crossed study as it will be analysed: random parts, appraisers and interaction, normal and
independent. Its mean squares are drawn from their chi-square distributions, the one-sided upper bound
of the gauge's spread is taken by modified large samples (Burdick, Borror & Montgomery, 2005, ch. 3), and
the share of drawn studies whose bound stays below what is allowed is the chance to show it. Misleads
where the appraisers who will measure are not a sample of those who will use the gauge: with two or
three of them the spread between appraisers is hardly known, and no number of parts mends that.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.core import CannotJudge, Finding, generator
from linestudy.gauges.grr.intervals import mls_intervals
from linestudy.gauges.grr.mean_squares import MeanSquares, balanced

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure

#: Designs that are compared unless others are asked for: (parts, appraisers, trials).
DESIGNS = (
    (5, 2, 2),
    (5, 3, 3),
    (10, 2, 3),
    (10, 3, 2),
    (10, 3, 3),
    (10, 6, 2),
    (20, 3, 2),
    (30, 3, 2),
)
STUDIES = 1_000


@dataclass(frozen=True)
class GaugeStudySize(Finding):
    """What designs of a crossed gauge study can show.

    Attributes
    ----------
    share, allowed : float
        True share of the tolerance that the gauge takes up, and what it must be shown to be below.
    confidence : float
        Of the one-sided upper bound.
    designs : tuple of dict
        ``parts, appraisers, trials, readings, chance, bound`` (the median upper bound of the share).
    wished : float
        Chance that is wished.
    """

    share: float
    allowed: float
    confidence: float
    designs: tuple[dict[str, Any], ...]
    wished: float
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Size of a gauge study"

    @property
    def statement(self) -> str:
        good = [item for item in self.designs if item["chance"] >= self.wished]
        aim = f"that a gauge that takes up {self.share:.0%} of the tolerance takes less than {self.allowed:.0%}"
        if not good:
            best = max(self.designs, key=lambda item: item["chance"])
            return (
                f"None of these designs shows {aim} in {self.wished:.0%} of studies; "
                f"{_name(best)} does in {best['chance']:.0%}."
            )
        least = min(good, key=lambda item: item["readings"])
        return (
            f"The smallest of these designs that shows {aim}, at {self.confidence:.0%} confidence in "
            f"{self.wished:.0%} of studies, is {_name(least)}."
        )

    def table(self) -> pd.DataFrame:
        import pandas as pd

        return pd.DataFrame(
            {
                "parts": [item["parts"] for item in self.designs],
                "appraisers": [item["appraisers"] for item in self.designs],
                "trials": [item["trials"] for item in self.designs],
                "readings": [item["readings"] for item in self.designs],
                "chance to show it": [f"{item['chance']:.0%}" for item in self.designs],
                "upper bound, half of studies below": [
                    f"{item['bound']:.0%}" for item in self.designs
                ],
            }
        )

    def figure(self) -> Figure:
        from linestudy.figures.plan import chance_of_designs

        figure = chance_of_designs(self)
        figure.alt_text = self.alt_text
        return figure


def _name(item: dict[str, Any]) -> str:
    return f"{item['parts']} parts, {item['appraisers']} appraisers, {item['trials']} trials"


def gauge_study_size(
    share: float = 0.10,
    allowed: float = 0.30,
    reproducibility: float = 0.3,
    designs: tuple[tuple[int, int, int], ...] = DESIGNS,
    wished: float = 0.8,
    confidence: float = 0.95,
    studies: int = STUDIES,
    seed: int | None = None,
) -> GaugeStudySize:
    """Chance that a crossed study shows a gauge to be good enough, for several designs.

    Parameters
    ----------
    share : float
        True gauge spread as a share of the tolerance.
    allowed : float
        What it must be shown to be below.
    reproducibility : float
        Part of the gauge's variance that lies between appraisers, 0 to below 1.
    designs : tuple of (int, int, int)
        Parts, appraisers, trials; at least two of each.
    wished : float
        Chance that is wished.
    confidence : float
        Of the one-sided upper bound.
    studies : int
        Drawn for each design.
    seed : int, optional

    Returns
    -------
    GaugeStudySize

    Raises
    ------
    CannotJudge
        A gauge that is no better than what is allowed, or a design with fewer than two of anything.

    Notes
    -----
    Burdick, Borror & Montgomery (2005), ch. 3.

    Examples
    --------
    >>> found = gauge_study_size(0.1, 0.3, studies=200, seed=1)
    >>> found.designs[0]["chance"] < found.designs[5]["chance"]
    True
    """
    if not 0 < share < allowed:
        raise CannotJudge("No study shows a gauge to be better than it is.")
    if not 0 <= reproducibility < 1:
        raise CannotJudge("The part of the variance between appraisers lies from 0 to below 1.")
    rng = generator(seed, "gauge study size")
    rows = []
    for parts, appraisers, trials in designs:
        if min(parts, appraisers, trials) < 2:
            raise CannotJudge("A design needs two parts, two appraisers and two trials at least.")
        bounds = _upper_bounds(
            (parts, appraisers, trials), share, reproducibility, confidence, studies, rng
        )
        rows.append(
            {
                "parts": parts,
                "appraisers": appraisers,
                "trials": trials,
                "readings": parts * appraisers * trials,
                "chance": float((bounds < allowed).mean()),
                "bound": float(np.median(bounds)),
            }
        )
    error = math.sqrt(0.25 / studies)
    return GaugeStudySize(
        share=share,
        allowed=allowed,
        confidence=confidence,
        designs=tuple(rows),
        wished=wished,
        cautions=(
            f"Chances are drawn {studies:,} times and known to about {2 * error:.0%}.",
            "Appraisers must be a sample of those who will use the gauge.",
        ),
    )


def _upper_bounds(
    design: tuple[int, int, int],
    share: float,
    reproducibility: float,
    confidence: float,
    studies: int,
    rng: np.random.Generator,
) -> Any:
    """Upper bound of the gauge's share of tolerance in each drawn study."""
    plan = balanced(np.zeros((1, *design)), ("part", "appraiser"))[0]
    gauge = share**2
    # Parts spread as the tolerance allows; the bound of the gauge does not lean on it.
    variance = {
        "part": 1.0,
        "appraiser": reproducibility * gauge,
        "part:appraiser": 0.0,
        "repeatability": (1 - reproducibility) * gauge,
    }
    true = plan.expected @ np.array([variance[source] for source in plan.sources])
    weights = plan.weights[[i for i, s in enumerate(plan.sources) if s != "part"]].sum(axis=0)
    drawn = true * rng.chisquare(plan.df, (studies, plan.df.size))
    tops = [
        mls_intervals(
            MeanSquares(plan.sources, row, plan.df, plan.expected),
            weights[None],
            2 * confidence - 1,
        )[1, 0]
        for row in drawn
    ]
    return np.sqrt(np.maximum(tops, 0.0))
