"""Links between notebooks lead somewhere, in the kit and in a study that notebooks were copied into."""

from __future__ import annotations

import re
from pathlib import Path

import nbformat

from linestudy.study.starter import start_study

_LINK = re.compile(r"\]\((?!https?:)([^)#]+)[^)]*\)")


def _dead(folder: Path) -> list[tuple[str, str]]:
    dead = []
    for file in folder.rglob("*.ipynb"):
        if ".ipynb_checkpoints" in file.parts:
            continue
        for cell in nbformat.read(file, as_version=4).cells:
            links = _LINK.findall(cell.source) if cell.cell_type == "markdown" else []
            dead += [(file.name, link) for link in links if not (file.parent / link).exists()]
    return dead


def test_links_of_the_kit_lead_somewhere(root: Path) -> None:
    assert _dead(root / "notebooks") == []


def test_links_of_a_copied_study_lead_somewhere(tmp_path: Path) -> None:
    study = start_study(tmp_path / "study")
    assert list((study / "notebooks").glob("*.ipynb"))
    assert _dead(study / "notebooks") == []


def test_a_dead_link_would_be_seen(tmp_path: Path) -> None:
    cell = nbformat.v4.new_markdown_cell("see [there](no/such.ipynb) and [here](a.ipynb#top)")
    nbformat.write(nbformat.v4.new_notebook(cells=[cell]), tmp_path / "a.ipynb")
    assert _dead(tmp_path) == [("a.ipynb", "no/such.ipynb")]


def test_every_lab_stands_on_the_learning_path_and_leads_on(root: Path) -> None:
    learning = root / "notebooks" / "learning"
    path = (learning / "path.ipynb").read_text(encoding="utf-8")
    labs = [file.name for file in learning.glob("[0-9]*.ipynb")]
    assert len(labs) >= 18
    for name in labs:
        assert f"({name})" in path
        text = (learning / name).read_text(encoding="utf-8")
        for words in ("| minutes | you need |", "## Predict first", "## Key points", "Next: "):
            assert words in text, (name, words)


def test_labs_lead_back_and_on_and_need_only_what_comes_before(root: Path) -> None:
    learning = root / "notebooks" / "learning"
    path = (learning / "path.ipynb").read_text(encoding="utf-8")
    order = re.findall(r"\]\((\d+_\w+\.ipynb)\) \| \d+ \|", path)
    assert len(order) == len(set(order)) == len(list(learning.glob("[0-9]*.ipynb")))
    for place, name in enumerate(order):
        text = (learning / name).read_text(encoding="utf-8")
        minutes, needed = re.findall(r"\| (\d+) \| (.*?) \| ", text)[0]
        assert f"({name}) | {minutes} |" in path
        needs = re.findall(r"\]\((\d+_\w+\.ipynb)\)", needed)
        assert set(needs) <= set(order[:place]), name
        # Every lab that is named can be followed.
        assert len(re.findall(r"\blabs? \d+", needed)) == len(needs), name
        beside = dict(re.findall(r"(Before|Next): (?:the )?\[.*?\]\((\S+?)\)", text))
        assert beside.get("Before") == (order[place - 1] if place else None), name
        assert beside["Next"] == (order[place + 1] if place + 1 < len(order) else "path.ipynb"), (
            name
        )
