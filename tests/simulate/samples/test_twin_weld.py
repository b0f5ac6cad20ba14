"""The studies of the weld, drawn again: what is written is what was drawn, and means lie where the truth has them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from linestudy.simulate.samples.twin_weld import (
    FORCE_AT_NONE,
    FORCE_PER_INCH,
    OFFSET,
    PAIRED,
    READING_SD,
    SEAM,
    TESTERS,
    truth_of_weld,
    weld_studies,
)


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> dict[str, pd.DataFrame]:
    folder: Path = tmp_path_factory.mktemp("weld")
    weld_studies(folder, 7)
    return {
        file.stem: pd.read_csv(file, sep=";", decimal=",", encoding="cp1252")
        for file in folder.iterdir()
    }


def test_each_study_has_the_rows_of_its_plan(written: dict[str, pd.DataFrame]) -> None:
    rows = {name: len(table) for name, table in written.items()}
    assert rows == {
        "seam_camera": 90,
        "seam_machines": 10,
        "seam_paired": PAIRED,
        "masters_seam": 30,
        "seam_over_time": 42,
        "pull": 60,
    }
    pulled = written["pull"].groupby("Band")["Pruefer"].agg(lambda who: tuple(sorted(who)))
    assert set(pulled) == {tuple(sorted(2 * [*TESTERS]))}


def test_readings_lie_where_the_truth_has_them(written: dict[str, pd.DataFrame]) -> None:
    """Of known standard errors, four of them."""
    sheet = written["seam_machines"].set_index("Teil")
    apart = (
        sheet.filter(like="Kunde").to_numpy().mean() - sheet.filter(like="KMG").to_numpy().mean()
    )
    error = np.hypot(READING_SD["cmm"], READING_SD["customer"]) / np.sqrt(30)
    assert apart == pytest.approx(OFFSET["customer"] - OFFSET["cmm"], abs=4 * error)
    masters = written["masters_seam"]
    assert sorted(masters["Normal"].unique()) == pytest.approx(np.linspace(*SEAM, 3))
    off = float((masters["Naht"] - masters["Normal"]).mean())
    assert abs(off) < 4 * READING_SD["camera"] / np.sqrt(30)
    pull = written["pull"]
    slope, at_none = np.polyfit(pull["Naht"], pull["Kraft"], 1)
    assert slope == pytest.approx(FORCE_PER_INCH, rel=0.25)
    assert at_none == pytest.approx(FORCE_AT_NONE, abs=12)


def test_the_truth_is_written_with_all_that_was_drawn_from() -> None:
    known = truth_of_weld()
    assert known["reading_sd"] == READING_SD
    assert known["testers"] == TESTERS
