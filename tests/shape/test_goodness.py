"""Anderson-Darling for any family: SciPy's statistic, a p-value that is uniform."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.shape import anderson_darling, bootstrap_p, fit

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
