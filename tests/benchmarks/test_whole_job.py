"""The whole job from a cold process and the cost of importing, beside a named peer."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from timed import Timed

from linestudy.results import Findings

pytestmark = pytest.mark.benchmark

Cold = Callable[..., Callable[[], object]]


@pytest.fixture
def cold(root: Path) -> Cold:
    """A fresh process with these words behind `python`."""

    def process(*words: str) -> Callable[[], object]:
        command = [sys.executable, *words]
        return lambda: subprocess.run(command, cwd=root, check=True, capture_output=True)

    return process


@pytest.mark.benchmark(group="importing, cold process")
class TestImporting:
    def test_python_alone(self, cold: Cold, timed: Timed) -> None:
        timed(cold("-c", "pass"), peer="Python alone")

    def test_linestudy(self, cold: Cold, timed: Timed) -> None:
        timed(cold("-c", "import linestudy"), aim="a tenth of pingouin")

    def test_pingouin(self, cold: Cold, timed: Timed) -> None:
        timed(cold("-c", "import pingouin"), rounds=3, peer="import pingouin")


@pytest.mark.benchmark(group="the sample study, cold process")
class TestWholeJob:
    def test_imports_alone(self, cold: Cold, timed: Timed) -> None:
        timed(cold("-c", "import pingouin, seaborn"), rounds=3, peer="import pingouin, seaborn")

    def test_dossier(self, cold: Cold, timed: Timed, tmp_path: Path) -> None:
        words = ("-m", "linestudy", "dossier", "sample_data/fork_receptacle")
        timed(cold(*words, "--out", str(tmp_path / "out")), rounds=3, aim="12 s")

    def test_recompute(self, cold: Cold, timed: Timed, tmp_path: Path) -> None:
        out = str(tmp_path / "out")
        cold("-m", "linestudy", "dossier", "sample_data/fork_receptacle", "--out", out)()
        timed(cold("-m", "linestudy", "recompute", out), rounds=2, warm=0, aim="8 s")

    def test_recompute_with_pictures(self, cold: Cold, timed: Timed, tmp_path: Path) -> None:
        out = str(tmp_path / "out")
        cold("-m", "linestudy", "dossier", "sample_data/fork_receptacle", "--out", out)()
        timed(cold("-m", "linestudy", "recompute", out, "--pictures"), rounds=2, warm=0)


@pytest.mark.benchmark(group="shape and capability of the sample study, one core")
def test_shape_and_capability(
    sample_study: Path, timed: Timed, monkeypatch: pytest.MonkeyPatch
) -> None:
    from linestudy import capability, open_study, read, shape, stability

    monkeypatch.setenv("LINESTUDY_WORKERS", "1")
    study = open_study(sample_study)
    records = read(study)
    before = stability.evaluate(study, records)

    def both() -> None:
        found = Findings()
        found.update(before)
        found.update(shape.evaluate(study, records, found))
        capability.evaluate(study, records, found)

    timed(both, rounds=3, aim="4 s")
