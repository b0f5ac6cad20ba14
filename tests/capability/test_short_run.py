"""Short runs: the index of the run, drift, alike neighbours, too few parts."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import linregress

from linestudy.capability import machine_performance
from linestudy.results import CannotJudge


def test_machine_is_the_index_of_the_short_run() -> None:
    y = np.random.default_rng(4).normal(5.0, 0.1, 100)
    study = machine_performance(y, 4.4, 5.6)
    assert study.Pmk.estimate == pytest.approx(
        min(5.6 - y.mean(), y.mean() - 4.4) / (3 * y.std(ddof=1))
    )
    line = linregress(np.linspace(0, 1, 100), y)
    assert study.slope_p == pytest.approx(line.pvalue)
    assert not any("drifts" in note or "Neighbours" in note for note in study.cautions)


@pytest.mark.proof
def test_drift_and_twins_are_named() -> None:
    rng = np.random.default_rng(5)
    drifting = machine_performance(rng.normal(5.0, 0.1, 100) + np.linspace(0, 0.3, 100), 4, 6)
    assert any("drifts" in note for note in drifting.cautions)
    twins = machine_performance(np.repeat(rng.normal(5.0, 0.1, 60), 2), 4, 6)
    assert any("Neighbours" in note for note in twins.cautions)
    assert any(
        "prefers 100" in note for note in machine_performance(rng.normal(5, 0.1, 60), 4, 6).cautions
    )


def test_too_short_a_run() -> None:
    with pytest.raises(CannotJudge, match="at least 30"):
        machine_performance(np.arange(20.0), 0, 30)
