"""What holds for every family of distributions: it is SciPy's of the same parameters, and its score is a slope."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest

from linestudy.shape.families.family import Family, FamilyInScipy

#: Shares of parts from one in a thousand million to all but so many.
SHARES = np.array([1e-9, 1e-6, 0.00135, 0.1, 0.5, 0.9, 0.99865, 1 - 1e-6])


def assert_is_scipys(family: FamilyInScipy, coordinates: Sequence[float], theirs: Any) -> None:
    """Quantiles, density, both shares; the smaller one to its own digits."""
    c = np.array(coordinates, dtype=float)
    x = theirs.ppf(SHARES)
    assert family.ppf(SHARES, c) == pytest.approx(x, rel=1e-8, abs=1e-12)
    assert family.logpdf(x, c) == pytest.approx(theirs.logpdf(x), rel=1e-9, abs=1e-9)
    assert family.cdf(x, c) == pytest.approx(theirs.cdf(x), rel=1e-7)
    far = theirs.isf(np.array([1e-4, 1e-9, 1e-12]))
    assert family.sf(far, c) == pytest.approx([1e-4, 1e-9, 1e-12], rel=1e-5)


def assert_score_is_a_slope(family: Family, x: Any, coordinates: Sequence[float]) -> None:
    """Against differences of the log density, at values inside."""
    at = np.array(coordinates, dtype=float)
    for index, slope in enumerate(family.score(x, at)):
        step = np.zeros(at.size)
        step[index] = 1e-5
        numerical = (family.logpdf(x, at + step) - family.logpdf(x, at - step)) / 2e-5
        assert np.broadcast_to(slope, np.shape(x)) == pytest.approx(numerical, rel=1e-5, abs=1e-6)


def assert_starts_near(family: Family, x: Any, theirs: Any) -> None:
    """Where a search begins, the values are nearly as likely as under the truth: within four for each thousand."""
    values = np.sort(np.asarray(x, dtype=float))
    ones = np.ones(values.size)
    best = max(float(family.logpdf(values, c).sum()) for c in family.starts(values, ones))
    assert best > float(theirs.logpdf(values).sum()) - 0.05 * values.size
