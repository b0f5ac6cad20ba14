"""The tops of many likelihoods at once, against formulas and the climb of one alone."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.optimize import rosen, rosen_der, rosen_hess

from linestudy.numerics.maximum import climb
from linestudy.numerics.maximum_many import climb_all


def valleys(rows: Any, c: Any) -> tuple[Any, Any, Any]:
    """Rosenbrock's function, SciPy's, on a scale of about one, in each row another one as steep."""
    size = 0.01 * (1.0 + np.asarray(rows))
    return (
        -np.array([rosen(p) for p in c.T]) * size,
        -np.array([rosen_der(p) for p in c.T]).T * size,
        np.array([rosen_hess(p) for p in c.T]) * size[:, None, None],
    )


@pytest.mark.checks("a top of many", source="SciPy: rosen, least at one in every coordinate")
def test_bent_valleys_are_climbed_to_their_end() -> None:
    starts = np.array([[-1.2, 1.0, 0.7], [2.0, 2.0, 2.0], [0.0, 0.0, 0.0]]).T
    points, left = climb_all(valleys, starts, [(-9, 9)] * 3, 10)
    assert points == pytest.approx(np.ones((3, 3)), abs=1e-12)
    assert (left == 0).all()


def test_at_an_end_it_stands_where_a_climb_alone_does() -> None:
    limits = [(-9.0, 0.5), (-9.0, 9.0)]
    points, left = climb_all(valleys, np.zeros((2, 1)), limits, 10)
    alone = climb(lambda p: -float(rosen(p)), lambda p: -rosen_der(p), np.zeros(2), limits, 10)
    assert alone.held.tolist() == [True, False]
    assert points[:, 0] == pytest.approx(alone.point, abs=1e-9)
    assert left.tolist() == [0.0]


def test_what_has_no_top_or_no_value_is_not_called_one() -> None:
    def slopes(rows: Any, c: Any) -> tuple[Any, Any, Any]:
        value = np.where(np.asarray(rows) == 0, c[0], np.nan)
        return value, np.ones_like(c), np.zeros((c.shape[1], 1, 1))

    left = climb_all(slopes, np.zeros((1, 2)), [(-math.inf, math.inf)], 9)[1]
    assert not (left < 1e-4).any()
