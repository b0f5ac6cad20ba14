"""Pictures of gauge studies."""

from __future__ import annotations

import numpy as np
from crossed_readings import crossed_readings

from linestudy.figures.report.measuring import (
    Group,
    Measured,
    by_batch,
    gauge_studies,
    verdicts_by_part,
)
from linestudy.gauges import grr_anova


def test_every_reading_is_drawn_as_its_deviation_from_its_part() -> None:
    data = crossed_readings(5)
    study = grr_anova(data, tolerance=10.0, unit="mm")
    figure = gauge_studies(Measured(crossed=study, unit="mm"))
    dots = [line for line in figure.axes[0].lines if line.get_linestyle() == "None"]
    assert sum(len(line.get_ydata()) for line in dots) == len(data)
    assert abs(np.concatenate([line.get_ydata() for line in dots]).sum()) < 1e-9
    assert len(figure.axes) == 1


def test_batches_stand_in_their_order_and_judgements_by_part() -> None:
    figure = by_batch(
        [Group("b1", np.array([1.0, 2.0])), Group("b2", np.array([3.0]))],
        lower=0.5,
        upper=None,
        unit="N",
        level="batch",
    )
    assert [tick.get_text() for tick in figure.axes[0].get_xticklabels()] == ["b1", "b2"]
    right = np.array([[1.0, 0.5, 0.0], [1.0, np.nan, 1.0]])
    axes = verdicts_by_part(right, ("1", "2", "3"), ("Ana", "Bo"), (True, True, False)).axes[0]
    marks = [line.get_marker() for line in axes.lines if line.get_marker() in "oDs"]
    assert sorted(marks) == sorted(["o", "D", "s", "o", "o"])
