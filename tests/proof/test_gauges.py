"""Coverage of the intervals of a crossed study, over designs and over shares of the gauge.

Nominal 95 %; the interaction is pooled by its test, as the method does by default. Both kinds of
interval are known to be conservative at places (Burdick, Borror & Montgomery 2005, ch. 3), so only
coverage below 93.5 % is a fault, beyond three Monte Carlo errors.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

pytestmark = pytest.mark.proof

#: Standard deviations of appraiser and part, with that of repeatability 1.
SCENARIOS = {
    "appraisers differ, gauge small": (1.0, 6.0),
    "appraisers alike, gauge small": (0.2, 6.0),
    "appraisers differ, gauge large": (1.0, 0.7),
    "appraisers alike, gauge large": (0.2, 0.7),
}


def one_study(
    rng: np.random.Generator,
    parts: int,
    people: int,
    trials: int,
    appraiser: float,
    part: float,
    how: str,
) -> dict[str, bool]:
    import pandas as pd

    from linestudy.gauges import crossed

    sizes, shifts = part * rng.standard_normal(parts), appraiser * rng.standard_normal(people)
    cells = (
        sizes[:, None, None] + shifts[None, :, None] + rng.standard_normal((parts, people, trials))
    )
    index = np.indices(cells.shape).reshape(3, -1)
    data = pd.DataFrame({"part": index[0], "appraiser": index[1], "value": cells.ravel()})
    study = crossed(data, trial=None, method=how, draws=2000, seed=int(rng.integers(2**31)))
    gauge, total = 1 + appraiser**2, 1 + appraiser**2 + part**2
    return {
        "repeatability": 1.0 in study.components["repeatability"].variance,
        "gauge": gauge in study.components["grr"].variance,
        "part": part**2 in study.components["part"].variance,
        "share of total spread": bool(
            study.components["grr"].share_of_sd.low
            <= np.sqrt(gauge / total)
            <= study.components["grr"].share_of_sd.high
        ),
    }


@pytest.mark.parametrize("scenario", list(SCENARIOS))
@pytest.mark.parametrize(("parts", "people", "trials"), [(10, 3, 3), (5, 2, 2), (20, 6, 2)])
@pytest.mark.parametrize("method", ["pivotal", "mls"])
def test_crossed_intervals(
    measure: Callable[..., dict], scenario: str, parts: int, people: int, trials: int, method: str
) -> None:
    appraiser, part = SCENARIOS[scenario]
    found = measure(
        "gauges",
        f"crossed, {method}",
        f"{parts} x {people} x {trials}, {scenario}",
        one_study,
        runs=300,
        note="may be conservative",
        parts=parts,
        people=people,
        trials=trials,
        appraiser=appraiser,
        part=part,
        how=method,
    )
    for claim, row in found.items():
        assert row.within(0.935, 1.0), (claim, row)
