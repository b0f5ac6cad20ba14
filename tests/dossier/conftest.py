"""One dossier of the sample study for all tests of the room."""

from __future__ import annotations

from pathlib import Path

import pytest

from linestudy.dossier import evaluate, write
from linestudy.dossier.evaluation import Evaluation


@pytest.fixture(scope="session")
def evaluation(sample_study: Path) -> Evaluation:
    return evaluate(sample_study)


@pytest.fixture(scope="session")
def dossier(evaluation: Evaluation, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write(evaluation, tmp_path_factory.mktemp("dossier") / "out")
