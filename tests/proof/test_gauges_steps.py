"""Repeatability behind the step of the readings: coverage of its interval at steps of 1 and 2 standard deviations."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest

pytestmark = pytest.mark.proof

DESIGNS = [(10, 3, 3), (10, 3, 2), (10, 1, 3), (25, 1, 5)]


def one_study(
    rng: np.random.Generator, design: tuple[int, int, int], step: float
) -> dict[str, bool]:
    from linestudy.gauges import rounded_repeatability

    parts, people = design[:2]
    several = people > 1
    cells = (
        3 * rng.standard_normal((parts, 1, 1))
        + several * 0.5 * rng.standard_normal((1, people, 1))
        + several * 0.3 * rng.standard_normal((parts, people, 1))
        + rng.standard_normal(design)
    )
    part, who, _ = (at.ravel() for at in np.indices(design))
    data = pd.DataFrame(
        {"part": part, "appraiser": who, "value": (np.round(cells / step) * step).ravel()}
    )
    return {"repeatability before rounding": 1.0 in rounded_repeatability(data, step=step).sd}


@pytest.mark.parametrize("step", [1.0, 2.0])
@pytest.mark.parametrize("design", DESIGNS, ids=["x".join(map(str, d)) for d in DESIGNS])
def test_repeatability_behind_the_step(
    measure: Callable[..., dict], design: tuple[int, int, int], step: float
) -> None:
    found = measure(
        "gauges",
        "crossed, coarse steps",
        f"{' x '.join(map(str, design))}, step {step:g} SD",
        one_study,
        runs=1000,
        note="likelihood of rounded readings",
        design=design,
        step=step,
    )
    for claim, row in found.items():
        assert row.within(0.935, 0.965), (claim, row)
