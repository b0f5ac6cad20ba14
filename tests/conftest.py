"""Settings for the whole test suite."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

# What a user is told in one clause comes up here as it was raised; tests of the clause take it back.
os.environ.setdefault("LINESTUDY_STRICT", "1")

settings.register_profile(
    "ci",
    max_examples=50,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
settings.register_profile("thorough", parent=settings.get_profile("ci"), max_examples=1000)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci"))

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
