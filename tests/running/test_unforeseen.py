"""What a command ends with that is not about its input: the machine in the way, or a report that holds no data."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest

from linestudy.running import unforeseen
from linestudy.running.unforeseen import of_the_machine, report, without_data
from linestudy.running.workers import WorkerEnded


def test_the_report_tells_the_place_and_no_data(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    try:
        raise KeyError("secret part 4711")
    except KeyError as error:
        file = report(error, "dossier")
    assert file is not None
    text = file.read_text(encoding="utf-8")
    assert "test_unforeseen.py line" in text
    assert "numpy: " in text
    assert "secret" not in text
    assert "4711" not in text
    assert str(Path.home()) not in text or str(Path.home()) == "/"
    assert without_data('cell "A 12" of /home/me/x.csv is 2.801') == "cell '…' of … is #"


def reported(error: BaseException, folder: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setattr("tempfile.tempdir", str(folder))
    file = report(error, "check")
    assert file is not None
    assert file.parent == folder
    return file.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "message",
    [
        "can't convert 'SECRET 4711'",
        "it isn't known whose 'SECRET' and 'SECRET' are",
        'no column "SECRET\'s line" of 4711',
        "an unclosed 'SECRET",
        "`SECRET` and “SECRET” at /home/SECRET/x.csv or C:\\SECRET\\x.csv",
        "'it's SECRET'",
    ],
)
def test_no_quoted_word_path_or_number_is_left(message: str) -> None:
    left = without_data(message)
    assert "SECRET" not in left
    assert "4711" not in left


def test_what_is_of_code_is_left() -> None:
    said = "can't multiply sequence by non-int of type 'float'"
    assert without_data(said) == "can't multiply sequence by non-int of type '…'"
    assert len(without_data("x" * 1000)) == 301
    assert without_data("a\n\tb\x07c") == "a b c"


def test_each_error_before_is_told_and_a_circle_ends(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, second = ValueError("reading 12.5 of Part A"), TypeError("'Part A' has no len()")
    second.__cause__, first.__context__ = first, second
    text = reported(second, tmp_path, monkeypatch)
    assert "builtins.TypeError: '…' has no len()" in text
    assert text.count("which came after") == 2
    assert "builtins.ValueError: (its message is left out)" in text
    assert "Part A" not in text
    assert "command: check" in text


def test_a_report_that_can_be_written_nowhere_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    def full(**options: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("tempfile.mkstemp", full)
    assert report(KeyError("x"), "dossier") is None


@pytest.mark.parametrize(
    ("error", "says"),
    [
        (OSError(errno.ENOSPC, "No space left on device", "/home/me/out.pdf"), "out.pdf: the disk"),
        (OSError(errno.EFBIG, "File too large"), "make room"),
        (PermissionError(errno.EACCES, "Permission denied", "/a/b.xlsx"), "b.xlsx: permission den"),
        (PermissionError(errno.EACCES, "Permission denied", "/a/b.xlsx"), "close what has it open"),
        (IsADirectoryError(errno.EISDIR, "Is a directory", "/a/b"), "choose another place"),
        (OSError(errno.EIO, "Input/output error"), "check the disk and the path"),
        (MemoryError(), "not enough memory"),
        (ImportError("libx.so: failed to map segment from shared object"), "not enough memory"),
        (RuntimeError("can't start new thread"), "not enough memory"),
        (WorkerEnded("a process\nended"), "a process ended"),
    ],
)
def test_the_machine_in_the_way_is_one_line(error: BaseException, says: str) -> None:
    def wrapped() -> BaseException:
        outer = RuntimeError("of the work")
        outer.__cause__ = error
        return outer

    for each in (error, wrapped()):
        line = of_the_machine(each)
        assert line is not None
        assert says in line
        assert "\n" not in line
        assert "/home/me" not in line


@pytest.mark.parametrize("error", [KeyError("x"), RuntimeError("wrong"), ImportError("no x")])
def test_what_is_of_the_kit_is_not_the_machine(error: BaseException) -> None:
    assert of_the_machine(error) is None


def test_a_limit_of_address_space_is_told_before_the_work(monkeypatch: pytest.MonkeyPatch) -> None:
    resource = pytest.importorskip("resource", reason="this system knows no such limit")

    def told(soft: int) -> str | None:
        monkeypatch.setattr(resource, "getrlimit", lambda which: (soft, resource.RLIM_INFINITY))
        return unforeseen.confined()

    assert told(resource.RLIM_INFINITY) is None
    assert told(2_900 * 2**20) is None
    line = told(2_000 * 2**20)
    assert line is not None
    assert "2,000 MiB" in line
