"""Sizes of gauge studies and widths of intervals, held against studies simulated reading by reading."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.gauges import grr_anova_stack
from linestudy.numerics.normal_intervals import one_sided_index_interval
from linestudy.plan import gauge_study_size, interval_size
from linestudy.results import CannotJudge


@pytest.mark.proof
@pytest.mark.parametrize("design", [(10, 3, 3), (10, 1, 5)], ids=["people", "automatic"])
def test_plan_and_verdict_read_the_same_end(design: tuple[int, int, int]) -> None:
    """300 studies with the same truth, analysed as the verdict has them: pivots, 95 %, interactions pooled."""
    rng = np.random.default_rng(1)
    parts, appraisers, _ = design
    gauge, required = 0.15, 0.30 if appraisers > 1 else 0.20
    between = 0.3 if appraisers > 1 else 0.0
    people = rng.normal(0, gauge * np.sqrt(between), (300, 1, appraisers, 1))
    noise = rng.normal(0, gauge * np.sqrt(1 - between), (300, *design))
    readings = rng.normal(0, 1, (300, parts, 1, 1)) + people + noise
    studies = grr_anova_stack(readings, [6.0] * 300, draws=1500)
    shares = [s.components["grr"].share_of_tolerance for s in studies]
    planned = gauge_study_size(
        true_share=gauge, required=required, designs=(design,), seed=2
    ).designs[0]
    for passed, chance in (
        (np.mean([share.high <= required for share in shares]), planned.chance),
        (np.mean([share.estimate <= required for share in shares]), planned.on_estimate),
    ):
        assert passed == pytest.approx(chance, abs=4 * np.sqrt(0.25 / 300 + 0.25 / 1000))


def test_on_the_estimate_a_gauge_that_just_passes_passes_in_half() -> None:
    found = gauge_study_size(
        true_share=0.0999, required=0.10, decide_on="estimate", runs=400, seed=1
    )
    assert all(0.4 < item.chance < 0.75 for item in found.designs)
    good = gauge_study_size(true_share=0.05, required=0.10, decide_on="estimate", runs=100, seed=1)
    assert "by its estimate" in good.statement
    automatic = gauge_study_size(true_share=0.10, required=0.15, automatic=True, runs=200, seed=1)
    assert {item.appraisers for item in automatic.designs} == {1}
    assert "appraisers" not in automatic.statement


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
