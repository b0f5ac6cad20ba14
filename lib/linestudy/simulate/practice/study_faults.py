"""Faults of gauge studies, of judgements and of the record as a whole.

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
from linestudy.simulate.practice.line import PARTS, PEOPLE, Feature, judgements
from linestudy.simulate.practice.line import PracticeLine as Line

# Crossed studies

_CROSSED = ("crossed",)


@kind(
    "one person reads apart",
    "distance from the others in mm",
    "people gauge",
    UNKNOWN,
    slots=_CROSSED,
    where="person",
)
def person_apart(line: Line, item: Feature, rng: Rng) -> tuple[str, float]:
    """Plant an offset of 9 to 13 % of the tolerance."""
    name = str(rng.choice(PEOPLE))
    offset = item.tolerance * between(rng, 0.09, 0.13) * sign(rng)
    table = line.crossed[item.id]
    table.loc[table["appraiser"] == name, "value"] += offset
    return name, offset


@kind(
    "the gauge repeats badly",
    "%GRR of the tolerance",
    "gauge",
    UNKNOWN,
    slots=_CROSSED,
    tolerance=0.35,
)
def noisy_gauge(line: Line, item: Feature, rng: Rng) -> tuple[str, float]:
    """Plant repeatability of 38 to 44 % of the tolerance, on parts chosen over all of it: ndc is 5 or more."""
    share = between(rng, 0.38, 0.44)
    table = line.crossed[item.id]
    low = item.lower or 0.0
    true = rng.permutation(
        np.linspace(low + 0.05 * item.tolerance, item.upper - 0.05 * item.tolerance, 10)
    )
    read = true[table["part"].to_numpy() - 1]
    read += item.tolerance * share / 6 * rng.standard_normal(len(table))
    # A burr cannot be read below nought.
    table["value"] = read if item.lower is not None else np.abs(read)
    return "", 100 * share


@kind(
    "one trial of the gauge study is a copy",
    "readings equal to the trial before",
    "as_written",
    UNKNOWN,
    slots=_CROSSED,
    tolerance=0.15,
)
def copied_trial(line: Line, item: Feature, rng: Rng) -> tuple[str, float]:
    """Plant a third trial that equals the second in all 30 readings."""
    del rng
    table = line.crossed[item.id]
    second = table.loc[table["trial"] == 2, "value"].to_numpy()
    table.loc[table["trial"] == 3, "value"] = second
    return "", float(second.size)


@kind(
    "the parts of the gauge study are all alike", "SD between the parts in mm", "parts", APPROVAL, slots=_CROSSED,
    tolerance=0.3,
)  # fmt: skip
def parts_alike(line: Line, item: Feature, rng: Rng) -> tuple[str, float]:
    """Plant parts whose spread is a sixth of the process: ndc is small though the gauge is good."""
    table = line.crossed[item.id]
    mean = table.groupby("part")["value"].transform("mean")
    true = rng.permutation(np.linspace(-1, 1, 10)) * 0.28 * item.sd
    table["value"] += item.level + true[table["part"].to_numpy() - 1] - mean
    return "", float(np.std(true, ddof=1))


# Masters


@kind("the gauge reads off", "bias in mm", "gauge", UNKNOWN, slots=("masters",))
def bias(line: Line, item: Feature, rng: Rng) -> tuple[str, float]:
    """Plant a bias of 10 to 15 % of the tolerance."""
    off = item.tolerance * between(rng, 0.10, 0.15) * sign(rng)
    line.masters[item.id]["value"] += off
    return "", off


@kind("the bias grows with size", "bias in mm per mm of size", "gauge", UNKNOWN, slots=("masters",))
def linearity(line: Line, item: Feature, rng: Rng) -> tuple[str, float]:
    """Plant a slope of 0.2 to 0.28: 10 % of the tolerance and more at the limits."""
    slope = between(rng, 0.20, 0.28) * sign(rng)
    table = line.masters[item.id]
    table["value"] += slope * (table["reference"] - table["reference"].mean())
    return "", slope


@kind(
    "the camera drifts, and the run with it", "drift in mm per 1,000 strokes", "gauge", UNKNOWN, about=BOTH,
    slots=("run", "drift"),
)  # fmt: skip
def camera_drift(line: Line, item: Feature, rng: Rng) -> tuple[str, float]:
    """Plant a drift of 2.5 to 3.5 standard deviations over the run, in the master and in the parts alike."""
    slope = item.sd * between(rng, 2.5, 3.5) * sign(rng) / PARTS
    line.run[item.id] = line.values(item.id) + slope * (line.run["stroke"] - PARTS / 2)
    table = line.drift[item.id]
    table["value"] += slope * (table["stroke"] - PARTS / 2)
    return "", 1000 * slope


# Judgements

_JUDGED: dict[str, Any] = {"slots": ("appearance",), "about": ("appearance",)}


@kind(
    "one person accepts bad parts",
    "that person's judgements of bad parts that accept, in per cent",
    "people",
    FAILS,
    where="person",
    tolerance=0.15,
    **_JUDGED,
)
def blind_inspector(line: Line, _: Any, rng: Rng) -> tuple[str, float]:
    """Plant 35 to 45 % of bad parts accepted, as chance has it; true is what the study shows."""
    name = str(rng.choice(PEOPLE))
    line.appearance = judgements(rng, 20, {name: between(rng, 0.35, 0.45)})
    judged = line.appearance
    bad = judged[(judged["appraiser"] == name) & (judged["reference"] == "nok")]
    return name, 100 * float((bad["judgement"] == "ok").mean())


@kind(
    "too few bad parts were shown",
    "bad parts among those shown",
    "parts",
    UNKNOWN,
    tolerance=0.01,
    **_JUDGED,
)
def few_bad_parts(line: Line, _: Any, rng: Rng) -> tuple[str, float]:
    """Plant one or two bad parts among forty."""
    count = int(rng.integers(1, 3))
    line.appearance = judgements(rng, count)
    return "", float(count)


# The record as a whole

_RECORD: dict[str, Any] = {"about": ("record",)}


@kind(
    "a block of rows was sent twice",
    "rows that were repeated",
    "as_written",
    UNKNOWN,
    slots=("record",),
    tolerance=0.05,
    **_RECORD,
)
def sent_twice(line: Line, _: Any, rng: Rng) -> tuple[str, float]:
    """Plant a block of 80 to 160 rows sent twice."""
    import pandas as pd

    length = int(between(rng, 80, 160))
    begin = int(between(rng, 0.1, 0.8) * len(line.run))
    block = line.run.iloc[begin : begin + length]
    line.run = pd.concat(
        [line.run.iloc[: begin + length], block, line.run.iloc[begin + length :]],
        ignore_index=True,
    )
    return "", float(len(block))


@kind(
    "the bins hold more rejects than the record",
    "rejects that the record lacks",
    "as_written before_sorting",
    UNKNOWN,
    slots=("bins",),
    tolerance=0.1,
    **_RECORD,
)
def bins_differ(line: Line, _: Any, rng: Rng) -> tuple[str, float]:
    """Plant 25 to 60 rejects in the bins that no row of the run shows."""
    more = int(between(rng, 25, 60))
    line.missed += more
    return "", float(more)


@kind(
    "rows were put into another order and numbered anew",
    "rows whose image number is lower than the one before, in per cent",
    "as_written",
    UNKNOWN,
    slots=("record", "order"),
    **_RECORD,
)
def reordered(line: Line, _: Any, rng: Rng) -> tuple[str, float]:
    """Plant rows sorted by a size within each coil, with strokes and clock numbered anew."""
    # Sorted by a size of few steps the rows of each step keep their order, and hardly anything moves.
    by = str(rng.choice([name for name in BOTH if line.run[name].nunique() > 100]))
    moved = line.run.sort_values(["coil", by], kind="stable", ignore_index=True)
    for column in ("stroke", "time"):
        moved[column] = np.sort(line.run[column].to_numpy())
    line.run = moved
    return "", 100 * float((np.diff(moved["image"]) < 0).mean())


@kind(
    "the calibration of the gauge had ended",
    "days before the run",
    "calibration gauge",
    UNKNOWN,
    slots=("due",),
    tolerance=0.05,
    **_RECORD,
)
def overdue(line: Line, _: Any, rng: Rng) -> tuple[str, float]:
    """Plant a calibration that ended 20 to 150 days before the run."""
    line.due_in = -int(between(rng, 20, 150))
    return "", float(-line.due_in)
