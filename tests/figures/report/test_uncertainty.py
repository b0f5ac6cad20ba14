"""The picture of a budget and of what a reading proves."""

from __future__ import annotations

import pytest

from linestudy.figures.report.uncertainty import budget_and_zones
from linestudy.gauges import Contribution, uncertainty_budget


@pytest.mark.parametrize(("lower", "upper"), [(0.0, 10.0), (None, 10.0), (0.0, None)])
def test_bars_are_the_contributions_and_zones_the_guard_bands(
    lower: float | None, upper: float | None
) -> None:
    lines = [Contribution("calibration", 0.1), Contribution("appraiser", 0.4)]
    study = uncertainty_budget(lines, lower, upper, tolerance=10.0, unit="mm")
    figure = budget_and_zones(study, lower=lower, upper=upper, run=(3.0, 6.0))
    left, right = figure.axes
    assert sorted(bar.get_width() for bar in left.patches) == pytest.approx([0.1, 0.4])
    conforms = right.patches[-1]
    ends = (conforms.get_x(), conforms.get_x() + conforms.get_width())
    for limit, end, accepted in zip((lower, upper), ends, study.acceptance, strict=True):
        if limit is not None:
            assert end == pytest.approx(accepted)
            assert abs(end - limit) == pytest.approx(study.guard_band)
