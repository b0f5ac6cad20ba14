"""Sorted parts: truth known by simulation, the truncated normal of SciPy."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from linestudy.capability import truncated_capability
from linestudy.results import CannotJudge


def sorted_parts(seed: int, n: int, limit: float) -> np.ndarray:
    x = np.random.default_rng(seed).normal(0, 1, n)
    return x[np.abs(x) <= limit]


#: A few families, so that ordinary tests stay quick; all of them are tried once below and in the proof.
FEW = ("normal", "Student's t", "gamma with threshold")


@pytest.mark.proof
def test_truth_where_the_naive_index_is_off_by_twenty_percent() -> None:
    x = sorted_parts(1, 31_000, 1.5)
    study = truncated_capability(x, -1.5, 1.5, rejected_count=31_000 - x.size)
    assert study.Ppk.estimate == pytest.approx(0.5, rel=0.15)
    assert 0.5 in study.Ppk
    # By no distribution that fits could it meet anything.
    assert study.Ppk.high < 0.67
    assert study.naive_Ppk > 1.2 * 0.5
    assert study.rejected.estimate == pytest.approx(2 * stats.norm.sf(1.5), rel=0.05)
    assert len(study.by_family) > 3


def test_one_family_is_not_taken_as_exact() -> None:
    # Gamma of shape 4, 2.8 % cut off: a normal or a folded normal alone would be wrong by far.
    process = stats.gamma(4, scale=0.25)
    x = process.rvs(6000, random_state=np.random.default_rng(4))
    median, high = process.ppf([0.5, 0.99865])
    truth = (2.0 - median) / (high - median)
    kept = x[x <= 2.0]
    families = ("normal", "Student's t", "gamma with threshold", "generalised gamma", "folded t")
    study = truncated_capability(
        kept, None, 2.0, bound=0.0, rejected_count=x.size - kept.size, families=families
    )
    assert truth in study.Ppk
    assert "generalised gamma" in study.by_family
    assert "normal" not in study.by_family


def test_very_many_readings_do_not_leave_the_nearest_family_alone() -> None:
    # A gamma process read with an error of 5 % of its spread: of 40,000 parts none of the families is quite true.
    rng = np.random.default_rng(3)
    x = rng.gamma(4, 0.5, 40_000) + 0.1 * rng.standard_normal(40_000)
    gamma = stats.gamma(4, scale=0.5)
    at = np.linspace(-4, 4, 161)
    near, weight = 0.1 * at, stats.norm.pdf(at) / stats.norm.pdf(at).sum()
    grid = np.linspace(1.5, 8, 6501)
    median, high = np.interp([0.5, 0.99865], gamma.cdf(grid[:, None] - near) @ weight, grid)
    upper = float(gamma.ppf(1 - 0.0275))
    truth = (upper - median) / (high - median)
    kept = x[x <= upper]
    # The farthest first: where families are far apart the first grid of shapes misses a summit.
    study = truncated_capability(
        kept,
        None,
        upper,
        rejected_count=x.size - kept.size,
        families=tuple(
            f"{name} with threshold" for name in ("inverse Gaussian", "gamma", "lognormal")
        ),
    )
    assert truth in study.Ppk
    assert study.family == "gamma with threshold"
    assert len(study.by_family) > 1
    assert study.Ppk.high < 1.3 * study.Ppk.low


def test_without_the_count_the_interval_is_wider_or_there_is_none() -> None:
    x = sorted_parts(2, 6000, 2.0)
    told = truncated_capability(x, -2, 2, families=FEW, rejected_count=6000 - x.size).Ppk
    untold = truncated_capability(x, -2, 2, families=FEW)
    assert untold.Ppk.half_width > 1.2 * told.half_width
    assert any("count of rejected parts" in note for note in untold.cautions)
    few = sorted_parts(2, 900, 1.2)
    with pytest.raises(CannotJudge, match=r"count of (the )?rejected parts"):
        truncated_capability(few, -1.2, 1.2, families=FEW)


def test_what_no_distribution_describes_gets_no_interval() -> None:
    rng = np.random.default_rng(3)
    lumps = np.concatenate([rng.normal(m, 0.1, 2000) for m in (-1, -0.2, 0.9)])
    with pytest.raises(CannotJudge, match="No distribution describes"):
        truncated_capability(lumps[lumps < 1.0], None, 1.0, families=FEW, rejected_count=400)


def test_an_edge_softened_by_the_gauge() -> None:
    rng = np.random.default_rng(5)
    true = rng.normal(0, 1, 30_000)
    passed = np.abs(true + rng.normal(0, 0.3, true.size)) < 1.8
    gone = int((~passed).sum())
    study = truncated_capability(
        true[passed], -1.8, 1.8, sorting_error_sd=0.3, families=("normal",), rejected_count=gone
    )
    assert study.Ppk.estimate == pytest.approx(0.6, rel=0.03)
    with pytest.raises(CannotJudge, match="outside the limits"):
        truncated_capability(true[passed], -1.8, 1.8)
    # The error is not known: the count says how soft the edge is.
    found = truncated_capability(
        true[passed], -1.8, 1.8, sorting_error_sd=None, families=("normal",), rejected_count=gone
    )
    assert 0.6 in found.Ppk
    assert found.sorting_error_sd == pytest.approx(0.3, abs=0.15)
    with pytest.raises(CannotJudge, match="another reading"):
        truncated_capability(true[passed], -1.8, 1.8, sorting_error_sd=None)


def test_the_count_and_what_is_left_of_it() -> None:
    x = sorted_parts(6, 20_000, 1.8)
    study = truncated_capability(x, -1.8, 1.8, rejected_count=20_000 - x.size, families=("normal",))
    assert study.agrees_with_bins
    assert "agrees with the count" in study.statement
    assert study.figure().alt_text.startswith("The process before sorting")
    # A count that no normal process leaves beside such parts.
    with pytest.raises(CannotJudge, match=r"count of (the )?rejected parts"):
        truncated_capability(x, -1.8, 1.8, rejected_count=100, families=("normal",))
    most = truncated_capability(
        x, -1.8, 1.8, rejected_count=8000, counted_alone=False, families=("normal",)
    )
    assert "At most" in most.statement
    assert 0.6 in most.Ppk


def test_serial_correlation_widens_the_interval() -> None:
    x = sorted_parts(7, 5000, 1.8)
    free, tied = (
        truncated_capability(x, -1.8, 1.8, n_eff=n, families=("normal",)).Ppk
        for n in (None, x.size / 16)
    )
    assert tied.half_width == pytest.approx(4 * free.half_width, rel=0.35)


@settings(max_examples=4)
@given(st.floats(0.01, 100), st.floats(-100, 100))
def test_units_and_zero(unit: float, zero: float) -> None:
    x = sorted_parts(9, 2000, 1.7)
    turned = np.random.default_rng(1).permutation(x) * unit + zero
    limits = -1.7 * unit + zero, 1.7 * unit + zero
    one = truncated_capability(x, -1.7, 1.7, families=("normal",))
    two = truncated_capability(turned, *limits, families=("normal",))
    assert two.Ppk.estimate == pytest.approx(one.Ppk.estimate, rel=1e-3)
    assert two.Ppk.low == pytest.approx(one.Ppk.low, rel=3e-3)


@pytest.mark.parametrize(
    ("values", "limits", "words"),
    [
        (np.arange(10.0), (0.0, 9.0), "at least 30"),
        (np.random.default_rng(1).uniform(-1, 1, 900), (-1.0, 1.0), "settle it"),
    ],
)
def test_what_cannot_be_judged_is_said(values, limits, words: str) -> None:
    with pytest.raises(CannotJudge, match=words):
        truncated_capability(values, *limits, families=("normal",))


@pytest.mark.parametrize(("lower", "upper"), [(None, 11.0), (9.0, None), (8.0, 12.0)])
def test_parts_beyond_a_limit_were_not_sorted_by_it(
    lower: float | None, upper: float | None
) -> None:
    x = np.random.default_rng(3).normal(10, 1, 500)
    with pytest.raises(CannotJudge, match="outside the limits"):
        truncated_capability(x, lower, upper)
    inside = x[(x > (lower or -9)) & (x < (upper or 99))]
    assert truncated_capability(inside, lower, upper, families=("normal",)).n == inside.size
