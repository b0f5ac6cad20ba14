"""Reading and summing a line log, beside bare DuckDB and pandas over the same files.

A week of every part (seven days of 374,400 rows, 6 characteristics) unless LINESTUDY_DAYS says other.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from timed import Timed

from linestudy import open_study
from linestudy.linelog import build_log, evaluate_log, summarise_log

pytestmark = pytest.mark.benchmark

ROWS = 374_400
DAYS = int(os.environ.get("LINESTUDY_DAYS", "7"))
TOML = 'format = 1\n[study]\ntitle = "t"\npart = "p"\n'
ASKED = ", ".join(f"avg(c{i}), stddev(c{i})" for i in range(6))


@pytest.fixture(scope="module")
def line(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A study folder with the daily files of a line."""
    folder = tmp_path_factory.mktemp("line")
    names = [f"c{i}" for i in range(6)]
    toml = TOML
    for i, name in enumerate(names):
        toml += (
            f'[[characteristic]]\nid = "{name}"\nname = "{name}"\nunit = "mm"\n'
            f"nominal = {i + 1}\nlower = {i + 0.9}\nupper = {i + 1.1}\n"
        )
    mapping = ", ".join(f'{name} = "{name}"' for name in names)
    toml += (
        '[[gauge]]\nid = "g"\nname = "g"\nresolution = 0.001\n[[data]]\nrole = "run"\n'
        f'gauge = "g"\nfile = "days/d000.csv"\norder = "S"\ncolumns = {{ {mapping} }}\n'
        "subgroup = { size = 5, every = 250 }\n"
    )
    (folder / "study.toml").write_text(toml)
    (folder / "days").mkdir()
    for day in range(DAYS):
        rng = np.random.default_rng(day)
        frame = pd.DataFrame({"S": np.arange(ROWS) + 1 + day * ROWS})
        for i, name in enumerate(names):
            frame[name] = np.round(rng.normal(i + 1, 0.01, ROWS), 3)
        frame.to_csv(folder / "days" / f"d{day:03}.csv", index=False)
    return folder


@pytest.fixture(scope="module")
def log(line: Path) -> Path:
    return build_log(line / "days", open_study(line), out=line / "log").folder


def _duckdb(files: str) -> Any:
    import duckdb

    connection = duckdb.connect()
    return connection.execute(f"select {ASKED} from {files}").fetchall()


def _subgroup_means(folder: Path) -> None:
    for path in sorted(folder.iterdir()):
        frame = pd.read_csv(path)
        place = frame["S"] - frame["S"].iloc[0]
        taken = frame[place % 250 < 5]
        taken.groupby(place // 250).mean()


@pytest.mark.benchmark(group=f"{DAYS} days of csv")
class TestCsv:
    def test_duckdb(self, line: Path, timed: Timed) -> None:
        timed(
            lambda: _duckdb(f"read_csv('{line}/days/*.csv')"),
            peer="DuckDB, means and SDs of the csv",
        )

    def test_pandas(self, line: Path, timed: Timed) -> None:
        timed(lambda: _subgroup_means(line / "days"), peer="pandas, subgroup means")

    def test_log(self, line: Path, timed: Timed, tmp_path: Path) -> None:
        study = open_study(line)

        def write() -> None:
            shutil.rmtree(tmp_path / "log", ignore_errors=True)
            build_log(line / "days", study, out=tmp_path / "log")

        timed(write, aim="1.5 times DuckDB, once pandas")

    def test_evidence(self, line: Path, timed: Timed, tmp_path: Path) -> None:
        """Log, summaries and all of stability."""
        study = open_study(line)

        def judge() -> None:
            shutil.rmtree(tmp_path / "log", ignore_errors=True)
            written = build_log(line / "days", study, out=tmp_path / "log")
            evaluate_log(study, summarise_log(written.folder, study, cache=False))

        timed(judge, rounds=3, aim="3 times DuckDB")


@pytest.mark.benchmark(group=f"{DAYS} days of parquet")
class TestParquet:
    def test_duckdb(self, log: Path, timed: Timed) -> None:
        timed(
            lambda: _duckdb(f"read_parquet('{log}/*/*.parquet')"),
            peer="DuckDB, means and SDs of the parquet",
        )

    def test_summaries(self, line: Path, log: Path, timed: Timed, benchmark: Any) -> None:
        study = open_study(line)
        benchmark.extra_info["peak"] = f"{_peak(line, log):.0f} MB"
        found = timed(
            lambda: summarise_log(log, study, cache=False),
            rounds=3,
            aim="3 times DuckDB, under 800 MB",
        )
        assert found.files == DAYS

    def test_summaries_known_already(self, line: Path, log: Path, timed: Timed) -> None:
        study = open_study(line)
        assert timed(lambda: summarise_log(log, study), rounds=3).from_cache == DAYS


@pytest.mark.benchmark(group="summaries of a growing log, cold process")
@pytest.mark.timeout(1800)
@pytest.mark.parametrize("months", [1, 3, 12])
def test_months(
    months: int, line: Path, log: Path, timed: Timed, benchmark: Any, tmp_path: Path
) -> None:
    """Months of 26 days; the days of the log again and again, each with order numbers of its own.

    Sums are kept beside the log, as they are by default.
    """
    pieces = sorted(log.glob("file=*/*.parquet"))
    for day in range(26 * months):
        frame = pd.read_parquet(pieces[day % len(pieces)], partitioning=None)
        frame["order"] = np.arange(ROWS) + 1.0 + day * ROWS
        place = tmp_path / "log" / f"file=d{day:03}"
        place.mkdir(parents=True)
        frame.to_parquet(place / f"d{day:03}.parquet", compression="lz4", row_group_size=122_880)
    peaks: list[float] = []
    timed(lambda: peaks.append(_peak(line, tmp_path / "log")), rounds=1, warm=0)
    benchmark.extra_info["peak"] = f"{peaks[0]:.0f} MB"
    benchmark.extra_info["million parts"] = round(26 * months * ROWS / 1e6, 1)


def _peak(line: Path, log: Path) -> float:
    """Most memory, in megabytes, of a process that does nothing but sum the log."""
    shutil.rmtree(log.with_name(f"{log.name}.cache"), ignore_errors=True)
    code = (
        "import sys\n"
        "from linestudy import open_study\n"
        "from linestudy.linelog import summarise_log\n"
        "summarise_log(sys.argv[2], open_study(sys.argv[1]))\n"
        # The process's own peak: what getrusage tells begins with that of whoever started it.
        "print(open('/proc/self/status').read())\n"
    )
    words = [sys.executable, "-c", code, str(line), str(log)]
    done = subprocess.run(words, capture_output=True, text=True, check=True)
    found = re.search(r"VmHWM:\s+(\d+) kB", done.stdout)
    assert found is not None
    return int(found[1]) / 1024
