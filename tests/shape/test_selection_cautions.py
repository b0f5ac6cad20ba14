"""Sentences about the choice of a distribution."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from linestudy.results import Absent
from linestudy.shape import fit
from linestudy.shape import selection_cautions as cautions

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
