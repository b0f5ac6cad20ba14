"""A copy to practise on: one number is changed, every sum is right, and only recomputing finds it."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import bagit
import pytest

from linestudy.dossier.audit.check_bag import damaged
from linestudy.dossier.audit.numbers import leaf, leaves
from linestudy.dossier.audit.tampering import make_tampered_copy
from linestudy.results import InputError

RESULTS = {
    "format": 2,
    "study": {"seed": 7, "confidence": 0.95},
    "characteristics": {"a": {"n": 125, "zero": 0.0, "whole": 3.0, "mean": 6.1, "list": [1.25, 2]}},
    "verdict": {"share": 0.5},
}


@pytest.fixture
def bag(tmp_path: Path) -> Path:
    """As much of a dossier as there must be."""
    folder = tmp_path / "honest"
    folder.mkdir()
    text = json.dumps(RESULTS, sort_keys=True, indent=1)
    (folder / "results.json").write_text(text + "\n", encoding="utf-8")
    bagit.make_bag(str(folder), {}, checksums=["sha256", "sha512"])
    return folder


def results(folder: Path) -> Any:
    return json.loads((folder / "data" / "results.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("seed", range(1, 7))
def test_one_measured_number_moves_by_two_to_four_per_cent(
    bag: Path, tmp_path: Path, seed: int
) -> None:
    before = results(bag)
    copy = make_tampered_copy(bag, tmp_path / "copy", seed=seed)
    after = results(copy)
    changed = [path for path, value in leaves(before) if leaf(after, path) != value]
    # Counts, noughts and what the study was set to stay as they are: a changed one would give itself away.
    (path,) = changed
    assert path in {("characteristics", "a", "mean"), ("characteristics", "a", "list", 0)}
    assert 1.02 <= leaf(after, path) / leaf(before, path) < 1.04
    assert damaged(copy) == ()
    assert results(bag) == before
    assert damaged(bag) == ()


def test_the_seed_chooses_and_chooses_again(bag: Path, tmp_path: Path) -> None:
    copies = [make_tampered_copy(bag, tmp_path / f"{k}", seed=s) for k, s in enumerate((3, 3))]
    assert results(copies[0]) == results(copies[1])
    others = {
        json.dumps(results(make_tampered_copy(bag, tmp_path / f"x{s}", seed=s))) for s in range(6)
    }
    assert len(others) > 2


def test_a_place_that_is_taken_and_what_is_no_dossier_are_refused(
    bag: Path, tmp_path: Path
) -> None:
    with pytest.raises(InputError, match="exists already"):
        make_tampered_copy(bag, bag)
    (tmp_path / "empty").mkdir()
    with pytest.raises(InputError, match="is not a dossier"):
        make_tampered_copy(tmp_path / "empty", tmp_path / "copy")
    shutil.rmtree(bag)
    assert not (tmp_path / "copy").exists()
