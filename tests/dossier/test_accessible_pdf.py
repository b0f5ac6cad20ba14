"""The document against an outside checker of PDF/UA-1, where one is installed.

The tool is `pdfua` (PyPI, MIT): it checks 16 of the 106 rules that a machine can check, so it finds faults and proves no conformance.
The full validator of both standards, veraPDF, is in none of PyPI, npm and Debian. typst itself refuses to write a
document that breaks what it knows of PDF/A-2a and PDF/UA-1.
"""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

TOOL = shutil.which("pdfua")
pytestmark = pytest.mark.skipif(TOOL is None, reason="pdfua is not installed")


def _findings(pdf: Path) -> str:
    assert TOOL is not None
    run = subprocess.run([TOOL, "check", str(pdf)], capture_output=True, text=True, timeout=120)
    return run.stdout if run.returncode else ""


def test_no_fault_of_accessibility_is_found(starter_dossier: Path) -> None:
    assert _findings(starter_dossier / "data/dossier.pdf") == ""


def test_a_document_without_tags_is_found(tmp_path: Path) -> None:
    from matplotlib.figure import Figure

    figure = Figure()
    figure.add_subplot().plot([1, 2], [3, 4])
    figure.savefig(tmp_path / "plain.pdf")
    assert "ERROR" in _findings(tmp_path / "plain.pdf").upper()
