"""Working papers: a study's notebooks are run on it, kept as pages, and a broken one is told in a line."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import nbformat
import pytest

from linestudy.cli import main
from linestudy.dossier import working_papers
from linestudy.dossier.working_papers import notebooks_of, render_notebooks, write_papers
from linestudy.results import InputError
from linestudy.study import open_study
from linestudy.study.starter import submission_notebooks

SMALL = Path(__file__).parents[1] / "notebooks" / "partial_study"


@pytest.fixture
def study(tmp_path: Path) -> Path:
    return Path(shutil.copytree(SMALL, tmp_path / "study"))


def notebook(study: Path, name: str, *cells: str) -> None:
    (study / "notebooks").mkdir(exist_ok=True)
    made = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(text) for text in cells])
    nbformat.write(made, study / "notebooks" / name)


@pytest.mark.proof
def test_papers_are_in_the_bag_and_it_recomputes(
    study: Path, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    notebook(
        study,
        "1_what_we_saw.ipynb",
        "import linestudy\nstudy = linestudy.open_study(linestudy.find_study())\nstudy",
        "linestudy.read(study).ledger",
    )
    notebook(study, "7_dossier.ipynb", "import linestudy; linestudy.dossier.write(None, 'x')")
    out = tmp_path / "out"
    assert main(["dossier", str(study), "--out", str(out), "--with-notebooks"]) == 0
    assert "WARNING" not in capfd.readouterr().err
    page = (out / "data" / "working_papers" / "1_what_we_saw.html").read_text(encoding="utf-8")
    assert "<table" in page
    # Nothing is fetched, no script of elsewhere, no path of the machine.
    assert not re.search(r"<(script|link|img)[^>]*(src|href)=.https?:", page)
    assert str(tmp_path) not in page
    assert [p.name for p in (out / "data" / "working_papers").iterdir()] == ["1_what_we_saw.html"]
    assert "working_papers/1_what_we_saw.html" in (out / "manifest-sha512.txt").read_text(
        encoding="utf-8"
    )
    assert main(["recompute", str(out)]) == 0
    (out / "data" / "working_papers" / "1_what_we_saw.html").write_text(
        page + " ", encoding="utf-8"
    )
    assert main(["recompute", str(out)]) == 1
    assert "1_what_we_saw.html" in capfd.readouterr().out


@pytest.mark.proof
def test_a_notebook_that_fails_is_one_line_and_nothing_is_written(
    study: Path, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    notebook(study, "1_wrong.ipynb", "1 / 0")
    out = tmp_path / "out"
    assert main(["dossier", str(study), "--out", str(out), "--with-notebooks"]) == 2
    said = capfd.readouterr().err.strip().splitlines()
    assert len(said) == 1
    assert "1_wrong.ipynb" in said[0]
    assert "division by zero" in said[0]
    assert not out.exists()
    (study / "notebooks" / "1_wrong.ipynb").write_text("{")
    with pytest.raises(InputError, match="is not a notebook"):
        write_papers(open_study(study), tmp_path / "papers")


def test_without_notebooks_of_its_own_the_kit_s_are_taken(study: Path) -> None:
    names = [file.name for file in notebooks_of(open_study(study))]
    kit = sorted(file.name for file in submission_notebooks().glob("*.ipynb"))
    assert names == [name for name in kit if not name.startswith("7_")]


@pytest.mark.proof
def test_rendered_notebooks_have_pictures_and_lead_to_each_other(tmp_path: Path) -> None:
    folder = tmp_path / "kit" / "notebooks" / "learning"
    folder.mkdir(parents=True)
    text = nbformat.v4.new_markdown_cell(
        "[next](b.ipynb) and [outside](https://example.org/c.ipynb)"
    )
    lab = nbformat.v4.new_code_cell(
        "from linestudy.simulate import labs\nlabs.play(labs.kappa_of_rare_defects, error=(0.0, 0.1, 0.01))"
    )
    nbformat.write(nbformat.v4.new_notebook(cells=[text, lab]), folder / "a.ipynb")
    nbformat.write(nbformat.v4.new_notebook(cells=[text]), folder / "b.ipynb")
    first, second = render_notebooks(tmp_path / "kit")
    page = first.read_text(encoding="utf-8")
    assert second.name == "b.html"
    assert 'href="b.html"' in page
    assert 'href="https://example.org/c.ipynb"' in page
    # Sliders leave the picture as it stood, and say where they stood.
    assert "data:image/png" in page
    assert "error = 0.02" in page


def test_what_is_to_be_unfolded_is_not_open_on_the_page() -> None:
    """Solutions of an exercise are inside their fold, lists too."""
    text = "<details><summary>Solutions</summary>\n\n1. Ten.\n2. Four times.\n\n</details>"
    made = nbformat.v4.new_notebook(cells=[nbformat.v4.new_markdown_cell(text)])
    page = working_papers._html(made, "t")
    (inside,) = re.findall(r"<details>(.*?)</details>", page, re.S)
    assert "Four times." in inside
    assert page.count("Four times.") == 1
