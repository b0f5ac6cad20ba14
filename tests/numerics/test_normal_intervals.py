"""Exact intervals of normal samples: SciPy's chi-square and noncentral t at their ends."""

from __future__ import annotations

import math

import pytest
from scipy.stats import chi2, nct

from linestudy.numerics.normal_intervals import (
    one_sided_index_interval,
    sd_interval,
    spread_index_interval,
)


@pytest.mark.parametrize(("df", "confidence"), [(4, 0.95), (24.7, 0.9), (124, 0.99)])
@pytest.mark.checks("interval of a standard deviation", source="SciPy: chi-square")
def test_the_ends_of_a_standard_deviation(df: float, confidence: float) -> None:
    found = sd_interval(2.0, df, confidence)
    for end, tail in ((found.low, 1 - confidence), (found.high, 1 + confidence)):
        share = chi2.sf(df * (2.0 / end) ** 2, df)
        assert share == pytest.approx(tail / 2, rel=1e-9)


def test_cp_turns_the_ends_about() -> None:
    sd, index = sd_interval(2.0, 19), spread_index_interval(4.0, 2.0, 19)
    assert index.low == pytest.approx(4.0 / sd.high, rel=1e-12)
    assert index.high == pytest.approx(4.0 / sd.low, rel=1e-12)


@pytest.mark.parametrize(("distance", "n", "df"), [(4.0, 30, 29), (-1.0, 30, 29), (5.0, 125, 100)])
@pytest.mark.checks("interval of a one-sided index", source="SciPy: noncentral t")
def test_the_ends_of_a_one_sided_index(distance: float, n: float, df: float) -> None:
    found = one_sided_index_interval(distance, 1.0, n, df)
    root = math.sqrt(n)
    for end, share in ((found.low, 0.025), (found.high, 0.975)):
        assert nct.sf(root * distance, df, 3 * root * end) == pytest.approx(share, rel=1e-6)
