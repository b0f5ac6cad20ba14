"""The small gauge studies of the twin contact: as many rows as said, and spreads and thresholds as in the truth."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from linestudy.simulate.samples.twin_gauges import (
    CUTS,
    GRADES,
    JUDGED_PARTS,
    SHIFTS,
    before_cleaning,
    judged_by_eye,
    truth_of_gauges,
)


def test_grades_follow_thresholds(tmp_path: Path) -> None:
    judged_by_eye(tmp_path, 1)
    table = pd.read_csv(tmp_path / "burr_by_eye.csv", sep=";", decimal=",", encoding="cp1252")
    assert len(table) == 2 * len(SHIFTS) * JUDGED_PARTS
    assert set(table["Grad"]) == set(GRADES)
    assert (table.loc[table["Grat"] > CUTS[1], "Wahr"] == GRADES[2]).all()
    stark = (table["Grad"] == GRADES[2]).groupby(table["Pruefer"]).mean()
    assert stark["Carl"] > stark["Berta"]


def test_the_spread_before_cleaning_is_as_said(tmp_path: Path) -> None:
    before_cleaning(tmp_path, 1, np.full(200, 0.001), 0.0001)
    table = pd.read_csv(tmp_path / "msa_before.csv", sep=";", decimal=",", encoding="cp1252")
    assert table.shape == (200, 10)
    assert table.iloc[:, 1:].to_numpy().std() == pytest.approx(0.0001, rel=0.06)
    assert truth_of_gauges(1e-5)["camera_sd_before_cleaning"] == pytest.approx(3e-5)
