"""Execute a notebook on a study folder, as *Run all* does."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import nbformat
import pytest
from jupyter_client.manager import KernelManager
from nbclient import NotebookClient

#: What a fresh kernel would have of itself: no name, the notebook's folder, the reader's study.
BEFORE = """%reset -f -s
import os
os.chdir({folder!r})
os.environ["LINESTUDY_STUDY"] = {study!r}
os.environ["LINESTUDY_CACHE"] = {cache!r}
del os"""


@pytest.fixture(scope="session")
def run_notebook(
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[Callable[[Path, Path], nbformat.NotebookNode]]:
    """Run all cells of a notebook on a study; an error in a cell is an error here.

    One kernel does them all, emptied in between: half of a notebook's time is what a kernel loads. That
    each also runs in a kernel of its own is for the tests in a browser.
    """
    kernel = KernelManager(kernel_name="python3")
    cache = tmp_path_factory.mktemp("cache")
    cache.chmod(0o700)

    def run(file: Path, study: Path) -> nbformat.NotebookNode:
        if not kernel.has_kernel or not kernel.is_alive():
            kernel.start_kernel()
        notebook = nbformat.read(file, as_version=4)
        before = BEFORE.format(folder=str(file.parent), study=str(study), cache=str(cache))
        notebook.cells.insert(0, nbformat.v4.new_code_cell(before))
        client = NotebookClient(
            notebook, km=kernel, timeout=180, resources={"metadata": {"path": str(file.parent)}}
        )
        try:
            client.execute()
        finally:
            if client.kc is not None:
                client.kc.stop_channels()
        return notebook

    yield run
    if kernel.has_kernel:
        kernel.shutdown_kernel(now=False)
