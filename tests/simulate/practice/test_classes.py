"""A class is graded whole, whatever single forms look like."""

from __future__ import annotations

import shutil
from pathlib import Path

from practice_students import expert

from linestudy.simulate.practice import faults_of_class, grade_class, truth_of, write_practice

SALT = b"class"


def test_a_class_of_five_of_whom_four_need_a_look(tmp_path: Path) -> None:
    seeds = {name: place for place, name in enumerate(("Ada", "Ben", "Cem", "Dia", "Eve"), start=1)}
    for name, seed in seeds.items():
        write_practice(tmp_path / name, seed=seed, salt=SALT)
        expert(tmp_path / name)
    # Ben's form has an open quote; Cem hands in Ada's folder; Dia mends a file; Eve copies Dia's sentences.
    form = tmp_path / "Ben" / "decisions.toml"
    form.write_text(form.read_text(encoding="utf-8") + '\nnote = "open\n', encoding="utf-8")
    shutil.rmtree(tmp_path / "Cem")
    shutil.copytree(tmp_path / "Ada", tmp_path / "Cem")
    with (tmp_path / "Dia" / "data" / "run.csv").open("a", encoding="utf-8") as file:
        file.write("\n")
    said = 'reason = "the index of all parts is 2.41 and nothing moves"'
    for name in ("Dia", "Eve"):
        form = tmp_path / name / "decisions.toml"
        lines = form.read_text(encoding="utf-8").splitlines()
        for about in ("width", "burr"):
            lines[lines.index(f"[decision.{about}]") + 2] = said.replace("all parts", about)
        form.write_text("\n".join(lines), encoding="utf-8")
    table, grades = grade_class(tmp_path, seeds, SALT)
    look = dict(zip(table["student"], table["to look at"], strict=True))
    assert list(grades) == ["Ada", "Cem", "Dia", "Eve"]
    assert look["Ada"] == "same sentences as Cem"
    assert look["Ben"].startswith("decisions.toml: ")
    assert look["Cem"] == "the study of seed 1, not the one of seed 3; same sentences as Ada"
    assert look["Dia"] == "changed: run.csv; same sentences as Eve"
    assert look["Eve"] == "same sentences as Dia"
    assert table["share"].tolist()[:3] == ["100 %", "–", "100 %"]


def test_an_honest_class_needs_no_look(tmp_path: Path) -> None:
    seeds = {"Ada": 1, "Ben": 2}
    for name, seed in seeds.items():
        write_practice(tmp_path / name, seed=seed, level=2, salt=SALT)
        expert(tmp_path / name)
    table, _ = grade_class(tmp_path, seeds, SALT)
    assert table["to look at"].tolist() == ["", ""]
    faults = faults_of_class(tmp_path, list(seeds), SALT)
    for name, own in faults.groupby("student"):
        assert own["kind"].tolist() == [
            fault["kind"] for fault in truth_of(tmp_path / str(name), SALT)["faults"]
        ]
    assert set(faults["student"]) == set(seeds)
