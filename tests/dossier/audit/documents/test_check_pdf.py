"""The PDF against the one set anew: its bytes, and where these differ what a reader would meet."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from pypdf import PdfReader, PdfWriter
from pypdf.generic import DictionaryObject, NameObject

from linestudy.dossier.audit.documents.check_pdf import check_pdf
from linestudy.dossier.audit.documents.edges import Edges
from linestudy.dossier.content.elements import Document, Section, Text
from linestudy.dossier.forms.pdf import write_pdf


def document(words: str = "Ppk 1.33 of 125 parts.") -> Document:
    return Document("Title", (), (Section("One", (Text(words),)),), {})


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    file = tmp_path_factory.mktemp("pdf") / "dossier.pdf"
    write_pdf(document(), {}, file, "foot")
    return file.read_bytes()


def told(data: bytes, folder: Path, edges: Edges | None = None) -> tuple[list[str], list[str]]:
    file = folder / "dossier.pdf"
    file.write_bytes(data)
    return check_pdf(document(), {}, "foot", file, edges or Edges([]))


def test_the_same_bytes_have_nothing_to_tell(written: bytes, tmp_path: Path) -> None:
    assert told(written, tmp_path) == ([], [])
    (tmp_path / "dossier.pdf").unlink()
    assert check_pdf(document(), {}, "foot", tmp_path / "dossier.pdf", Edges([])) == ([], [])


def test_other_words_are_named_by_their_page_unless_they_lie_on_an_edge(
    written: bytes, tmp_path: Path
) -> None:
    write_pdf(document("Ppk 1.34 of 125 parts."), {}, tmp_path / "other.pdf", "foot")
    other = (tmp_path / "other.pdf").read_bytes()
    lines, near = told(other, tmp_path)
    assert near == []
    assert any(line.startswith("page 1 says") and "1.34" in line for line in lines)
    lines, near = told(other, tmp_path, Edges([(1.33499999999, 1.33500000001)]))
    assert not [line for line in lines if " says " in line]
    assert near == ["dossier.pdf: page 1 has a digit on an edge"]


def rewritten(data: bytes, change: object) -> bytes:
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(data)))
    change(writer)  # type: ignore[operator]
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            lambda pdf: pdf.root_object.update({NameObject("/OpenAction"): DictionaryObject()}),
            "the file has an action on opening",
        ),
        (lambda pdf: pdf.add_attachment("x.txt", b"x"), "the file has "),
        (lambda pdf: pdf.pages[0].rotate(90), "page 1 has a turn"),
        (lambda pdf: pdf.add_blank_page(), "pages, set anew"),
        (lambda pdf: pdf.encrypt("x"), "is locked with a password"),
    ],
)
def test_what_else_a_file_can_do_is_named(
    written: bytes, tmp_path: Path, change: object, said: str
) -> None:
    lines, _ = told(rewritten(written, change), tmp_path)
    assert said in "\n".join(lines)


def test_what_is_written_on_after_its_end_and_what_is_no_pdf(
    written: bytes, tmp_path: Path
) -> None:
    lines, _ = told(written + b"% more\n%%EOF", tmp_path)
    assert any("more stands behind its end" in line for line in lines)
    lines, _ = told(written + b" ", tmp_path)
    assert lines == ["its bytes differ from those set anew, though every page looks the same"]
    lines, _ = told(b"nothing of use", tmp_path)
    assert any(line.startswith("cannot be read") for line in lines)
