"""Execute a notebook on a study folder, as *Run all* does."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient


@pytest.fixture(scope="session")
def run_notebook() -> Callable[[Path, Path], nbformat.NotebookNode]:
    """Run all cells of a notebook with LINESTUDY_STUDY set; an error in a cell is an error here."""

    def run(file: Path, study: Path) -> nbformat.NotebookNode:
        notebook = nbformat.read(file, as_version=4)
        os.environ["LINESTUDY_STUDY"] = str(study)
        os.environ["OPENBLAS_NUM_THREADS"] = "1"
        try:
            client = NotebookClient(
                notebook,
                timeout=180,
                kernel_name="python3",
                resources={"metadata": {"path": str(file.parent)}},
            )
            client.execute()
        finally:
            del os.environ["LINESTUDY_STUDY"]
        return notebook

    return run
