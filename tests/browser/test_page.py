"""The dossier's page in a real browser: no violation by axe-core, nothing wider than the window.

axe-core (Deque Systems, MPL-2.0) is taken from npm when the test runs; it is not part of this project.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.browser

SHOTS = Path(__file__).parent / "shots"
#: Rules of WCAG 2.2, levels A and AA, and what axe-core calls best practice.
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


@pytest.fixture(scope="session")
def pages(tmp_path_factory: pytest.TempPathFactory, root: Path) -> dict[str, Path]:
    """The page of the sample study and that of a published one."""
    place = tmp_path_factory.mktemp("pages")
    found = {}
    for name in ("fork_receptacle", "published/aiag_crossed"):
        out = place / Path(name).name
        command = [
            sys.executable,
            "-m",
            "linestudy.cli",
            "dossier",
            str(root / "sample_data" / name),
        ]
        subprocess.run([*command, "--out", str(out)], check=False, capture_output=True, timeout=300)
        found[name] = out / "data" / "index.html"
        assert found[name].is_file()
    return found


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 390])
@pytest.mark.parametrize("name", ["fork_receptacle", "published/aiag_crossed"])
def test_no_violation(
    chromium: Any, axe: str, pages: dict[str, Path], name: str, width: int, scheme: str
) -> None:
    context = chromium.new_context(
        viewport={"width": width, "height": 900}, color_scheme=scheme, bypass_csp=True
    )
    page = context.new_page()
    page.goto(pages[name].as_uri())
    page.evaluate(axe)
    found = page.evaluate("tags => axe.run(document, {runOnly: {type: 'tag', values: tags}})", TAGS)
    SHOTS.mkdir(exist_ok=True)
    page.screenshot(path=SHOTS / f"page_{Path(name).name}_{width}_{scheme}.png")
    wide = page.evaluate("document.documentElement.scrollWidth > window.innerWidth + 1")
    context.close()
    told = [
        (item["id"], item["help"], [node["html"][:160] for node in item["nodes"][:3]])
        for item in found["violations"]
    ]
    assert not told
    assert len(found["passes"]) > 20
    assert not wide


def test_a_picture_without_words_is_found(chromium: Any, axe: str, pages: dict[str, Path]) -> None:
    """The check above can fail."""
    context = chromium.new_context(bypass_csp=True)
    page = context.new_page()
    page.goto(pages["published/aiag_crossed"].as_uri())
    page.evaluate("document.querySelector('main, body').append(document.createElement('img'))")
    page.evaluate(axe)
    found = page.evaluate("axe.run(document)")
    context.close()
    assert "image-alt" in {item["id"] for item in found["violations"]}


@pytest.mark.parametrize("name", ["fork_receptacle", "published/aiag_crossed"])
def test_on_paper_nothing_is_cut_off(
    chromium: Any, pages: dict[str, Path], tmp_path: Path, name: str
) -> None:
    """Printed on A4: all decisions on the first page, no table wider than the paper, at most half again as many pages as the PDF."""
    import pypdfium2 as pdfium

    context = chromium.new_context(viewport={"width": 673, "height": 1000})
    page = context.new_page()
    page.goto(pages[name].as_uri())
    page.emulate_media(media="print")
    wide = page.evaluate(
        "[...document.querySelectorAll('table, img')].filter(one => one.getBoundingClientRect().right > "
        "window.innerWidth + 1).map(one => one.textContent.slice(0, 80))"
    )
    printed = tmp_path / "printed.pdf"
    page.pdf(path=printed, prefer_css_page_size=True)
    context.close()
    assert not wide
    on_paper = pdfium.PdfDocument(printed)
    assert "Asked of the customer" in on_paper[0].get_textpage().get_text_bounded()
    of_its_own = pdfium.PdfDocument(pages[name].with_name("dossier.pdf"))
    assert len(on_paper) <= 1.5 * len(of_its_own)
