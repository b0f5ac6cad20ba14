"""A practice study is written from seed, level and salt; two faults never share a place."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from linestudy.results import InputError
from linestudy.simulate.practice import LEVELS, truth_of, write_practice
from linestudy.simulate.practice.kinds import IN_ORDER, KINDS, OF_STUDY


def _files(folder: Path) -> dict[str, bytes]:
    return {
        p.name: p.read_bytes() for p in folder.rglob("*") if p.is_file() and p.suffix != ".sealed"
    }


def test_the_same_salt_gives_the_same_study_and_another_does_not(tmp_path: Path) -> None:
    first = write_practice(tmp_path / "a", seed=1, level=2, salt=b"one")
    again = write_practice(tmp_path / "b", seed=1, level=2, salt=b"one")
    other = write_practice(tmp_path / "c", seed=1, level=2, salt=b"two")
    assert _files(first) == _files(again)
    assert _files(first)["run.csv"] != _files(other)["run.csv"]


@pytest.mark.parametrize("level", LEVELS)
def test_as_many_as_the_level_says_and_no_two_in_one_place(level: int, tmp_path: Path) -> None:
    for seed in range(2):
        folder = write_practice(tmp_path / str(seed), seed=seed, level=level, with_salt=True)
        faults = truth_of(folder)["faults"]
        assert len(faults) == LEVELS[level]
        places = [
            ("" if slot in OF_STUDY else fault["about"], slot)
            for fault in faults
            for slot in KINDS[fault["kind"]].slots
        ]
        assert len(set(places)) == len(places)
        kinds = {fault["kind"] for fault in faults}
        assert "reordered" not in kinds or not kinds & set(IN_ORDER)


def test_nothing_in_the_folder_tells_what_was_planted(tmp_path: Path) -> None:
    folder = write_practice(tmp_path / "p", seed=1, level=4)
    study = (folder / "study.toml").read_text(encoding="utf-8")
    assert not [kind for kind in KINDS if re.search(rf"\b{kind}\b", study) and kind != "bias"]
    sizes = {
        len(
            (
                write_practice(tmp_path / str(level), seed=2, level=level) / "truth.sealed"
            ).read_bytes()
        )
        for level in (1, 4)
    }
    assert len(sizes) == 1


@pytest.mark.parametrize(
    ("settings", "told"),
    [
        ({"level": 5}, "level"),
        ({"kinds": ("no",)}, "none"),
        ({"kinds": ("bias", "bias", "linearity", "bias", "bias")}, "beside"),
    ],
)
def test_what_cannot_be_written_is_refused(
    settings: dict[str, object], told: str, tmp_path: Path
) -> None:
    with pytest.raises(InputError, match=told):
        write_practice(tmp_path / "p", seed=1, **settings)  # type: ignore[arg-type]


def test_a_folder_with_something_in_it_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "mine").write_text("x")
    with pytest.raises(InputError, match="not empty"):
        write_practice(tmp_path, seed=1)
