"""Tests of normality against the libraries and their published sizes."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.shape import normality_tests

RNG = np.random.default_rng(12)


@pytest.mark.checks("tests of normality", source="SciPy, statsmodels")
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
