"""Pictures of capability: bars that hold all values, limits at their values, zone and ellipse, intervals that exist or not."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from drawn import dots, drawn, legend, limit_lines
from scipy.stats import norm

from linestudy.capability import process_capability
from linestudy.figures.capability import (
    correlation_heatmap,
    effective_sample_sizes,
    histogram_with_limits,
    position_plot,
    tolerance_interval_plot,
)
from linestudy.figures.style import DEEP


def test_the_histogram_holds_all_values_and_the_curve_is_the_normal() -> None:
    y = np.round(norm(10.0, 0.1).ppf((np.arange(200) + 0.5) / 200), 2)
    axes = drawn(histogram_with_limits, process_capability(y, 9.6, None, unit="mm"))
    bars = axes.patches
    assert sum(b.get_height() * b.get_width() for b in bars) == pytest.approx(1.0)
    # Edges between the steps of the readings, whole steps wide.
    assert all(b.get_width() / 0.01 == pytest.approx(round(b.get_width() / 0.01)) for b in bars)
    assert limit_lines(axes) == {"lower limit": 9.6}
    x, density = axes.lines[0].get_data()
    assert np.asarray(density) == pytest.approx(norm(y.mean(), y.std(ddof=1)).pdf(x), rel=1e-9)
    assert axes.get_xlabel() == "value (mm)"
    assert legend(axes) == ["normal curve", "200 values"]
    low, high = axes.get_xlim()
    assert low < 9.6
    assert high > y.max()


def test_only_pairs_are_shown_and_their_signs_are_true_minus_signs() -> None:
    values = pd.DataFrame(
        [[1, -0.51, 0.2], [-0.51, 1, 0.0], [0.2, 0.0, 1]], columns=list("abc"), index=list("abc")
    )
    axes = drawn(correlation_heatmap, values)
    shown = [t.get_text() for t in axes.texts if t.get_text()]
    assert sorted(shown) == sorted(["−0.51", "0.20", "0.00"])


def test_an_interval_that_needs_more_values_says_how_many() -> None:
    study = SimpleNamespace(
        extremes=(1.0, 2.0, 3.0),
        intervals=[
            SimpleNamespace(exists=True, low=1.2, high=None, content=0.9, needed=0),
            SimpleNamespace(exists=False, low=None, high=None, content=0.9973, needed=1109),
        ],
        lower=0.5,
        upper=3.5,
        unit="mm",
    )
    axes = drawn(tolerance_interval_plot, study)
    bars = [line for line in axes.lines if line.get_color() == DEEP]
    assert [list(b.get_xdata()) for b in bars] == [
        [1.2, 3.0]
    ]  # without an upper end to the largest value
    assert [t.get_text() for t in axes.get_yticklabels()] == ["90 % of parts", "99.73 % of parts"]
    said = limit_lines(axes)
    assert "needs 1,109 independent values" in [t.get_text() for t in axes.texts]
    assert (said["lower limit"], said["upper limit"]) == (0.5, 3.5)


def test_the_ellipse_touches_the_zone_and_lies_inside() -> None:
    rng = np.random.default_rng(1)
    points = rng.multivariate_normal([0.02, -0.01], [[4e-4, 1e-4], [1e-4, 1e-4]], 300)
    held = SimpleNamespace(
        deviations=points, mean=points.mean(axis=0), covariance=np.cov(points.T), radius=0.1
    )
    axes = drawn(position_plot, SimpleNamespace(points=held, unit="mm"))
    by_label = {line.get_label(): line.get_xydata() for line in axes.lines}
    assert len(by_label["parts"]) == 300
    assert np.hypot(*by_label["zone"].T) == pytest.approx(np.full(361, 0.1))
    reach = np.hypot(*by_label["largest ellipse"].T)
    assert reach.max() == pytest.approx(0.1, rel=2e-3)
    # All of it lies at one Mahalanobis distance.
    away = by_label["largest ellipse"] - held.mean
    squared = np.einsum("ia,ab,ib->i", away, np.linalg.inv(held.covariance), away)
    assert np.ptp(squared) < 1e-9 * squared.max()
    assert by_label["true position"].tolist() == [[0, 0]]
    assert (axes.get_xlabel(), axes.get_ylabel()) == ("deviation in x (mm)", "deviation in y (mm)")
    # A mean outside the zone has no ellipse inside.
    held.mean = np.array([0.2, 0.0])
    outside = drawn(position_plot, SimpleNamespace(points=held, unit="mm"))
    assert "largest ellipse" not in legend(outside)


def test_effective_sizes_by_blocks_stand_beside_those_used() -> None:
    study = SimpleNamespace(
        n_eff_sd=80.0, used_n_eff_sd=60.0, n_eff_mean=40.0, used_n_eff_mean=50.0
    )
    axes = drawn(effective_sample_sizes, study)
    assert {tuple(p) for p in dots(axes)} == {(80, 0), (60, 0), (40, 1), (50, 1)}
    assert [t.get_text() for t in axes.get_yticklabels()] == ["for the SD", "for the mean"]
    assert axes.get_xlim()[0] == 0
    assert legend(axes) == ["by blocks", "used by the intervals"]
