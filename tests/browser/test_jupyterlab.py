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
    [("22_two_stations_in_one_histogram", "7933"), ("25_range_against_standard_deviation", "118")],
)
def test_a_lab_by_keyboard_alone(desk: Any, notebook: str, answer: str) -> None:
    """Tab, arrows, Space and typing: a slider, the pin, and the first exercise answered."""
    if desk.theme == "dark":
        pytest.skip("once is enough: nothing here hangs on the theme")
    page = desk.open(f"notebooks/learning/{notebook}.ipynb")
    try:
        page.wait_for_selector(".widget-html-content img")
        told = page.locator(".widget-html-content").first
        before = told.inner_text()
        focused = (
            "document.activeElement.getAttribute('aria-label') || document.activeElement.innerText"
        )
        names = []
        for _ in range(80):
            page.keyboard.press("Tab")
            names.append(str(page.evaluate(focused)).strip())
            if page.evaluate("document.activeElement.classList.contains('noUi-handle')"):
                break
        # The slider says which it is.
        assert names[-1] in ("distance", "size"), names
        page.keyboard.press("ArrowRight")
        page.wait_for_function(
            "before => document.querySelector('.widget-html-content').innerText !== before",
            arg=before,
        )
        for _ in range(12):
            page.keyboard.press("Tab")
            if page.evaluate("document.activeElement.innerText || ''").strip() == "pin this run":
                break
        page.keyboard.press("Space")
        page.wait_for_timeout(1_500)
        page.keyboard.press("Shift+Tab")
        for _ in range(12):
            if page.evaluate("document.activeElement.classList.contains('noUi-handle')"):
                break
            page.keyboard.press("Shift+Tab")
        page.keyboard.press("ArrowRight")
        page.wait_for_function(
            "document.querySelector('.widget-html-content').innerText.includes('Pinned')"
        )
        # To the exercise: commands of the notebook, which have keys of their own.
        page.evaluate("window.jupyterapp.shell.currentWidget.content.activeCellIndex = 5")
        page.evaluate("window.jupyterapp.shell.currentWidget.content.activate()")
        page.keyboard.press("Enter")
        page.keyboard.press("Control+Home")
        page.keyboard.press("Shift+End")
        page.keyboard.type(f"answer = {answer}")
        page.keyboard.press("Shift+Enter")
        page.get_by_text("Right.").first.wait_for()
        assert page.locator(ERROR).count() == 0
        desk.shot(page, f"keyboard_{notebook[:2]}_{desk.theme}")
    finally:
        page.close()


@pytest.mark.parametrize("notebook", ["1_what_an_interval_is", "22_two_stations_in_one_histogram"])
def test_what_a_lab_shows_passes_the_checker_of_accessibility(
    desk: Any, axe: str, notebook: str
) -> None:
    """axe-core on what the notebook shows; JupyterLab's own frame is its makers' business."""
    if desk.theme == "dark" and notebook.startswith("1_"):
        pytest.skip("one lab shows the dark colours")
    page = desk.open(f"notebooks/learning/{notebook}.ipynb")
    try:
        page.wait_for_selector(".widget-html-content img")
        page.wait_for_selector(".noUi-handle[aria-label]")
        page.evaluate(axe)
        found = page.evaluate(
            """async () => (await axe.run(
                {include: [['.jp-OutputArea-output'], ['.jp-RenderedMarkdown']]},
                {runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa']}
            )).violations.map(v => `${v.id}: ${v.nodes.map(n => n.html.slice(0, 120)).join(' | ')}`)"""
        )
        assert found == []
    finally:
        page.close()
