"""A study's files as bytes: inside the folder, unpacked within bounds, called by what they are, never run."""

from __future__ import annotations

import gzip
import hashlib
import io
import zipfile
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pandas as pd
import pytest

from linestudy.records.files import column, content, guarded_workbook, locate, sha256
from linestudy.results import InputError


def data(name: str = "run.csv", largest_mb: float = 1.0) -> Any:
    return SimpleNamespace(file=name, largest_mb=largest_mb)


def written(folder: Path, name: str, raw: bytes) -> Path:
    (folder / name).write_bytes(raw)
    return folder / name


def packed(members: dict[str, bytes]) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as bundle:
        for name, raw in members.items():
            bundle.writestr(name, raw)
    return held.getvalue()


def test_a_file_inside_is_found_under_either_slash(tmp_path: Path) -> None:
    (tmp_path / "days").mkdir()
    written(tmp_path / "days", "run.csv", b"x")
    for name in ("days/run.csv", "days\\run.csv", "days/../days/run.csv"):
        assert locate(tmp_path, name).resolve() == (tmp_path / "days" / "run.csv").resolve()


@pytest.mark.parametrize(
    "name", ["../secret.csv", "/etc/hostname", "days/../../secret.csv", "..\\secret.csv"]
)
def test_what_leads_out_of_the_folder_is_not_opened(tmp_path: Path, name: str) -> None:
    study = tmp_path / "study"
    study.mkdir()
    written(tmp_path, "secret.csv", b"x")
    with pytest.raises(InputError, match="leads out of the study folder"):
        locate(study, name)


def test_absent_empty_and_large_files_are_told_apart(tmp_path: Path) -> None:
    written(tmp_path, "run_monday.csv", b"")
    with pytest.raises(InputError, match=r'did you mean "run_monday\.csv\"'):
        locate(tmp_path, "run_mondy.csv")
    with pytest.raises(InputError, match="is empty"):
        locate(tmp_path, "run_monday.csv")
    with pytest.raises(InputError, match="is not in the study folder"):
        locate(tmp_path, ".")
    written(tmp_path, "large.csv", b"x" * 1001)
    assert locate(tmp_path, "large.csv", 0.0011).name == "large.csv"
    with pytest.raises(InputError, match=r"more than the 0\.001 MB"):
        locate(tmp_path, "large.csv", 0.001)
    with pytest.raises(InputError, match="is not the name of a file"):
        locate(tmp_path, "a\0b")


def test_the_hash_is_that_of_the_bytes(tmp_path: Path) -> None:
    raw = bytes(range(256)) * 9000  # more than one block
    assert sha256(written(tmp_path, "a", raw)) == hashlib.sha256(raw).hexdigest()


@pytest.mark.parametrize("name", ["run.csv", "run.csv.gz", "run.gz", "run.zip"])
def test_the_same_bytes_however_they_are_packed(tmp_path: Path, name: str) -> None:
    raw = b"a;b\n1;2\n"
    held = (
        gzip.compress(raw)
        if name.endswith("gz")
        else packed({"in/run.CSV": raw})
        if name.endswith("zip")
        else raw
    )
    assert content(written(tmp_path, name, held), data(name)) == (raw, ".csv")


def test_a_small_file_that_unpacks_to_much_is_refused(tmp_path: Path) -> None:
    much = b"0" * 3_000_000
    for name, held in (("b.csv.gz", gzip.compress(much)), ("b.zip", packed({"b.csv": much}))):
        with pytest.raises(InputError, match="more than the 1 MB"):
            content(written(tmp_path, name, held), data(name))
    book = packed({"xl/workbook.xml": much})
    with pytest.raises(InputError, match="more than the 1 MB"):
        guarded_workbook(book, data("b.xlsx"))
    assert guarded_workbook(book, data("b.xlsx", 4.0)).read() == book
    with pytest.raises(InputError, match="is not a workbook"):
        guarded_workbook(b"PK no", data("b.xlsx"))


