"""Fits, goodness and normality against R: fitdistrplus, MASS and nortest.

``reference/make.R`` makes ``reference/r.json``; versions stand in the latter (R 4.2.2, fitdistrplus
1.1-8, nortest 1.0-4, MASS 7.3-58.2).
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from linestudy.shape import anderson_darling, fit, normality_tests

R: dict[str, Any] = json.loads(
    (Path(__file__).parent / "reference" / "r.json").read_text(encoding="utf-8")
)
VALUES = {
    "normal": "wobbled",
    "logistic": "wobbled",
    "lognormal": "positive",
    "gamma": "positive",
    "Weibull": "positive",
    "folded normal": "positive",
    "Rayleigh": "positive",
    "largest extreme value": "skewed",
    "Weibull with threshold": "skewed",
}


@pytest.mark.checks(
    "maximum likelihood of families", source="R: fitdistrplus, stored with its script"
)
@pytest.mark.parametrize("family", sorted(VALUES))
def test_fitdistrplus(family: str) -> None:
    y, theirs = R[VALUES[family]], R["fits"][family]
    ours = fit(y, family, 0.0)
    assert ours.loglik == pytest.approx(theirs["loglik"], abs=2e-6)
    assert -2 * ours.loglik + 2 * len(ours.parameters) == pytest.approx(theirs["aic"], abs=5e-6)
    assert anderson_darling(ours, y) == pytest.approx(theirs["ad"], rel=2e-3)
    estimate = list(theirs["estimate"].values())
    if family == "gamma":  # R gives the rate
        estimate[1] = 1 / estimate[1]
    assert list(ours.parameters.values()) == pytest.approx(estimate, rel=2e-3)


@pytest.mark.checks(
    "maximum likelihood of families", source="R: MASS fitdistr, stored with its script"
)
@pytest.mark.parametrize("family", ["gamma", "Weibull", "logistic"])
def test_mass_fitdistr(family: str) -> None:
    theirs = list(R["mass"][family].values())
    if family == "gamma":
        theirs[1] = 1 / theirs[1]
    ours = list(fit(R[VALUES[family]], family, 0.0).parameters.values())
    assert ours == pytest.approx(theirs, rel=1e-3)


@pytest.mark.checks(
    "power of Box and Cox's transformation", source="R: MASS boxcox, stored with its script"
)
def test_mass_boxcox() -> None:
    # R searches the power on a grid of 0.0005; its profile likelihood holds the Jacobian.
    y = R["positive"]
    ours = fit(y, "Box-Cox normal", 0.0)
    assert ours.parameters["power"] == pytest.approx(R["boxcox"]["power"], abs=6e-4)
    assert ours.loglik - fit(y, "normal").loglik == pytest.approx(R["boxcox"]["gain"], abs=1e-4)


@pytest.mark.checks("tests of normality", source="R: nortest, stored with its script")
@pytest.mark.parametrize("name", ["skewed", "wobbled"])
@pytest.mark.parametrize("test", ["Anderson-Darling", "Lilliefors", "Shapiro-Wilk"])
def test_nortest(name: str, test: str) -> None:
    theirs = R["normality"][name][test]
    ours = {item.test: item for item in normality_tests(R[name])}[test]
    n = len(R[name])
    # Our Anderson-Darling is the adjusted statistic, as D'Agostino & Stephens tabulate it.
    factor = 1 + 0.75 / n + 2.25 / n**2 if test == "Anderson-Darling" else 1.0
    assert ours.statistic == pytest.approx(theirs["statistic"] * factor, rel=1e-6)
    if theirs["p"] < 0.05 and test != "Lilliefors":
        assert ours.p == pytest.approx(theirs["p"], rel=1e-3)
    if name == "wobbled" and test != "Lilliefors":
        assert ours.p > 0.99


def test_the_values_are_those_of_the_script() -> None:
    # Both sides can make them: the formulas of make.R in NumPy.
    from scipy import stats

    i = np.arange(1, 61)
    u = (i - 0.5) / 60
    skewed = 2 + np.round(stats.gamma(3, scale=0.2).ppf(u), 4) + 0.01 * np.sin(i)
    assert R["skewed"] == pytest.approx(skewed)
