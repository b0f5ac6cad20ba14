"""Pictures of a gauge's error: budgets, guard bands, steps, judgements, rejects, laboratories, systems."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from drawn import bars, dots, drawn, interval, legend, limit_lines
from scipy.stats import norm

from linestudy.figures import gauge_error
from linestudy.results import Absent, Interval


def test_what_a_budget_does_not_count_is_hollow() -> None:
    budget = [
        SimpleNamespace(source="resolution", standard_uncertainty=0.3, counted=False),
        SimpleNamespace(source="repeatability", standard_uncertainty=0.5, counted=True),
    ]
    axes = drawn(gauge_error.uncertainty_budget, SimpleNamespace(budget=budget, unit="um"))
    marked = [line for line in axes.lines if line.get_marker() == "o"]
    assert [(line.get_xdata()[0], line.get_markerfacecolor() == "white") for line in marked] == [
        (0.3, True),
        (0.5, False),
    ]
    assert [t.get_text() for t in axes.get_yticklabels()] == ["resolution", "repeatability"]
    assert axes.get_xlabel().endswith("hollow: held by a larger one")
    assert axes.get_xlim()[0] == 0
    all_counted = SimpleNamespace(budget=budget[1:], unit="um")
    assert "hollow" not in drawn(gauge_error.uncertainty_budget, all_counted).get_xlabel()


def test_risks_stand_on_a_logarithmic_scale_with_the_target_and_the_band_that_meets_it() -> None:
    curve = [
        SimpleNamespace(
            guard_band=g, false_accept=1e-4 * np.exp(-300 * g), false_reject=1e-4 * np.exp(300 * g)
        )
        for g in np.linspace(0, 0.02, 50)
    ]
    study = SimpleNamespace(
        curve=curve, risk_target=1e-5, guard_band=interval(0.0077, 0.001), unit="mm"
    )
    axes = drawn(gauge_error.risk_by_guard_band, study)
    assert limit_lines(axes) == {"target: 10": 10.0}
    falling, rising = (line.get_ydata() for line in axes.lines[:2])
    assert falling[0] == pytest.approx(100.0)
    assert (np.diff(falling) < 0).all()
    assert (np.diff(rising) > 0).all()
    assert 0.0077 in [line.get_xdata()[0] for line in axes.lines]
    assert axes.get_yscale() == "log"
    assert legend(axes) == [
        "bad parts accepted",
        "good parts rejected",
        "guard band for the target: 0.0077 mm",
    ]


def test_the_step_stands_among_the_lengths_it_must_separate() -> None:
    study = SimpleNamespace(
        unit="mm", step=0.001, rounding_sd=0.00029, repeat_sd=interval(0.002, 0.0005),
        share_of_process=0.02, share_of_tolerance=0.01,
    )  # fmt: skip
    axes = drawn(gauge_error.sizes_on_a_ruler, study)
    labels = [t.get_text() for t in axes.get_yticklabels()]
    assert labels == [
        "added by rounding (SD)",
        "step",
        "repeatability (SD)",
        "process spread (6 SD)",
        "tolerance",
    ]
    assert dots(axes)[:, 0] == pytest.approx([0.00029, 0.001, 0.002, 0.05, 0.1])
    assert [t.get_text() for t in axes.texts][-1] == "0.1"
    study.repeat_sd, study.share_of_process, study.share_of_tolerance = None, None, None
    assert len(dots(drawn(gauge_error.sizes_on_a_ruler, study))) == 2


def test_judgements_rise_at_the_lower_limit_and_fall_at_the_upper_one() -> None:
    sides = {
        name: SimpleNamespace(
            threshold=interval(at, 0.01),
            judgement_sd=interval(0.02, 0.01),
            grey_low=at - 0.05,
            grey_high=at + 0.05,
            limit=at,
        )
        for name, at in (("lower", 1.0), ("upper", 2.0))
    }
    points = {
        "lower": np.array([[0.9, 0.0], [1.1, 1.0]]),
        "upper": np.array([[1.9, 1.0], [2.1, 0.0]]),
    }
    axes = drawn(
        gauge_error.performance_curve, SimpleNamespace(sides=sides, points=points, unit="mm")
    )
    curves = [line for line in axes.lines if len(line.get_xdata()) == 200]
    for line, sign, at in zip(curves, (1, -1), (1.0, 2.0), strict=True):
        x, y = line.get_data()
        assert y == pytest.approx(norm.cdf(sign * (x - at) / 0.02))
    assert limit_lines(axes) == {"lower limit": 1.0, "upper limit": 2.0}


def test_rejects_below_a_tenth_of_a_part_in_a_million_are_drawn_there() -> None:
    lines = [
        SimpleNamespace(
            characteristic="Width",
            predicted=Interval(1e-9, 0.0, 2e-6, 0.95, "t"),
            observed=interval(5e-6, 1e-6),
        ),
        SimpleNamespace(characteristic="Gap", predicted=interval(2e-3, 1e-3), observed=None),
    ]
    axes = drawn(gauge_error.rejects, SimpleNamespace(lines=lines))
    found = bars(axes)
    assert found["Width"] == pytest.approx([0.1, 2.0, 4.0, 6.0])
    assert found["Gap"] == pytest.approx([1000.0, 3000.0])
    assert axes.get_xlim()[0] == pytest.approx(0.1)
    assert {"predicted"} <= set(legend(axes))


def test_both_kinds_of_dot_are_explained_even_where_the_last_row_lacks_one() -> None:
    lines = [
        SimpleNamespace(
            characteristic="Width", predicted=interval(2e-5, 1e-6), observed=interval(5e-6, 1e-6)
        ),
        SimpleNamespace(characteristic="Gap", predicted=interval(2e-3, 1e-3), observed=None),
    ]
    assert legend(drawn(gauge_error.rejects, SimpleNamespace(lines=lines))) == [
        "predicted",
        "observed",
    ]


def test_the_size_that_assures_the_strength_stands_where_the_bound_meets_what_is_required() -> None:
    x = np.linspace(1, 3, 40)
    study = SimpleNamespace(
        points=np.array([[1.2, 30.0], [2.0, 50.0], [2.5, 61.0]]),
        curve=np.column_stack([x, 25 * x, 25 * x - 10]),
        required=40.0, width_limit=2.0, content=0.99, confidence=0.95, size_unit="mm", unit="N",
    )  # fmt: skip
    axes = drawn(gauge_error.strength_by_size, study)
    assert limit_lines(axes) == {"required 40": 40.0, "assured from 2": 2.0}
    assert len(dots(axes)) == 3
    assert "99 % lie above (95 % confidence)" in axes.get_xlabel()
    assert axes.get_ylabel() == "strength (N)"
    study.width_limit = Absent("never")
    assert limit_lines(drawn(gauge_error.strength_by_size, study)) == {"required 40": 40.0}


def test_a_laboratory_that_stands_out_on_one_part_has_a_diamond_there_alone() -> None:
    levels = [
        SimpleNamespace(part="p1", h={"North": 0.5, "South": -1.9}),
        SimpleNamespace(part="p2", h={"North": 0.1}),
    ]
    study = SimpleNamespace(
        laboratories=["North", "South"],
        levels=levels,
        stragglers=[
            SimpleNamespace(part="p1", laboratory="South", kind="mean"),
            SimpleNamespace(part="p1", laboratory="North", kind="spread"),
        ],
    )
    axes = drawn(gauge_error.laboratories, study)
    marks = {
        (float(line.get_xdata()[0]), float(line.get_ydata()[0])): line.get_marker()
        for line in axes.lines
        if line.get_marker() in ("o", "D")
    }
    assert marks == {(0.5, 1.0): "o", (0.1, 1.0): "o", (-1.9, 0.0): "D"}
    assert [t.get_text() for t in axes.get_yticklabels()] == ["South", "North"]


def test_influence_is_drawn_from_the_result_of_all_readings() -> None:
    class Row(SimpleNamespace):
        def __str__(self) -> str:
            return str(self.name)

    study = SimpleNamespace(
        ordered=[Row(name=f"part {i}", grr_sd=0.01 + 0.001 * i) for i in range(12)],
        grr_sd=interval(0.012, 0.004),
        unit="mm",
    )
    axes = drawn(gauge_error.influence_by_level, study)
    assert dots(axes)[:, 0] == pytest.approx([0.01 + 0.001 * i for i in range(10)])
    assert axes.get_yticklabels()[0].get_text() == "without part 0"
    assert 0.012 in [line.get_xdata()[0] for line in axes.lines]


def test_weighted_kappas_of_reference_repetition_and_pairs() -> None:
    study = SimpleNamespace(
        appraisers=["Ada"],
        kappa_with_reference={"Ada": interval(0.8, 0.1)},
        kappa_within={"Ada": Absent("one trial")},
        kappa_pairs={"Ada and Ben": interval(-0.1, 0.2)},
        weights="linear",
    )
    axes = drawn(gauge_error.graded_kappa, study)
    assert bars(axes) == {
        "Ada and the reference": pytest.approx([0.7, 0.9]),
        "Ada and Ben": pytest.approx([-0.3, 0.1]),
    }
    assert axes.get_xlim()[0] <= -0.3
    assert "linear weights" in axes.get_xlabel()


def test_each_appraiser_turns_at_a_threshold_of_their_own() -> None:
    side = SimpleNamespace(
        appraisers={
            "Ada": SimpleNamespace(threshold=interval(1.0, 0.1)),
            "Ben": SimpleNamespace(threshold=interval(1.3, 0.1)),
        },
        together=SimpleNamespace(threshold=interval(1.1, 0.1), limit=1.05),
    )
    axes = drawn(gauge_error.own_thresholds, SimpleNamespace(sides={"upper": side}, unit="mm"))
    assert list(bars(axes)) == ["Ada", "Ben", "all together"]
    assert limit_lines(axes) == {"upper limit": 1.05}
    both = drawn(
        gauge_error.own_thresholds, SimpleNamespace(sides={"lower": side, "upper": side}, unit="mm")
    )
    assert both.get_yticklabels()[0].get_text() == "Ada, lower limit"


def test_systems_show_repeatability_and_the_whole() -> None:
    systems = {
        "camera": SimpleNamespace(repeatability_sd=interval(1.0, 0.2), grr_sd=interval(2.0, 0.5)),
        "probe": SimpleNamespace(
            repeatability_sd=interval(0.5, 0.1), grr_sd=Absent("one appraiser")
        ),
    }
    axes = drawn(gauge_error.systems, SimpleNamespace(systems=systems, unit="um"))
    assert bars(axes) == {
        "camera": pytest.approx([0.8, 1.2, 1.5, 2.5]),
        "probe": pytest.approx([0.4, 0.6]),
    }
    assert legend(axes) == ["EV", "GRR"]


def test_a_destructive_test_is_bracketed_where_no_grr_is_known() -> None:
    study = SimpleNamespace(
        tester_sd=interval(1.0, 0.3), batch_sd=interval(2.0, 0.5), within_sd=interval(3.0, 0.5),
        grr_sd=Absent("not told apart"), grr_least=1.0, grr_most=3.2, unit="N",
    )  # fmt: skip
    axes = drawn(gauge_error.destructive_spreads, study)
    assert list(bars(axes)) == ["testers (AV)", "batches", "specimen and test"]
    (band,) = [p for p in axes.patches if p.get_width() == pytest.approx(2.2)]
    assert band.get_x() == pytest.approx(1.0)
    study.grr_sd = interval(1.5, 0.2)
    assert list(bars(drawn(gauge_error.destructive_spreads, study)))[-1] == "GRR"
