"""Normal, logistic and largest extreme value: SciPy's, far into the tails, in any unit; and where they begin."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from family_checks import SHARES, assert_is_scipys, assert_score_is_a_slope, assert_starts_near
from scipy import stats

from linestudy.shape.families import FAMILIES

THEIRS = {
    "normal": stats.norm,
    "logistic": stats.logistic,
    "largest extreme value": stats.gumbel_r,
}


@pytest.mark.checks("families with location and scale", source="SciPy")
@pytest.mark.parametrize("name", THEIRS)
@pytest.mark.parametrize(("location", "scale"), [(0.0, 1.0), (-12.5, 0.004), (1e3, 250.0)])
def test_it_is_scipys(name: str, location: float, scale: float) -> None:
    kind: Any = FAMILIES[name]
    assert_is_scipys(kind, [location, np.log(scale)], THEIRS[name](location, scale))


@pytest.mark.parametrize("name", THEIRS)
def test_the_score_is_the_slope_of_the_density(name: str) -> None:
    x = np.array([-3.0, -0.2, 0.3, 1.0, 6.0])
    assert_score_is_a_slope(FAMILIES[name], x, [0.3, np.log(1.4)])


def test_the_start_of_a_normal_is_its_maximum() -> None:
    x = np.array([1.0, 2.0, 4.0])
    w = np.array([2.0, 1.0, 1.0])  # 1, 1, 2, 4: mean 2, sum of squares about it 6
    kind = FAMILIES["normal"]
    (start,) = kind.starts(x, w)
    assert kind.parameters(start) == pytest.approx([2.0, np.sqrt(6 / 4)])
    assert kind.closed_form(np.array([[1.0, 1.0, 2.0, 4.0]]))[:, 0] == pytest.approx(start)
    # A row whose values are all one still has a number, not minus infinity.
    assert np.isfinite(kind.closed_form(np.full((1, 4), 3.0))).all()


@pytest.mark.parametrize("name", THEIRS)
def test_a_search_begins_near_the_truth(name: str) -> None:
    theirs = THEIRS[name](7.0, 0.02)
    assert_starts_near(FAMILIES[name], theirs.ppf((np.arange(500) + 0.5) / 500), theirs)


@pytest.mark.parametrize("name", THEIRS)
def test_far_below_and_above_nothing_overflows(name: str) -> None:
    x = np.array([-1e6, 1e6])
    with np.errstate(over="raise", invalid="raise"):
        assert FAMILIES[name].cdf(x, [0.0, 0.0]) == pytest.approx([0.0, 1.0])
        assert FAMILIES[name].sf(x, [0.0, 0.0]) == pytest.approx([1.0, 0.0])
        assert np.isfinite(FAMILIES[name].logpdf(x, [0.0, 0.0])).all()


@pytest.mark.parametrize("name", THEIRS)
def test_columns_of_coordinates_stand_against_rows_of_values(name: str) -> None:
    kind = FAMILIES[name]
    columns = np.array([[[0.0], [5.0]], [[0.0], [1.0]]])  # two samples, two coordinates
    x = np.vstack([SHARES, SHARES + 4])
    both = kind.logpdf(x, columns)
    assert both[1] == pytest.approx(kind.logpdf(x[1], [5.0, 1.0]))
