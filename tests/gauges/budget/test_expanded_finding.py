"""What a budget says: lines by their effect, what counts for what, correlations and simulation in its record."""

from __future__ import annotations

from linestudy.gauges import Contribution, uncertainty_budget


def test_lines_stand_by_their_effect_on_the_reading() -> None:
    lines = [
        Contribution("temperature", 2.0, sensitivity=0.001),
        Contribution("calibration", 0.001),
        Contribution("resolution", 0.0005),
        Contribution("repeatability on parts", 0.0008),
    ]
    study = uncertainty_budget(lines, 9.0, 10.0, unit="mm")
    assert [line.source for line in study.budget] == [
        "temperature",
        "calibration",
        "repeatability on parts",
        "resolution",
    ]
    assert study.budget[-1].counts_for == "nothing, a larger one holds it"
    assert study.budget[1].counts_for == "system"
    shown = study.shown()
    assert shown["contribution"].tolist()[0] == "temperature"
    assert study.record()["simulated"]["agrees"] is True
    assert "largest contribution temperature" in study.statement


def test_a_tolerance_without_room_is_said() -> None:
    study = uncertainty_budget([Contribution("calibration", 0.4)], 9.0, 10.0, unit="mm")
    assert "No reading proves conformity" in study.statement
