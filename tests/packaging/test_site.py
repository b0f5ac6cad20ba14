"""The site, built by its one command: pages are there, and every link within it leads somewhere."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = [pytest.mark.site, pytest.mark.timeout(900)]


@pytest.fixture(scope="module")
def site(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    pytest.importorskip("myst_parser")
    out = tmp_path_factory.mktemp("built") / "site"
    command = [sys.executable, str(root / "lib/docs/build.py"), str(out), "--quick"]
    done = subprocess.run(command, capture_output=True, text=True, check=False, cwd=out.parent)
    assert done.returncode == 0, done.stdout[-3000:]
    assert "ERROR" not in done.stderr, done.stderr[-3000:]
    return out


def test_the_site_is_built_and_its_links_lead_somewhere(
    site: Path, root: Path, tmp_path: Path
) -> None:
    out = site
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
        [sys.executable, str(root / "lib/docs/build.py"), str(other), "--quick"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert refused.returncode == 1
    assert (other / "mine.txt").is_file()


def test_no_page_is_wider_than_a_phone_and_its_text_comes_first(site: Path) -> None:
    program = shutil.which("chromium") or shutil.which("google-chrome")
    if program is None:
        pytest.skip("no Chromium is installed")
    from playwright.sync_api import sync_playwright

    wide, late, pages = {}, [], sorted(site.rglob("*.html"))
    assert len(pages) > 20
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": 390, "height": 844})
        for file in pages:
            page.goto(file.as_uri())
            name = file.relative_to(site).as_posix()
            over = page.evaluate("document.documentElement.scrollWidth - innerWidth")
            if over > 0:
                wide[name] = over
            top = page.evaluate(
                "document.querySelector('div.body h1')?.getBoundingClientRect().top ?? 0"
            )
            late += [name] if top > 200 else []
        # It would be seen.
        page.evaluate("document.body.insertAdjacentHTML('beforeend', '<p style=width:600px>x</p>')")
        assert page.evaluate("document.documentElement.scrollWidth - innerWidth") > 0
        browser.close()
    assert (wide, late) == ({}, [])
