"""The sample study: its stated true index is that of the process, its log adds up and has the defects it is meant to have."""

from __future__ import annotations

import json
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from linestudy.simulate.samples import scenario as line
from linestudy.simulate.samples.sample import _quantile_ppk

TRUTH = ("sample_data", "fork_receptacle", "truth.json")


@pytest.fixture(scope="module")
def truth(root: Path) -> dict:
    return json.loads(root.joinpath(*TRUTH).read_text(encoding="utf-8"))


@pytest.mark.checks("quantile index of a long simulation", source="SciPy: norm.ppf, gamma.ppf")
def test_the_index_of_many_values_is_that_of_their_distribution() -> None:
    values = stats.norm(2.0, 0.1).ppf((np.arange(200_000) + 0.5) / 200_000)
    feature = SimpleNamespace(lower=1.5, upper=2.6)
    z = stats.norm.isf(0.00135)
    assert _quantile_ppk(values, feature) == pytest.approx(5 / z, rel=1e-3)
    skewed = stats.gamma(3).ppf((np.arange(200_000) + 0.5) / 200_000)
    above = SimpleNamespace(lower=None, upper=14.0)
    middle, high = stats.gamma(3).ppf([0.5, 0.99865])
    assert _quantile_ppk(skewed, above) == pytest.approx((14 - middle) / (high - middle), rel=1e-3)
    # Rounded to a quarter of a standard deviation it is nearly the same.
    assert _quantile_ppk(np.round(values / 0.025) * 0.025, feature) == pytest.approx(
        5 / z, rel=0.01
    )


def test_the_stated_truth_of_a_plain_process_is_its_closed_form(truth: dict) -> None:
    # A folded normal: no wear, no stations, no coils (SciPy: foldnorm).
    offset = next(f for f in line.FEATURES if f.id == "offset")
    theirs = stats.foldnorm(
        offset.process.level / offset.process.spread, scale=offset.process.spread
    )
    middle, high = theirs.ppf([0.5, 0.99865])
    expected = (offset.upper - middle) / (high - middle)
    assert truth["characteristics"]["offset"]["Ppk_parts"] == pytest.approx(expected, abs=0.006)


def test_a_gauge_takes_from_the_index_and_never_adds(truth: dict) -> None:
    for name, item in truth["characteristics"].items():
        assert item["Ppk_readings"] <= item["Ppk_parts"] + 0.01, name
    assert truth["seed"] == line.SEED
    assert truth["strokes"] == line.STROKES


def test_the_log_has_every_stroke_and_the_defects_it_is_meant_to_have(sample_study: Path) -> None:
    (file,) = [p for p in sample_study.rglob("*.gz") if "run" in p.name]
    log = pd.read_csv(file, sep=None, engine="python", dtype=str, nrows=40_000)
    strokes = pd.to_numeric(log["Stroke"], errors="coerce")
    assert strokes.max() == line.STROKES
    assert strokes.duplicated().any()  # a block written twice
    assert set(log["Verdict"]) >= {"ok", "nok", "purged"}
    # The first parts after each stop are purged, and no others.
    purged = strokes[log["Verdict"] == "purged"].drop_duplicates()
    after = sorted(at + n for at, _ in line.STOPS for n in range(1, line.PURGED_AFTER_STOP + 1))
    assert sorted(purged.astype(int)) == after
    # The clock goes back an hour once.
    clock = pd.to_datetime(log["Time"], errors="coerce")
    assert (clock.diff() < pd.Timedelta(minutes=-50)).sum() == 1
