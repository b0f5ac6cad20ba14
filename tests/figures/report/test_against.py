"""Pictures of numbers against what is asked of them."""

from __future__ import annotations

from linestudy.figures.report.against import decisions, shares
from linestudy.results import Interval


def test_decisions_keep_the_order_they_are_given_in() -> None:
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


def test_an_interval_that_goes_on_beyond_the_frame_says_how_far() -> None:
    wide = Interval(26.0, 22.0, 212.0, 0.95, "example")
    axes = shares((("GRR", wide, None),), ((10.0, "10 %"), (30.0, "30 %"))).axes[0]
    assert "212 %" in [text.get_text() for text in axes.texts]
    assert max(float(max(line.get_xdata())) for line in axes.lines) <= axes.get_xlim()[1]
