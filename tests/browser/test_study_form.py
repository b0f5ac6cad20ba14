"""The study form in a real JupyterLab: raw files of a plant become a dossier, with nothing typed that a file says."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import pytest
from plant_files import write_plant_files

from linestudy import open_study
from linestudy.records import read

pytestmark = [pytest.mark.browser, pytest.mark.timeout(600)]

#: Pictures for somebody to look at.
SHOTS = Path(__file__).parent / "shots"
NOTEBOOK = "notebooks/submission/0_set_up.ipynb"


@pytest.fixture
def form(desk: Any) -> Any:
    """The form, open on a folder that does not exist yet."""
    page = desk.open(NOTEBOOK)
    page.wait_for_selector(".ls-form")
    yield page
    page.close()


def says(page: Any, words: str, timeout: float = 60_000) -> None:
    """Wait until the form says something."""
    page.locator(".ls-form").get_by_text(words).first.wait_for(timeout=timeout)


def test_from_raw_files_to_a_dossier(form: Any, desk: Any, axe: str, tmp_path: Path) -> None:
    page = form
    truth = write_plant_files(tmp_path / "raw", strokes=600)
    study = tmp_path / "study"
    begun = time.perf_counter()
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name="Pick files").press("Enter")
    chooser.value.set_files(sorted((tmp_path / "raw").iterdir()))
    says(page, "5 files: drawing.csv")
    page.get_by_role("button", name="Read these files").press("Enter")
    says(page, "5 files read, 5 tables found.")
    # What was recognised is shown with its evidence, and the units that sizes speak for.
    says(page, "is 25.4 times what the drawing says, 0.11 in")
    assert (
        page.get_by_label("What column Hub-Nr. is").evaluate(
            "list => list.selectedOptions[0].text.replaceAll('\\u00a0', ' ')"
        )
        == "number of stroke or part"
    )
    says(page, "Part number: is not given yet.")
    desk.shot(page, f"form_files_{desk.theme}")

    # A correction by keyboard, checked at once, and taken back.
    station = page.get_by_label("What column Station is")
    station.focus()
    page.keyboard.press("Home")
    says(page, "Nothing is missing here.")
    station.select_option("station, lane or cavity")

    # What cannot stand is said beside the cell.
    upper = page.get_by_label("Upper limit of Contact height", exact=True)
    upper.fill("0,1")
    upper.press("Tab")
    says(page, "the lower limit has to lie below the upper")
    upper.fill("0,112")
    upper.press("Tab")
    says(page, "Contact height: 0.108 to 0.112 in")
    page.get_by_label("Part number").fill("BC-12")
    page.get_by_label("Part number").press("Tab")
    asked = page.get_by_label("Ppk at least, of special characteristics", exact=True)
    asked.fill("1.5")
    asked.press("Tab")
    says(page, "say whose they are")
    source = page.get_by_label("Whose criteria: agreement, paragraph, of special characteristics")
    source.fill("Agreement Q 12, 3.1")
    source.press("Tab")
    says(page, "Nothing is open in the steps above.")

    # Every field has a name, and axe-core objects to nothing in the form.
    page.evaluate(axe)
    found = page.evaluate("axe.run('.ls-form', {resultTypes: ['violations']})")
    told = [
        (each["id"], each["help"], [node["html"][:200] for node in each["nodes"][:3]])
        for each in found["violations"]
    ]
    assert not told

    page.get_by_role("button", name="Check everything").press("Enter")
    says(page, "For a complete submission is missing: a crossed study of Camera K2 for Burr")
    assert not study.exists()
    size = page.viewport_size
    page.set_viewport_size({"width": 1700, "height": 5000})
    page.locator(".ls-form").screenshot(path=SHOTS / f"form_{desk.theme}.png")
    page.set_viewport_size(size)
    place = page.get_by_label("Folder of the study")
    place.fill(str(study))
    place.press("Tab")
    page.get_by_role("button", name="Write the study").press("Enter")
    says(page, "Written:")
    written = time.perf_counter()
    records = read(open_study(study))
    assert records.table("run", "contact_height")[
        "value"
    ].sort_values().to_numpy() == pytest.approx(sorted(truth["log.csv"][:, 0]))
    assert records.study.criteria.special.capability_accept == 1.5
    assert records.study.head.part == "BC-12"
    if desk.theme == "light":
        page.get_by_role("button", name="Make the dossier").press("Enter")
        says(page, "Its document is data/dossier.pdf", 300_000)
        assert (tmp_path / "study.dossier" / "data" / "dossier.pdf").is_file()
        desk.shot(page, "form_dossier")
        print(
            f"\nraw files to study.toml {written - begun:.0f} s, "
            f"to the dossier {time.perf_counter() - begun:.0f} s"
        )
