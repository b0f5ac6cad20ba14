"""The gauge taken out: exact for a normal process, covered by simulation, refused where nothing is left."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linestudy.capability import gauge_removed
from linestudy.results import CannotJudge
from linestudy.shape import fit

QUANTILES = (0.00135, 0.5, 0.99865)


def normal_truth(mean: float, sd: float) -> tuple[float, float, float]:
    low, middle, high = (float(q) for q in stats.norm(mean, sd).ppf(QUANTILES))
    return low, middle, high


def test_exact_for_a_normal_process() -> None:
    # Readings with SD 1 and a gauge of 0.6: the parts have 0.8, so the index is 1 / 0.8 of the readings'.
    q = normal_truth(0.2, 1.0)
    found = gauge_removed(q, 1.0, 0.6, lower=-4.0, upper=4.0, truths=[(q, 1.0, 0.6)] * 200)
    assert found.with_gauge == pytest.approx(3.8 / 3, rel=1e-4)
    assert found.Ppk.estimate == pytest.approx(3.8 / (3 * 0.8), rel=1e-4)
    assert found.share_of_parts.estimate == pytest.approx(0.64)


def test_a_bias_is_taken_off() -> None:
    q = normal_truth(0.2, 1.0)
    found = gauge_removed(
        q, 1.0, 0.0, lower=-4.0, upper=4.0, truths=[(q, 1.0, 0.0)] * 100, bias=0.2
    )
    assert found.Ppk.estimate == pytest.approx(4.0 / 3, rel=1e-4)
    assert "bias" in found.statement


def test_not_admissible_where_all_may_be_gauge() -> None:
    q = normal_truth(0.0, 1.0)
    rng = np.random.default_rng(3)
    draws = [(q, 1.0, 0.9 * float(np.sqrt(6 / rng.chisquare(6)))) for _ in range(400)]
    with pytest.raises(CannotJudge, match="not admissible"):
        gauge_removed(q, 1.0, 0.9, lower=-4.0, upper=4.0, truths=draws)
    with pytest.raises(ValueError, match="at least one limit"):
        gauge_removed(q, 1.0, 0.1, lower=None, upper=None, truths=draws)


@pytest.mark.parametrize("family", ["normal", "lognormal", "gamma"])
def test_mean_and_spread_of_a_fit_are_scipys(family: str) -> None:
    from linestudy.capability.gauge.risk import _moments

    values = np.random.default_rng(4).gamma(9.0, 0.3, 400)
    fitted = fit(values, family)
    mean, sd = _moments(fitted)
    # By quadrature over the density, which the function does not use.
    x = np.linspace(-10.0 if family == "normal" else 1e-9, 30, 400_001)
    density = fitted.pdf(x)
    by_hand = np.trapezoid(x * density, x)
    assert mean == pytest.approx(by_hand, rel=1e-4)
    spread = np.sqrt(np.trapezoid((x - by_hand) ** 2 * density, x))
    # The quadrature over the share stops short of the last tails.
    assert sd == pytest.approx(spread, rel=5e-3)


def test_drawn_truths_move_as_the_fit_allows() -> None:
    # A normal fit: median and quantiles of drawn processes scatter by their known standard errors.
    from linestudy.capability.gauge.removed import truths
    from linestudy.capability.gauge.risk import _moments

    n = 400
    fitted = fit(np.random.default_rng(9).normal(10, 2, n), "normal", with_covariance=True)
    drawn = truths(fitted, _moments, None, np.ones(4000), np.random.default_rng(5), np.zeros(4000))
    low, middle, high = np.array([row[0] for row in drawn]).T
    sd = np.array([row[1] for row in drawn])
    scale = fitted.parameters["sd"]
    assert middle.std() == pytest.approx(scale / np.sqrt(n), rel=0.05)
    # Of the spread s / sqrt(2 n), of the quantile at three s / sqrt(n) * sqrt(1 + 9 / 2).
    assert sd.std() == pytest.approx(scale / np.sqrt(2 * n), rel=0.05)
    for quantile in (low, high):
        assert quantile.std() == pytest.approx(scale / np.sqrt(n) * np.sqrt(1 + 4.5), rel=0.05)
    twice = truths(fitted, _moments, n / 4, np.ones(4000), np.random.default_rng(5), np.zeros(4000))
    # A quarter of the parts gives half the certainty.
    assert np.std([row[1] for row in twice]) == pytest.approx(2 * sd.std(), rel=5e-3)


def test_the_gauge_s_spread_comes_with_its_degrees_of_freedom(root) -> None:
    import pandas as pd

    from linestudy.capability.gauge.risk import _gauge_sd
    from linestudy.gauges import grr_anova
    from linestudy.results import Findings

    data = pd.read_csv(root / "sample_data/published/aiag_crossed/data/crossed.csv")
    study = grr_anova(data, draws=0, method="mls")
    found = Findings()
    found.attempt("w", ("gauges", "g", "crossed"), "x", lambda: study)
    sd, df, notes = _gauge_sd(found, "w", "g", 0.95)
    grr = study.components["grr"]
    assert (sd, df, notes) == (grr.sd, grr.degrees_of_freedom, ())
    assert 1 < df < 90
    with pytest.raises(CannotJudge, match="repeatability"):
        _gauge_sd(found, "w", "other", 0.95)
