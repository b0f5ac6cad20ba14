"""Propagation of distributions: the additive examples of JCGM 101 (9.2, values from memory), shapes and correlation."""

from __future__ import annotations

import math

import numpy as np
import pytest

from linestudy.gauges import Contribution, uncertainty_budget
from linestudy.gauges.budget.propagation import DRAWS

SHAPES = ("normal", "rectangular", "triangular", "U")


def alike(sizes: list[float], shape: str) -> list[Contribution]:
    return [Contribution(f"source {k}", u, distribution=shape) for k, u in enumerate(sizes)]


@pytest.mark.parametrize(
    ("sizes", "shape", "printed"),
    [
        # 9.2.2, 9.2.3 and 9.2.4: four inputs, 95 % intervals.
        ([1.0] * 4, "normal", 3.92),
        ([1.0] * 4, "rectangular", 3.88),
        ([1.0, 1.0, 1.0, 10.0], "rectangular", 17.0),
    ],
)
def test_the_additive_models_of_jcgm_101(sizes: list[float], shape: str, printed: float) -> None:
    found = uncertainty_budget(alike(sizes, shape), coverage=1.959964).simulated
    assert found.probability == pytest.approx(0.95, abs=1e-6)
    assert found.half_width == pytest.approx(printed, abs=0.05)
    # The law gives 3.92, 3.92 and 19.8: only the last differs by more than half of a unit.
    assert found.agrees is (max(sizes) == 1.0)


@pytest.mark.parametrize("shape", SHAPES)
def test_each_shape_has_the_quantile_of_scipys(shape: str) -> None:
    from scipy import stats

    known = {
        "normal": stats.norm(),
        "rectangular": stats.uniform(-math.sqrt(3), 2 * math.sqrt(3)),
        "triangular": stats.triang(0.5, -math.sqrt(6), 2 * math.sqrt(6)),
        "U": stats.arcsine(-math.sqrt(2), 2 * math.sqrt(2)),
    }[shape]
    assert known.std() == pytest.approx(1.0)
    found = uncertainty_budget(alike([1.0], shape)).simulated
    assert found.factor == pytest.approx(known.ppf((1 + found.probability) / 2), abs=0.02)
    # Together with a copy of itself, fully correlated: the same shape twice as large.
    twice = uncertainty_budget(
        alike([1.0, 1.0], shape), correlations={("source 0", "source 1"): 1.0}
    )
    assert twice.u_process.estimate == pytest.approx(2.0)
    assert twice.simulated.factor == pytest.approx(found.factor, abs=0.03)


def test_few_degrees_of_freedom_are_students() -> None:
    from scipy.stats import t

    found = uncertainty_budget([Contribution("repeatability on parts", 0.01, 4.0)], 0.0, 1.0)
    assert found.simulated.factor == pytest.approx(
        t.ppf((1 + found.simulated.probability) / 2, 4), rel=0.02
    )
    assert not found.simulated.agrees
    assert found.guard_band == pytest.approx(0.01 * t.ppf(0.95, 4))
    assert any("Simulated by JCGM 101" in note for note in found.cautions)


def test_ten_resistors_calibrated_with_one_standard() -> None:
    # GUM 5.2.2, example: ten resistors in series, fully correlated: 10 x 100 milliohms (from memory).
    lines = [Contribution(f"resistor {k}", 0.1) for k in range(10)]
    pairs = {(f"resistor {i}", f"resistor {j}"): 1.0 for i in range(10) for j in range(i)}
    assert uncertainty_budget(lines, correlations=pairs).u_process.estimate == pytest.approx(1.0)
    assert uncertainty_budget(lines).u_process.estimate == pytest.approx(0.1 * math.sqrt(10))


def test_the_end_gauge_by_its_sensitivities() -> None:
    # GUM H.1 (from memory): 25, 9.7, 2.9 nm and 0.029 degrees with 50 mm x 11.5e-6, 0.58e-6 with 50 mm x 0.1: 32 nm.
    lines = [
        Contribution("calibration", 25.0),
        Contribution("comparison", 9.7),
        Contribution(
            "difference of expansion", 0.58e-6, sensitivity=0.1 * 50e6, distribution="rectangular"
        ),
        Contribution(
            "difference of temperature",
            0.029,
            sensitivity=-50e6 * 11.5e-6,
            distribution="rectangular",
        ),
    ]
    found = uncertainty_budget(lines)
    assert round(found.u_process.estimate) == 32
    shares = {line.source: line.share for line in found.budget}
    assert shares["difference of temperature"] == pytest.approx(16.7**2 / 31.7**2, abs=0.01)


def test_a_contribution_may_cancel_another() -> None:
    lines = [Contribution("one", 3.0), Contribution("two", 4.0, sensitivity=-1.0)]
    found = uncertainty_budget(lines, correlations={("one", "two"): 0.6}, seed=5)
    assert found.u_process.estimate == pytest.approx(math.sqrt(9 + 16 - 2 * 0.6 * 12))
    assert found.simulated.half_width == pytest.approx(2 * found.u_process.estimate, rel=0.02)
    assert found.simulated.draws == DRAWS
    again = uncertainty_budget(lines, correlations={("one", "two"): 0.6}, seed=5)
    assert again.simulated == found.simulated


def test_correlations_that_cannot_be_are_refused() -> None:
    lines = alike([1.0, 1.0, 1.0], "normal")
    with pytest.raises(ValueError, match="no source of the budget"):
        uncertainty_budget(lines, correlations={("source 0", "other"): 0.5})
    with pytest.raises(ValueError, match="from -1 to 1"):
        uncertainty_budget(lines, correlations={("source 0", "source 1"): 1.5})
    pairs = {
        ("source 0", "source 1"): 1.0,
        ("source 1", "source 2"): 1.0,
        ("source 0", "source 2"): -1.0,
    }
    with pytest.raises(ValueError, match="contradict"):
        uncertainty_budget(lines, correlations=pairs)


def test_the_guard_band_holds_with_few_degrees_of_freedom() -> None:
    # 4,000 studies of 3 or 10 readings: an error beyond the band in 5 %; the normal factor gives 12 % and 7 %.
    rng = np.random.default_rng(3)
    for n in (3, 10):
        sd = np.sqrt(rng.chisquare(n - 1, 4000) / (n - 1))
        unit = uncertainty_budget([Contribution("repeatability on parts", 1.0, n - 1.0)]).guard_band
        share = float((rng.standard_normal(4000) > unit * sd).mean())
        assert share == pytest.approx(0.05, abs=0.012)
