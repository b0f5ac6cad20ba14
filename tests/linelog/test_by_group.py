"""Days, coils and streams of a line log, against pandas on the parts themselves."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from two_out_study import STUDY

from linestudy import open_study
from linestudy.linelog import build_log, summarise_log
from linestudy.linelog.by_group import made_by_group


def test_count_mean_sd_and_ppk_are_those_of_the_parts(tmp_path: Path) -> None:
    rng = np.random.default_rng(2)
    stroke = np.repeat(np.arange(1, 1001), 2)
    lane = np.tile(["L", "R"], 1000)
    w = (10 + 0.2 * (lane == "R") + 0.1 * rng.normal(size=2000)).round(4)
    days = tmp_path / "days"
    days.mkdir()
    pd.DataFrame({"Hub": stroke, "Lane": lane, "W": w}).to_csv(days / "day1.csv", index=False)
    (tmp_path / "study.toml").write_text(STUDY, encoding="utf-8")
    study = open_study(tmp_path)
    summary = summarise_log(build_log(days, study).folder, study, cache=False)
    found = made_by_group(summary, study.characteristic("w"))
    assert list(found["stream"]) == ["L", "R"]
    assert set(found["day"]) == {1}
    for row in found.itertuples():
        own = w[lane == row.stream]
        assert (row.n, row.mean) == (own.size, pytest.approx(own.mean(), abs=1e-9))
        assert pytest.approx(own.std(ddof=1), rel=1e-9) == row.SD
        sides = (11 - own.mean(), own.mean() - 9)
        assert pytest.approx(min(sides) / (3 * own.std(ddof=1)), rel=1e-9) == row.Ppk
