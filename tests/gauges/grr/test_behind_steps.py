"""Repeatability behind the step: SciPy's censored likelihood, limits, coverage on simulated studies."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy import integrate, optimize, stats

from linestudy.gauges import grr_anova, rounded_repeatability
from linestudy.gauges.grr.behind_steps import coarse
from linestudy.results import CannotJudge


def study(
    rng: np.random.Generator,
    step: float,
    shape: tuple[int, int, int] = (10, 3, 3),
    repeat: float = 1.0,
) -> pd.DataFrame:
    parts, people, _ = shape
    cells = (
        3 * rng.standard_normal((parts, 1, 1))
        + 0.5 * rng.standard_normal((1, people, 1))
        + repeat * rng.standard_normal(shape)
    )
    part, who, trial = (at.ravel() for at in np.indices(shape))
    return pd.DataFrame(
        {
            "part": part,
            "appraiser": who,
            "trial": trial,
            "value": (np.round(cells / step) * step).ravel(),
        }
    )


@pytest.mark.proof
@pytest.mark.checks(
    "likelihood of rounded readings", source="scipy.stats.norm integrated by scipy.integrate.quad"
)
def test_estimate_and_interval_against_an_integral_by_quad() -> None:
    data = study(np.random.default_rng(3), 1.5, (5, 1, 3))
    found = rounded_repeatability(data, step=1.5)
    cells = [own.to_numpy() / 1.5 for _, own in data.groupby("part")["value"]]

    def log_likelihood(s: float) -> float:
        total = 0.0
        for cell in cells:

            def density(u: float, cell: np.ndarray = cell) -> float:
                return float(
                    np.prod(
                        stats.norm.cdf((cell + 0.5 - u) / s) - stats.norm.cdf((cell - 0.5 - u) / s)
                    )
                )

            total += np.log(integrate.quad(density, cell.min() - 6, cell.max() + 6, limit=200)[0])
        return total

    best = optimize.minimize_scalar(lambda s: -log_likelihood(s), bounds=(0.2, 3), method="bounded")
    assert found.sd.estimate / 1.5 == pytest.approx(best.x, rel=1e-4)
    for end in (found.sd.low, found.sd.high):
        assert log_likelihood(end / 1.5) == pytest.approx(
            -best.fun - stats.chi2.ppf(0.95, 1) / 2, abs=1e-4
        )


def test_fine_steps_give_the_spread_within_cells() -> None:
    data = study(np.random.default_rng(5), 0.05)
    found = rounded_repeatability(data, step=0.05)
    cells = data.groupby(["part", "appraiser"])["value"]
    squares = float(((data["value"] - cells.transform("mean")) ** 2).sum())
    assert found.recorded_sd == pytest.approx(np.sqrt(squares / 60), rel=1e-9)
    assert found.sd.estimate == pytest.approx(found.recorded_sd, rel=1e-3)
    ends = np.sqrt(squares / stats.chi2.ppf([0.975, 0.025], 60))
    assert (found.sd.low, found.sd.high) == pytest.approx(tuple(ends), rel=0.03)
    assert not coarse(grr_anova(data))


def test_readings_that_never_differ_bound_the_spread_from_above() -> None:
    data = study(np.random.default_rng(6), 4.0, repeat=0.02)
    data["value"] = data.groupby("part")["value"].transform("first")
    found = rounded_repeatability(data, tolerance=24.0)
    assert found.sd.estimate == found.sd.low == 0.0
    assert 0 < found.sd.high < 4 / np.sqrt(12)
    assert "never differed" in found.statement
    assert coarse(grr_anova(data))


@pytest.mark.proof
def test_coverage_at_one_and_two_standard_deviations() -> None:
    """60 studies each; the proof has 1,000 of four designs (93.5 to 96.5 % asked for)."""
    for step in (1.0, 2.0):
        rng = np.random.default_rng(int(step))
        held = [
            1.0 in rounded_repeatability(study(rng, step, (10, 1, 3)), step=step).sd
            for _ in range(60)
        ]
        assert np.mean(held) >= 0.87


def test_nothing_repeated_says_nothing() -> None:
    data = study(np.random.default_rng(1), 1.0)
    with pytest.raises(CannotJudge):
        rounded_repeatability(data[data["trial"] == 0])


def test_the_table_says_of_the_tolerance_what_the_sentence_says() -> None:
    data = study(np.random.default_rng(5), 1.0)
    found = rounded_repeatability(data, tolerance=60.0)
    rows = found.shown().set_index("quantity")["value"]
    share = 100 * found.share_of_tolerance.estimate
    assert float(rows["before rounding, of tolerance (%)"].split(" ")[0]) == pytest.approx(
        share, rel=0.05
    )
    assert f"({share:.1f}%" in found.statement
