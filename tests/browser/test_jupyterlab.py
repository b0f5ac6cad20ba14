"""Notebooks in a real JupyterLab: run all, see tables and pictures, move a slider, in both themes."""

from __future__ import annotations

import json
import re
import time
from typing import Any

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.timeout(600)]

#: What JupyterLab puts an error of a cell into.
ERROR = ", ".join(
    f'[data-mime-type="application/vnd.jupyter.{kind}"]' for kind in ("error", "stderr")
)


def luminance(colour: str) -> float:
    """Relative luminance of a CSS colour (WCAG 2.2, definition of relative luminance)."""
    parts = [int(float(v)) / 255 for v in re.findall(r"[\d.]+", colour)[:3]]
    linear = [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_an_engineer_runs_a_submission_notebook(desk: Any) -> None:
    page = desk.open("notebooks/submission/5_shape_and_capability.ipynb")
    try:
        assert page.locator(ERROR).count() == 0
        tables = page.locator(".jp-OutputArea-output table")
        pictures = page.locator(".jp-OutputArea-output img")
        assert tables.count() > 3
        assert pictures.count() > 3
        for index in range(pictures.count()):
            assert len(pictures.nth(index).get_attribute("alt") or "") > 20
            assert pictures.nth(index).evaluate("image => image.naturalWidth") > 300
        assert any("Ppk" in text for text in tables.all_inner_texts())
        cell = tables.nth(2).locator("td").first
        cell.scroll_into_view_if_needed()
        ink = cell.evaluate("cell => getComputedStyle(cell).color")
        paper = page.locator(".jp-NotebookPanel").first.evaluate(
            "panel => getComputedStyle(panel).backgroundColor"
        )
        bright, dim = sorted((luminance(ink), luminance(paper)), reverse=True)
        # WCAG 2.2, success criterion 1.4.3: at least 4.5 to 1 for text.
        assert (bright + 0.05) / (dim + 0.05) >= 4.5, (ink, paper)
        assert (luminance(paper) < 0.2) == (desk.theme == "dark")
        desk.shot(page, f"table_{desk.theme}")
        pictures.nth(1).scroll_into_view_if_needed()
        desk.shot(page, f"picture_{desk.theme}")
    finally:
        page.close()


def test_a_student_moves_a_slider(desk: Any) -> None:
    page = desk.open("notebooks/learning/1_what_an_interval_is.ipynb")
    try:
        page.wait_for_selector(".widget-html-content img")
        picture = page.locator(".widget-html-content img").first
        before = picture.get_attribute("src")
        told = page.locator(".widget-html-content").first.inner_text()
        handle = page.locator(".widget-slider .noUi-handle").first
        handle.focus()
        for _ in range(4):
            page.keyboard.press("ArrowRight")
        page.wait_for_function(
            """before => {
                const image = document.querySelector('.widget-html-content img');
                return image && image.src !== before;
            }""",
            arg=before,
        )
        assert page.locator(".widget-html-content").first.inner_text() != told
        # The exercises wait for an answer and say so; nothing is an error.
        assert page.locator(ERROR).count() == 0
        handle.scroll_into_view_if_needed()
        desk.shot(page, f"slider_{desk.theme}")
    finally:
        page.close()


def test_an_error_would_be_seen(desk: Any) -> None:
    """The check above can fail: a notebook with a wrong cell shows an error to it."""
    cell = {
        "cell_type": "code",
        "execution_count": None,
        "id": "wrong",
        "metadata": {},
        "outputs": [],
        "source": "1 / 0",
    }
    kernel = {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}
    content = {"cells": [cell], "metadata": kernel, "nbformat": 4, "nbformat_minor": 5}
    (desk.place / "wrong.ipynb").write_text(json.dumps(content))
    page = desk.open("wrong.ipynb")
    try:
        page.wait_for_selector(ERROR)
    finally:
        page.close()


def test_a_missing_study_is_told_in_plain_words(desk: Any) -> None:
    """Somebody types a wrong folder: one plain sentence, not a page of calls."""
    source = (desk.place / "notebooks/submission/2_records.ipynb").read_text()
    wrong = re.sub(r"linestudy\.find_study\(\)", '\\"no/such/folder\\"', source)
    assert wrong != source
    (desk.place / "notebooks/submission/lost.ipynb").write_text(wrong)
    page = desk.open("notebooks/submission/lost.ipynb")
    try:
        first = page.locator(ERROR).first
        first.wait_for()
        text = first.inner_text()
        assert text.strip() == (
            "no/such/folder: there is no such folder; give the folder that holds study.toml"
        )
        desk.shot(page, f"missing_{desk.theme}")
    finally:
        page.close()


def test_an_engineer_chooses_another_characteristic_and_a_stream(desk: Any) -> None:
    """Everything below the lists follows them, and the next notebook begins with what was chosen."""
    if desk.theme == "dark":
        pytest.skip("once is enough: nothing here hangs on the theme")
    page = desk.open("notebooks/submission/4_stability.ipynb")
    try:
        assert page.locator(ERROR).count() == 0
        lists = page.locator(".jp-OutputArea-output .widget-dropdown select")
        before = page.locator(".jp-OutputArea-output table").all_inner_texts()
        began = time.monotonic()
        lists.nth(0).select_option(index=1)
        busy = """() => [...document.querySelectorAll('.widget-html-content')]
            .some(e => e.innerText.startsWith('drawing'))"""
        page.wait_for_function(busy)
        page.wait_for_function(f"!({busy})()")
        took = time.monotonic() - began
        after = page.locator(".jp-OutputArea-output table").all_inner_texts()
        assert len(set(after) - set(before)) > 5
        assert page.locator(ERROR).count() == 0
        # By keyboard: the list of streams takes the focus and a name that is typed.
        names = lists.nth(1).locator("option").all_inner_texts()
        assert len(names) > 1
        lists.nth(1).focus()
        page.keyboard.type(names[1])
        page.wait_for_function(busy)
        page.wait_for_function(f"!({busy})()")
        assert "Of all streams together" in page.locator(".jp-NotebookPanel").first.inner_text()
        chosen = lists.nth(0).locator("option:checked").inner_text()
        lists.nth(0).scroll_into_view_if_needed()
        desk.shot(page, f"choice_{desk.theme}")
        print(f"{took:.1f} s for all views of {chosen}")
    finally:
        page.close()
    page = desk.open("notebooks/submission/5_shape_and_capability.ipynb")
    try:
        lists = page.locator(".jp-OutputArea-output .widget-dropdown select")
        assert lists.nth(0).locator("option:checked").inner_text() == chosen
        lists.nth(0).select_option(index=0)
    finally:
        page.close()


@pytest.mark.parametrize(
    ("notebook", "answer"),
    [
        ("21_steps_of_the_gauge", '"a"'),
        ("22_two_stations_in_one_histogram", "7933"),
        ("25_range_against_standard_deviation", "118"),
    ],
)
def test_a_lab_by_keyboard_alone(desk: Any, notebook: str, answer: str) -> None:
    """From the open notebook on nothing but keys: cells run, a slider, the pin, the first exercise answered.

    What is asked of the page is only what stands on it and what has the focus.
    """
    if desk.theme == "dark":
        pytest.skip("once is enough: nothing here hangs on the theme")
    page = desk.open(f"notebooks/learning/{notebook}.ipynb", run=False)
    keys = page.keyboard
    focused = (
        "document.activeElement.getAttribute('aria-label') || document.activeElement.innerText"
    )
    on_a_slider = "document.activeElement.classList.contains('noUi-handle')"
    try:
        # Each cell is run and the next one taken; the last holds words only.
        cells = [cell.get_attribute("class") for cell in page.locator(".jp-Cell").all()]
        for _ in cells[:-1]:
            keys.press("Shift+Enter")
        page.wait_for_selector(".widget-html-content img")
        page.wait_for_selector(".noUi-handle[aria-label]")
        told = page.locator(".widget-html-content").first
        before = told.inner_text()
        # Up to the first cell of code, whose output has the sliders, and into it.
        first = next(at for at, kind in enumerate(cells) if "jp-CodeCell" in kind)
        for _ in range(len(cells) - 1 - first):
            keys.press("k")
        names = []
        for _ in range(20):
            keys.press("Tab")
            names.append(str(page.evaluate(focused)).strip())
            if page.evaluate(on_a_slider):
                break
        # The slider says which it is.
        assert names[-1] in ("step", "distance", "size"), names
        keys.press("ArrowRight")
        changed = "before => document.querySelector('.widget-html-content').innerText !== before"
        page.wait_for_function(changed, arg=before)
        for _ in range(12):
            keys.press("Tab")
            if str(page.evaluate(focused)).strip() == "pin this run":
                break
        keys.press("Space")
        page.wait_for_selector(".jupyter-button.mod-active")
        for _ in range(12):
            keys.press("Shift+Tab")
            if page.evaluate(on_a_slider):
                break
        keys.press("ArrowRight")
        page.wait_for_function(
            "document.querySelector('.widget-html-content').innerText.includes('Pinned')"
        )
        # Down to the cell of the first exercise, into it, and its line written anew.
        code = [at for at, kind in enumerate(cells) if "jp-CodeCell" in kind]
        for _ in range(code[1] - first):
            keys.press("j")
        keys.press("Enter")
        keys.press("Control+Home")
        keys.press("Shift+End")
        keys.type(f"answer = {answer}")
        keys.press("Shift+Enter")
        page.locator(".jp-OutputArea-output").get_by_text("Right.").first.wait_for()
        assert page.locator(ERROR).count() == 0
        desk.shot(page, f"keyboard_{notebook[:2]}_{desk.theme}")
    finally:
        page.close()


#: The rules that a checker can look at (WCAG 2.2, levels A and AA).
LOOKED_AT = """async () => (await axe.run(
    {include: [['.jp-OutputArea-output'], ['.jp-RenderedMarkdown']]},
    {runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa']}
)).violations.map(v => `${v.id}: ${v.nodes.map(n => n.html.slice(0, 120)).join(' | ')}`)"""


def all_labs_in_one(desk: Any) -> str:
    """Every cell of every lab below each other in one notebook, for one kernel and one page."""
    labs = sorted(
        (desk.place / "notebooks/learning").glob("[0-9]*.ipynb"),
        key=lambda file: int(file.stem.split("_")[0]),
    )
    whole: dict[str, Any] = json.loads(labs[0].read_text(encoding="utf-8"))
    whole["cells"] = []
    for number, file in enumerate(labs):
        for cell in json.loads(file.read_text(encoding="utf-8"))["cells"]:
            whole["cells"].append(cell | {"id": f"{number}-{cell['id']}"})
    (desk.place / "notebooks/learning/all_labs.ipynb").write_text(json.dumps(whole))
    return "notebooks/learning/all_labs.ipynb"


def test_what_the_labs_show_passes_the_checker_of_accessibility(desk: Any, axe: str) -> None:
    """axe-core on what all labs, path and glossary show; JupyterLab's own frame is its makers' business."""
    for notebook, shows in (
        (all_labs_in_one(desk), ".noUi-handle[aria-label]"),
        ("notebooks/learning/path.ipynb", ".jp-RenderedMarkdown table"),
        ("notebooks/learning/glossary.ipynb", ".jp-OutputArea-output table"),
    ):
        # The path holds words only, which are there without being run.
        page = desk.open(notebook, run="path" not in notebook)
        try:
            page.wait_for_selector(shows)
            sliders = page.locator(".noUi-handle")
            if "all_labs" in notebook:
                assert page.locator(".widget-html-content img").count() >= 25
                # Every slider says which it is.
                page.wait_for_function(
                    "document.querySelectorAll('.noUi-handle:not([aria-label])').length === 0"
                )
                assert sliders.count() > 30
                assert page.locator(ERROR).count() == 0
            page.evaluate(axe)
            assert page.evaluate(LOOKED_AT) == [], notebook
        finally:
            page.close()


def test_a_picture_without_words_would_be_found(desk: Any, axe: str) -> None:
    """The check above can fail."""
    if desk.theme == "dark":
        pytest.skip("once is enough")
    page = desk.open("notebooks/learning/path.ipynb", run=False)
    try:
        page.wait_for_selector(".jp-RenderedMarkdown table")
        page.evaluate(
            "document.querySelector('.jp-RenderedMarkdown').insertAdjacentHTML('beforeend', '<img src=\"x.png\">')"
        )
        page.evaluate(axe)
        assert any(found.startswith("image-alt") for found in page.evaluate(LOOKED_AT))
    finally:
        page.close()
