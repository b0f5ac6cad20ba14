"""Tests of normality against the libraries and their published sizes."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.shape import normality_tests

RNG = np.random.default_rng(12)


_ODD = np.random.default_rng(0)


ODD: dict[str, tuple[np.ndarray, float | None]] = {
    "one huge outlier": (np.append(_ODD.normal(5, 1, 500), 1e6), None),
    "two values": (np.array([1.0, 2.0] * 50), None),
    "three values": (np.repeat([1.0, 2.0, 3.0], 20), None),
    "ten values": (_ODD.normal(size=10), None),
    "tiny unit": (1e-12 * _ODD.normal(5, 1, 100), None),
    "far from zero": (1e12 + _ODD.normal(5, 1, 100), None),
    "even": (_ODD.random(2000), None),
    "Cauchy": (_ODD.standard_cauchy(1000), None),
    "mostly one value": (np.concatenate([np.zeros(400), _ODD.normal(size=20)]), None),
    "begins at once": (_ODD.exponential(1, 3000), None),
    "readings at the bound": (np.abs(_ODD.normal(0, 0.003, 300)).round(3), 0.0),
    "bound below zero": (_ODD.gamma(2, 1, 100) - 5, -5.0),
}


def test_normality_tests_are_those_of_the_libraries() -> None:
    from scipy import stats
    from statsmodels.stats.diagnostic import lilliefors, normal_ad

    y = RNG.gamma(8, 1, 120)
    found = {test.test: test for test in normality_tests(y)}
    assert found["Shapiro-Wilk"].statistic == pytest.approx(stats.shapiro(y)[0])
    assert found["D'Agostino-Pearson"].p == pytest.approx(stats.normaltest(y)[1])
    assert found["Anderson-Darling"].p == pytest.approx(normal_ad(y)[1])
    assert found["Lilliefors"].statistic == pytest.approx(lilliefors(y)[0])


def test_anderson_darling_has_its_published_size() -> None:
    # D'Agostino & Stephens (1986): adjusted statistic 0.752 at 5 %, 1.035 at 1 %.
    rng = np.random.default_rng(3)
    statistics = np.array([normality_tests(rng.normal(size=40))[0].statistic for _ in range(400)])
    assert (statistics > 0.752).mean() == pytest.approx(0.05, abs=3 * np.sqrt(0.05 * 0.95 / 400))
    assert (statistics > 1.035).mean() == pytest.approx(0.01, abs=3 * np.sqrt(0.01 * 0.99 / 400))
