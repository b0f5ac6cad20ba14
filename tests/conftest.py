"""Settings for the whole test suite."""

from __future__ import annotations

import os
import runpy
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

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
