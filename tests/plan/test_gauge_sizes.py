"""Sizes of gauge studies and widths of intervals, held against studies simulated reading by reading."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.gauges import grr_anova_stack
from linestudy.numerics.normal_intervals import one_sided_index_interval
from linestudy.plan import gauge_study_size, interval_size
from linestudy.results import CannotJudge


def test_chance_against_whole_simulated_studies() -> None:
    # 400 studies of 10 x 3 x 3 with the same truth, analysed by the room gauges.
    rng = np.random.default_rng(1)
    gauge, share_between = 0.15, 0.3
    people = rng.normal(0, gauge * np.sqrt(share_between), (400, 1, 3, 1))
    noise = rng.normal(0, gauge * np.sqrt(1 - share_between), (400, 10, 3, 3))
    readings = rng.normal(0, 1, (400, 10, 1, 1)) + people + noise
    studies = grr_anova_stack(
        readings, [6.0] * 400, pool_above=None, confidence=0.90, method="mls", draws=0
    )
    below = np.mean([s.components["grr"].share_of_tolerance.high < 0.30 for s in studies])
    planned = gauge_study_size(
        true_share=gauge,
        required=0.30,
        reproducibility=share_between,
        designs=((10, 3, 3),),
        seed=2,
    )
    chance = planned.designs[0].chance
    assert below == pytest.approx(chance, abs=4 * np.sqrt(0.25 / 400 + 0.25 / 1000))


def test_more_appraisers_show_more_than_more_parts() -> None:
    found = gauge_study_size(
        true_share=0.15,
        required=0.30,
        reproducibility=0.5,
        designs=((10, 3, 2), (30, 3, 2), (10, 9, 2)),
        seed=1,
    )
    few, parts, people = (item.chance for item in found.designs)
    assert people > parts + 0.2
    assert parts == pytest.approx(few, abs=0.1)
    assert "appraisers" in found.statement
    assert found.figure().alt_text


@pytest.mark.parametrize(
    "wish",
    [
        {"true_share": 0.3, "required": 0.3},
        {"reproducibility": 1.0},
        {"designs": ((1, 3, 3),)},
    ],
)
def test_what_no_study_shows(wish: dict) -> None:
    # Misuse is a ValueError, and so is what no data could show.
    with pytest.raises(ValueError):
        gauge_study_size(**wish)


@pytest.mark.parametrize(("index", "half"), [(1.67, 0.2), (1.33, 0.1), (2.0, 0.5)])
def test_interval_is_as_narrow_as_wished_and_no_smaller_sample_is(
    index: float, half: float
) -> None:
    found = interval_size(true_index=index, half_width=half)

    def width(n: int) -> float:
        return one_sided_index_interval(3 * index, 1.0, n, n - 1).half_width

    assert width(found.n) <= half < width(found.n - 1)
    # Bissell's large-sample formula, z sqrt(1 / (9 n) + C**2 / (2 (n - 1))) (Applied Statistics 39
    # (1990), 331-340; from memory), comes within a few parts in a hundred.
    z = 1.959964
    assert half == pytest.approx(
        z * np.sqrt(1 / (9 * found.n) + index**2 / (2 * (found.n - 1))), rel=0.05
    )
    assert found.figure().alt_text


def test_wishes_that_cannot_be_met() -> None:
    with pytest.raises(ValueError, match="greater than 0"):
        interval_size(true_index=1.67, half_width=0.0)
    with pytest.raises(CannotJudge, match="More than"):
        interval_size(true_index=1.67, half_width=0.001)


@pytest.mark.parametrize("n", [2, 3, 4, 10])
def test_intervals_of_very_small_samples_exist(n: int) -> None:
    # Inversion by SciPy's noncentral t: at each end the observed value leaves 2.5 %.
    from scipy.stats import nct

    found = one_sided_index_interval(5.0, 1.0, n, n - 1)
    for end, share in ((found.low, 0.975), (found.high, 0.025)):
        assert nct.cdf(5 * np.sqrt(n), n - 1, 3 * np.sqrt(n) * end) == pytest.approx(
            share, abs=1e-6
        )
