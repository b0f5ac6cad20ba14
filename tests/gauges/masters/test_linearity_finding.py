"""What a study of linearity says: masters that do not reach a limit, whether a slope is seen."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.gauges import linearity_study
from linestudy.gauges.masters.linearity_finding import cautions_of_limits

LEVELS = np.array([1.0, 2.0, 3.0])


@pytest.mark.parametrize(
    ("lower", "upper", "named"),
    [
        (1.0, 3.0, ""),
        (0.9, 3.0, "the lower limit"),
        (1.0, 3.1, "the upper limit"),
        (0.0, 9.0, "the lower and upper limit"),
        (None, None, ""),
    ],
)
def test_a_limit_beyond_the_masters_is_named(
    lower: float | None, upper: float | None, named: str
) -> None:
    notes = cautions_of_limits(LEVELS, lower, upper)
    assert len(notes) == bool(named)
    assert all(named in note for note in notes)


@pytest.mark.parametrize(
    ("slope", "words"), [(0.2, "bias changes"), (0.0, "does not change significantly")]
)
def test_the_statement_says_whether_a_slope_is_seen(slope: float, words: str) -> None:
    sizes = np.repeat(LEVELS, 10)
    readings = sizes * (1 + slope) + np.random.default_rng(1).normal(0, 0.05, 30)
    assert words in linearity_study(readings, sizes, unit="mm").statement


def test_the_table_gives_both_tests_and_the_limits() -> None:
    sizes = np.repeat(LEVELS, 4)
    readings = sizes + np.random.default_rng(1).normal(0, 0.05, 12)
    study = linearity_study(readings, sizes, 1.0, 3.0, unit="mm")
    table = study.table().set_index("quantity")
    assert table.loc["p, no slope", "estimate"] == study.slope_p
    assert table.loc["bias at the lower limit", "high"] == study.at_limits["lower"].high
    assert table.loc["intercept", "unit"] == "mm"
