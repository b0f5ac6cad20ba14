"""Anderson-Darling for any family: SciPy's statistic, a p-value that is uniform."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.shape import anderson_darling, bootstrap_p, fit

RNG = np.random.default_rng(12)


@pytest.mark.checks("Anderson-Darling statistic", source="SciPy: anderson")
def test_our_statistic_is_scipys() -> None:
    from scipy.stats import anderson

    y = RNG.normal(3, 2, 80)
    item = fit(y, "normal")
    # SciPy divides by n - 1; give it our fit by scaling.
    import warnings

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = anderson(y, "norm").statistic
    sd = np.std(y, ddof=1)
    own = fit(y, "normal").with_free([float(np.mean(y)), float(np.log(sd))])
    assert anderson_darling(own, y) == pytest.approx(theirs, rel=1e-9)
    assert anderson_darling(item, y) == pytest.approx(theirs, rel=0.1)


def test_bootstrap_p_is_uniform_under_the_null() -> None:
    rng = np.random.default_rng(4)
    p = [
        bootstrap_p(fit(y := rng.gamma(3, 1, 60), "gamma", 0.0), y, refits=29, rng=rng)
        for _ in range(24)
    ]
    assert 0.32 < np.mean(p) < 0.68
