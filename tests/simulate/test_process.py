"""The simulated line has the properties it claims, and the sample study is written the same again."""

from __future__ import annotations

import filecmp
import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.numerics import generator
from linestudy.simulate import MeasuringSystem, Process, crossed, judged, nested, run, write_sample


def draw(process: Process, n: int = 200_000, seed: int = 1) -> np.ndarray:
    return process.draw(generator(seed, "test"), np.arange(1, n + 1))


def test_noise_has_the_stated_spread_skewness_and_correlation() -> None:
    from scipy.stats import skew

    assert draw(Process(5.0, 0.2)).std() == pytest.approx(0.2, rel=0.01)
    # A gamma distribution of shape k has skewness 2 / sqrt(k).
    assert skew(draw(Process(5.0, 0.2, skewness_shape=4.0))) == pytest.approx(1.0, abs=0.03)
    tied = draw(Process(5.0, 0.2, serial=0.8))
    assert tied.std() == pytest.approx(0.2, rel=0.02)
    assert np.corrcoef(tied[:-1], tied[1:])[0, 1] == pytest.approx(0.8, abs=0.01)


def test_folded_values_have_the_folded_mean() -> None:
    from scipy.stats import foldnorm

    values = draw(Process(0.3, 0.5, folded=True))
    assert values.min() >= 0
    assert values.mean() == pytest.approx(foldnorm(0.6, 0, 0.5).mean(), rel=0.01)


def test_wear_restarts_at_the_regrind_and_stations_alternate() -> None:
    process = Process(1.0, 1e-9, wear_per_thousand=0.5, regrinds=(1000,), stations=(0.0, 0.1))
    mean = process.mean_at([998, 1000, 1001, 2000])
    assert mean == pytest.approx([1.499, 1.0, 1.1005, 1.5])


@given(st.floats(0.001, 0.1), st.integers(1, 5))
def test_readings_come_in_steps(step: float, seed: int) -> None:
    gauge = MeasuringSystem(0.5, resolution=step)
    readings = gauge.read(generator(seed), np.linspace(0, 1, 50))
    assert np.allclose(readings / step, np.round(readings / step), atol=1e-6)


def test_soiling_is_wiped_away() -> None:
    gauge = MeasuringSystem(1e-9, soiling_per_thousand=1.0, wipes=(500,))
    assert gauge.read(generator(1), [0.0, 0.0], strokes=[499, 500]) == pytest.approx(
        [0.499, 0.0], abs=1e-6
    )


def test_studies_have_the_design_asked_for() -> None:
    table = crossed(
        [1.0, 2.0, 3.0], MeasuringSystem(0.1, 0.1), appraisers=("A", "B"), trials=2, seed=1
    )
    assert table.groupby(["part", "appraiser", "trial"]).size().eq(1).all()
    assert len(run(Process(1.0, 0.1), 100, coil_length=30)["coil"].unique()) == 4
    assert (
        nested(0.0, (1.0, 1.0, 1.0), (3, 2, 4), levels=("lot", "box"), seed=2)
        .groupby(["lot", "box"])
        .size()
        .eq(4)
        .all()
    )
    perfect = judged([1.0, -1.0], 0.0, appraisers={"A": (0.0, 1e-9)}, seed=3)
    assert (perfect["judgement"] == perfect["reference"]).all()


@pytest.mark.proof
def test_the_sample_study_is_written_byte_for_byte_again(
    tmp_path: Path, sample_study: Path
) -> None:
    again = write_sample(tmp_path / "again")
    files = sorted(p.relative_to(again) for p in again.rglob("*") if p.is_file())
    assert files == sorted(
        p.relative_to(sample_study) for p in sample_study.rglob("*") if p.is_file()
    )
    _, different, missing = filecmp.cmpfiles(
        again, sample_study, [str(f) for f in files], shallow=False
    )
    assert not different
    assert not missing
    assert sum((again / f).stat().st_size for f in files) < 4_000_000


def test_the_truth_is_recorded(sample_study: Path) -> None:
    truth = json.loads((sample_study / "truth.json").read_text())
    assert set(truth["characteristics"]) == {"blade", "throat", "offset", "shoulder", "seam"}
    assert truth["seed"] > 0


def test_the_log_has_what_real_logs_have(sample_study: Path) -> None:
    import pandas as pd

    log = pd.read_csv(sample_study / "data/run.csv.gz", dtype=str)
    assert log["Stroke"].duplicated().sum() == 240
    assert (log["BladeWidth"] == "9999").sum() > 20
    assert (pd.to_datetime(log["Time"]).diff().dt.total_seconds() < -3000).sum() == 1
    assert set(log["Verdict"]) == {"ok", "nok", "purged"}
    assert log["Coil"].nunique() == 4
