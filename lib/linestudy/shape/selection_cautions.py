"""Sentences about the choice of a distribution that a reader must know."""

from __future__ import annotations

from typing import Any

import numpy as np

from linestudy.results import Absent, show_ppm
from linestudy.shape.fitting import FittedDistribution
from linestudy.shape.normality import NormalityTest

#: Differences of the outer quantiles, relative to the half spread, that are no longer small (common practice, no source).
TAIL = 0.10
#: Families whose ends a few hundred values hardly know (the proof measures it).
FOUR_PARAMETERS = ("Johnson S_U", "Johnson S_B")


def expected_ppm(
    item: FittedDistribution, lower: float | None, upper: float | None
) -> float | Absent:
    if lower is None and upper is None:
        return Absent("no limits were given")
    share = 0.0 if lower is None else float(item.cdf(lower))
    return 1e6 * (share + (0.0 if upper is None else float(item.sf(upper))))


def size_of_departure(
    fits: dict[str, FittedDistribution],
    measured: dict[str, tuple[float, float, float]],
    chosen: str,
    tests: tuple[NormalityTest, ...],
    lower: float | None,
    upper: float | None,
) -> list[str]:
    """How far from normal the values are, where a test says that they are not normal."""
    rejected = [test.test for test in tests if test.p < 0.05]
    if not rejected or "normal" not in fits:
        return []
    distance, tail, _ = measured["normal"]
    text = (
        f"Tests reject the normal distribution ({', '.join(rejected)}); it differs from the values by "
        f"{distance:.1%} in any share of parts and by {tail:.0%} of the half spread in the outer quantiles"
    )
    own, normal = (
        expected_ppm(fits[chosen], lower, upper),
        expected_ppm(fits["normal"], lower, upper),
    )
    if chosen != "normal" and not isinstance(own, Absent) and not isinstance(normal, Absent):
        text += f"; it would expect {show_ppm(normal)} ppm outside the limits, the chosen one {show_ppm(own)}"
    return [text + "."]


def doubt_between_families(
    plausible: list[FittedDistribution], lower: float | None, upper: float | None
) -> list[str]:
    if len(plausible) < 2:
        return []
    names = ", ".join(item.family for item in plausible[1:])
    text = f"The values do not tell the chosen distribution from: {names}"
    rates = [
        v for item in plausible if not isinstance(v := expected_ppm(item, lower, upper), Absent)
    ]
    if rates:
        text += f"; outside the limits they expect from {show_ppm(min(rates))} to {show_ppm(max(rates))} ppm"
    return [text + "."]


def few_values_for_four(chosen: str, known: float) -> list[str]:
    """Say so where a family of four parameters rests on few values."""
    if chosen not in FOUR_PARAMETERS or known >= 500:
        return []
    return [
        f"A {chosen} distribution has four parameters, and {known:,.0f} values know its ends poorly: in "
        "simulated studies intervals of its outer quantiles held the truth in 83 to 96 % where 95 % is claimed."
    ]


def of_values(
    y: Any, x: Any, tested: Any, measured: tuple[float, float, float], best: FittedDistribution
) -> list[str]:
    notes = []
    if y.size < 100:
        notes.append(
            f"{y.size} values say little about the outer quantiles, which are extrapolated by the family."
        )
    if y.size > tested.size:
        notes.append(f"Tests were made on {tested.size} values spread evenly over the {y.size:,}.")
    if measured[1] > TAIL and y.size >= 1500:
        notes.append(
            f"The outer quantiles of the chosen distribution differ from those of the values by "
            f"{measured[1]:.0%} of the half spread."
        )
    middle, spread = np.median(y), np.subtract(*np.quantile(y, [0.75, 0.25]))
    far = float(np.abs(y - middle).max())
    if spread > 0 and far > 15 * spread:
        notes.append(
            "One value lies very far from the others; look at it before believing any index."
        )
    if x.size < 8:
        notes.append(
            f"The readings take {x.size} different values only; the resolution is too coarse."
        )
    return notes
