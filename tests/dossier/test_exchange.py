"""A dossier is replaced in one step: killed at any moment, the old one or the new one stands there whole."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path

import pytest

from linestudy.dossier import exchange
from linestudy.dossier.exchange import beside, into_place, put_back, swapped


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


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a system that forks")
def test_killed_at_fifty_moments_the_place_is_never_empty_or_half(tmp_path: Path) -> None:
    probe = folder(tmp_path / "probe", "0"), folder(tmp_path / "probe2", "0")
    if not swapped(*probe):
        pytest.skip("this system cannot swap names in one step")
    target = folder(tmp_path / "target", "0")
    seen = set()
    for turn in range(50):
        child = os.fork()
        if child == 0:  # pragma: no cover
            number = 0
            while True:
                number += 1
                aside = folder(tmp_path / f"aside-{turn}-{number}", f"{turn}-{number}")
                into_place(aside, target)
        time.sleep(0.002 + 0.0011 * turn)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        found = held(target)
        assert len(found) == 1
        seen |= found
    assert len(seen) > 5


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a system that forks")
def test_what_a_killed_writing_left_is_removed_and_nothing_else(tmp_path: Path) -> None:
    target = tmp_path / "a [dossier]"
    child = os.fork()
    if child == 0:
        (beside(target) / "half.txt").write_text("half")
        os.kill(os.getpid(), signal.SIGKILL)
    os.waitpid(child, 0)
    (left,) = tmp_path.iterdir()
    assert (left / "half.txt").exists()
    # One that is being written now, one of another machine, and one that only looks alike.
    mine = beside(target)
    assert not left.exists()
    other = tmp_path / left.name.replace(left.name.split("-")[-3], "00000000")
    alike = tmp_path / f"{left.name.rsplit('-', 2)[0]}-notes"
    for folder_ in (other, alike):
        folder_.mkdir()
    again = beside(target)
    assert {p.name for p in tmp_path.iterdir()} == {p.name for p in (mine, other, alike, again)}
