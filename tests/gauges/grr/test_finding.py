"""What a crossed study says where repeated readings hardly differ."""

from __future__ import annotations

import math

import pandas as pd
import pytest
from crossed_readings import crossed_readings

from linestudy.gauges import grr_anova
from linestudy.results import CannotJudge


def test_a_hidden_spread_reaches_what_rounding_hides(coarse: pd.DataFrame) -> None:
    # Sheppard 1898: rounding to a step has the standard deviation step / sqrt(12).
    found = grr_anova(coarse, tolerance=1.0)
    least = 0.01 / math.sqrt(12)
    assert found.components["repeatability"].sd.estimate == 0
    for name in ("repeatability", "grr"):
        assert found.components[name].sd.high >= least * (1 - 1e-9)
    share = found.components["repeatability"].share_of_tolerance
    assert share.high >= 6 * least * (1 - 1e-9)
    assert "Repeated readings never differed in 30 cells" in " ".join(found.cautions)


def test_a_gauge_that_shows_nothing_is_not_called_perfect() -> None:
    found = grr_anova(crossed_readings(3, error=0.0).round({"value": 2}), tolerance=1.0, unit="mm")
    assert found.components["grr"].sd.estimate == 0
    assert "hidden by the resolution and may reach a standard deviation of 0.002" in found.statement
    assert "1.7 % of tolerance" in found.statement
    assert found.components["grr"].share_of_sd.high > 0


def test_without_a_step_nothing_bounds_a_hidden_spread() -> None:
    with pytest.raises(CannotJudge, match="never differed in 30 cells"):
        grr_anova(crossed_readings(3, error=0.0))


def test_a_missing_reading_changes_nothing_of_that(coarse: pd.DataFrame) -> None:
    whole, lost = grr_anova(coarse), grr_anova(coarse.drop(index=[7]))
    assert lost.estimator == "REML"
    assert lost.components["repeatability"].sd.estimate == 0
    for name in ("part", "appraiser"):
        assert lost.components[name].sd.estimate == pytest.approx(
            whole.components[name].sd.estimate, rel=1e-9
        )
