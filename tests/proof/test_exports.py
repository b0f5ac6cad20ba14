"""All of the exports of five countries, and many spoilt ones; an ordinary run takes a part of them."""

from __future__ import annotations

import random
import warnings
from pathlib import Path

import pytest
from beside import load

pytestmark = pytest.mark.proof

ordinary = load(
    "linestudy_ordinary_exports", Path(__file__).parents[1] / "records" / "test_exports.py"
)


@pytest.mark.parametrize("name", ordinary.EVERY[1::2])
def test_the_truth_of_the_others_comes_back(tmp_path: Path, name: str) -> None:
    ordinary.assert_comes_back(tmp_path, ordinary.FILES[name])


@pytest.mark.parametrize("name", ordinary.EVERY)
def test_many_spoilt_exports_are_described_or_refused(tmp_path: Path, name: str) -> None:
    chance = random.Random(f"many {name}")
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        for _ in range(20):
            assert ordinary.described_or_refused(tmp_path, ordinary.FILES[name], chance)
