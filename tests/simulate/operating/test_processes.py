"""The processes of the proof have the quantiles they claim: their own draws lie beyond them as often as they must."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linestudy.simulate.operating.processes import truths
from linestudy.simulate.operating.truth import Truth
from linestudy.tails.candidate import QUANTILES

N = 200_000
#: Those whose draws carry no tags: independent values.
INDEPENDENT = [
    name
    for name, truth in truths().items()
    if truth.in_control and not truth.draw(np.random.default_rng(1), np.arange(20.0))[1]
]


def drawn(truth: Truth, n: int = N) -> np.ndarray:
    values, _ = truth.draw(np.random.default_rng(8), np.arange(float(n)))
    return np.asarray(values, dtype=float)


@pytest.mark.parametrize("name", INDEPENDENT)
def test_as_many_values_lie_below_each_quantile_as_it_says(name: str) -> None:
    truth = truths()[name]
    values = drawn(truth)
    for share, quantile in zip(QUANTILES, truth.quantiles, strict=True):
        if quantile == 0.0 and truth.bound == 0.0:
            continue
        # Readings in steps have a step of slack: what lies on the quantile counts for either side.
        step = float(name.split("steps of ")[1].split()[0]) / 2 if "in steps of" in name else 0.0
        low, high = (values < quantile - step).mean(), (values <= quantile + step).mean()
        # Five standard errors: over all processes one in a million is beyond.
        error = 5 * np.sqrt(share * (1 - share) / N)
        assert low - error <= share <= high + error, (name, share)


@pytest.mark.parametrize("name", [name for name in INDEPENDENT if truths()[name].bound is not None])
def test_only_a_gauge_error_brings_readings_below_a_bound(name: str) -> None:
    truth = truths()[name]
    below = (drawn(truth, 20_000) < truth.bound).any()
    assert not below or "gauge error" in name
    assert below or not name.startswith("half-normal, gauge error")


def test_the_index_of_a_process_is_that_of_its_quantiles() -> None:
    for name in INDEPENDENT:
        truth = truths()[name]
        lower, upper = truth.limits(1.67)
        low, middle, high = truth.quantiles
        sides = [(upper - middle) / (high - middle)]
        if lower is not None:
            sides.append((middle - lower) / (middle - low))
        assert min(sides) == pytest.approx(1.67), name


def test_there_are_tails_skewed_bounded_rounded_and_moving_ones() -> None:
    found = truths()
    assert len(found) == len({item.name for item in found.values()}) > 35
    for name in (
        "t, 3 df",
        "uniform",
        "1.0% outliers of 4 SD",
        "30 % zeros, else half-normal, bound",
    ):
        assert name in found
    assert found["t, 4 df"].quantiles[2] == pytest.approx(stats.t(4).ppf(QUANTILES[2]))
