"""The site, built by its one command: pages are there, and every link within it leads somewhere."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = [pytest.mark.site, pytest.mark.timeout(900)]


def test_the_site_is_built_and_its_links_lead_somewhere(root: Path, tmp_path: Path) -> None:
    pytest.importorskip("myst_parser")
    out = tmp_path / "site"
    command = [sys.executable, str(root / "lib/docs/build.py"), str(out), "--quick"]
    done = subprocess.run(command, capture_output=True, text=True, check=False, cwd=tmp_path)
    assert done.returncode == 0, done.stdout[-3000:]
    assert "ERROR" not in done.stderr, done.stderr[-3000:]
    for page in (
        "index",
        "guide/which_study",
        "glossary",
        "reference/gauges",
        "files/format",
        "proof/report",
    ):
        text = (out / f"{page}.html").read_text(encoding="utf-8")
        assert "<h1>" in text
    assert "grr_anova" in (out / "reference/gauges.html").read_text(encoding="utf-8")
    assert "<math" in "".join(
        p.read_text(encoding="utf-8") for p in (out / "reference").glob("*.html")
    )
    # Nothing is fetched from elsewhere to look at it.
    assert 'src="http' not in (out / "index.html").read_text(encoding="utf-8")
    # A folder that holds anything else is left alone.
    other = tmp_path / "other"
    other.mkdir()
    (other / "mine.txt").write_text("x")
    refused = subprocess.run(
        [*command[:2], str(other), "--quick"], capture_output=True, text=True, check=False
    )
    assert refused.returncode == 1
    assert (other / "mine.txt").is_file()
