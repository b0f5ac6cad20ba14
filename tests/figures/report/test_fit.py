"""Pictures of a distribution and of shares against what is allowed."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.capability import process_capability, truncated_capability
from linestudy.figures.report.fit import (
    StreamValues,
    before_sorting,
    between_limits,
    both_tails,
    quantiles,
    side_by_side,
)
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


def test_streams_keep_the_order_they_are_given_in() -> None:
    figure = side_by_side(
        [StreamValues("left", Y, "Ppk 1.20"), StreamValues("right", Y + 0.01, "Ppk 1.00")],
        lower=4.95,
        upper=5.05,
        unit="mm",
    )
    assert [tick.get_text() for tick in figure.axes[0].get_yticklabels()] == ["left", "right"]


def test_a_description_that_decides_and_is_not_the_line_is_marked_at_the_nearer_limit() -> None:
    study = process_capability(Y, lower=4.95, upper=5.08)
    plain = {line.get_marker() for line in both_tails(study).axes[0].lines}
    marked = [
        line for line in both_tails(study, 460.0).axes[0].lines if line.get_marker() not in plain
    ]
    assert [(line.get_xdata()[0], line.get_ydata()[0]) for line in marked] == [(4.95, 460.0)]


@pytest.mark.proof
def test_what_was_sorted_out_is_drawn_beyond_the_limit() -> None:
    y = np.random.default_rng(3).normal(5.0, 0.02, 4000)
    kept = np.round(y[y < 5.04], 4)
    study = truncated_capability(kept, None, 5.04, rejected_count=int((y >= 5.04).sum()))
    axes = before_sorting(study).axes[0]
    drawn = axes.collections[0].get_paths()[0].vertices[:, 0]
    assert drawn.min() >= 5.04
    assert "USL" in " ".join(text.get_text() for text in axes.texts)
