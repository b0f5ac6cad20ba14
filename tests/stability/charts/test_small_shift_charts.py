"""EWMA and CUSUM charts."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.results import CannotJudge
from linestudy.stability import (
    cusum_chart,
    ewma_chart,
)


@pytest.mark.parametrize("chart", ["EWMA", "CUSUM"])
def test_charts_for_small_shifts(chart: str) -> None:
    rng = np.random.default_rng(8)
    y = 10 + 2 * rng.normal(size=60)
    y[30:] += 3
    make = {"EWMA": ewma_chart, "CUSUM": cusum_chart}[chart]
    study = make(y, 10.0, 2.0)
    assert any(30 < s.point <= 45 and s.side == "above" for s in study.signals)
    assert study.expected_false_signals == pytest.approx(60 / 370.4, rel=1e-3)
    # Another unit, the same signals.
    other = make(25.4 * y + 100, 354.0, 50.8)
    assert [s.point for s in other.signals] == [s.point for s in study.signals]
    assert study.figure().alt_text == study.alt_text
    assert not study.shown().empty


def test_refusals_of_charts() -> None:
    with pytest.raises(ValueError, match="standard_error"):
        ewma_chart([1.0, 2.0], 0.0, 0.0)
    with pytest.raises(ValueError, match="points has 2 entries and standard_error 3"):
        cusum_chart([1.0, 2.0], 0.0, [1.0, 1.0, 1.0])
    with pytest.raises(CannotJudge, match="1 of 2 points is missing"):
        ewma_chart([1.0, float("nan")], 0.0, 1.0)


def test_the_old_name_still_takes_its_arguments() -> None:
    import linestudy.stability as room

    y = np.random.default_rng(1).normal(size=40)
    with pytest.warns(DeprecationWarning, match="sequential"):
        old = room.sequential
    assert old(y, 0.0, 1.0, "CUSUM") == cusum_chart(y, 0.0, 1.0)
    assert old(y, 0.0, 1.0) == ewma_chart(y, 0.0, 1.0)
