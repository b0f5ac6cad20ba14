"""What the README shows of the three readers' screens is what is on them.

The pictures are photographs of JupyterLab and of a dossier's page. With LINESTUDY_WRITE_PICTURES=1 they are put beside
the README's others; without, they lie among the shots, and a kept one has to be there, small, and named in the README.
"""

from __future__ import annotations

import io
import os
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from plant_files import write_plant_files

pytestmark = [pytest.mark.browser, pytest.mark.timeout(600)]

SHOTS = Path(__file__).parent / "shots"
KEPT = Path(__file__).parents[2] / "sample_data" / "pictures"
#: Bytes of a picture.
LARGEST = 90_000


def keep(raw: bytes, name: str) -> None:
    """Few colours and 900 points wide; beside the README's pictures where that is asked for."""
    picture = Image.open(io.BytesIO(raw)).convert("RGB")
    if picture.width > 900:
        height = round(picture.height * 900 / picture.width)
        picture = picture.resize((900, height), Image.Resampling.LANCZOS)
    few = picture.quantize(96, dither=Image.Dither.NONE)
    SHOTS.mkdir(exist_ok=True)
    places = [SHOTS] + ([KEPT] if os.environ.get("LINESTUDY_WRITE_PICTURES") == "1" else [])
    for place in places:
        few.save(place / f"{name}.png", optimize=True)
    assert (KEPT / f"{name}.png").stat().st_size < LARGEST
    assert f"](sample_data/pictures/{name}.png)" in (KEPT.parents[1] / "README.md").read_text(
        "utf-8"
    )


def test_the_engineers_form(desk: Any, tmp_path: Path) -> None:
    if desk.theme == "dark":
        pytest.skip("the README shows the light one")
    write_plant_files(tmp_path / "raw", strokes=600)
    page = desk.open("notebooks/submission/0_set_up.ipynb")
    try:
        page.wait_for_selector(".ls-form")
        with page.expect_file_chooser() as chooser:
            page.get_by_role("button", name="Pick files").press("Enter")
        chooser.value.set_files(sorted((tmp_path / "raw").iterdir()))
        page.get_by_text("5 files: drawing.csv").wait_for()
        page.get_by_role("button", name="Read these files").press("Enter")
        page.get_by_text("Nothing is missing here.").first.wait_for()
        page.set_viewport_size({"width": 1500, "height": 5000})
        page.get_by_label("Upper limit of Burr", exact=True).wait_for()
        top = page.get_by_text("2 · What each file is").bounding_box()
        end = page.get_by_text("masters.csv", exact=True).last.bounding_box()
        clip = {"x": top["x"] - 8, "y": top["y"] - 8, "width": 900, "height": end["y"] - top["y"]}
        keep(page.screenshot(clip=clip), "form")
    finally:
        page.close()


def test_the_students_lab(desk: Any) -> None:
    if desk.theme == "dark":
        pytest.skip("the README shows the light one")
    page = desk.open("notebooks/learning/1_what_an_interval_is.ipynb")
    try:
        page.wait_for_selector(".widget-html-content img")
        page.set_viewport_size({"width": 1300, "height": 2600})
        box = page.locator(".jp-OutputArea-output:has(.widget-html-content img)").first
        keep(box.screenshot(), "lab")
    finally:
        page.close()


@pytest.mark.parametrize(
    ("notebook", "from_heading", "name"),
    [
        ("submission/4_stability", "Choose a characteristic, and a stream", "notebook_engineer"),
        ("learning/22_two_stations_in_one_histogram", "Predict first", "notebook_student"),
    ],
)
def test_a_notebook_as_it_is_seen(desk: Any, notebook: str, from_heading: str, name: str) -> None:
    if desk.theme == "dark":
        pytest.skip("the README shows the light one")
    page = desk.open(f"notebooks/{notebook}.ipynb")
    try:
        page.evaluate("window.jupyterapp.commands.execute('application:toggle-left-area')")
        page.set_viewport_size({"width": 1150, "height": 1150})
        page.wait_for_selector(".jp-OutputArea-output img")
        heading = page.get_by_role("heading", name=from_heading).first
        heading.evaluate("heading => heading.scrollIntoView()")
        page.wait_for_timeout(1_500)
        keep(page.locator(".jp-NotebookPanel .jp-WindowedPanel-outer").first.screenshot(), name)
    finally:
        page.close()


def test_the_auditors_page(desk: Any, chromium: Any, root: Path, tmp_path: Path) -> None:
    if desk.theme == "dark":
        pytest.skip("the README shows the light one")
    from linestudy.cli import main

    out = tmp_path / "out"
    assert main(["dossier", str(root / "sample_data" / "fork_receptacle"), "--out", str(out)]) == 0
    context = chromium.new_context(viewport={"width": 1400, "height": 950})
    page = context.new_page()
    page.goto((out / "data" / "index.html").as_uri())
    keep(page.screenshot(), "page")
    context.close()
