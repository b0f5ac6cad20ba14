"""Pictures of gauges: shares, bias and limits of agreement where the study has them, readings as they are."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from drawn import bars, dots, drawn, interval, legend, limit_lines

from linestudy.figures import gauges
from linestudy.results import Absent, Interval


def test_sources_without_the_total_against_the_tolerance_or_the_total_spread() -> None:
    parts = {
        name: SimpleNamespace(share_of_tolerance=interval(t, 0.02), share_of_sd=interval(s, 0.05))
        for name, t, s in (("EV", 0.1, 0.3), ("AV", 0.05, 0.2), ("TV", 0.5, 1.0))
    }
    study = SimpleNamespace(
        named_components=parts, components={"total": parts["TV"]}, tolerance=0.1
    )
    axes = drawn(gauges.gauge_shares, study)
    assert bars(axes) == {"EV": pytest.approx([0.08, 0.12]), "AV": pytest.approx([0.03, 0.07])}
    assert "tolerance" in axes.get_title(loc="left")
    study.tolerance = None
    axes = drawn(gauges.gauge_shares, study)
    assert bars(axes)["EV"] == pytest.approx([0.25, 0.35])
    assert axes.get_xlabel().startswith("share of the total spread")


def test_an_interval_of_two_degrees_of_freedom_does_not_flatten_the_others() -> None:
    wild = Interval(0.2, 0.1, 40.0, 0.95, "test")
    parts = {
        "EV": SimpleNamespace(share_of_tolerance=interval(0.1, 0.02)),
        "AV": SimpleNamespace(share_of_tolerance=wild),
    }
    axes = drawn(
        gauges.gauge_shares, SimpleNamespace(named_components=parts, components={}, tolerance=1.0)
    )
    assert axes.get_xlim()[1] < 1.0


def test_bias_stands_on_each_master_and_a_master_without_spread_is_a_dot() -> None:
    masters = [
        SimpleNamespace(reference=2.75, bias=interval(0.001, 0.0005), mean=0.001),
        SimpleNamespace(reference=2.85, bias=Absent("never differs"), mean=0.002),
    ]
    axes = drawn(gauges.bias_by_master, SimpleNamespace(masters=masters, unit="mm"))
    assert bars(axes) == {"2.75 mm": pytest.approx([0.0005, 0.0015]), "2.85 mm": [0.002, 0.002]}
    assert limit_lines(axes) == {"true": 0.0}
    assert axes.get_xlabel() == "bias (mm)"


def test_the_band_of_linearity_is_that_of_the_regression() -> None:
    from scipy import stats

    rng = np.random.default_rng(1)
    sizes = np.repeat([1.0, 2.0, 3.0], 10)
    errors = 0.01 * sizes + rng.normal(0, 0.01, 30)
    line = stats.linregress(sizes, errors)
    t = stats.t.ppf(0.975, 28)
    study = SimpleNamespace(
        readings=np.column_stack([sizes, errors]),
        slope=interval(line.slope, t * line.stderr),
        unit="mm",
    )
    axes = drawn(gauges.bias_against_size, study)
    by_label = {item.get_label(): item for item in axes.lines}
    assert len(by_label["single reading"].get_xdata()) == 30
    assert by_label["mean of a master"].get_ydata() == pytest.approx(
        errors.reshape(3, 10).mean(axis=1)
    )
    x, fitted = by_label["fitted line and band"].get_data()
    assert fitted == pytest.approx(line.intercept + line.slope * x)
    # At the middle the half width is t times the residual SD over the root of n.
    sd = np.sqrt(((errors - line.intercept - line.slope * sizes) ** 2).sum() / 28)
    band = axes.collections[0].get_paths()[0].vertices
    near = band[np.abs(band[:, 0] - 2.0) < 0.02]
    off = np.abs(near[:, 1] - line.intercept - line.slope * near[:, 0])
    assert off == pytest.approx(np.full(len(near), t * sd / np.sqrt(30)), rel=0.02)
    assert limit_lines(axes) == {"true": 0.0}


def test_two_gauges_differ_against_their_mean_with_limits_of_agreement() -> None:
    pairs = np.array([[1.0, 1.1], [2.0, 1.9], [3.0, 3.3]])
    study = SimpleNamespace(
        pairs=pairs,
        lower_limit=interval(-0.4, 0.1),
        mean_difference=interval(-0.1, 0.05),
        upper_limit=interval(0.2, 0.1),
        unit="mm",
    )
    axes = drawn(gauges.differences, study)
    assert dots(axes) == pytest.approx(np.array([[1.05, -0.1], [1.95, 0.1], [3.15, -0.3]]))
    assert limit_lines(axes) == {
        "lower limit of agreement": -0.4,
        "mean difference": -0.1,
        "upper limit of agreement": 0.2,
    }
    assert (axes.get_xlabel(), axes.get_ylabel()) == ("mean of both gauges (mm)", "difference (mm)")


def test_each_appraiser_has_a_bar_for_either_error_that_is_known() -> None:
    study = SimpleNamespace(
        appraisers=("Ada", "Ben"),
        miss={"Ada": interval(0.1, 0.05), "Ben": Absent("no bad part")},
        false_alarm={"Ada": interval(0.02, 0.01), "Ben": interval(0.03, 0.01)},
    )
    axes = drawn(gauges.judgement_rates, study)
    found = bars(axes)
    assert found["Ada"] == pytest.approx([0.05, 0.15, 0.01, 0.03])
    assert found["Ben"] == pytest.approx([0.02, 0.04])
    assert legend(axes) == ["bad part accepted", "good part rejected"]


def test_levels_of_a_nested_study_have_a_name_a_reader_knows() -> None:
    components = {
        "batch": SimpleNamespace(share_of_variance=interval(0.6, 0.2)),
        "repeatability": SimpleNamespace(share_of_variance=interval(0.4, 0.2)),
    }
    axes = drawn(gauges.nested_shares, SimpleNamespace(components=components))
    assert list(bars(axes)) == ["batch", "within (tester and specimen)"]
    assert axes.get_xlim()[1] >= 1.0


def test_drift_is_a_line_that_breaks_where_the_gauge_was_set_anew() -> None:
    # In any order; set anew between 300 and 400.
    x = np.array([500.0, 100.0, 200.0, 300.0, 400.0, 600.0])
    fitted = 1e-5 * x - np.where(x > 350, 0.004, 0.0)
    study = SimpleNamespace(
        points=np.column_stack([x, fitted + 0.001, fitted, x]),
        slope_per_thousand=interval(0.01, 0.001),
        counted="strokes",
        unit="mm",
    )
    axes = drawn(gauges.drift_on_master, study)
    pieces = [
        list(line.get_xdata())
        for line in axes.lines
        if line.get_marker() == "None" and len(line.get_xdata()) > 2
    ]
    assert pieces == [[100, 200, 300], [400, 500, 600]]
    assert legend(axes) == ["reading", "fitted drift"]
    assert len(dots(axes)) == 6
    assert limit_lines(axes) == {"true": 0.0}
