"""What is said of a process before sorting: words and rows."""

from __future__ import annotations

import numpy as np

from linestudy.capability import truncated_capability


def test_statement_and_rows_name_every_family_that_stands() -> None:
    x = np.random.default_rng(1).normal(size=3000)
    kept = x[x < 1.5]
    study = truncated_capability(
        kept,
        None,
        1.5,
        rejected_count=x.size - kept.size,
        families=("normal", "gamma with threshold"),
    )
    assert set(study.by_family) == {"normal", "gamma with threshold"}
    assert "over the 2 distributions that fit" in study.statement
    shown = study.table().to_string()
    assert "Ppk, gamma with threshold distribution" in shown
    assert "not to be used" in shown
    assert study.runner_up is not None
    # The density that the picture draws holds one part in all.
    grid = np.linspace(-8, 8, 4001)
    assert abs(np.trapezoid(study.density(grid), grid) - 1) < 1e-3
