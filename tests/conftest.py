"""Settings for the whole test suite, and the studies that many tests look at, evaluated once."""

from __future__ import annotations

import atexit
import os
import runpy
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

#: Small matrices on several threads are slower, and stand in the way of the other worker. Read by the numerical
#: libraries when they are loaded, which nothing has done yet, and inherited by every process a test starts.
THREADS = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS")
for _name in THREADS:
    os.environ.setdefault(_name, "1")

import pytest  # noqa: E402
from hypothesis import HealthCheck, settings  # noqa: E402
from shared import fetch, keep, once  # noqa: E402

if TYPE_CHECKING:
    from linestudy.dossier.evaluation import Evaluation

# What a user is told in one clause comes up here as it was raised; tests of the clause take it back.
os.environ.setdefault("LINESTUDY_STRICT", "1")

# What notebooks keep of a study goes into a folder of this run, never into the user's own cache.
if "LINESTUDY_CACHE" not in os.environ:
    _cache = tempfile.mkdtemp(prefix="linestudy-cache-")
    os.environ["LINESTUDY_CACHE"] = _cache
    atexit.register(shutil.rmtree, _cache, ignore_errors=True)

settings.register_profile(
    "ci",
    max_examples=50,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
settings.register_profile("thorough", parent=settings.get_profile("ci"), max_examples=1000)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci"))

# pytest-xdist has a process to each core already; tests of workers ask for their own. Each thread of a
# numerical library would stand in the others' way.
for name in ("LINESTUDY_WORKERS", "OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"):
    os.environ.setdefault(name, "1")

# A stand-in for a system without forks and their like, for this process and all that it starts.
if os.environ.get("LINESTUDY_ELSEWHERE"):
    _place = Path(__file__).parent / "helpers" / "elsewhere"
    os.environ["PYTHONPATH"] = os.pathsep.join(
        [str(_place), *filter(None, [os.environ.get("PYTHONPATH")])]
    )
    runpy.run_path(str(_place / "sitecustomize.py"))

ROOT = Path(__file__).resolve().parents[1]

#: What takes half a minute each and is made once for all workers.
_LONG_MADE = ("evaluation", "job")


def _parameters(item: pytest.Item) -> list[object]:
    return list(getattr(getattr(item, "callspec", None), "params", {}).values())


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Let one worker make what takes long first, and have what else needs it come last, so that no worker waits for the other."""
    if "LINESTUDY_PROOF_SECONDS" in os.environ:
        return
    asked = [getattr(item, "fixturenames", ()) for item in items]
    makers = [
        next((at for at, names in enumerate(asked) if made in names), None) for made in _LONG_MADE
    ]
    first = [at for at in makers if at is not None]
    later = [
        any(made in names for made in _LONG_MADE)
        # A fixture that asks for one of them by the study's name.
        or any(isinstance(of, str) and of == "sample" for of in _parameters(item))
        for item, names in zip(items, asked, strict=True)
    ]
    order = sorted(range(len(items)), key=lambda at: (at not in first, later[at]))
    items[:] = [items[at] for at in order]


@pytest.fixture(scope="session")
def root() -> Path:
    """The top of the repository."""
    return ROOT


@pytest.fixture(scope="session")
def sample_study() -> Path:
    """The sample study folder."""
    return ROOT / "sample_data" / "fork_receptacle"


@pytest.fixture(scope="session")
def published() -> Path:
    """The folder of published studies."""
    return ROOT / "sample_data" / "published"


def _evaluated(study: Path, into: Path) -> None:
    from linestudy.dossier import evaluate

    keep(evaluate(study), into / "evaluation.pickle")


def _written(evaluation: Evaluation, into: Path) -> None:
    from linestudy.dossier import write

    write(evaluation, into / "out")


@pytest.fixture(scope="session")
def evaluation(sample_study: Path, tmp_path_factory: pytest.TempPathFactory) -> Evaluation:
    """The sample study, evaluated: once in a run, for all workers. Not to be changed."""
    base = tmp_path_factory.getbasetemp()
    folder = once(base, "sample", lambda into: _evaluated(sample_study, into))
    found: Evaluation = fetch(folder / "evaluation.pickle")
    return found


@pytest.fixture(scope="session")
def dossier(job: tuple[subprocess.CompletedProcess[str], Path]) -> Path:
    """Its dossier, which the main job wrote. Not to be changed; copy it."""
    done, folder = job
    assert done.returncode == 0, done.stderr
    return folder


@pytest.fixture(scope="session")
def starter(tmp_path_factory: pytest.TempPathFactory) -> Evaluation:
    """The starter study, evaluated. Not to be changed; `starter.study.folder` may be copied."""

    def make(into: Path) -> None:
        from linestudy.study import start_study

        _evaluated(start_study(into / "study"), into)

    found: Evaluation = fetch(
        once(tmp_path_factory.getbasetemp(), "starter", make) / "evaluation.pickle"
    )
    return found


@pytest.fixture(scope="session")
def starter_dossier(starter: Evaluation, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Its dossier. Not to be changed; copy it."""
    base = tmp_path_factory.getbasetemp()
    return once(base, "starter_dossier", lambda into: _written(starter, into)) / "out"


@pytest.fixture(scope="session")
def job(
    sample_study: Path, tmp_path_factory: pytest.TempPathFactory
) -> tuple[subprocess.CompletedProcess[str], Path]:
    """The main job on the sample study as a user types it: what it said, and where it was told to write."""

    def make(into: Path) -> None:
        command = [
            sys.executable,
            "-m",
            "linestudy",
            "dossier",
            str(sample_study.relative_to(ROOT)),
        ]
        done = subprocess.run(
            [*command, "--out", str(into / "dossier"), "--timings"],
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=False,
        )
        keep(done, into / "done.pickle")

    folder = once(tmp_path_factory.getbasetemp(), "job", make)
    return fetch(folder / "done.pickle"), folder / "dossier"


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A cache of one's own, empty."""
    monkeypatch.delenv("LINESTUDY_CHOICE", raising=False)
    monkeypatch.setenv("LINESTUDY_CACHE", str(tmp_path))
    tmp_path.chmod(0o700)
    return tmp_path
