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


#: Their long-run distribution needs more coils than a test draws.
SLOW = ("coil levels", "named", "AR(1), 0.98")


@pytest.mark.parametrize(
    "name", [name for name in truths() if not any(word in name for word in SLOW)]
)
def test_quantiles_are_those_of_the_process(name: str) -> None:
    truth = truths()[name]
    drawn = np.sort(truth.draw(np.random.default_rng(1), np.arange(200_000))[0])
    for share, value in zip((0.00135, 0.5, 0.99865), truth.quantiles, strict=True):
        # Share of the draws below the quantile, within four standard errors and a step of readings.
        below = np.searchsorted(drawn, value + 1e-9, "right") / drawn.size
        under = np.searchsorted(drawn, value - 1e-9, "left") / drawn.size
        if "steps" in name:
            below, under = below + 0.25, under - 0.25
        slack = 4 * np.sqrt(share * (1 - share) / drawn.size) * (4 if "AR" in name else 1)
        assert under - slack <= share <= below + slack


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


def test_a_limit_is_where_the_true_index_says() -> None:
    lower, upper = truths()["normal"].limits(1.5)
    assert upper == pytest.approx(4.5, rel=1e-4)
    assert lower == pytest.approx(-4.5, rel=1e-4)
    # Worst of two stations 4 apart, both sides as tight: 2 + 2 + 3 * 1.5.
    lower, upper = truths()["2 stations 4 SD apart, named"].limits(1.5)
    assert upper - lower == pytest.approx(2 * (2 + 4.5))
    assert truths()["half-normal, bound"].limits(1.5)[0] is None
