"""Run lengths of rules against published ones and against simulation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import norm

from linestudy.results import Interval
from linestudy.stability import (
    run_length,
)
from linestudy.stability.charts import rules as r
from linestudy.stability.charts.run_lengths import average_run_length


@pytest.mark.checks("run length of three-sigma limits", source="definition, SciPy")
def test_three_sigma() -> None:
    assert average_run_length("three sigma") == pytest.approx(1 / (2 * norm.sf(3)), rel=1e-12)


@pytest.mark.checks(
    "run length of runs rules",
    source="Champ & Woodall, Technometrics 29 (1987), table 1",
    memory=True,
)
@pytest.mark.parametrize(
    ("shift", "published"),
    # Champ & Woodall, Technometrics 1987, table 1, all four rules; 91.75 as handed down, the
    # others from memory.
    [(0.0, 91.75), (0.2, 66.80), (1.0, 9.22), (2.0, 3.13)],
)
def test_western_electric(shift: float, published: float) -> None:
    assert average_run_length("Western Electric 1956", shift) == pytest.approx(published, abs=0.006)


@pytest.mark.parametrize("name", ["ISO 7870-2", "Western Electric 1956", "Nelson 1984"])
@pytest.mark.parametrize(("shift", "size"), [(0.8, (3000, 400)), (0.0, (600, 4000))])
def test_against_plain_simulation(name: str, shift: float, size: tuple[int, int]) -> None:
    rng = np.random.default_rng(3)
    picked = r.select_rules(name)
    z = rng.normal(shift, 1, size)
    found = np.zeros(z.shape, dtype=bool)
    for rule in picked:
        found |= r.complete_at(rule, z)
    assert found.any(axis=1).all()
    lengths = found.argmax(axis=1) + 1
    error = lengths.std() / math.sqrt(lengths.size)
    mean = run_length(name, n=1, shifts=[shift]).mean[0]
    low, high = (mean.low, mean.high) if isinstance(mean, Interval) else (mean, mean)
    assert low - 3 * error < lengths.mean() < high + 3 * error


def test_median_run_length_is_geometric_for_one_rule() -> None:
    study = run_length("three sigma", n=4, shifts=[0.0, 0.5])
    p = norm.sf(3 - 1) + norm.cdf(-3 - 1)
    assert study.mean[1] == pytest.approx(1 / p)
    assert study.median[1] == math.ceil(math.log(0.5) / math.log(1 - p))
    assert study.shown().shape[0] == 2
    assert "370" in study.statement


def test_shift_signals_sooner() -> None:
    keys = ("beyond", "run of 9", "2 of 3", "4 of 5", "15 within one", "8 outside one")
    lengths = [average_run_length(keys, shift) for shift in (0.0, 0.5, 1.0, 2.0)]
    assert lengths == sorted(lengths, reverse=True)


def test_refusals() -> None:
    with pytest.raises(ValueError, match="no chain of zones"):
        average_run_length("Nelson 1984")
    with pytest.raises(ValueError, match="'no such rule' is not known"):
        run_length("no such rule")
    with pytest.raises(ValueError, match="n = 0"):
        run_length(n=0)


def test_the_interval_of_simulated_run_lengths_by_hand() -> None:
    from linestudy.stability.charts.run_lengths import _mean_interval

    lengths = np.array([3.0, 5.0, 8.0, 4.0])
    found = _mean_interval(lengths, 0.95)
    half = 1.959963984540054 * math.sqrt(14 / 3) / 2  # squares about 5: 4 + 0 + 9 + 1
    assert (found.low, found.high) == pytest.approx((5 - half, 5 + half), rel=1e-12)
