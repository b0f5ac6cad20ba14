"""Pictures of a distribution and of shares against what is allowed."""

from __future__ import annotations

import numpy as np

from linestudy.capability import process_capability
from linestudy.figures.report.fit import (
    StreamValues,
    between_limits,
    both_tails,
    decisions,
    quantiles,
    shares,
    side_by_side,
)
from linestudy.results import Interval
from linestudy.shape import select_distribution

Y = np.round(np.random.default_rng(2).normal(5.0, 0.01, 800), 3)


def test_the_tail_beyond_the_values_is_drawn_down_to_a_ppb() -> None:
    study = process_capability(Y, lower=4.95, upper=5.05)
    axes = both_tails(study).axes[0]
    assert axes.get_ylim()[0] <= 1e-3
    line = max(axes.lines, key=lambda one: len(one.get_xdata()))
    assert np.isclose(
        float(
            np.interp(
                5.03, *(np.sort(v) for v in (line.get_xdata()[-150:], line.get_ydata()[-150:]))
            )
        ),
        0,
        atol=1e6,
    )


def test_limits_target_and_outer_quantiles_are_marked() -> None:
    study = process_capability(Y, lower=4.95, upper=5.05)
    figure = between_limits(study, target=5.0)
    said = " ".join(text.get_text() for text in figure.axes[0].texts)
    for words in ("LSL", "4.95", "USL", "5.05", "target"):
        assert words in said
    marks = [line.get_xdata()[0] for line in figure.axes[0].lines if line.get_marker() == "^"]
    assert np.allclose(
        marks, [study.mean - 3 * study.sd_overall, study.mean + 3 * study.sd_overall], rtol=1e-3
    )


def test_quantiles_of_the_values_against_those_of_the_distribution() -> None:
    study = select_distribution(Y)
    axes = quantiles(study).axes[0]
    assert any(len(line.get_xdata()) == study.n_tested for line in axes.lines)


def test_streams_and_decisions_keep_the_order_they_are_given_in() -> None:
    figure = side_by_side(
        [StreamValues("left", Y, "Ppk 1.20"), StreamValues("right", Y + 0.01, "Ppk 1.00")],
        lower=4.95,
        upper=5.05,
        unit="mm",
    )
    assert [tick.get_text() for tick in figure.axes[0].get_yticklabels()] == ["left", "right"]
    value = Interval(1.5, 1.4, 1.6, 0.95, "example")
    rows = (("a", value, "meets", (1.33, 1.67)), ("b", value, "does not meet", (1.33, 1.67)))
    axes = decisions(rows).axes[0]
    assert {"1.33 by approval", "1.67 accepted"} <= {text.get_text() for text in axes.texts}
    # A characteristic that does not simply meet is an open mark, whatever its index.
    faces = [line.get_markerfacecolor() for line in axes.lines if line.get_marker() in "oDs"]
    assert faces[1] == "white"
    assert faces[0] != "white"


def test_criteria_that_differ_are_drawn_row_by_row() -> None:
    value = Interval(1.5, 1.4, 1.6, 0.95, "example")
    rows = (("a", value, "meets", (1.0, 1.33)), ("b", value, "does not meet", (1.33, 2.0)))
    axes = decisions(rows).axes[0]
    upright = sorted(
        (round(line.get_ydata().mean()), float(line.get_xdata()[0]))
        for line in axes.lines
        if len(set(line.get_xdata())) == 1 and len(line.get_xdata()) == 2
    )
    assert upright == [(0, 1.33), (0, 2.0), (1, 1.0), (1, 1.33)]
    assert not any("approval" in text.get_text().replace("customer", "") for text in axes.texts)


def test_shares_show_ten_and_thirty_percent() -> None:
    value = Interval(6.6, 5.8, 17.2, 0.95, "example")
    figure = shares((("GRR", value, None), ("bias", value, 5.0)), ((10.0, "10 %"), (30.0, "30 %")))
    assert [text.get_text() for text in figure.axes[0].texts] == ["10 %", "30 %"]
    assert figure.axes[0].get_xlim()[1] > 30
