"""The whole job from a cold process and the cost of importing, as ratios to a named peer in one run."""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

import pytest

pytestmark = pytest.mark.benchmark


def seconds(words: list[str], root: Path, repeats: int) -> float:
    """Best wall time of a fresh process."""
    best = float("inf")
    for _ in range(repeats):
        begin = time.perf_counter()
        subprocess.run(words, cwd=root, check=True, capture_output=True)
        best = min(best, time.perf_counter() - begin)
    return best


def test_importing_against_pingouin(root: Path) -> None:
    bare = seconds([sys.executable, "-c", "pass"], root, 5)
    ours = seconds([sys.executable, "-c", "import linestudy"], root, 5) - bare
    theirs = seconds([sys.executable, "-c", "import pingouin"], root, 3) - bare
    print(
        f"\nimport linestudy {1e3 * ours:.1f} ms, import pingouin {1e3 * theirs:.0f} ms, ratio {ours / theirs:.4f}"
    )


def test_the_whole_job_from_a_cold_process(root: Path, tmp_path: Path) -> None:
    words = [sys.executable, "-m", "linestudy", "dossier", "sample_data/fork_receptacle"]
    job = seconds([*words, "--out", str(tmp_path / "out")], root, 2)
    peer = seconds([sys.executable, "-c", "import pingouin, seaborn"], root, 2)
    print(f"\nwhole job {job:.1f} s, ratio to importing pingouin and seaborn {job / peer:.1f}")
    check = seconds(
        [sys.executable, "-m", "linestudy", "recompute", str(tmp_path / "out")], root, 1
    )
    print(f"recompute {check:.1f} s")
