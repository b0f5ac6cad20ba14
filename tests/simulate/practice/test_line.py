"""The honest line meets everything, so that a decision turns on what is planted."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd

from linestudy.cli import main
from linestudy.simulate.practice.line import FEATURES, PARTS, honest_line, judgements


def test_it_is_a_study_that_the_kit_reads_whole(tmp_path: Path) -> None:
    honest_line(np.random.default_rng(1)).write(tmp_path / "study")
    from linestudy import open_study, read

    records = read(open_study(tmp_path / "study"))
    table = records.table("run", "width")
    assert table is not None
    # A few readings are missing, as they are on any line.
    assert PARTS - 15 < len(table) < PARTS
    assert main(["check", str(tmp_path / "study")]) == 0


def test_its_indices_and_its_gauge_are_far_from_every_criterion() -> None:
    line = honest_line(np.random.default_rng(2))
    for item in FEATURES.values():
        x = line.run[item.id].dropna()
        sides = [item.upper - x.mean()] + ([x.mean() - item.lower] if item.lower else [])
        assert min(sides) / (3 * x.std()) > 2.2
        cells = line.crossed[item.id].groupby(["part", "appraiser"])["value"]
        assert 6 * np.sqrt(cells.var().mean()) / item.tolerance < 0.10


def test_the_bins_hold_every_part_once(tmp_path: Path) -> None:
    line = honest_line(np.random.default_rng(3))
    line.missed = 7
    line.write(tmp_path)
    bins = pd.read_csv(tmp_path / "data" / "bins.csv")
    assert int(bins["good"].iloc[0]) + int(bins["scrap"].iloc[0]) == PARTS + 7


def test_judgements_hold_as_many_bad_parts_as_asked() -> None:
    table = judgements(np.random.default_rng(4), 3)
    assert table[table["reference"] == "nok"]["part"].nunique() == 3
    assert len(table) == 240
