"""What the labs about gauges say, against theory and against another library's table of variance."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf

from linestudy.simulate import labs


@pytest.mark.parametrize(("specimens", "tester"), [(1.0, 0.5), (0.0, 0.7), (2.0, 0.2)])
def test_a_nested_study_finds_tester_and_specimens_together(
    specimens: float, tester: float
) -> None:
    found = labs.destroyed_parts(specimens, tester).numbers
    assert found["found"] ** 2 == pytest.approx(specimens**2 + tester**2, rel=0.03)
    assert found["tester share"] == pytest.approx(tester**2 / (specimens**2 + tester**2))
    # One long study by statsmodels' mixed model: what it calls residual is the same sum.
    rng = np.random.default_rng(4)
    coil = np.repeat(np.arange(60), 20)
    force = (
        2 * rng.standard_normal(60)[coil]
        + specimens * rng.standard_normal(1200)
        + tester * rng.standard_normal(1200)
    )
    fitted = smf.mixedlm(
        "force ~ 1", pd.DataFrame({"force": force, "coil": coil}), groups="coil"
    ).fit()
    assert np.sqrt(fitted.scale) == pytest.approx(found["seen"], rel=0.06)


def test_more_coils_know_the_sum_better_and_nothing_apart() -> None:
    few, many = (labs.destroyed_parts(1.0, 0.5, coils).numbers for coils in (5, 30))
    assert many["high"] - many["low"] < 0.6 * (few["high"] - few["low"])
    assert few["seen"] == many["seen"]
    assert many["low"] > 0.9 > 0.5


@pytest.mark.parametrize("people", [1, 3])
def test_categories_alone_are_those_of_the_whole_study(people: int) -> None:
    from linestudy.gauges import grr_anova_stack
    from linestudy.simulate.labs.gauges import categories

    rng = np.random.default_rng(3)
    cells = 2 * rng.standard_normal((12, 8, 1, 1)) + rng.standard_normal((12, 8, people, 2))
    whole = [study.ndc.estimate for study in grr_anova_stack(cells, [None] * 12, draws=100, seed=1)]
    assert categories(cells) == pytest.approx(whole)
