"""Each fault of the run is in the data as large as its docstring says, and a naive student falls for it."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pandas as pd
import pytest
from practice_students import expert, naive

from linestudy.simulate.practice import grade, truth_of, write_practice
from linestudy.simulate.practice.line import FEATURES

#: All kinds are asked in the proof.
OF_RUN = ("sorted_parts", "copied_readings", "bad_lane", "skewed")


@pytest.mark.parametrize("kind", OF_RUN)
def test_a_naive_student_is_caught_and_an_expert_is_not(kind: str, tmp_path: Path) -> None:
    folder = write_practice(tmp_path / "p", seed=3, salt=b"t", with_salt=True, kinds=(kind,))
    naive(folder)
    caught = grade(folder)
    assert caught.share < 0.75
    expert(folder)
    assert grade(folder).share == 1.0


@pytest.mark.parametrize(
    "kind",
    ["alike", "excluded", "implausible", "wide_limits"],
)
def test_the_naive_decision_is_the_wrong_one(kind: str, tmp_path: Path) -> None:
    folder = write_practice(tmp_path / "p", seed=4, salt=b"t", with_salt=True, kinds=(kind,))
    truth = truth_of(folder)
    about = truth["faults"][0]["about"]
    assert naive(folder)[about] == "meets" != truth["decisions"][about]


def test_a_worn_tool_has_the_slope_that_is_kept(tmp_path: Path) -> None:
    folder = write_practice(tmp_path / "p", seed=5, salt=b"t", with_salt=True, kinds=("tool_wear",))
    (fault,) = truth_of(folder)["faults"]
    run = pd.read_csv(folder / "data" / "run.csv").dropna()
    cov = run[["stroke", fault["about"]]].cov().to_numpy()
    slope = 1000 * cov[0, 1] / cov[0, 0]
    assert slope == pytest.approx(fault["number"], rel=0.06)
    assert abs(slope) * 2.4 > 2.6 * FEATURES[fault["about"]].sd


def test_what_stands_in_a_folder_names_no_fault(tmp_path: Path) -> None:
    """A range, an exclusion and blank cells are in every study, with a fault and without."""
    for kind in ("overdue", "excluded", "implausible", "alike", "skewed"):
        folder = write_practice(tmp_path / kind, seed=6, salt=b"t", kinds=(kind,))
        study = tomllib.loads((folder / "study.toml").read_text(encoding="utf-8"))
        ranged = [item["id"] for item in study["characteristic"] if "plausible" in item]
        assert ranged == [entry["characteristic"] for entry in study["set_aside"]] == ["width", "height"]  # fmt: skip
        assert {entry["reason"] for entry in study["set_aside"]} == {"setting"}
        assert all(70 <= entry["last"] - entry["first"] <= 110 for entry in study["set_aside"])
        run = pd.read_csv(folder / "data" / "run.csv")
        assert (run[list(FEATURES)].isna().sum() > 0).all()


@pytest.mark.parametrize("kind", ["coil_apart", "tool_wear", "jump", "noisy_gauge"])
def test_an_index_alone_does_not_give_the_decision_away(kind: str, tmp_path: Path) -> None:
    for seed in range(3):
        folder = write_practice(
            tmp_path / str(seed), seed=seed, salt=b"t", with_salt=True, kinds=(kind,)
        )
        truth = truth_of(folder)
        about = truth["faults"][0]["about"]
        assert naive(folder)[about] == "meets" != truth["decisions"][about]
