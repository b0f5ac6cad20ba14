"""Faults of the run: what each does to the readings of one characteristic.

Every effect is at least as large as its docstring states, so that a careful reader can see it in the data alone.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from linestudy.simulate.practice.kinds import (
    APPROVAL,
    BOTH,
    FAILS,
    UNKNOWN,
    Rng,
    between,
    kind,
    sign,
)
from linestudy.simulate.practice.line import COILS, LANES, PARTS, Feature
from linestudy.simulate.practice.line import PracticeLine as Line


def _within(line: Line, item: Feature, values: Any) -> None:
    """Keep readings inside the limits, so that the fault is not simply parts outside."""
    half = 6.9 * item.sd
    line.run[item.id] = np.clip(values, item.level - half, item.level + half)


@kind(
    "the run holds only what the sorter let pass", "rejected parts in the bins that the run lacks, in per cent of all parts made",
    "before_sorting", UNKNOWN, about=BOTH, slots=("run", "bins"), where="",
)  # fmt: skip
def sorted_parts(line: Line, item: Feature, rng: Rng) -> tuple[str, float]:
    """Plant an index of 0.55 to 0.7 whose parts outside the limits have been dropped from the run."""
    spread = item.tolerance / 6 / between(rng, 0.55, 0.70)
    made = item.level + spread * rng.standard_normal(len(line.run))
    line.made_anew(item.id, made)
    kept = (made >= (item.lower or 0.0)) & (made <= item.upper)
    line.missed += int((~kept).sum())
    line.run = line.run[kept].reset_index(drop=True)
    return "", 100 * line.missed / made.size


@kind(
    "one coil lies apart",
    "its distance from the others, in mm",
    "cause",
    APPROVAL,
    about=BOTH,
    where="coil",
)
def coil_apart(line: Line, item: Feature, rng: Rng) -> tuple[str, float]:
    """Plant a coil 2.1 to 2.4 standard deviations from the others; the first or the last would be a jump as well.

    The index of all parts together stays above 1.7.
    """
    coil = f"C{rng.integers(2, COILS)}"
    shift = item.sd * between(rng, 2.1, 2.4) * sign(rng)
    _within(line, item, line.values(item.id) + shift * (line.run["coil"] == coil))
    return coil, shift


@kind("the tool wears", "change of the mean in mm per 1,000 strokes", "cause", APPROVAL, about=BOTH)
def tool_wear(line: Line, item: Feature, rng: Rng) -> tuple[str, float]:
    """Plant a trend of 2.8 to 3.4 standard deviations over the run; the index of all parts together stays above 1.7."""
    slope = item.sd * between(rng, 2.8, 3.4) * sign(rng) / PARTS
    _within(line, item, line.values(item.id) + slope * (line.run["stroke"] - PARTS / 2))
    return "", 1000 * slope


@kind(
    "the level jumps once and stays",
    "the jump in mm",
    "cause",
    APPROVAL,
    about=BOTH,
    where="stroke",
)
def jump(line: Line, item: Feature, rng: Rng) -> tuple[str, float]:
    """Plant a jump of 1.7 to 2 standard deviations in the middle third; the index of all parts together stays above 1.7."""
    at = int(between(rng, 0.36, 0.64) * PARTS)
    size = item.sd * between(rng, 1.7, 2.0) * sign(rng)
    _within(line, item, line.values(item.id) + size * ((line.run["stroke"] > at) - 0.5))
    return str(at), size


@kind(
    "for a while the spread is larger", "ratio of the two standard deviations", "cause", APPROVAL,
    about=BOTH, where="stroke", tolerance=0.3,
)  # fmt: skip
def restless(line: Line, item: Feature, rng: Rng) -> tuple[str, float]:
    """Plant a stretch of 320 strokes with 2 to 2.4 times the spread; its middle says where."""
    begin = int(between(rng, 0.15, 0.70) * PARTS)
    ratio = between(rng, 2.0, 2.4)
    inside = line.run["stroke"].between(begin, begin + 320)
    values = line.values(item.id) - item.level
    _within(line, item, item.level + values * np.where(inside, ratio, 1.0))
    return str(begin + 160), ratio


@kind(
    "neighbours are alike, so the effective sample size is small", "correlation of neighbouring parts",
    "cause parts", APPROVAL, about=BOTH, tolerance=0.1,
)  # fmt: skip
def alike(line: Line, item: Feature, rng: Rng) -> tuple[str, float]:
    """Plant a correlation of 0.85 to 0.95 between neighbours."""
    rho = between(rng, 0.85, 0.95)
    line.made_anew(item.id, item.level + item.sd * _walk(rho, len(line.run), rng))
    return "", rho


def _walk(rho: float, n: int, rng: Rng) -> Any:
    from scipy.signal import lfilter

    unit = rng.standard_normal(n)
    unit[1:] *= np.sqrt(1 - rho**2)
    return lfilter([1.0], [1.0, -rho], unit)


@kind(
    "the setting is corrected after every part", "correlation of neighbouring parts", "cause", APPROVAL,
    about=BOTH, tolerance=0.2,
)  # fmt: skip
def over_adjusted(line: Line, item: Feature, rng: Rng) -> tuple[str, float]:
    """Plant a full correction of each part's error in the next: neighbours correlate by minus one half."""
    noise = rng.standard_normal(len(line.run) + 1)
    line.made_anew(item.id, item.level + item.sd * np.diff(noise))
    return "", -0.5


