"""Modified large-sample intervals where they must be exact, whatever the design.

Source of the method: Graybill & Wang, *JASA* 75 (1980), for sums; Ting et al., *Journal of Statistical
Computation and Simulation* 35 (1990), for differences. Two mean squares whose terms stand to each other as their degrees of freedom add up to one mean square
of all of them: there the interval of the sum is the chi-square interval of that one (a derivation, not a table).
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import chi2, f

from linestudy.gauges.grr.intervals import mls_intervals
from linestudy.gauges.grr.mean_squares import MeanSquares


def squares(ms: list[float], df: list[float]) -> MeanSquares:
    names = tuple(f"source {i}" for i in range(len(ms)))
    return MeanSquares(names, np.array(ms) * df, np.array(df), np.eye(len(ms)))


@pytest.mark.parametrize("df", [(9.0, 2.0), (3.0, 17.0), (40.0, 5.0)])
def test_a_sum_in_the_ratio_of_its_freedoms_is_one_mean_square(df: tuple[float, float]) -> None:
    # A third term, far too small to matter, is taken off: only then are cross terms of one sign in use.
    found = squares([df[0], df[1], 1e-9], [*df, 30.0])
    low, _ = mls_intervals(found, np.array([[1.0, 1.0, -1.0]]), 0.95)
    total = sum(df)
    assert low[0] == pytest.approx(total * total / chi2.ppf(0.975, total), rel=1e-7)
    # The same above, for the terms that are taken off.
    found = squares([df[0], df[1], 1e-9], [*df, 30.0])
    _, high = mls_intervals(found, np.array([[-1.0, -1.0, 1.0]]), 0.95)
    assert high[0] == pytest.approx(-total * total / chi2.ppf(0.975, total), rel=1e-7)


def test_three_terms_of_one_sign_share_the_cross_terms() -> None:
    # Equal terms and freedoms: each pair's correction is halved (Ting et al. 1990, from memory).
    df = 6.0
    found = squares([1.0, 1.0, 1.0, 1e-9], [df, df, df, 30.0])
    low, _ = mls_intervals(found, np.array([[1.0, 1.0, 1.0, -1.0]]), 0.9)
    g = 1 - df / chi2.ppf(0.95, df)
    both = 1 - 2 * df / chi2.ppf(0.95, 2 * df)
    pair = 4 * both**2 - 2 * g**2
    assert low[0] == pytest.approx(3 - np.sqrt(3 * g**2 + 3 * pair / 2), rel=1e-7)


@pytest.mark.parametrize("df", [(9.0, 2.0), (2.0, 9.0), (30.0, 60.0)])
def test_a_difference_that_is_nothing_at_the_quantile_of_f_is_exact(
    df: tuple[float, float],
) -> None:
    # Where the ratio of both mean squares is the quantile of F the interval must just reach zero.
    for probability, end in ((0.975, 0), (0.025, 1)):
        ratio = f.ppf(probability, *df)
        found = squares([ratio, 1.0], list(df))
        ends = mls_intervals(found, np.array([[1.0, -1.0]]), 0.95)
        assert ends[end][0] == pytest.approx(0.0, abs=1e-9)


def test_each_sum_has_its_own_measure_of_nothing() -> None:
    # In the first sum the third mean square is nothing beside the others; alone, in the second, it is all.
    found = squares([1.0, 2.0, 1e-13], [9.0, 4.0, 30.0])
    both = mls_intervals(found, np.array([[1.0, 1.0, -1.0], [0.0, 0.0, 1.0]]), 0.95)
    first = mls_intervals(found, np.array([[1.0, 1.0, 0.0]]), 0.95)
    assert both[:, 0] == pytest.approx(first[:, 0], rel=1e-9)
    wanted = 1e-13 * 30 / chi2.ppf([0.975, 0.025], 30)
    assert both[:, 1] == pytest.approx(wanted, rel=1e-9)
