"""What makes a test of normality reject is named: steps, a stray value, copies, serial correlation."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from scipy.stats import norm
from statsmodels.stats.diagnostic import normal_ad

from linestudy.results import Absent
from linestudy.shape import cautions, fit, normality_tests, select_distribution
from linestudy.shape.cautions import causes_of_rejection

RNG = np.random.default_rng(12)


def test_causes_are_named() -> None:
    coarse = select_distribution(RNG.normal(5, 1, 300).round(0), refits=0)
    assert any("steps" in note for note in coarse.cautions)
    far = select_distribution(np.append(RNG.normal(5, 1, 300), 500.0), refits=0)
    assert any("very far" in note for note in far.cautions)
    assert any(
        "correlate" in note
        for note in select_distribution(RNG.normal(5, 1, 300), lag1=0.6, refits=0).cautions
    )


def test_rounding_is_tried_as_a_cause() -> None:
    study = select_distribution(np.random.default_rng(1).normal(0, 1, 250).round(), refits=0)
    assert any("Rounding is why" in note for note in study.cautions)
    fine = select_distribution(np.random.default_rng(1).gamma(2, 1, 250), refits=0)
    assert not any("Rounding" in note for note in fine.cautions)


def test_a_stray_value_is_named() -> None:
    y = np.append(np.random.default_rng(3).normal(10, 1, 200), 16.5)
    notes = select_distribution(np.random.default_rng(4).permutation(y), refits=0).cautions
    assert any("16.5, is why normality is rejected" in note for note in notes)


def test_a_skewed_sample_has_no_stray_value() -> None:
    """A farthest value is no cause where the others lie up to it: Grubbs's bound by SciPy's t distribution."""
    rejected = 0
    for seed in range(40):
        y = np.random.default_rng(seed).gamma(20, 1, 100)
        far = int(np.argmax(np.abs(y - np.median(y))))
        others = np.delete(y, far)
        z = abs(y[far] - others.mean()) / others.std(ddof=1) * np.sqrt(99 / 100)
        named = any(
            "is why normality is rejected" in note
            for note in causes_of_rejection(y, y, normality_tests(y), None, False, 1, "N")
        )
        without = normal_ad(others)[1] >= 0.05 > normal_ad(y)[1]
        assert named is bool(without and 200 * stats.t.sf(z, 98) < 0.01)
        rejected += bool(without)
    assert rejected > 1


def test_copied_readings_are_named() -> None:
    y = np.random.default_rng(5).normal(10, 1, 300).round(2)
    y[1::3] = y[::3]
    assert any("equal the one before" in note for note in select_distribution(y, refits=0).cautions)
    plain = np.random.default_rng(5).normal(10, 1, 300).round(1)
    assert not any(
        "equal the one before" in note for note in select_distribution(plain, refits=0).cautions
    )


def test_tested_values_that_still_correlate_are_named() -> None:
    walk = np.cumsum(np.random.default_rng(6).normal(size=200))
    assert any("still correlate" in note for note in select_distribution(walk, refits=0).cautions)


Y = np.random.default_rng(1).normal(10, 1, 500)


def test_expected_ppm_is_scipys_tail() -> None:
    item = fit(Y, "normal")
    own = norm(item.parameters["mean"], item.parameters["sd"])
    assert cautions.expected_ppm(item, 8.0, 12.0) == pytest.approx(
        1e6 * (own.cdf(8.0) + own.sf(12.0))
    )
    assert cautions.expected_ppm(item, None, 12.0) == pytest.approx(1e6 * own.sf(12.0))
    assert isinstance(cautions.expected_ppm(item, None, None), Absent)


def test_doubt_between_families_names_them_and_their_rates() -> None:
    two = [fit(Y, "normal"), fit(Y, "logistic")]
    (note,) = cautions.doubt_between_families(two, 6.0, 14.0)
    assert "logistic" in note
    assert "ppm" in note
    assert cautions.doubt_between_families(two[:1], 6.0, 14.0) == []


def test_four_parameters_on_few_values_are_said() -> None:
    assert cautions.few_values_for_four("Johnson S_U", 200.0)
    assert not cautions.few_values_for_four("Johnson S_U", 500.0)
    assert not cautions.few_values_for_four("normal", 50.0)
