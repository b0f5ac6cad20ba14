"""Short runs: the index of the run, drift where neighbours may be alike, too few parts."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import lfilter
from scipy.stats import linregress

from linestudy.capability import machine_performance
from linestudy.capability.short_run import ALPHA, _drift, _error_of_slope, cautions_of
from linestudy.results import CannotJudge
from linestudy.stability.movement.block_means import without_stations
from linestudy.verdict.criteria import resolve


def test_machine_is_the_index_of_the_short_run() -> None:
    y = np.random.default_rng(4).normal(5.0, 0.1, 100)
    study = machine_performance(y, 4.4, 5.6)
    assert study.Pmk.estimate == pytest.approx(
        min(5.6 - y.mean(), y.mean() - 4.4) / (3 * y.std(ddof=1))
    )
    assert study.slope.estimate == pytest.approx(linregress(np.linspace(0, 1, 100), y).slope)
    assert not any("drifts" in note or "Neighbours" in note for note in study.cautions)


def test_the_error_of_the_slope_is_that_of_least_squares_where_nothing_is_alike() -> None:
    y = np.random.default_rng(6).normal(size=60)
    x = np.linspace(-0.5, 0.5, 60)
    line = linregress(x, y)
    left = float(((y - line.intercept - line.slope * x) ** 2).sum())
    error, df = _error_of_slope(x, 0.0, left)
    assert error == pytest.approx(line.stderr)
    assert df == pytest.approx(58)


@pytest.mark.parametrize("rho", [0.4, 0.9])
def test_the_error_of_the_slope_by_matrices(rho: float) -> None:
    # The sandwich of least squares and Satterthwaite's degrees of freedom, written out.
    n, x = 40, np.linspace(-0.5, 0.5, 40)
    among = rho ** np.abs(np.subtract.outer(np.arange(n), np.arange(n)))
    design = np.column_stack([np.ones(n), x])
    hat = np.linalg.inv(design.T @ design) @ design.T
    rest = (np.eye(n) - design @ hat) @ among
    variance = (hat @ among @ hat.T)[1, 1] / np.trace(rest)
    error, df = _error_of_slope(x, rho, 1.0)
    assert error == pytest.approx(variance**0.5)
    assert df == pytest.approx(np.trace(rest) ** 2 / np.trace(rest @ rest))


def test_alike_neighbours_are_no_drift() -> None:
    # Least squares for independent parts calls a third of such runs a drift at 5 %.
    rng = np.random.default_rng(7)
    runs = [
        lfilter([1.0], [1.0, -0.6], rng.normal(size=150))[100:] * (1 - 0.6**2) ** 0.5
        for _ in range(200)
    ]
    naive = np.mean([linregress(np.arange(50), y).pvalue < 0.05 for y in runs])
    allowed = np.mean([_drift(y, 0.95)[1] < 0.05 for y in runs])
    assert naive > 0.2
    # Binomial, 5 % of 200 and three standard errors.
    assert allowed <= 0.05 + 3 * (0.05 * 0.95 / 200) ** 0.5


def test_stations_made_one_after_the_other_are_no_drift() -> None:
    y = np.random.default_rng(8).normal(5.0, 0.05, 80) + np.repeat([0.0, 0.3], 40)
    station = np.repeat(["A", "B"], 40)
    assert _drift(y, 0.95)[1] < 0.001
    assert _drift(without_stations(y, station), 0.95)[1] > 0.05
    whole = machine_performance(y[:40], 4, 6, station=station[:40])
    assert whole.slope_p == machine_performance(y[:40], 4, 6).slope_p


def test_a_straight_line_and_values_that_never_differ_within_stations() -> None:
    x = np.linspace(0, 1, 40)
    slope, p = _drift(2 * x, 0.95)
    assert slope.low <= 2 + 1e-9
    assert p < 1e-6
    assert _drift(np.full(40, 5.0), 0.95)[1] == 1.0


def test_what_is_said_of_a_drift_is_said_where_stability_is_not_found() -> None:
    # Of the run and of each of its streams at most three tests in all are said: together below the level of the verdict.
    assert resolve()["stability_alpha"].number > 3 * ALPHA
    y = np.random.default_rng(4).normal(5.0, 0.1, 100)
    found = machine_performance(y, 4.4, 5.6).study
    assert any("drifts" in note for note in cautions_of(found, 0.0009, 0.0))
    assert not any("drifts" in note for note in cautions_of(found, 0.0009, 0.0, streams=2))


@pytest.mark.proof
def test_drift_and_twins_are_named() -> None:
    rng = np.random.default_rng(5)
    drifting = machine_performance(rng.normal(5.0, 0.1, 100) + np.linspace(0, 0.3, 100), 4, 6)
    assert any("drifts" in note for note in drifting.cautions)
    twins = machine_performance(np.repeat(rng.normal(5.0, 0.1, 60), 2), 4, 6)
    assert any("Neighbours" in note for note in twins.cautions)
    assert any(
        "prefers 100" in note for note in machine_performance(rng.normal(5, 0.1, 60), 4, 6).cautions
    )


def test_too_short_a_run() -> None:
    with pytest.raises(CannotJudge, match="at least 30"):
        machine_performance(np.arange(20.0), 0, 30)
