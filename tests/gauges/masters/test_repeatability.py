"""Cg and Cgk: arithmetic by hand."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.gauges import cg_cgk
from linestudy.results import CannotJudge


def test_repeatability_by_hand() -> None:
    # VDA 5 manner, arithmetic by hand: s = 1, tolerance 60, 20 % of it over 6 s is 2.
    values = np.array([-1.0, 1.0, -1.0, 1.0, 0.0]) * np.sqrt(4 / 4) + 10.5
    study = cg_cgk(values, 10.0, 60.0)
    assert study.sd == pytest.approx(1.0)
    assert study.Cg.estimate == pytest.approx(2.0)
    assert study.Cgk.estimate == pytest.approx((6 - 0.5) / 3)
    assert cg_cgk(values, 10.0, 60.0, sigma_multiplier=4.0).Cg.estimate == pytest.approx(3.0)
    assert study.smallest_tolerance.estimate == pytest.approx(60 * 1.33 / 2)


def test_readings_of_one_master_that_never_differ_are_refused() -> None:
    with pytest.raises(CannotJudge, match="All 3 readings"):
        cg_cgk([2.0, 2.0, 2.0], 2.0, 1.0)


def test_both_ends_of_cg_and_cgk_against_scipy() -> None:
    # SciPy: chi-square for Cg; noncentral t of the nearer side for Cgk (Owen 1968).
    from scipy.stats import chi2, nct

    # Short tails, which take no degree of freedom.
    values = np.random.default_rng(2).uniform(9.9, 10.14, 30)
    study = cg_cgk(values, 10.0, 6.0, confidence=0.9)
    for end, q in ((study.Cg.low, 0.05), (study.Cg.high, 0.95)):
        assert end == pytest.approx(study.Cg.estimate * np.sqrt(chi2.ppf(q, 29) / 29), rel=1e-9)
    # At each end what was observed is the tail of its own noncentral t.
    observed = 3 * np.sqrt(30) * study.Cgk.estimate
    for end, tail in ((study.Cgk.low, 0.95), (study.Cgk.high, 0.05)):
        assert nct.cdf(observed, 29, 3 * np.sqrt(30) * end) == pytest.approx(tail, abs=1e-6)


@pytest.mark.proof
def test_cg_holds_under_heavy_tails() -> None:
    """1,000 studies of 50 readings of Student's t with 5 degrees of freedom; chi-square alone covers 81 %."""
    readings = np.random.default_rng(4).standard_t(5, (1000, 50)) / np.sqrt(5 / 3)
    truth = 0.2 * 60 / 6
    assert np.mean([truth in cg_cgk(row, 0.0, 60.0).Cg for row in readings]) > 0.91


def test_heavy_tails_are_told_and_hardly_ever_where_there_are_none() -> None:
    def told(values: np.ndarray) -> bool:
        return any("heavier tails" in note for note in cg_cgk(values, 0.0, 10.0).cautions)

    draw = np.random.default_rng(1)
    assert np.mean([told(draw.normal(size=50)) for _ in range(200)]) <= 0.03
    assert np.mean([told(draw.standard_t(5, 50)) for _ in range(200)]) >= 0.15
