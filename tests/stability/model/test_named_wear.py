"""Wear between named regrinds: SciPy's regression, what had worn before the run, streams with regrinds of their own."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linestudy.stability.model.named_wear import without_wear

ORDER = np.arange(3000.0)


def saw(slope: float, before: float = 0.0) -> np.ndarray:
    """Wear from each regrind at 1,000 and 2,000, of a tool that had made `before` parts at the start."""
    return slope * (ORDER % 1000 + np.where(ORDER < 1000, before, 0.0))


def test_wear_between_named_regrinds_is_taken_off() -> None:
    order = np.arange(3000.0)
    slope = 0.004
    y = slope * (order % 1000) + np.random.default_rng(6).normal(size=3000)
    rest, per_thousand = without_wear(y, order, (1000.0, 2000.0))
    assert per_thousand == pytest.approx(4.0, abs=0.3)
    assert np.std(rest) == pytest.approx(1.0, rel=0.05)
    assert without_wear(y, order, ())[1] is None


def test_without_noise_nothing_is_left() -> None:
    rest, per_thousand = without_wear(7.0 + saw(0.002, before=400.0), ORDER, (2000.0, 1000.0))
    assert per_thousand == pytest.approx(2.0)
    assert rest == pytest.approx(np.full(3000, 7.0))


@pytest.mark.checks("slope of wear since the last regrind", source="SciPy: linregress")
def test_the_slope_is_the_common_one_since_the_last_regrind() -> None:
    # A run that begins with the tool just ground, so that no stretch stands off.
    y = saw(0.0) + np.random.default_rng(1).normal(size=3000)
    _, found = without_wear(y, ORDER, (1000.0, 2000.0))
    theirs = stats.linregress(ORDER % 1000, y).slope
    assert found == pytest.approx(1000 * theirs)


def test_a_step_that_an_event_was_put_to_is_no_wear() -> None:
    # No wear; the first thousand parts lie two standard deviations high, and something is named there.
    y = np.random.default_rng(2).normal(size=3000) + np.where(ORDER < 1000, 2.0, 0.0)
    rest, _ = without_wear(y, ORDER, (1000.0, 2000.0))
    assert rest[:1000].mean() - rest[1000:].mean() > 1.0
    # Nor where wear is there, but would have had to last for more than ten lives before the run.
    worn = y + saw(0.002) + np.where(ORDER < 1000, 40.0, 0.0)
    rest, _ = without_wear(worn, ORDER, (1000.0, 2000.0))
    assert rest[:1000].mean() - rest[1000:].mean() > 20.0


def test_regrinds_outside_the_run_are_none() -> None:
    y = saw(0.002)
    for resets in ((), (-5.0,), (0.0,), (9000.0,)):
        rest, slope = without_wear(y, ORDER, resets)
        assert slope is None
        assert rest is y


def test_each_stream_is_taken_by_its_own_regrinds_and_the_steepest_is_told() -> None:
    stream = np.tile(["A", "B"], 1500)
    y = np.where(stream == "A", 0.001 * (ORDER % 1000), -0.004 * (ORDER % 1500))
    own = {"A": (1000.0, 2000.0), "B": (1500.0,)}
    rest, steepest = without_wear(y, ORDER, (), stream, own)
    assert steepest == pytest.approx(-4.0, rel=1e-6)
    for name in "AB":
        assert np.ptp(rest[stream == name]) == pytest.approx(0.0, abs=1e-9)


def test_a_stream_without_a_regrind_keeps_its_values() -> None:
    stream = np.tile(["A", "B"], 1500)
    y = np.where(stream == "A", 0.001 * (ORDER % 1000), 5.0)
    rest, slope = without_wear(y, ORDER, (), stream, {"A": (1000.0, 2000.0), "C": (500.0,)})
    assert slope == pytest.approx(1.0)
    assert (rest[stream == "B"] == 5.0).all()
    _, nothing = without_wear(y, ORDER, (), stream, {"B": ()})
    assert nothing is None