@kind(
    "one lane scatters more",
    "ratio of the two lanes' standard deviations",
    "cause",
    FAILS,
    about=BOTH,
    where="lane",
)
def bad_lane(line: Line, item: Feature, rng: Rng) -> tuple[str, float]:
    """Plant a lane with 2.1 to 2.4 times the spread, an index below 1.2, while all parts together have 1.36 or more."""
    lane = str(rng.choice(LANES))
    ratio = between(rng, 2.1, 2.4)
    values = line.values(item.id) - item.level
    scaled = item.level + values * np.where(line.run["lane"] == lane, ratio, 1.0)
    _within(line, item, scaled)
    return lane, ratio


@kind(
    "it is skewed, and the index takes it as normal",
    "skewness",
    "distribution",
    FAILS,
    about=("burr",),
    tolerance=0.3,
)
def skewed(line: Line, item: Feature, rng: Rng) -> tuple[str, float]:
    """Plant a gamma distribution of shape 1.2: 1.8 as normal, below 1.0 by its own quantiles."""
    shape = 1.2
    scale = item.upper / (shape + 5.4 * np.sqrt(shape))
    line.made_anew(item.id, rng.gamma(shape, scale, len(line.run)))
    return "", 2 / np.sqrt(shape)


@kind(
    "a stretch is excluded that holds bad parts", "readings outside the limits in that stretch",
    "nothing_left_out", FAILS, about=BOTH, where="stroke",
)  # fmt: skip
def excluded(line: Line, item: Feature, rng: Rng) -> tuple[str, float]:
    """Plant 70 to 110 parts outside the limits, in the stretch that is set aside as "setting"."""
    first, last = line.aside[item.id]
    inside = line.run["stroke"].between(first, last).to_numpy()
    shift = 10.5 * item.sd * sign(rng) * inside
    values = line.values(item.id) + shift
    line.run[item.id] = values
    return str(first), float((inside & ~np.isnan(values)).sum())


@kind(
    "readings outside the limits are called implausible", "readings that this leaves out", "nothing_left_out", FAILS,
    about=BOTH,
)  # fmt: skip
def implausible(line: Line, item: Feature, rng: Rng) -> tuple[str, float]:
    """Plant 50 to 90 parts outside the limits, and a plausible range just inside them."""
    count = int(between(rng, 50, 90))
    values = line.values(item.id)
    at = rng.choice(np.flatnonzero(~np.isnan(values)), count, replace=False)
    values[at] = item.level + item.sd * rng.choice([-1.0, 1.0], count) * (8 + 2 * rng.random(count))
    line.run[item.id] = values
    half = 7.2 * item.sd
    line.plausible[item.id] = (item.level - half, item.level + half)
    return "", float(count)


@kind(
    "the limits are wider than on the drawing", "upper limit of the drawing in mm", "drawing", FAILS,
    about=BOTH, tolerance=0.001,
)  # fmt: skip
def wide_limits(line: Line, item: Feature, rng: Rng) -> tuple[str, float]:
    """Plant a drawing whose limits give an index of 0.9 to 1.1."""
    half = round(3 * item.sd * between(rng, 0.9, 1.1), 3)
    limits = (round(item.level - half, 3), round(item.level + half, 3))
    line.drawing[item.id] = limits
    return "", limits[1]


@kind(
    "a stretch of readings stands there twice", "readings in the copy", "as_written", UNKNOWN, where="stroke",
    tolerance=0.1,
)  # fmt: skip
def copied_readings(line: Line, item: Feature, rng: Rng) -> tuple[str, float]:
    """Plant a copy of 150 to 300 readings; its first stroke says where."""
    length = int(between(rng, 150, 300))
    source = int(between(rng, 0.02, 0.30) * PARTS)
    target = int(between(rng, 0.50, 0.80) * PARTS)
    values = line.values(item.id)
    values[target : target + length] = values[source : source + length]
    line.run[item.id] = values
    return str(int(line.run["stroke"].iloc[target])), float(length)


@kind(
    "readings are missing where parts are large",
    "readings missing, in per cent",
    "as_written gauge before_sorting",
    UNKNOWN,
)
def missing_large(line: Line, item: Feature, rng: Rng) -> tuple[str, float]:
    """Plant no-reads for 85 % of the parts beyond 1.2 standard deviations."""
    values = line.values(item.id)
    lost = (values > item.level + 1.2 * item.sd) & (rng.random(values.size) < 0.85)
    values[lost] = np.nan
    line.run[item.id] = values
    return "", 100 * float(np.isnan(values).mean())


@kind(
    "readings come in steps that are too coarse",
    "the step in mm",
    "gauge as_written",
    UNKNOWN,
    about=BOTH,
    tolerance=0.06,
)
def coarse(line: Line, item: Feature, rng: Rng) -> tuple[str, float]:
    """Plant a step of 13 to 16 % of the tolerance."""
    step = round(item.tolerance * between(rng, 0.13, 0.16), 3)
    line.run[item.id] = np.round(line.values(item.id) / step) * step
    return "", step
