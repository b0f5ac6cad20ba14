"""How many parts make an interval narrow: the noncentral t by SciPy, the smallest number, where the search gives up."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from scipy.optimize import brentq

from linestudy.plan import interval_size
from linestudy.results import CannotJudge


def half_width(index: float, n: int, confidence: float = 0.95) -> float:
    """By SciPy's noncentral t: the larger or the mean half is not asked, but half of the whole width."""
    t = 3 * index * np.sqrt(n)

    def end(p: float) -> float:
        return brentq(lambda c: stats.nct(n - 1, 3 * c * np.sqrt(n)).cdf(t) - p, 0.01, 20)

    return (end((1 - confidence) / 2) - end((1 + confidence) / 2)) / 2


@pytest.mark.checks("sample size for the interval of an index", source="SciPy: noncentral t")
@pytest.mark.parametrize(("index", "wish"), [(1.33, 0.25), (1.67, 0.2), (2.0, 0.5)])
def test_it_is_the_smallest_number_that_is_narrow_enough(index: float, wish: float) -> None:
    found = interval_size(true_index=index, half_width=wish)
    assert half_width(index, found.n) <= wish
    assert half_width(index, found.n - 1) > wish
    assert next(one.index.half_width for one in found.widths if one.n == found.n) <= wish


def test_two_parts_are_the_fewest() -> None:
    assert interval_size(true_index=1.0, half_width=1000.0).n == 2


def test_as_many_parts_as_are_allowed_are_tried() -> None:
    needed = interval_size(true_index=1.67, half_width=0.2).n
    assert interval_size(true_index=1.67, half_width=0.2, largest=needed).n == needed
    with pytest.raises(CannotJudge, match=f"More than {needed - 1} parts would be needed"):
        interval_size(true_index=1.67, half_width=0.2, largest=needed - 1)


def test_usual_sizes_stand_beside_the_answer_in_order() -> None:
    found = interval_size(true_index=1.67, half_width=0.3)
    sizes = [one.n for one in found.widths]
    assert sizes == sorted({10, 30, 50, 100, 125, 300, 1000, found.n})
    widths = [one.index.half_width for one in found.widths]
    assert widths == sorted(widths, reverse=True)
    assert all(one.index.estimate == pytest.approx(1.67) for one in found.widths)


@pytest.mark.parametrize(
    "bad", [{"true_index": 0.0}, {"half_width": -0.1}, {"confidence": 1.0}, {"largest": 1}]
)
def test_misuse_is_told_by_name(bad: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=next(iter(bad))):
        interval_size(**bad)
