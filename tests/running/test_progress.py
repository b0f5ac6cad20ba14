"""Progress is shown in a notebook and nowhere else, and leaves nothing behind."""

from __future__ import annotations

import nbformat
import pytest
from nbclient import NotebookClient

from linestudy.results import InputError
from linestudy.running.progress import watched


def test_quiet_outside_a_notebook(capfd: pytest.CaptureFixture[str]) -> None:
    with watched(2, "rooms") as tell:
        tell("gauges")
        tell("stability")
    assert capfd.readouterr() == ("", "")


def test_a_bar_in_a_notebook_and_an_error_in_one_sentence() -> None:
    cells = [
        "from linestudy.running.progress import watched\n"
        "with watched(2, 'rooms') as tell:\n    tell('gauges'); tell('stability')",
        "import linestudy\nlinestudy.open_study('no/such/folder')",
    ]
    made = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(text) for text in cells])
    client = NotebookClient(made, timeout=60, kernel_name="python3", allow_errors=True)
    client.execute()
    bar, error = (cell.outputs for cell in made.cells)
    assert not any(output.get("name") == "stderr" for output in bar)
    assert any("application/vnd.jupyter.widget-view+json" in o.get("data", {}) for o in bar)
    assert error[0].output_type == "error"
    assert error[0].traceback == [
        str(
            InputError(
                "no/such/folder", "there is no such folder", "give the folder that holds study.toml"
            )
        )
    ]
