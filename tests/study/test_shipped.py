"""Notebooks and sample data that come with the kit: found, and copied whole into a folder of one's own."""

from __future__ import annotations

from pathlib import Path

import pytest

from linestudy.results import InputError
from linestudy.study import shipped as module
from linestudy.study.shipped import copy_notebooks, shipped


@pytest.fixture
def kit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A small kit as a wheel carries it, with what is left lying about."""
    inside = tmp_path / "site" / "linestudy" / "_shipped"
    for name in ("notebooks/start_here.ipynb", "sample_data/fork_receptacle/study.toml"):
        (inside / name).parent.mkdir(parents=True)
        (inside / name).write_text(name, encoding="utf-8")
    (inside / "notebooks" / ".ipynb_checkpoints").mkdir()
    (inside / "sample_data" / "fork_receptacle.dossier").mkdir()
    monkeypatch.setattr(module, "_PACKAGE", inside.parent)
    return inside


def test_what_lies_inside_the_package_comes_before_what_lies_above(kit: Path) -> None:
    # Above the package may lie what is not ours: a folder of that name counts by what it holds.
    above = kit.parents[2] / "notebooks"
    above.mkdir()
    assert shipped("notebooks") == kit / "notebooks"
    (kit / "notebooks" / "start_here.ipynb").unlink()
    assert shipped("notebooks") is None
    (above / "start_here.ipynb").touch()
    assert shipped("notebooks") == above


def test_a_copy_is_whole_and_without_leavings(kit: Path, tmp_path: Path) -> None:
    target = tmp_path / "new" / "kit"
    assert copy_notebooks(target) == target
    files = {file.relative_to(target).as_posix() for file in target.rglob("*") if file.is_file()}
    assert files == {"notebooks/start_here.ipynb", "sample_data/fork_receptacle/study.toml"}
    assert not list(target.rglob("*.dossier"))
    assert not list(target.rglob(".ipynb_checkpoints"))
    # Nothing half made stays beside it.
    assert [place.name for place in target.parent.iterdir()] == ["kit"]


def test_an_empty_folder_is_filled_and_one_that_holds_something_is_left_alone(
    kit: Path, tmp_path: Path
) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    assert (copy_notebooks(empty) / "notebooks" / "start_here.ipynb").is_file()
    full = tmp_path / "full"
    full.mkdir()
    (full / "mine.txt").write_text("mine", encoding="utf-8")
    for taken in (full, full / "mine.txt"):
        with pytest.raises(InputError, match="exists already"):
            copy_notebooks(taken)
    assert (full / "mine.txt").read_text(encoding="utf-8") == "mine"


def test_a_kit_without_notebooks_says_so_and_leaves_nothing(kit: Path, tmp_path: Path) -> None:
    (kit / "notebooks" / "start_here.ipynb").unlink()
    with pytest.raises(InputError, match="did not come with this copy"):
        copy_notebooks(tmp_path / "new")
    assert not (tmp_path / "new").exists()


def test_a_copy_that_breaks_off_leaves_nothing(
    kit: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*args: object, **options: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("shutil.copytree", full)
    (tmp_path / "place").mkdir()
    with pytest.raises(OSError, match="No space"):
        copy_notebooks(tmp_path / "place" / "new")
    assert list((tmp_path / "place").iterdir()) == []
