"""A workbook against one written anew: every cell by value, every part of the packing byte for byte."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from linestudy.dossier.audit.documents.check_workbook import _compared
from linestudy.dossier.audit.documents.edges import Edges
from linestudy.dossier.forms.book import Book

Parts = dict[str, bytes]


def write(file: Path, mean: float = 6.125, quantity: str = "mean", limit: str = "6.05") -> Path:
    with Book(file, "Title") as book:
        region = book.columns("Values", {"a": [1.0, 2.0, 3.0]})
        lines = [(quantity, "=AVERAGE(A2:A4)", mean), ("room", f"=({limit}-A2)/3", 1.5)]
        book.checks(region, 0, 2, lines)
    return file


@pytest.fixture
def anew(tmp_path: Path) -> Path:
    return write(tmp_path / "anew.xlsx")


def told(file: Path, anew: Path) -> list[str]:
    return _compared(file, anew, Edges([]), [])


def packed(anew: Path, change: Callable[[Parts], object], comment: bytes = b"") -> Path:
    """The same workbook with its parts changed, packed as it was."""
    file = anew.with_name("packed.xlsx")
    with zipfile.ZipFile(anew) as old:
        infos = old.infolist()
        parts = {info.filename: old.read(info) for info in infos}
        change(parts)
        with zipfile.ZipFile(file, "w") as new:
            new.comment = comment
            for name, data in parts.items():
                info = zipfile.ZipInfo(name, infos[0].date_time)
                info.compress_type = zipfile.ZIP_DEFLATED
                new.writestr(info, data)
    return file


def in_sheet(old: bytes, new: bytes) -> Callable[[Parts], object]:
    def change(parts: Parts) -> None:
        name = "xl/worksheets/sheet1.xml"
        assert old in parts[name]
        parts[name] = parts[name].replace(old, new, 1)

    return change


def test_the_same_is_the_same(anew: Path, tmp_path: Path) -> None:
    assert told(write(tmp_path / "again.xlsx"), anew) == []


@pytest.mark.parametrize("factor", [1 + 1e-10, 1 - 1e-10])
def test_last_digits_accuse_nobody(anew: Path, tmp_path: Path, factor: float) -> None:
    near = write(tmp_path / "near.xlsx", 6.125 * factor, limit=repr(6.05 * factor))
    assert told(near, anew) == []


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"mean": 6.125 * (1 + 2e-9)}, "sheet Values, cell E"),
        ({"limit": "6.05000002"}, "recomputed (6.05-A3)/3"),
        ({"quantity": "median"}, "xl/sharedStrings.xml differs"),
    ],
)
def test_another_number_limit_or_word_is_named(
    anew: Path, tmp_path: Path, changes: dict[str, object], said: str
) -> None:
    assert said in "\n".join(told(write(tmp_path / "other.xlsx", **changes), anew))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (in_sheet(b"AVERAGE(A", b"AVERAGE(B"), "recomputed AVERAGE(A"),
        (in_sheet(b"AVERAGE", b"MAXIMUM"), "MAXIMUM"),
        (in_sheet(b"<sheetData>", b"<sheetData><!-- x -->"), "differs beside its cells"),
        (lambda parts: parts.update({"xl/vba.bin": b"x"}), "xl/vba.bin is added"),
        (lambda parts: parts.pop("docProps/app.xml"), "docProps/app.xml is missing"),
        (
            lambda parts: parts.update({"xl/styles.xml": parts.pop("xl/styles.xml")}),
            "in another order",
        ),
    ],
)
def test_each_other_part_is_named(anew: Path, change: Callable[[Parts], object], said: str) -> None:
    assert said in "\n".join(told(packed(anew, change), anew))


def test_what_a_zip_can_carry_beside_its_parts_is_named(anew: Path) -> None:
    assert "carries a comment" in told(packed(anew, lambda parts: None, b"note"), anew)
    behind = packed(anew, lambda parts: None)
    behind.write_bytes(anew.read_bytes() + b"hidden")
    assert told(behind, anew)
    before = anew.with_name("before.xlsx")
    before.write_bytes(b"hidden" + anew.read_bytes())
    assert told(before, anew)
    twice = anew.with_name("twice.xlsx")
    twice.write_bytes(anew.read_bytes())
    with pytest.warns(UserWarning, match="Duplicate"), zipfile.ZipFile(twice, "a") as book:
        book.writestr("xl/styles.xml", b"other")
    assert "holds the part xl/styles.xml 2 times" in told(twice, anew)


@pytest.mark.parametrize("raw", [b"", b"nothing of use", b"PK\x03\x04"])
def test_what_is_no_workbook_is_a_line_and_no_traceback(anew: Path, raw: bytes) -> None:
    file = anew.with_name("odd.xlsx")
    file.write_bytes(raw)
    (line,) = told(file, anew)
    assert line.startswith("cannot be read (")
