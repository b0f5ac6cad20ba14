"""Gauge studies of known truth: designs are whole, readings have the errors asked for, a seed gives the same again."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from linestudy.simulate import MeasuringSystem, crossed, judged, nested
from linestudy.simulate.studies import drift, paired, reference

GAUGE = MeasuringSystem(0.01, 0.05)
SIZES = np.linspace(1.0, 2.0, 200)


def test_every_appraiser_reads_every_part_in_every_trial_in_an_order_of_its_own() -> None:
    found = crossed(np.arange(1.0, 7.0), GAUGE, trials=3, seed=1)
    counts = found.groupby(["part", "appraiser", "trial"]).size()
    assert counts.tolist() == [1] * (6 * 3 * 3)
    blocks = [tuple(part) for _, part in found.groupby(["trial", "appraiser"], sort=False)["part"]]
    assert len(set(blocks)) > 5  # not one order again and again
    # A part bears its number wherever it was read.
    means = found.groupby("part")["value"].mean()
    assert means.sort_values().index.tolist() == [str(n) for n in range(1, 7)]


def test_readings_repeat_as_asked_and_each_appraiser_has_one_shift() -> None:
    found = crossed(SIZES, GAUGE, trials=3, seed=2)
    cells = found.groupby(["part", "appraiser"])["value"]
    assert np.sqrt(cells.var().mean()) == pytest.approx(0.01, rel=0.05)
    shift = found.groupby("appraiser")["value"].mean()
    assert shift.std() > 0.01  # five times the repeatability, and seldom nought
    again = found[found["trial"] == "1"].groupby("appraiser")["value"].mean() - shift
    assert np.abs(again - again.mean()).max() < 0.003


def test_masters_are_read_about_their_values() -> None:
    found = reference([1.0, 2.0], MeasuringSystem(0.01, bias=0.2), trials=400, seed=3)
    errors = (found["value"] - found["reference"]).groupby(found["part"])
    assert errors.mean().to_numpy() == pytest.approx([0.2, 0.2], abs=0.002)
    assert errors.std().to_numpy() == pytest.approx([0.01, 0.01], rel=0.15)
    assert found.groupby("part")["reference"].first().to_dict() == {
        "master 1": 1.0,
        "master 2": 2.0,
    }


def test_a_gauge_that_soils_drifts_until_it_is_wiped() -> None:
    soiling = MeasuringSystem(1e-9, soiling_per_thousand=0.5, wipes=(2000,))
    found = drift(1.0, soiling, [0, 1000, 1999, 2000, 3000], seed=4)
    assert found["value"].to_numpy() == pytest.approx([1.0, 1.5, 1.9995, 1.0, 1.5], abs=2e-3)
    assert found["order"].tolist() == [0, 1000, 1999, 2000, 3000]


def test_two_gauges_read_the_same_parts_with_errors_of_their_own() -> None:
    found = paired(SIZES, MeasuringSystem(0.01), MeasuringSystem(0.04), seed=5)
    errors = found[["first", "second"]].sub(SIZES, axis=0)
    assert errors["first"].std() == pytest.approx(0.01, rel=0.2)
    assert errors["second"].std() == pytest.approx(0.04, rel=0.2)
    assert abs(errors.corr().iloc[0, 1]) < 0.2


def test_levels_hold_as_many_groups_as_asked_and_spread_as_asked() -> None:
    found = nested(80.0, (2.0, 1.0, 0.5), (60, 5, 4), levels=("batch", "coil"), seed=6)
    assert len(found) == 60 * 5 * 4
    assert found["batch"].nunique() == 60
    assert found.groupby("batch")["coil"].nunique().tolist() == [5] * 60
    assert found.groupby("coil")["batch"].nunique().max() == 1  # no coil in two batches
    within = found.groupby("coil")["value"].var().mean()
    coils = found.groupby(["batch", "coil"])["value"].mean()
    between = coils.groupby("batch").var().mean() - within / 4
    batches = found.groupby("batch")["value"].mean().var() - between / 5 - within / 20
    assert np.sqrt([within, between, batches]) == pytest.approx([0.5, 1.0, 2.0], rel=0.25)
    assert found["value"].mean() == pytest.approx(80.0, abs=1.0)


def test_judgements_turn_at_the_limit_of_each_appraiser() -> None:
    quality = np.full(4000, 0.5)
    found = judged(
        quality,
        0.4,
        appraisers={"A": (0.0, 0.1), "B": (0.2, 0.1), "C": (0.0, 1e-9)},
        trials=1,
        seed=7,
    )
    rates = found.groupby("appraiser")["judgement"].mean()
    # Perceived is normal about the quality: accepted with the chance of (0.5 - limit) / 0.1.
    assert rates["A"] == pytest.approx(stats.norm.cdf(1.0), abs=0.02)
    assert rates["B"] == pytest.approx(stats.norm.cdf(-1.0), abs=0.02)
    assert rates["C"] == 1.0
    assert found["reference"].all()


CALLS: dict[str, Callable[..., pd.DataFrame]] = {
    "crossed": lambda **k: crossed([1.0, 2.0], GAUGE, **k),
    "reference": lambda **k: reference([1.0, 2.0], GAUGE, **k),
    "drift": lambda **k: drift(1.0, GAUGE, [1, 2, 3], **k),
    "paired": lambda **k: paired([1.0, 2.0], GAUGE, GAUGE, **k),
    "nested": lambda **k: nested(80, (2.0, 4.0), (3, 2), **k),
    "judged": lambda **k: judged(np.linspace(0, 1, 40), 0.5, appraisers={"A": (0.0, 0.3)}, **k),
}


@pytest.mark.parametrize("name", CALLS)
def test_the_same_seed_gives_the_same_and_another_seed_or_purpose_does_not(name: str) -> None:
    make = CALLS[name]
    pd.testing.assert_frame_equal(make(seed=1), make(seed=1))
    pd.testing.assert_frame_equal(make(), make())
    assert not make(seed=1).equals(make(seed=2))
    assert not make(seed=1).equals(make(seed=1, purpose="another"))


@pytest.mark.parametrize("kind", ["crossed", "reference", "paired"])
def test_magnitudes_are_never_below_nought(kind: str) -> None:
    small, wide = np.full(30, 0.001), MeasuringSystem(0.1)
    make = {
        "crossed": lambda m: crossed(small, wide, seed=1, magnitude=m)["value"],
        "reference": lambda m: reference(small, wide, seed=1, magnitude=m)["value"],
        "paired": lambda m: paired(small, wide, wide, seed=1, magnitude=m)["second"],
    }[kind]
    assert (make(False) < 0).any()
    assert (make(True) >= 0).all()
