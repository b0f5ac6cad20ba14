"""Coverage of what two measuring systems differ by, and of the bounds of a destructive test."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest

pytestmark = pytest.mark.proof


def two_systems(
    rng: np.random.Generator, parts: int, people: int, part_sd: float, tails: bool
) -> dict[str, bool]:
    """Two systems on the same parts, the second repeating half as well; `part_sd` is part by system."""
    from linestudy.gauges import system_comparison
    from linestudy.results import Interval

    at = np.indices((2, parts, people, 2)).reshape(4, -1)
    size, own = rng.normal(size=parts), part_sd * rng.normal(size=(2, parts))
    error = (
        rng.standard_t(5, at.shape[1]) / (5 / 3) ** 0.5 if tails else rng.normal(size=at.shape[1])
    )
    value = size[at[1]] + own[at[0], at[1]] + np.array([0.1, 0.2])[at[0]] * error
    table = pd.DataFrame({"part": at[1], "appraiser": at[2].astype(str), "system": at[0]})
    pair = system_comparison(table.assign(value=value), tolerance=6.0, seed=1).pairs[0]
    assert isinstance(pair.bias, Interval)
    assert isinstance(pair.repeatability_ratio, Interval)
    return {
        "bias": pair.bias.low <= 0 <= pair.bias.high,
        "ratio of EV": pair.repeatability_ratio.low <= 2 <= pair.repeatability_ratio.high,
    }


@pytest.mark.parametrize(
    ("parts", "people", "part_sd", "tails"),
    [(10, 3, 0.0, False), (10, 3, 0.1, True)],
)
def test_two_systems(
    measure: Callable[..., dict], parts: int, people: int, part_sd: float, tails: bool
) -> None:
    shape = "Student's t with 5 df" if tails else "normal"
    found = measure(
        "gauges",
        "two systems on the same parts",
        f"{parts} parts, {people} appraisers, part by system {part_sd:g}, errors {shape}",
        two_systems,
        runs=1000,
        parts=parts,
        people=people,
        part_sd=part_sd,
        tails=tails,
        note="the mean difference holds appraisers as random: wider than 95 % where they do not differ",
    )
    for claim, row in found.items():
        assert row.within(0.925, 1.0), (claim, row)


def destroyed(rng: np.random.Generator, nested: bool, testers: int) -> dict[str, bool]:
    """Six batches (of each tester, where nested), three specimens each; tester 1, test 1, specimen 2, batch 3."""
    from linestudy.gauges import destructive_grr

    at = np.indices((testers, 6, 3)).reshape(3, -1)
    batch = at[0] * 6 + at[1] if nested else at[1]
    value = rng.normal(size=testers)[at[0]] + 3 * rng.normal(size=batch.max() + 1)[batch]
    value += 5**0.5 * rng.normal(size=value.size)
    table = pd.DataFrame({"batch": batch, "appraiser": at[0], "value": value})
    found = destructive_grr(table, nested=nested)
    return {
        "upper bound of GRR": found.grr_most >= 2**0.5,
        "upper bound of GRR and specimens": found.grr_most >= 6**0.5,
        "lower bound of GRR": found.grr_least <= 1.0,
    }


@pytest.mark.parametrize("nested", [False, True])
def test_destroyed(measure: Callable[..., dict], nested: bool) -> None:
    found = measure(
        "gauges",
        "destructive test, one-sided bounds",
        f"{'nested' if nested else 'crossed'}, 4 testers, 6 batches, 3 specimens",
        destroyed,
        runs=1000,
        nested=nested,
        testers=4,
        note="the upper bound holds the spread of specimens; GRR alone lies far below",
    )
    for claim, row in found.items():
        assert row.within(0.935, 1.0), (claim, row)
