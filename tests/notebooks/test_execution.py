"""Every notebook runs from top to bottom, on the sample study and on one with nothing in common."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import nbformat
import pytest

ROOT = Path(__file__).resolve().parents[2]
NOTEBOOKS = sorted(
    p.relative_to(ROOT / "notebooks")
    for p in (ROOT / "notebooks").rglob("*.ipynb")
    if ".ipynb_checkpoints" not in p.parts
)
STUDIES = {
    "sample": ROOT / "sample_data" / "fork_receptacle",
    "other": Path(__file__).parent / "other_study",
    "partial": Path(__file__).parent / "partial_study",
}


#: Labs simulate their own line, and an auditor's way is the same for every study: one will do, a small one.
ONE_STUDY = {"learning": "partial", "audit": "partial"}
#: The published studies lie beside the sample study.
BESIDE = "reproduce_a_published_study"
RUNS = [
    (name, study)
    for name in NOTEBOOKS
    for study in STUDIES
    if study == ("sample" if name.stem == BESIDE else ONE_STUDY.get(name.parent.name, study))
]


#: Labs of every run: the first, a middle one, and the last.
_IN_EVERY_RUN = ("1_what_an_interval_is", "16_guard_band", "25_range_against_standard_deviation")


def _slow(name: Path, study: str) -> bool:
    lab = name.parent.name == "learning" and name.stem not in _IN_EVERY_RUN
    return study in ("other", "sample") or name.parent.name == "audit" or lab


#: In every run the engineer's notebooks on a study with half of the sample's records, and three labs; among the slow tests the
#: other labs, the auditor's, and the engineer's on the sample study and on one with nothing in common.
TAKEN = [
    pytest.param(
        name,
        study,
        id=f"{name.stem}-{study}",
        marks=[pytest.mark.proof] if _slow(name, study) else [],
    )
    for name, study in RUNS
]


@pytest.mark.parametrize(("name", "study"), TAKEN)
def test_runs_from_top_to_bottom(
    name: Path, study: str, run_notebook: Callable[[Path, Path], nbformat.NotebookNode]
) -> None:
    notebook = run_notebook(ROOT / "notebooks" / name, STUDIES[study])
    for cell in notebook.cells:
        for output in cell.get("outputs", []):
            assert output.output_type != "error"
            # Nothing on standard error: no warning ever reaches the reader.
            assert output.get("name") != "stderr", output.get("text")


def test_each_submission_notebook_opens_with_its_question_and_names_its_folder_once() -> None:
    for name in NOTEBOOKS:
        cells = nbformat.read(ROOT / "notebooks" / name, as_version=4).cells
        if name.parent.name != "submission":
            continue
        opening = cells[0].source
        for words in ("**Question:**", "**For**", "**You need**", "**The customer will ask**"):
            assert words in opening, name
        named = [c for c in cells if c.cell_type == "code" and "STUDY =" in c.source]
        assert len(named) == 1
        assert named[0] in cells[:3]
        assert "parameters" in named[0].metadata.tags


def test_findings_are_shown_as_tables() -> None:
    from linestudy.results import Findings, Unjudged, show_findings

    findings = Findings()
    findings.add("a", ("shape",), Unjudged("Distribution", "Only one part."))
    assert "<table>" in show_findings(findings, "a")._repr_html_()
    assert "Nothing was recorded" in show_findings(findings, "b")._repr_html_()
