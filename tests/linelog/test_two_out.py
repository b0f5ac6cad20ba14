"""A line log of a two-out tool: every part is in it, subgroups never mix streams, and streams are compared."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from two_out_study import STUDY

from linestudy import open_study
from linestudy.linelog import build_log, evaluate_log, summarise_log


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> tuple:
    folder = tmp_path_factory.mktemp("two")
    days = folder / "days"
    days.mkdir()
    rng = np.random.default_rng(1)
    for day in range(2):
        stroke = np.repeat(np.arange(1, 3001), 2) + 3000 * day
        lane = np.tile(["L", "R"], 3000)
        w = 10 + 0.3 * (lane == "R") + 0.1 * rng.normal(size=6000)
        table = pd.DataFrame({"Hub": stroke, "Lane": lane, "W": w.round(4)})
        table.to_csv(days / f"day{day + 1}.csv", index=False)
    (folder / "study.toml").write_text(STUDY, encoding="utf-8")
    (folder / "day1.csv").write_bytes((days / "day1.csv").read_bytes())
    study = open_study(folder)
    built = build_log(days, study)
    return study, built, summarise_log(built.folder, study, cache=False)


def test_every_part_is_in_the_log(log: tuple) -> None:
    _, built, summary = log
    assert sum(account.rows_used for account in built.accounts) == 12_000
    assert summary.moments("w")["n"] == 12_000


def test_subgroups_are_of_one_stream(log: tuple) -> None:
    table = log[2].subgroups("w")
    assert len(table) == 2 * 2 * 60
    assert set(table["n"]) == {5}
    assert table.groupby("station")["mean"].mean().to_dict() == pytest.approx(
        {"L": 10.0, "R": 10.3}, abs=0.02
    )


def test_streams_side_by_side_are_no_movement(log: tuple) -> None:
    found = evaluate_log(log[0], log[2])
    chart = found.get("w", "stability")
    assert len(chart.signals) <= 4
    assert chart.sd_within == pytest.approx(0.1, rel=0.05)
    pair = found.get("w", "stability", "stations").pairs[0]
    assert -0.3 in pair.difference or 0.3 in pair.difference
    assert found.get("w", "stability", "autocorrelation").n_eff_mean <= 6000


@pytest.mark.parametrize(("common", "step"), [(0.0, 0.0), (0.8, 0.0), (0.8, 0.05)])
def test_what_lanes_have_in_common_within_a_stroke_is_no_movement(
    tmp_path: Path, common: float, step: float
) -> None:
    """Two days of lanes that share most of what moves them from stroke to stroke; in the last case one lane moves the second day."""
    rng = np.random.default_rng(3)
    days = tmp_path / "days"
    days.mkdir()
    for day in range(2):
        strip, own = rng.normal(size=(3000, 1)), rng.normal(size=(3000, 2))
        w = 10 + 0.1 * (np.sqrt(common) * strip + np.sqrt(1 - common) * own)
        w[:, 0] += step * day
        stroke = np.repeat(np.arange(1, 3001), 2) + 3000 * day
        table = {"Hub": stroke, "Lane": np.tile(["L", "R"], 3000), "W": w.ravel().round(4)}
        pd.DataFrame(table).to_csv(days / f"day{day + 1}.csv", index=False)
    text = STUDY.replace("every = 50", "every = 5")
    (tmp_path / "study.toml").write_text(text, encoding="utf-8")
    (tmp_path / "day1.csv").write_bytes((days / "day1.csv").read_bytes())
    study = open_study(tmp_path)
    found = evaluate_log(study, summarise_log(build_log(days, study).folder, study, cache=False))
    model = found.get("w", "stability", "time_model")
    assert model.model[0] == ("C" if step else "A")
