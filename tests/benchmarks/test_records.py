"""Speed of reading and summing a line log, as ratios to named peers in the same run.

One day of every part (374,400 rows, 6 characteristics) unless LINESTUDY_DAYS says more.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from linestudy import open_study
from linestudy.records import build_log, summarise_log

ROWS = 374_400
DAYS = int(os.environ.get("LINESTUDY_DAYS", "1"))
TOML = 'format = 1\n[study]\ntitle = "t"\npart = "p"\n'


def seconds(work: Callable[[], object]) -> float:
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


@pytest.fixture(scope="module")
def line(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
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
        f'gauge = "g"\nfile = "days/d0.csv"\norder = "S"\ncolumns = {{ {mapping} }}\n'
        "subgroup = { size = 5, every = 250 }\n"
    )
    (folder / "study.toml").write_text(toml)
    (folder / "days").mkdir()
    for day in range(DAYS):
        rng = np.random.default_rng(day)
        frame = pd.DataFrame({"S": np.arange(ROWS) + 1 + day * ROWS})
        for i, name in enumerate(names):
            frame[name] = np.round(rng.normal(i + 1, 0.01, ROWS), 3)
        frame.to_csv(folder / "days" / f"d{day}.csv", index=False)
    return folder, folder / "log"


@pytest.mark.benchmark
def test_log_and_summaries_against_bare_scans(line: tuple[Path, Path], capsys) -> None:
    import duckdb

    folder, log = line
    study = open_study(folder)
    asked = ", ".join(f"avg(c{i}), stddev(c{i})" for i in range(6))
    connection = duckdb.connect()
    csv = f"select {asked} from read_csv('{folder}/days/*.csv')"
    parquet = f"select {asked} from read_parquet('{log}/*/*.parquet')"

    def by_pandas() -> None:
        for path in sorted((folder / "days").iterdir()):
            frame = pd.read_csv(path)
            place = frame["S"] - frame["S"].iloc[0]
            taken = frame[place % 250 < 5]
            taken.groupby(place // 250).mean()

    bare_csv = seconds(lambda: connection.execute(csv).fetchall())
    pandas_time = seconds(by_pandas)
    build = seconds(lambda: build_log(folder / "days", study, log))
    bare_parquet = seconds(lambda: connection.execute(parquet).fetchall())
    summed = seconds(lambda: summarise_log(log, study))
    again = seconds(lambda: summarise_log(log, study))
    with capsys.disabled():
        print(
            f"\n{DAYS} day(s): log {build:.2f} s = {build / bare_csv:.1f} x DuckDB over the csv, "
            f"{build / pandas_time:.1f} x pandas subgroup means\n"
            f"summaries {summed:.2f} s = {summed / bare_parquet:.1f} x a bare scan of the parquet; "
            f"again, from the cache, {again:.3f} s"
        )
    assert summarise_log(log, study).from_cache == DAYS


@pytest.mark.benchmark
def test_peak_memory_of_the_summaries(line: tuple[Path, Path], capsys) -> None:
    folder, log = line
    build_log(folder / "days", open_study(folder), log)
    code = (
        "import re, sys\n"
        "from linestudy import open_study\n"
        "from linestudy.records import summarise_log\n"
        "summarise_log(sys.argv[2], open_study(sys.argv[1]), cache=False)\n"
        # The process's own peak: what getrusage tells begins with that of whoever started it.
        "text = open('/proc/self/status').read()\n"
        "print(int(re.search(r'VmHWM:\\s+(\\d+) kB', text)[1]) / 1024)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(folder), str(log)],
        capture_output=True,
        text=True,
        check=True,
    )
    with capsys.disabled():
        print(f"\n{DAYS} day(s): peak of the summaries {float(done.stdout):.0f} MB")
    assert float(done.stdout) > 0
