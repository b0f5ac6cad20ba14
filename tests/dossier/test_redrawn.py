"""A picture that somebody has changed is named, though its sums were made anew."""

from __future__ import annotations

import base64
import re
import shutil
from pathlib import Path

import bagit
import pytest

from linestudy.cli import main
from linestudy.dossier.audit.recomputation import recompute
from linestudy.dossier.content.contents import build
from linestudy.dossier.content.drawing_pictures import drawn
from linestudy.dossier.evaluation import Evaluation
from linestudy.dossier.forms.pdf import foot_of, write_pdf

PICTURE = re.compile(r'(src="data:image/svg\+xml;base64,)([^"]+)"')


@pytest.fixture(scope="module")
def small(starter: Evaluation) -> Evaluation:
    return starter


@pytest.fixture(scope="module")
def written(starter_dossier: Path) -> Path:
    return starter_dossier


@pytest.fixture
def copy(written: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(written, tmp_path / "copy"))


def moved(svg: str, by: float) -> str:
    """The same picture with the first dot that stands at a place of its own moved to the right."""
    return re.sub(
        r'(<use [^>]*x=")(-?[\d.]+)"', lambda m: f'{m[1]}{float(m[2]) + by:.6f}"', svg, count=1
    )


def change_page(copy: Path, number: int, by: float) -> None:
    file = copy / "data" / "index.html"
    text = file.read_text(encoding="utf-8")
    shown = list(PICTURE.finditer(text))[number]
    svg = base64.b64decode(shown[2]).decode()
    anew = base64.b64encode(moved(svg, by).encode()).decode()
    assert anew != shown[2]
    file.write_text(text[: shown.start(2)] + anew + text[shown.end(2) :], encoding="utf-8")
    bagit.Bag(str(copy)).save(manifests=True)


def test_an_untouched_dossier_agrees(written: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["recompute", str(written), "--pictures"]) == 0
    assert "were not drawn" not in capsys.readouterr().out
    assert main(["recompute", str(written)]) == 0
    assert "Pictures were not drawn again" in capsys.readouterr().out


@pytest.mark.proof
@pytest.mark.parametrize("number", [0, 1, -1])
def test_a_moved_dot_in_the_page_is_named(copy: Path, small: Evaluation, number: int) -> None:
    change_page(copy, number, 1.0)
    # The PDF shows it as it was.
    (line,) = recompute(copy).documents
    assert re.fullmatch(
        r"dossier\.pdf: (page \d+ looks otherwise than|its bytes differ from).*", line
    )
    report = recompute(copy, pictures=True)
    assert not report.damaged
    assert not report.differences
    name = list(build(small).pictures)[number]
    assert report.documents == (
        f"index.html: picture {name} looks otherwise than drawn anew",
        line,
    )


@pytest.mark.proof
def test_a_picture_changed_in_page_and_pdf_alike_is_named_where_they_are_drawn(
    copy: Path, small: Evaluation
) -> None:
    change_page(copy, 0, 1.0)
    _set_again(copy, small)
    assert recompute(copy).agrees
    assert len(recompute(copy, pictures=True).documents) == 1


@pytest.mark.proof
def test_what_no_eye_sees_is_not_named(copy: Path, small: Evaluation) -> None:
    # Another machine's last digits are no tampering.
    change_page(copy, 0, 0.001)
    _set_again(copy, small)
    assert recompute(copy, pictures=True).agrees


def _set_again(copy: Path, small: Evaluation) -> None:
    """The PDF with the pictures that the page shows."""
    document, pictures, _ = drawn(build(small))
    shown = PICTURE.findall((copy / "data" / "index.html").read_text(encoding="utf-8"))
    pictures = {
        name: base64.b64decode(data) for name, (_, data) in zip(pictures, shown, strict=True)
    }
    write_pdf(document, pictures, copy / "data" / "dossier.pdf", foot_of(small.study))
    bagit.Bag(str(copy)).save(manifests=True)


@pytest.mark.proof
def test_two_pictures_that_changed_places_are_named(copy: Path) -> None:
    file = copy / "data" / "index.html"
    text = file.read_text(encoding="utf-8")
    a, b = [m[2] for m in PICTURE.finditer(text)][:2]
    file.write_text(
        text.replace(a, "#").replace(b, a).replace("#" + '"', b + '"'), encoding="utf-8"
    )
    bagit.Bag(str(copy)).save(manifests=True)
    assert len(recompute(copy, pictures=True).documents) >= 2


@pytest.mark.proof
def test_a_changed_picture_in_the_pdf_is_named_by_its_page(copy: Path, small: Evaluation) -> None:
    document, pictures, _ = drawn(build(small))
    name = list(pictures)[-1]
    pictures[name] = moved(pictures[name].decode(), 12.0).encode()
    write_pdf(document, pictures, copy / "data" / "dossier.pdf", foot_of(small.study))
    bagit.Bag(str(copy)).save(manifests=True)
    found = recompute(copy).documents
    assert len(found) == 1
    assert re.fullmatch(r"dossier\.pdf: page \d+ looks otherwise than set anew", found[0])
