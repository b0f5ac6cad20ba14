"""What the suite itself stands on: one thread for each process, and things that are made once for all workers."""

from __future__ import annotations

import subprocess
import sys
import threading
from pathlib import Path

import pytest
from shared import common_folder, fetch, keep, once


def test_numerical_libraries_have_one_thread_here_and_in_what_is_started() -> None:
    code = (
        "import numpy, scipy.linalg, threadpoolctl;"
        "print(max(pool['num_threads'] for pool in threadpoolctl.threadpool_info()))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "1"
    import scipy.linalg  # noqa: F401
    from threadpoolctl import threadpool_info

    pools = threadpool_info()
    assert pools
    assert {pool["num_threads"] for pool in pools} == {1}


def test_many_who_ask_at_once_get_what_one_of_them_made(tmp_path: Path) -> None:
    made: list[str] = []

    def make(into: Path) -> None:
        made.append(threading.current_thread().name)
        keep({"by": made[-1]}, into / "thing.pickle")

    found: list[dict[str, str]] = []

    def ask() -> None:
        found.append(fetch(once(tmp_path / "worker", "thing", make) / "thing.pickle"))

    (tmp_path / "worker").mkdir()
    asking = [threading.Thread(target=ask) for _ in range(8)]
    for each in asking:
        each.start()
    for each in asking:
        each.join()
    assert len(made) == 1
    assert found == [{"by": made[0]}] * 8


def test_the_next_tries_again_where_making_failed(tmp_path: Path) -> None:
    (tmp_path / "worker").mkdir()

    def fail(into: Path) -> None:
        (into / "half").touch()
        raise OSError("disk full")

    with pytest.raises(OSError, match="disk full"):
        once(tmp_path / "worker", "thing", fail)
    folder = once(tmp_path / "worker", "thing", lambda into: (into / "whole").touch())
    assert [file.name for file in folder.iterdir()] == ["whole"]


def test_workers_share_the_folder_above_their_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PYTEST_XDIST_WORKER", "gw1")
    assert common_folder(tmp_path / "popen-gw1") == tmp_path
    monkeypatch.delenv("PYTEST_XDIST_WORKER")
    assert common_folder(tmp_path) == tmp_path
