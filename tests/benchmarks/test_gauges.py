"""How long a crossed study takes, against statsmodels' table of variance on the same data in the same run."""

from __future__ import annotations

import timeit
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from linestudy.gauges import crossed, crossed_stack
from linestudy.gauges.crossed import mean_squares_of
from linestudy.gauges.crossed_design import lay_out
from linestudy.gauges.pooling import pool

pytestmark = pytest.mark.benchmark


def best(work: Callable[[], object], number: int) -> float:
    """Milliseconds per call, best of five."""
    work()
    return min(timeit.repeat(work, number=number, repeat=5)) / number * 1e3


def test_crossed_study(sample_study: Path) -> None:
    from statsmodels.formula.api import ols
    from statsmodels.stats.anova import anova_lm

    data = pd.read_csv(sample_study.parent / "published" / "aiag_crossed" / "data" / "crossed.csv")
    peer = best(lambda: anova_lm(ols("value ~ C(part) * C(appraiser)", data).fit()), 5)
    alone = best(lambda: crossed(data, tolerance=8.0, method="mls", draws=0), 50)
    table = best(
        lambda: pool(mean_squares_of(lay_out(data, "value", "part", "appraiser", "trial")), 0.25),
        50,
    )
    both = best(lambda: crossed(data, tolerance=8.0, method="mls", draws=100_000), 5)
    cube = np.random.default_rng(1).normal(size=(12, 10, 3, 3))
    stack = best(lambda: crossed_stack(cube, [8.0] * 12, method="mls", draws=0), 5) / 12
    print(
        f"\nstatsmodels ols + anova_lm {peer:.1f} ms; the same table of variance, pooled and not, {table:.2f} ms "
        f"({peer / table:.1f} times faster); crossed without draws {alone:.2f} ms "
        f"({peer / alone:.1f} times faster, aim 20); in a stack of twelve {stack:.2f} ms each "
        f"({peer / stack:.1f} times faster); with both intervals and 100,000 draws {both:.1f} ms (aim 25)"
    )
