"""Each fault of a gauge study, of judgements and of the record: found by an expert, not seen by a naive student."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest
from practice_students import expert, naive

from linestudy.simulate.practice import grade, truth_of, write_practice

#: All kinds are asked in the proof.
OTHERS = ("person_apart", "linearity", "few_bad_parts", "sent_twice")


@pytest.mark.parametrize("kind", OTHERS)
def test_a_naive_student_is_caught_and_an_expert_is_not(kind: str, tmp_path: Path) -> None:
    folder = write_practice(tmp_path / "p", seed=6, salt=b"t", with_salt=True, kinds=(kind,))
    naive(folder)
    assert grade(folder).share < 0.75
    expert(folder)
    assert grade(folder).share == 1.0


def test_re_ordered_rows_keep_their_image_numbers(tmp_path: Path) -> None:
    folder = write_practice(tmp_path / "p", seed=7, salt=b"t", with_salt=True, kinds=("reordered",))
    run = pd.read_csv(folder / "data" / "run.csv")
    assert run["stroke"].is_monotonic_increasing
    assert run["time"].is_monotonic_increasing
    assert sorted(run["image"]) == list(range(10_001, 12_401))
    assert 100 * float((run["image"].diff() < 0).sum() / 2_399) == pytest.approx(
        truth_of(folder)["faults"][0]["number"]
    )
