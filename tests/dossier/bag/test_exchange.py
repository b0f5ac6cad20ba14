"""A dossier is replaced in one step: killed at any moment, the old one or the new one stands there whole."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from linestudy.cli import main
from linestudy.dossier.bag import exchange
from linestudy.dossier.bag.exchange import beside, into_place, put_back, swapped
from linestudy.study import start_study


def folder(place: Path, text: str, files: int = 30) -> Path:
    place.mkdir()
    for number in range(files):
        (place / f"{number}.txt").write_text(text)
    return place


def held(place: Path) -> set[str]:
    files = sorted(place.iterdir())
    assert len(files) == 30
    return {file.read_text() for file in files}


def test_names_are_swapped(tmp_path: Path) -> None:
    one, other = folder(tmp_path / "one", "1"), folder(tmp_path / "other", "2")
    if not swapped(one, other):
        pytest.skip("this system cannot swap names in one step")
    assert held(one) == {"2"}
    assert held(other) == {"1"}
    assert not swapped(one, tmp_path / "nothing")
    assert held(one) == {"2"}


@pytest.mark.parametrize("can_swap", [True, False])
def test_the_new_stands_where_the_old_stood(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, can_swap: bool
) -> None:
    if not can_swap:
        monkeypatch.setattr(exchange, "swapped", lambda *_: False)
    into_place(folder(tmp_path / "aside", "old"), tmp_path / "target")
    into_place(folder(tmp_path / "aside", "new"), tmp_path / "target")
    assert held(tmp_path / "target") == {"new"}
    assert [p.name for p in tmp_path.iterdir()] == ["target"]


def test_the_old_is_put_back_where_two_steps_were_cut_off(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(exchange, "swapped", lambda *_: False)
    target = folder(tmp_path / "target", "old")
    replace = os.replace

    def cut_off(source: Path, place: Path) -> None:
        if Path(place) == target:
            raise KeyboardInterrupt
        replace(source, place)

    monkeypatch.setattr(os, "replace", cut_off)
    with pytest.raises(KeyboardInterrupt):
        into_place(folder(tmp_path / "aside", "new"), target)
    monkeypatch.setattr(os, "replace", replace)
    assert not target.exists()
    put_back(target)
    assert held(target) == {"old"}


CHILD = """
import sys
from pathlib import Path
from linestudy.dossier.bag.exchange import beside, into_place

job, target = sys.argv[1], Path(sys.argv[2])
if job == "leave":
    (beside(target) / "half.txt").write_text("half")
    print("begun", flush=True)
    sys.stdin.read()
turn, number = sys.argv[3], 0
while True:
    number += 1
    aside = target.with_name(f"aside-{turn}-{number}")
    aside.mkdir()
    for name in range(30):
        (aside / f"{name}.txt").write_text(f"{turn}-{number}")
    into_place(aside, target)
    if number == 1:
        print("begun", flush=True)
"""


def child(*words: object) -> subprocess.Popen[str]:
    """A process that writes dossiers' folders, once it has begun."""
    process = subprocess.Popen(
        [sys.executable, "-c", CHILD, *map(str, words)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "begun\n"
    return process


@pytest.mark.proof
def test_killed_at_any_moment_the_place_is_never_empty_or_half(tmp_path: Path) -> None:
    one_step = swapped(folder(tmp_path / "probe", "0"), folder(tmp_path / "probe2", "0"))
    target = folder(tmp_path / "target", "0")
    seen = set()
    for turn in range(25):
        process = child("write", target, turn)
        time.sleep(0.0023 * turn)
        process.kill()
        process.communicate()
        if not one_step:
            # Between two steps the place may stand empty; the next run puts the old folder back.
            put_back(target)
        found = held(target)
        assert len(found) == 1
        seen |= found
    assert len(seen) > 5


def test_what_a_killed_writing_left_is_removed_and_nothing_else(tmp_path: Path) -> None:
    target = tmp_path / "a [dossier]"
    process = child("leave", target)
    process.kill()
    process.communicate()
    (left,) = tmp_path.iterdir()
    assert (left / "half.txt").exists()
    # One that is being written now, one of another machine, and one that only looks alike.
    mine = beside(target)
    if os.name != "posix":
        # There no process can be asked for: what may be in use is left alone.
        assert left.exists()
        return
    assert not left.exists()
    other = tmp_path / left.name.replace(left.name.split("-")[-3], "00000000")
    alike = tmp_path / f"{left.name.rsplit('-', 2)[0]}-notes"
    for folder_ in (other, alike):
        folder_.mkdir()
    again = beside(target)
    assert {p.name for p in tmp_path.iterdir()} == {p.name for p in (mine, other, alike, again)}


@pytest.mark.proof
def test_a_file_that_another_program_holds_leaves_the_old_folder_and_one_clear_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    # Windows refuses to move a folder in which a program has a file open; said by hand here.
    monkeypatch.setattr(exchange, "swapped", lambda *_: False)
    study, out = start_study(tmp_path / "study"), tmp_path / "out"
    assert main(["dossier", str(study), "--out", str(out)]) == 0
    before = (out / "data" / "results.json").read_bytes()
    replace = os.replace

    def refused(source: Path, place: Path) -> None:
        if Path(source) == out:
            raise PermissionError(13, "Access is denied", str(source))
        replace(source, place)

    monkeypatch.setattr(os, "replace", refused)
    capsys.readouterr()
    assert main(["dossier", str(study), "--out", str(out)]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert "out: access is denied" in line
    assert "close" in line
    assert (out / "data" / "results.json").read_bytes() == before
    assert sorted(p.name for p in tmp_path.iterdir()) == ["out", "study"]
