"""Weighted kappa against a published table, and its costs."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.gauges.judgement.weighted_agreement import weighted_kappa, weights_of
from linestudy.results import Absent, Interval


def test_published_weighted_kappa() -> None:
    # Two psychiatrists' diagnoses in three classes of Cohen (1968), table 1, as proportions: personality disorder,
    # neurosis, psychosis; costs 0, 1, 3 / 1, 0, 6 / 3, 6, 0; printed weighted kappa .348 (values from memory).
    observed = np.array([[0.44, 0.07, 0.09], [0.05, 0.20, 0.05], [0.01, 0.03, 0.06]])
    cost = np.array([[0.0, 1, 3], [1, 0, 6], [3, 6, 0]]) / 6
    counts = np.round(observed * 100).astype(int)
    first, second = np.repeat(np.indices((3, 3)).reshape(2, -1), counts.ravel(), axis=1)
    found = weighted_kappa([(np.eye(3)[first], np.eye(3)[second])], cost, 0.95)
    assert isinstance(found, Interval)
    assert found.estimate == pytest.approx(0.348, abs=5e-4)


def test_costs_rise_to_one() -> None:
    assert weights_of("linear", 5)[0].tolist() == [0, 0.25, 0.5, 0.75, 1]
    assert weights_of("quadratic", 5)[1, 4] == pytest.approx(0.5625)


def test_two_parts_say_nothing() -> None:
    pair = (np.eye(3)[[0, 1]], np.eye(3)[[0, 2]])
    assert isinstance(weighted_kappa([pair], weights_of("linear", 3), 0.95), Absent)
