"""Without the salt neither seed nor level gives the truth back."""

from __future__ import annotations

from pathlib import Path

import pytest

from linestudy.results import InputError
from linestudy.simulate.practice import new_salt, read_salt, write_salt
from linestudy.simulate.practice.sealing import opened, sealed, seed_of


def test_sealed_and_opened() -> None:
    salt = new_salt()
    truth = {"faults": [{"kind": "bias", "number": 0.1}]}
    token = sealed(truth, salt)
    assert "bias" not in token
    assert opened(token, salt) == truth
    with pytest.raises(InputError, match="does not open"):
        opened(token, new_salt())
    with pytest.raises(InputError, match="does not open"):
        opened(token[:-8] + "AAAAAAA=", salt)


def test_seed_and_level_say_nothing_without_the_salt() -> None:
    assert seed_of(b"a", 1, 1) != seed_of(b"b", 1, 1)
    seeds = {seed_of(b"a", seed, level) for seed in range(50) for level in (1, 2, 3, 4)}
    assert len(seeds) == 200


def test_the_teachers_file(tmp_path: Path) -> None:
    salt = new_salt()
    file = tmp_path / "t.toml"
    write_salt(file, salt)
    assert read_salt(file) == salt
    with pytest.raises(FileExistsError):
        write_salt(file, new_salt())
    file.write_text("salt = 3")
    with pytest.raises(InputError, match="no teacher"):
        read_salt(file)
    with pytest.raises(InputError, match="not there"):
        read_salt(tmp_path / "none.toml")
