"""How long a crossed study takes, against statsmodels' table of variance on the same data."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from timed import Timed

from linestudy.gauges import grr_anova, grr_anova_stack
from linestudy.gauges.grr.analysis import mean_squares_of
from linestudy.gauges.grr.design import lay_out
from linestudy.gauges.grr.mean_squares import pool

pytestmark = pytest.mark.benchmark(group="crossed study, 10 parts, 3 people, 3 trials")


@pytest.fixture(scope="module")
def data(published: Path) -> pd.DataFrame:
    return pd.read_csv(published / "aiag_crossed" / "data" / "crossed.csv")


def test_by_statsmodels(data: pd.DataFrame, timed: Timed) -> None:
    from statsmodels.formula.api import ols
    from statsmodels.stats.anova import anova_lm

    timed(
        lambda: anova_lm(ols("value ~ C(part) * C(appraiser)", data).fit()),
        rounds=20,
        peer="statsmodels ols + anova_lm",
    )


def test_table_of_variance_alone(data: pd.DataFrame, timed: Timed) -> None:
    timed(
        lambda: pool(mean_squares_of(lay_out(data, "value", "part", "appraiser", "trial")), 0.25),
        rounds=100,
    )


def test_without_draws(data: pd.DataFrame, timed: Timed) -> None:
    timed(
        lambda: grr_anova(data, tolerance=8.0, method="mls", draws=0),
        rounds=100,
        aim="a twentieth of statsmodels",
    )


def test_in_a_stack_of_twelve(timed: Timed) -> None:
    cube = np.random.default_rng(1).normal(size=(12, 10, 3, 3))
    timed(
        lambda: grr_anova_stack(cube, [8.0] * 12, method="mls", draws=0),
        rounds=20,
        per=12,
        aim="a twentieth of statsmodels",
    )


def test_both_intervals_with_100_000_draws(data: pd.DataFrame, timed: Timed) -> None:
    timed(
        lambda: grr_anova(data, tolerance=8.0, method="mls", draws=100_000), rounds=10, aim="25 ms"
    )
