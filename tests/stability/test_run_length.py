"""Run lengths against published ones, against a plain chain and against simulation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import norm

from linestudy.results import CannotJudge, Interval
from linestudy.stability import (
    cusum_run_length,
    design_cusum,
    design_ewma,
    ewma_run_length,
    run_length,
    sequential,
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


@pytest.mark.checks("run length of a CUSUM", source="published tables", memory=True)
@pytest.mark.parametrize(
    ("k", "h", "shift", "published"),
    # Handed down with the project's published figures; the same as in Montgomery's table.
    [(0.5, 4, 0, 168), (0.5, 5, 0, 465), (0.5, 4, 1, 8.38), (0.5, 5, 1, 10.4)],
)
def test_cusum(k: float, h: float, shift: float, published: float) -> None:
    found = cusum_run_length(k, h, shift)
    assert found == pytest.approx(published, rel=3e-3)


@pytest.mark.checks(
    "run length of an EWMA", source="Lucas & Saccucci, Technometrics 32 (1990)", memory=True
)
def test_ewma() -> None:
    # Lucas & Saccucci, Technometrics 1990.
    assert ewma_run_length(0.1, 2.814) == pytest.approx(500, rel=2e-3)
    assert ewma_run_length(0.1, 2.814, 1.0) == pytest.approx(10.3, abs=0.05)
    assert ewma_run_length(1.0, 3.0) == pytest.approx(1 / (2 * norm.sf(3)), rel=1e-6)


def chain_of_brook_and_evans(k: float, h: float, shift: float, states: int) -> float:
    """One-sided CUSUM as a chain of `states` intervals (Biometrika 1972), extrapolated."""

    def one(t: int) -> float:
        width = 2 * h / (2 * t - 1)
        i = np.arange(t)[:, None]
        j = np.arange(t)[None, :]
        top = norm.cdf((j - i) * width + width / 2 + k - shift)
        bottom = norm.cdf((j - i) * width - width / 2 + k - shift)
        moves = top - bottom
        moves[:, 0] = top[:, 0]
        return float(np.linalg.solve(np.eye(t) - moves, np.ones(t))[0])

    # Its error falls with the square of the interval width.
    coarse, fine = one(states), one(2 * states)
    return fine + (fine - coarse) / 3


@pytest.mark.parametrize("shift", [0.0, 0.5, 2.0])
def test_cusum_is_that_of_a_markov_chain(shift: float) -> None:
    expected = chain_of_brook_and_evans(0.5, 4.0, shift, 150)
    found = cusum_run_length(0.5, 4.0, shift, two_sided=False)
    assert found == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize("shift", [0.5, 1.0, 2.0])
@pytest.mark.parametrize("rest", [100.0, 370.4, 1000.0])
def test_designs_keep_the_wish(shift: float, rest: float) -> None:
    assert ewma_run_length(*design_ewma(rest, shift)) == pytest.approx(rest)
    k, h = design_cusum(rest, shift)
    assert k == shift / 2
    assert cusum_run_length(k, h) == pytest.approx(rest, rel=1e-6)


@pytest.mark.parametrize("name", ["ISO 7870-2", "Western Electric 1956", "Nelson 1984"])
@pytest.mark.parametrize(("shift", "size"), [(0.8, (3000, 400)), (0.0, (600, 4000))])
def test_against_plain_simulation(name: str, shift: float, size: tuple[int, int]) -> None:
    rng = np.random.default_rng(3)
    picked = r.chosen(name)
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
    with pytest.raises(CannotJudge):
        average_run_length("Nelson 1984")
    with pytest.raises(CannotJudge):
        run_length("no such rule")
    with pytest.raises(CannotJudge):
        run_length(n=0)
    with pytest.raises(CannotJudge):
        ewma_run_length(0.0, 3.0)
    with pytest.raises(CannotJudge):
        cusum_run_length(0.5, 0.0)
    with pytest.raises(CannotJudge):
        design_ewma(5.0)


@pytest.mark.parametrize("chart", ["EWMA", "CUSUM"])
def test_sequential_charts(chart: str) -> None:
    rng = np.random.default_rng(8)
    y = 10 + 2 * rng.normal(size=60)
    y[30:] += 3
    study = sequential(y, 10.0, 2.0, chart)
    assert any(30 < s["point"] <= 45 and s["side"] == "above" for s in study.signals)
    assert study.expected_false_signals == pytest.approx(60 / 370.4, rel=1e-3)
    # Another unit, the same signals.
    other = sequential(25.4 * y + 100, 354.0, 50.8, chart)
    assert [s["point"] for s in other.signals] == [s["point"] for s in study.signals]
    assert study.figure().alt_text == study.alt_text
    assert not study.shown().empty


def test_sequential_refusals() -> None:
    with pytest.raises(CannotJudge):
        sequential([1.0, 2.0], 0.0, 0.0)
    with pytest.raises(CannotJudge):
        sequential([1.0, 2.0], 0.0, 1.0, "other")


def test_the_interval_of_simulated_run_lengths_by_hand() -> None:
    from linestudy.stability.charts.run_lengths import _mean_interval

    lengths = np.array([3.0, 5.0, 8.0, 4.0])
    found = _mean_interval(lengths, 0.95)
    half = 1.959963984540054 * math.sqrt(14 / 3) / 2  # squares about 5: 4 + 0 + 9 + 1
    assert (found.low, found.high) == pytest.approx((5 - half, 5 + half), rel=1e-12)
