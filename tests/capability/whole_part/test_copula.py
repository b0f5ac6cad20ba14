"""Joint share from margins and correlations: SciPy's multivariate normal, closed forms, and its bounds."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import multivariate_normal, norm

from linestudy.capability import share_failing_any
from linestudy.capability.whole_part.copula import failing_any, normal_correlation
from linestudy.results import Interval


@pytest.mark.proof
def test_rectangle_of_scipy() -> None:
    rng = np.random.default_rng(0)
    a = rng.normal(size=(4, 4))
    s = a @ a.T
    s /= np.sqrt(np.outer(np.diag(s), np.diag(s)))
    below, above = [0.01, 0.002, 1e-12, 0.03], [0.02, 1e-12, 0.05, 0.001]
    inside = multivariate_normal.cdf(
        norm.isf(above),
        mean=np.zeros(4),
        cov=s,
        lower_limit=norm.ppf(below),
        maxpts=4_000_000,
        abseps=1e-7,
    )
    assert share_failing_any(below, above, s) == pytest.approx(1 - inside, abs=2e-5)


@pytest.mark.checks("share failing any limit", source="SciPy: bivariate normal")
def test_parts_per_million_keep_their_digits() -> None:
    # SciPy's bivariate normal: P(A or B) = P(A) + P(B) - P(A and B).
    p = np.array([1e-6, 2e-6])
    s = np.array([[1.0, 0.9], [0.9, 1.0]])
    both = multivariate_normal.cdf(norm.ppf(p), mean=[0, 0], cov=s)
    assert share_failing_any(p, [0, 0], s) == pytest.approx(p.sum() - both, rel=2e-3)


def test_independent_is_the_product() -> None:
    p = [0.01, 0.02, 0.003]
    share = share_failing_any(p, [0.0, 0.005, 0.0], np.eye(3))
    assert share == pytest.approx(1 - 0.99 * 0.975 * 0.997, rel=1e-4)


@given(
    r=st.floats(-0.95, 0.95),
    p=st.lists(st.floats(1e-7, 0.2), min_size=2, max_size=2),
)
def test_between_the_worst_and_the_sum(r: float, p: list[float]) -> None:
    share = share_failing_any(p, [0.0, 0.0], np.array([[1.0, r], [r, 1.0]]))
    assert max(p) * (1 - 1e-3) <= share <= sum(p) * (1 + 1e-3)


def test_order_of_characteristics_does_not_matter() -> None:
    s = np.array([[1.0, 0.6, 0.1], [0.6, 1.0, -0.3], [0.1, -0.3, 1.0]])
    p, turn = np.array([0.01, 0.02, 0.005]), [2, 0, 1]
    again = share_failing_any(p[turn], np.zeros(3), s[np.ix_(turn, turn)])
    assert again == share_failing_any(p, np.zeros(3), s)


def test_correlation_of_scores_gives_the_ranks_back() -> None:
    from scipy.stats import spearmanr

    rho = normal_correlation(np.array([[1.0, 0.6], [0.6, 1.0]]))
    z = np.random.default_rng(2).multivariate_normal([0, 0], rho, 200_000)
    assert spearmanr(*z.T).statistic == pytest.approx(0.6, abs=0.006)
    impossible = np.array([[1.0, 0.9, -0.9], [0.9, 1.0, 0.9], [-0.9, 0.9, 1.0]])
    assert np.linalg.eigvalsh(normal_correlation(impossible)).min() > 0


def test_interval_is_that_of_the_sum_where_nothing_overlaps() -> None:
    # MOVER by hand: 300 with ends 50 below and sqrt(2) * 30 above.
    rate = Interval(100.0, 70.0, 130.0, 0.95, "example")
    none = Interval(0.0, 0.0, 0.0, 0.95, "no such limit")
    one = {"below": rate, "above": none, "total": rate}
    ppm, _ = failing_any([one, one], np.eye(2))
    assert ppm.high == pytest.approx(200 + np.sqrt(2) * 30, rel=1e-3)
    assert ppm.low == pytest.approx(200 - np.sqrt(2) * 30, rel=1e-3)
