"""Processes of known truth: quantiles by SciPy, limits at any index, how a study of many and of few parts is taken."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy import stats

from linestudy.simulate.operating.truth import Truth, mixture_quantiles
from linestudy.tails.candidate import QUANTILES


@pytest.mark.checks("quantiles of a mixture of normals", source="SciPy: norm.cdf")
@pytest.mark.parametrize(
    "parts",
    [
        [(1.0, 5.0, 2.0)],
        [(0.98, 0, 1), (0.02, 5, 1)],
        [(0.5, 0, 1), (0.5, 0, 2)],
        [(0.999, 0, 1), (0.001, -50, 0.1)],
    ],
)
def test_quantiles_are_those_of_the_mixture(parts: list[tuple[float, float, float]]) -> None:
    found = mixture_quantiles(parts)
    shares = [sum(w * stats.norm(m, s).cdf(x) for w, m, s in parts) for x in found]
    assert shares == pytest.approx(QUANTILES, rel=1e-6)


def drawn(r: Any, strokes: Any) -> tuple[Any, dict[str, Any]]:
    return r.standard_normal(strokes.size), {"coil": np.where(strokes < 2500, "a", "b")}


NORMAL = Truth("normal", drawn, tuple(stats.norm.ppf(QUANTILES)))


@pytest.mark.parametrize("index", [1.0, 1.67])
def test_limits_give_the_index_on_either_side(index: float) -> None:
    lower, upper = NORMAL.limits(index)
    assert (lower, upper) == pytest.approx((-3 * index, 3 * index), rel=1e-4)
    low, middle, high = -1.0, 0.0, 4.0
    skewed = Truth("skewed", drawn, (low, middle, high))
    assert skewed.limits(2.0) == (-2.0, 8.0)
    assert Truth("bounded", drawn, (0.1, 1.0, 4.0), bound=0.0).limits(2.0) == (None, 7.0)


def test_few_parts_are_subgroups_spread_over_five_thousand_strokes() -> None:
    values, tags = NORMAL.study(np.random.default_rng(1), 125)
    assert values.size == 125
    assert tags.order[:6].tolist() == [1, 2, 3, 4, 5, 201]
    assert tags.order[-1] == 24 * 200 + 5
    assert np.bincount(tags.subgroup).tolist() == [5] * 25
    # Tags go by the stroke, not by the place in the study.
    assert (tags.coil == np.where(tags.order <= 2500, "a", "b")).all()


def test_many_parts_are_a_run_taken_whole() -> None:
    values, tags = NORMAL.study(np.random.default_rng(1), 5000)
    assert tags.order.tolist() == list(range(1, 5001))
    assert np.bincount(tags.subgroup).tolist() == [5] * 1000
    again, _ = NORMAL.study(np.random.default_rng(1), 5000)
    assert (values == again).all()