@pytest.mark.parametrize("member", ["../out.csv", "/out.csv", "C:/out.csv", "a\\..\\..\\out.csv"])
def test_a_member_that_leads_outside_is_refused(tmp_path: Path, member: str) -> None:
    with pytest.raises(InputError, match="leads outside"):
        content(written(tmp_path, "z.zip", packed({member: b"x"})), data("z.zip"))


def test_a_member_that_is_a_link_is_refused(tmp_path: Path) -> None:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as bundle:
        info = zipfile.ZipInfo("run.csv")
        info.external_attr = 0o120777 << 16
        bundle.writestr(info, "/etc/hostname")
    with pytest.raises(InputError, match="leads outside"):
        content(written(tmp_path, "z.zip", held.getvalue()), data("z.zip"))


@pytest.mark.parametrize("count", [0, 2])
def test_a_zip_has_one_file(tmp_path: Path, count: int) -> None:
    held = packed({f"{n}.csv": b"x" for n in range(count)})
    with pytest.raises(InputError, match=f"is a zip with {count} files inside"):
        content(written(tmp_path, "z.zip", held), data("z.zip"))


def test_damage_is_told_in_a_sentence(tmp_path: Path) -> None:
    whole = gzip.compress(b"a;b\n" * 99)
    for name, held in (
        ("r.csv.gz", whole[:-9]),
        ("r.csv.gz", b"no gzip"),
        ("r.zip", b"PK\x03\x04 broken"),
    ):
        with pytest.raises(InputError, match=r"cannot be unpacked|locked, damaged"):
            content(written(tmp_path, name, held), data(name))


@pytest.mark.parametrize(
    ("name", "raw", "kind"),
    [
        ("r.xls", b"a\tb\n1\t2\n", ".txt"),
        ("r.xls", "a\tb\n".encode("utf-16"), ".txt"),
        ("r.csv", packed({"xl/workbook.xml": b"<x/>"}), ".xlsx"),
        ("r.csv", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(99), ".xls"),
        (
            "r.xlsx",
            packed({"mimetype": b"application/vnd.oasis.opendocument.spreadsheet"}),
            ".xlsx",
        ),
    ],
)
def test_a_file_is_what_its_bytes_say(tmp_path: Path, name: str, raw: bytes, kind: str) -> None:
    assert content(written(tmp_path, name, raw), data(name))[1] == kind


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"%PDF-1.7", "picture or a PDF"),
        (b"\x89PNG\r\n\x1a", "picture or a PDF"),
        (b" <html><table>", "web page without a table"),
    ],
)
def test_what_is_no_table_says_what_to_give(tmp_path: Path, raw: bytes, words: str) -> None:
    with pytest.raises(InputError, match=words):
        content(written(tmp_path, "r.xls", raw), data("r.xls"))


def test_a_line_too_long_for_any_reader_is_named_by_its_number(tmp_path: Path) -> None:
    good = b"x" * 999_999 + b"\n"
    assert content(written(tmp_path, "r.csv", good * 3), data(largest_mb=9))[1] == ".csv"
    raw = b"a\nb\n" + b"x" * 1_000_001 + b"\nc\n"
    with pytest.raises(InputError, match=r"line 3.*longer than 1,000,000 bytes"):
        content(written(tmp_path, "r.csv", raw), data(largest_mb=9))


def test_a_column_is_known_by_its_name_and_the_nearest_is_told() -> None:
    table = pd.DataFrame([["1", "2", "3"]], columns=["Width", "Gap", "Gap"])
    table.attrs["header_line"] = 4
    assert column(table, "Width", data()).tolist() == ["1"]
    with pytest.raises(InputError, match=r'run\.csv line 4.*"Gap" twice'):
        column(table, "Gap", data())
    with pytest.raises(InputError, match=r'no column "width".*did you mean "Width"'):
        column(table, "width", data())
    with pytest.raises(InputError, match="its columns are Width, Gap"):
        column(table, "qqqq", data())
