"""Pictures of the distribution: a dot for each value at its quantile, the band, every candidate with its ppm."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from drawn import dots, drawn, legend
from scipy.stats import norm

from linestudy.figures.shape import _spread_points, candidates, probability_plot
from linestudy.shape import fit

Y = norm(5.0, 0.2).ppf((np.arange(100) + 0.5) / 100)


def shape(
    values: np.ndarray, sample: np.ndarray | None = None, band: object = None
) -> SimpleNamespace:
    x, w = np.unique(values, return_counts=True)
    chosen = fit(values, "normal")
    return SimpleNamespace(
        counts=(x, w),
        chosen=chosen,
        sample=sample,
        band=band,
        n=values.size,
        family="normal",
        unit="mm",
    )


def test_every_value_stands_at_the_quantile_of_its_rank() -> None:
    axes = drawn(probability_plot, shape(Y))
    points = dots(axes)
    assert len(points) == 100
    theirs = norm(Y.mean(), Y.std()).ppf((np.arange(100) + 0.5) / 100)
    assert points[:, 0] == pytest.approx(theirs)
    assert points[:, 1] == pytest.approx(Y)
    assert (axes.get_xlabel(), axes.get_ylabel()) == (
        "quantile of the normal distribution (mm)",
        "quantile of the values (mm)",
    )
    assert legend(axes) == ["values"]
    assert axes.get_xlim() == axes.get_ylim()


def test_a_sample_of_more_values_is_named_and_all_of_them_are_a_line() -> None:
    grid = np.linspace(4.5, 5.5, 20)
    axes = drawn(
        probability_plot, shape(np.tile(Y, 30), sample=Y, band=(grid, grid - 0.05, grid + 0.05))
    )
    assert len(dots(axes)) == 100
    assert legend(axes) == [
        "100 values spread over the run",
        "all 3,000 values",
        "95 of 100 samples lie in here",
    ]
    (band, *_) = axes.collections
    vertices = band.get_paths()[0].vertices
    assert vertices[:, 1].min() == pytest.approx(4.45)


def test_of_many_points_those_of_the_tails_are_all_drawn() -> None:
    assert _spread_points(np.zeros(400)).tolist() == list(range(400))
    shown = _spread_points(np.zeros(10_000))
    assert shown.size <= 400
    assert set(range(50)) | set(range(9950, 10_000)) <= set(shown)
    assert np.diff(shown).max() < 50


def family(name: str, ppm: object, aic: float) -> SimpleNamespace:
    return SimpleNamespace(family=name, expected_ppm=ppm, aic=aic)


def test_each_candidate_stands_at_its_ppm_and_what_fits_as_well_is_filled() -> None:
    rows = [
        family("normal", 63.0, 100.0),
        family("logistic", 900.0, 101.2),
        family("Weibull", 0.0, 140.0),
    ]
    rows.append(family("gamma", "not fitted", 150.0))
    study = SimpleNamespace(families=rows, plausible_families=rows[:2], chosen=rows[0])
    axes = drawn(candidates, study)
    marked = [line for line in axes.lines if len(line.get_xdata())]
    assert [float(line.get_xdata()[0]) for line in marked] == [
        63.0,
        900.0,
        1e-3,
    ]  # nought has no logarithm
    assert [line.get_markerfacecolor() != "none" for line in marked] == [True, True, False]
    assert [t.get_text() for t in axes.get_yticklabels()] == [
        "normal (chosen)",
        "logistic",
        "Weibull",
    ]
    low, high = axes.get_xlim()
    assert low < 1e-3
    assert high > 900
    assert axes.get_ylim() == (2.5, -0.5)  # the best on top
    (right,) = axes.child_axes
    assert [t.get_text() for t in right.get_yticklabels()] == ["+0", "+1", "+40"]
