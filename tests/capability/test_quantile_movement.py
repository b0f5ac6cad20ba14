"""Indices from quantiles against SciPy's distributions, in any order of limits given."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import genextreme, weibull_min

from linestudy.capability import quantile_index
from linestudy.shape import fit


@pytest.mark.checks("Pp, Ppk by quantiles", source="SciPy: weibull_min; ISO 22514-4, formula")
def test_the_index_of_a_weibull_is_that_of_scipys_quantiles() -> None:
    y = weibull_min(1.8, scale=0.02).rvs(400, random_state=np.random.default_rng(1))
    item = fit(y, "Weibull", 0.0)
    shape, _, scale = weibull_min.fit(y, floc=0)
    low, middle, high = weibull_min(shape, scale=scale).ppf([0.00135, 0.5, 0.99865])
    both, nearer = quantile_index(item, 0.0001, 0.08)
    assert both == pytest.approx(0.0799 / (high - low), rel=1e-3)
    sides = (0.08 - middle) / (high - middle), (middle - 0.0001) / (middle - low)
    assert nearer == pytest.approx(min(sides), rel=1e-3)


@pytest.mark.checks("Ppk by quantiles", source="SciPy: genextreme with shape 0 (Gumbel)")
def test_the_index_of_a_gumbel_is_that_of_scipys_quantiles() -> None:
    y = genextreme(0.0, 5, 0.2).rvs(500, random_state=np.random.default_rng(2))
    item = fit(y, "largest extreme value")
    law = (
        genextreme(0.0, item.parameters["location"], item.parameters["scale"])
        if ("location" in item.parameters)
        else genextreme(0.0, *item.parameters.values())
    )
    _, middle, high = law.ppf([0.00135, 0.5, 0.99865])
    assert quantile_index(item, None, 7.0) == (
        None,
        pytest.approx((7.0 - middle) / (high - middle), rel=1e-6),
    )


def test_limits_that_are_swapped_are_refused() -> None:
    item = fit(np.random.default_rng(3).normal(size=50), "normal")
    with pytest.raises(ValueError, match="are they swapped"):
        quantile_index(item, 4.0, -4.0)


def test_a_search_that_makes_nothing_of_the_spread_divides_by_nothing() -> None:
    from linestudy.shape import fit

    item = fit(np.random.default_rng(1).normal(5, 1, 200), "normal")
    # So small a spread that the three quantiles are one number.
    narrow = item.with_free(np.array([item.free[0], -80.0]))
    assert np.ptp(narrow.ppf([0.00135, 0.5, 0.99865])) == 0
    assert quantile_index(narrow, 0.0, 9.0) == (1e10, 1e10)
    assert quantile_index(narrow, 6.0, 9.0)[1] == -1e10
