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


#: What a screen reader calls the element that has the keyboard's focus; empty where that is outside the form.
FOCUS = """() => {
    const own = document.activeElement;
    if (!own || !own.closest('.ls-form')) return '';
    const label = own.getAttribute('aria-label') || (own.labels && own.labels[0] && own.labels[0].innerText);
    return (label || own.innerText || own.title || '?').replaceAll(/\\s+/g, ' ').replaceAll(' ,', ',').trim();
}"""
#: The same of all that can have it.
NAMES = """() => [...document.querySelectorAll('.ls-form :is(input, select, button, textarea)')]
    .filter(own => !own.disabled && own.offsetParent && own.type !== 'file')
    .map(own => (own.getAttribute('aria-label') || (own.labels && own.labels[0] && own.labels[0].innerText)
        || own.innerText || '').replaceAll(/\\s+/g, ' ').trim())"""


def tab_to(page: Any, name: str, most: int = 150) -> None:
    """Press Tab until something of this name has the focus, as somebody without a mouse does."""
    passed = []
    for _ in range(most):
        if page.evaluate(FOCUS) == name:
            return
        passed.append(page.evaluate(FOCUS))
        page.keyboard.press("Tab")
    raise AssertionError(f"no Tab leads to {name}, but to {[each for each in passed if each][:60]}")


def type_into(page: Any, name: str, text: str) -> None:
    tab_to(page, name)
    page.keyboard.press("Control+A")
    page.keyboard.type(text)
    page.keyboard.press("Tab")


def test_by_keyboard_alone_from_raw_files_to_study_toml(
    form: Any, desk: Any, tmp_path: Path
) -> None:
    """No click, no focus that a script sets: Tab, arrows, letters, space and Enter from the notebook's first stop on."""
    page = form
    truth = write_plant_files(tmp_path / "raw", strokes=300)
    study = tmp_path / "study"
    type_into(page, "Folder to look into", str(tmp_path / "raw"))
    page.wait_for_function(
        "[...document.querySelectorAll('.ls-form select[multiple] option')].length === 5"
    )
    tab_to(page, "Files in it")
    page.keyboard.press("Home")
    for _ in range(4):
        page.keyboard.press("Shift+ArrowDown")
    tab_to(page, "Read these files")
    page.keyboard.press("Enter")
    says(page, "5 files read, 5 tables found.")
    # What was read stays where it was read: the focus is still on the button.
    assert page.evaluate(FOCUS) == "Read these files"

    # A column is given another meaning, and its own again, in its list.
    tab_to(page, "What column Station is, log.csv")
    page.keyboard.press("Home")
    says(page, "Nothing is missing here.")
    page.keyboard.type("station")
    assert (
        page.get_by_label("What column Station is").evaluate("list => list.selectedOptions[0].text").replace("\u00a0", " ")
        == "station, lane or cavity"
    )  # fmt: skip

    type_into(page, "Upper limit of Contact height", "0,1")
    says(page, "the lower limit has to lie below the upper")
    page.keyboard.press("Shift+Tab")
    assert page.evaluate(FOCUS) == "Upper limit of Contact height"
    type_into(page, "Upper limit of Contact height", "0,112")
    says(page, "Contact height: 0.108 to 0.112 in")
    tab_to(page, "Burr is special")
    was = page.get_by_label("Burr is special").is_checked()
    page.keyboard.press("Space")
    page.wait_for_function("was => document.activeElement.checked !== was", arg=was)
    type_into(page, "Part number", "BC-12")
    type_into(page, "Ppk at least, of special characteristics", "1,5")
    says(page, "say whose they are")
    type_into(
        page,
        "Whose criteria: agreement, paragraph, of special characteristics",
        "Agreement Q 12, 3.1",
    )
    says(page, "Nothing is open in the steps above.")

    # Each thing that can have the focus has a name, and no two of one step share theirs.
    names = page.evaluate(NAMES)
    assert len(names) > 40
    assert all(names)
    assert len(set(names)) == len(names), sorted(each for each in names if names.count(each) > 1)

    tab_to(page, "Check everything")
    page.keyboard.press("Enter")
    says(page, "For a complete submission is missing")
    type_into(page, "Folder of the study", str(study))
    tab_to(page, "Write the study")
    page.keyboard.press("Enter")
    says(page, "Written:")
    desk.shot(page, f"form_keyboard_{desk.theme}")
    records = read(open_study(study))
    heights = records.table("run", "contact_height")
    assert heights is not None
    assert heights["value"].sort_values().to_numpy() == pytest.approx(
        sorted(truth["log.csv"][:, 0])
    )
    assert records.study.criteria.special.capability_accept == 1.5
    assert records.study.head.part == "BC-12"
    assert records.study.characteristic("contact_height").upper == 0.112
    assert records.study.characteristic("burr").special is not was
