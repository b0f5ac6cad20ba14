"""Whatever happens, a command ends with one line, and what was there before is still there."""

from __future__ import annotations

import errno
import importlib
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from linestudy.cli import main
from linestudy.running.workers import WorkerEnded
from linestudy.study import start_study


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("LINESTUDY_STRICT", "0")
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    return start_study(tmp_path / "study")


def one_line(capsys: pytest.CaptureFixture[str]) -> str:
    told = capsys.readouterr().err
    assert told.count("\n") == 1, told
    return told


class Panic(BaseException):
    """What a library written in another language ends with."""


@pytest.mark.parametrize("kind", [KeyError, AssertionError, Panic])
def test_an_unforeseen_error_ends_with_one_line_and_a_file(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], kind: type
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise kind("my secret")

    monkeypatch.setattr(importlib.import_module("linestudy.records.read_files"), "read", fail)
    assert main(["check", str(folder)]) == 3
    told = one_line(capsys)
    assert kind.__name__ in told
    assert str(folder) in told
    (written,) = folder.parent.glob("linestudy-error-*.txt")
    assert str(written) in told
    assert "secret" not in written.read_text(encoding="utf-8")


def test_a_task_without_a_console_does_its_work(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As a scheduler starts it, or a shell with ``>&-``: Python has no standard output then."""
    monkeypatch.setattr(sys, "stdout", None)
    monkeypatch.setattr(sys, "stderr", None)
    assert main(["check", str(folder)]) == 0
    assert main(["check", str(folder / "nothing.csv")]) == 2


@pytest.mark.skipif(sys.platform != "linux", reason="the limit of a Linux shell")
@pytest.mark.parametrize("mebibytes", [150, 400, 1200])
def test_too_little_address_space_is_one_line_at_once(folder: Path, mebibytes: int) -> None:
    command = f"ulimit -v {mebibytes * 1024}; exec {sys.executable} -m linestudy dossier {folder}"
    done = subprocess.run(
        ["/bin/sh", "-c", command], capture_output=True, text=True, timeout=60, check=False
    )
    assert done.returncode == 2, done.stderr
    assert done.stderr.count("\n") == 1
    assert f"may use {mebibytes:,} MiB of address space" in done.stderr
    assert not (folder / "dossier").exists()


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (OSError(errno.ENOSPC, "No space left on device"), "the disk is full"),
        (OSError("write failed"), "write failed"),
        (MemoryError(), "not enough memory"),
        (WorkerEnded("a worker process ended before its task"), "a worker process ended"),
        (ImportError("libx.so: failed to map segment from shared object"), "not enough memory"),
    ],
)
def test_the_machine_in_the_way_is_no_fault_of_the_kit(
    folder: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    error: Exception,
    words: str,
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr(importlib.import_module("linestudy.records.read_files"), "read", fail)
    assert main(["check", str(folder)]) == 2
    assert words in one_line(capsys)


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="names of bytes are Linux's")
def test_a_folder_whose_name_is_no_text(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    place = start_study(tmp_path / "s").rename(tmp_path / os.fsdecode(b"s\xff"))
    assert main(["dossier", str(place)]) == 2
    assert "not UTF-8" in one_line(capsys)


def second_characteristic(folder: Path) -> None:
    """Reference dimensions and "no limits yet" are daily bread."""
    file = folder / "study.toml"
    text = file.read_text(encoding="utf-8")
    other = '[[characteristic]]\nid = "gap"\nname = "Gap"\nunit = "mm"\n\n[[gauge]]'
    text = text.replace("[[gauge]]", other, 1)
    text = text.replace(
        'columns = { width = "Width" }', 'columns = { width = "Width", gap = "Gap" }', 1
    )
    file.write_text(text, encoding="utf-8")
    run = folder / "data/run.csv"
    head, *rows = run.read_text(encoding="utf-8").splitlines()
    rows = [f"{row},{1 + int(row.split(',')[0]) % 17 / 100:.2f}" for row in rows]
    run.write_text("\n".join([f"{head},Gap", *rows]) + "\n", encoding="utf-8")


@pytest.mark.proof
def test_a_characteristic_without_limits_among_others(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Nothing is excused: the cause is gone, not only its traceback.
    monkeypatch.setenv("LINESTUDY_STRICT", "1")
    second_characteristic(folder)
    assert main(["dossier", str(folder)]) == 0
    page = (folder.parent / "study.dossier/data/index.html").read_text(encoding="utf-8")
    assert "could not be drawn" not in page


@pytest.mark.proof
def test_a_picture_that_fails_says_so_in_its_place(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise FloatingPointError

    monkeypatch.setattr("linestudy.figures.shape.probability_plot", fail)
    assert main(["dossier", str(folder)]) == 0
    data = folder.parent / "study.dossier/data"
    assert (data / "dossier.pdf").stat().st_size > 10_000
    assert json.loads((data / "results.json").read_text(encoding="utf-8"))["verdict"]
    assert capsys.readouterr().err == ""


@pytest.mark.proof
def test_readings_of_a_coarse_gauge_that_never_differ(folder: Path) -> None:
    rows = [
        f"{part},{who},{trial},{6.2 + round(part * 0.011, 2):.2f}"
        for part in range(1, 11)
        for who in "abc"
        for trial in (1, 2)
    ]
    text = "Part,Appraiser,Trial,Width\n" + "\n".join(rows) + "\n"
    (folder / "data/crossed.csv").write_text(text, encoding="utf-8")
    assert main(["dossier", str(folder)]) == 0


WILD = ["1e308", "-1e308", "1e-320", "9" * 5000, "1e20"]


@pytest.mark.parametrize("cell", WILD, ids=[cell[:8] for cell in WILD])
def test_a_wild_reading_sets_itself_aside(
    folder: Path, cell: str, capsys: pytest.CaptureFixture[str]
) -> None:
    run = folder / "data/run.csv"
    head, *rows = run.read_text(encoding="utf-8").splitlines()
    rows[4] = f"5,{cell}"
    run.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    assert main(["check", str(folder)]) == 0
    assert "no measurement: far beyond" in capsys.readouterr().out


@pytest.mark.proof
def test_a_dossier_is_kept_a_strange_folder_left_alone(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place = folder.parent
    out = place / "study.dossier"
    assert main(["dossier", str(folder)]) == 0
    # The same content again: nothing to keep.
    assert main(["dossier", str(folder)]) == 0
    assert len(list(place.glob("study*dossier"))) == 1
    toml = folder / "study.toml"
    toml.write_text(toml.read_text().replace("Blade width", "Width of the blade"))
    first = (out / "data/results.json").read_bytes()
    capsys.readouterr()
    assert main(["dossier", str(folder)]) == 0
    (kept,) = place.glob("study.*.dossier")
    assert f"the older dossier is kept as {kept.name}" in capsys.readouterr().out
    assert (kept / "data/results.json").read_bytes() == first
    assert b"Width of the blade" in (out / "data/results.json").read_bytes()
    # Told to replace, it keeps nothing more.
    toml.write_text(toml.read_text().replace("Width of the blade", "Blade"))
    assert main(["dossier", str(folder), "--replace"]) == 0
    assert list(place.glob("study.*.dossier")) == [kept]
    # A note of somebody's among the files: nothing is touched, nothing is computed first.
    (out / "data/note.txt").write_text("called the customer")
    before = {p: p.stat().st_mtime_ns for p in out.rglob("*")}
    capsys.readouterr()
    for words in ([], ["--replace"]):
        assert main(["dossier", str(folder), *words]) == 2
        shown = capsys.readouterr()
        assert 'holds "data/note.txt", which this kit did not write' in shown.err
        assert shown.out == ""
    assert {p: p.stat().st_mtime_ns for p in out.rglob("*")} == before


@pytest.mark.parametrize("mark", ["", "BagIt-Version: 0.97\nTag-File-Character-Encoding: UTF-8\n"])
def test_somebody_elses_bag_is_left_alone(
    folder: Path, mark: str, capsys: pytest.CaptureFixture[str]
) -> None:
    bag = folder.parent / "photos"
    (bag / "data").mkdir(parents=True)
    (bag / "bagit.txt").write_text(mark)
    (bag / "data/precious.txt").write_text("keep me")
    assert main(["dossier", str(folder), "--out", str(bag), "--replace"]) == 2
    assert "not a dossier of this kit" in one_line(capsys)
    assert (bag / "data/precious.txt").read_text() == "keep me"


@pytest.mark.proof
def test_evidence_is_kept_and_a_strange_file_left_alone(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    days = folder.parent / "days"
    days.mkdir()
    (days / "day1.csv").write_text((folder / "data/run.csv").read_text())
    out = folder.parent / "evidence.json"
    command = ["log", str(days), "--study", str(folder), "--evidence", str(out)]
    out.write_text('{"mine": 1}')
    assert main(command) == 2
    assert "is no evidence of this kit" in one_line(capsys)
    assert out.read_text() == '{"mine": 1}'
    out.unlink()
    assert main(command) == 0
    first = out.read_bytes()
    assert main(command) == 0
    assert list(folder.parent.glob("evidence*.json")) == [out]
    (days / "day2.csv").write_text(
        "Part,Width\n" + "".join(f"{i},6.3{i % 7}\n" for i in range(200, 300))
    )
    assert main(command) == 0
    (kept,) = folder.parent.glob("evidence.*.json")
    assert kept.read_bytes() == first
    assert out.read_bytes() != first
