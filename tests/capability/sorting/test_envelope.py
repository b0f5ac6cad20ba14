"""The envelope over families: what stands, what is refused, cells that the sorting's error softens."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linestudy.capability.sorting.envelope import cells_of, envelope
from linestudy.capability.sorting.likelihood import Sorted
from linestudy.capability.sorting.parent_shapes import processes
from linestudy.results import CannotJudge

FEW = [processes()[name] for name in ("normal", "logistic", "gamma with threshold")]


def cells(seed: int = 1, n: int = 4000, limit: float = 1.8, rejected: bool = True) -> Sorted:
    x = np.sort(np.random.default_rng(seed).normal(size=n))
    kept = x[np.abs(x) <= limit]
    gone = float(n - kept.size) if rejected else None
    return Sorted(*cells_of(kept, -limit, limit, 0.0, None, 0.0), gone, float(kept.size))


def test_what_the_data_rule_out_does_not_stand_and_the_rest_decides_together() -> None:
    found = envelope(cells(), FEW, 3.84).checked(1.0)
    names = [item.item.name for item in found.kept]
    assert names[0] == "normal"
    assert "logistic" not in names
    estimate, low, high = found.range(lambda item, a, b, s: item.quantiles(a, b, s)[:, 2])
    assert low < stats.norm.ppf(0.99865) < high
    assert low < estimate < high
    alone = envelope(cells(), FEW[:1], 3.84)
    ends = alone.range(lambda item, a, b, s: item.quantiles(a, b, s)[:, 2])
    assert high - low > ends[2] - ends[1]


def test_a_likelihood_that_does_not_close_is_refused() -> None:
    data = cells(2, 500, 0.6, rejected=False)
    with pytest.raises(CannotJudge, match="count of the rejected parts"):
        envelope(data, FEW[:1], 3.84).checked(None)


def test_softened_cells_pass_as_the_error_says() -> None:
    x = np.sort(np.random.default_rng(3).normal(size=500))
    edges, counts, passing = cells_of(x, -1.5, 1.5, 0.0, None, 0.2)
    middle = (edges[1:] + edges[:-1]) / 2
    near = np.isfinite(middle)
    theirs = stats.norm.cdf((1.5 - middle[near]) / 0.2) - stats.norm.cdf(
        (-1.5 - middle[near]) / 0.2
    )
    assert counts.sum() == 500
    assert passing[near] == pytest.approx(theirs, abs=1e-12)
