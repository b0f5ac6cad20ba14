"""Summing the log of a two-out tool with all its tags, beside bare DuckDB over the same files.

Three days of 864,000 parts of six characteristics (2 × 300 a minute) unless LINESTUDY_DAYS says other, one reading in a thousand missing.
"""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from timed import Timed

from linestudy import open_study
from linestudy.linelog import build_log, summarise_log

pytestmark = [
    pytest.mark.benchmark(group="days of two streams, with tags"),
    pytest.mark.timeout(1800),
]

STROKES = 432_000
DAYS = int(os.environ.get("LINESTUDY_DAYS", "3"))
NAMES = [f"c{i}" for i in range(6)]
ASKED = ", ".join(f"avg({name}), stddev({name})" for name in NAMES)


def _day(day: int) -> pd.DataFrame:
    rng = np.random.default_rng(day)
    stroke = np.repeat(np.arange(STROKES) + 1 + day * STROKES, 2)
    found = {
        "S": stroke,
        "St": np.tile(["L", "R"], STROKES),
        "C": np.char.add("K", (stroke // 20_000).astype(str)),
        "P": np.char.add("s", (stroke // 9_000).astype(str)),
        "V": np.where(rng.random(stroke.size) < 0.002, "nok", "ok"),
    }
    for i, name in enumerate(NAMES):
        values = np.round(rng.normal(i + 1, 0.01, stroke.size), 3)
        values[rng.random(stroke.size) < 0.001] = np.nan
        found[name] = values
    return pd.DataFrame(found)


@pytest.fixture(scope="module")
def line(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A study folder with the log of its daily files."""
    folder = tmp_path_factory.mktemp("two_out")
    toml = 'format = 1\n[study]\ntitle = "t"\npart = "p"\n[tool]\nparts_per_stroke = 2\n'
    for i, name in enumerate(NAMES):
        toml += (
            f'[[characteristic]]\nid = "{name}"\nname = "{name}"\nunit = "mm"\n'
            f"nominal = {i + 1}\nlower = {i + 0.9}\nupper = {i + 1.1}\n"
        )
    mapping = ", ".join(f'{name} = "{name}"' for name in NAMES)
    toml += (
        '[[gauge]]\nid = "g"\nname = "g"\nresolution = 0.001\n[[data]]\nrole = "run"\ngauge = "g"\n'
        'file = "days/d000.csv"\norder = "S"\nstation = "St"\ncoil = "C"\nstop = "P"\nverdict = "V"\n'
        f'accept = ["ok"]\nreject = ["nok"]\ncolumns = {{ {mapping} }}\nsubgroup = {{ size = 5, every = 250 }}\n'
    )
    (folder / "study.toml").write_text(toml)
    (folder / "days").mkdir()
    for day in range(DAYS):
        _day(day).to_csv(folder / "days" / f"d{day:03}.csv", index=False)
    build_log(folder / "days", open_study(folder), out=folder / "log")
    return folder


def test_duckdb(line: Path, timed: Timed) -> None:
    import duckdb

    query = f"select {ASKED} from read_parquet('{line}/log/*/*.parquet')"
    timed(
        lambda: duckdb.connect().execute(query).fetchall(),
        peer="DuckDB, means and SDs of the parquet",
    )


def test_summaries(line: Path, timed: Timed) -> None:
    study = open_study(line)
    found = timed(
        lambda: summarise_log(line / "log", study, cache=False), rounds=3, aim="3 times DuckDB"
    )
    assert found.files == DAYS
