"""Coverage of rates and kappa of judgements: parts as clusters, rare defects, appraisers who hardly err.

An appraiser's chance of erring differs from part to part (beta distributed, `alike` is the correlation of two
judgements of one part); the truth is the mean rate at the part mix of the study, and the kappa that
follows from it. Nominal 95 %; more is allowed, because few parts cannot tell how alike judgements are.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

pytestmark = pytest.mark.proof


def chances(rng: np.random.Generator, rate: float, alike: float, parts: int) -> np.ndarray:
    """Chance of erring on each part."""
    if alike == 0:
        return np.full(parts, rate)
    if alike == 1:
        return (rng.random(parts) < rate).astype(float)
    total = 1 / alike - 1
    return rng.beta(rate * total, (1 - rate) * total, parts)


def judged(
    rng: np.random.Generator,
    parts: int,
    bad: int,
    trials: int,
    miss: float,
    alarm: float,
    alike: float,
) -> dict[str, bool]:
    import pandas as pd

    from linestudy.gauges import judgement_agreement
    from linestudy.results import Interval

    good = np.arange(parts) >= bad
    rows = []
    for who in "AB":
        wrong = np.where(good, chances(rng, alarm, alike, parts), chances(rng, miss, alike, parts))
        for _ in range(trials):
            err = rng.random(parts) < wrong
            rows.append(
                pd.DataFrame(
                    {
                        "part": np.arange(parts),
                        "appraiser": who,
                        "judgement": good ^ err,
                        "reference": good,
                    }
                )
            )
    study = judgement_agreement(pd.concat(rows, ignore_index=True))
    b, g = bad / parts, 1 - bad / parts
    kappa = 2 * b * g * (1 - miss - alarm) / (g - (g - b) * (b * miss + g * (1 - alarm)))
    # Two who err independently of one another.
    accept = b * miss + g * (1 - alarm)
    apart = b * 2 * miss * (1 - miss) + g * 2 * alarm * (1 - alarm)
    between = 1 - apart / (2 * accept * (1 - accept))
    known = {
        "miss rate": (study.miss["A"], miss),
        "false alarm rate": (study.false_alarm["A"], alarm),
        "kappa with the reference": (study.kappa_with_reference["A"], kappa),
        "kappa between people": (study.kappa_between, between),
    }
    held = {}
    for name, (found, truth) in known.items():
        held[name] = isinstance(found, Interval) and found.low <= truth <= found.high
    held["width"] = all(
        isinstance(found, Interval) and found.high > found.low for found, _ in known.values()
    )
    return held


@pytest.mark.parametrize("alike", [0.0, 0.5, 0.8])
@pytest.mark.parametrize(
    ("parts", "bad", "trials", "miss", "alarm"),
    [
        (50, 15, 3, 0.02, 0.02),
        (50, 15, 3, 0.10, 0.05),
        (50, 3, 3, 0.05, 0.02),
        (30, 10, 2, 0.01, 0.01),
    ],
)
def test_judgements(
    measure: Callable[..., dict],
    parts: int,
    bad: int,
    trials: int,
    miss: float,
    alarm: float,
    alike: float,
) -> None:
    found = measure(
        "gauges",
        "judgements by part",
        f"{parts} parts, {bad} bad, {trials} trials, {miss:g} missed, {alarm:g} false alarms, alike {alike:g}",
        judged,
        runs=1000,
        parts=parts,
        bad=bad,
        trials=trials,
        miss=miss,
        alarm=alarm,
        alike=alike,
        note="few parts cannot tell how alike their judgements are: wider than 95 % where few err",
    )
    assert found.pop("width").rate == 1.0
    for claim, row in found.items():
        assert row.within(0.935, 1.0), (claim, row)
