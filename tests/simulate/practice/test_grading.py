"""Points for what is right, none for what is not, and something off for what is not there."""

from __future__ import annotations

from pathlib import Path

import pytest
from practice_students import Reading, expert, write_form

from linestudy.results import InputError
from linestudy.simulate.practice import grade, truth_of, write_practice

SALT = b"t"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return write_practice(tmp_path / "p", seed=8, salt=SALT, with_salt=True, kinds=("jump", "bias"))


def test_an_empty_form_is_worth_nothing(folder: Path) -> None:
    found = grade(folder)
    assert found.points == 0
    # Five decisions with reasons, a fault with a place, a fault without.
    assert found.of == 5 * 3 + 7 + 6
    assert "jump" in str(found)
    assert "<table>" in found._repr_html_()


def test_everything_named_is_no_way_to_points(folder: Path) -> None:
    from linestudy.simulate.practice import KINDS

    reading = Reading()
    for kind, one in KINDS.items():
        for about in one.about:
            reading.add(kind, about, 1.0)
    write_form(folder, "Guesser", {}, reading)
    assert grade(folder).points == 0


def test_each_part_of_an_answer_counts_by_itself(folder: Path) -> None:
    jump = next(f for f in truth_of(folder)["faults"] if f["kind"] == "jump")
    for number, where, points in (
        (jump["number"], int(jump["where"]) + 50, 7),
        (-jump["number"], jump["where"], 6),
        (jump["number"], int(jump["where"]) + 500, 6),
        (3 * jump["number"], "", 5),
    ):
        reading = Reading()
        reading.add("jump", jump["about"], number, where)
        write_form(folder, "S", {}, reading)
        assert grade(folder).points == points


def test_a_reason_needs_a_sentence_with_a_number_beside_a_right_answer(folder: Path) -> None:
    text = '[decision.burr]\ndecision = "{}"\nreason = "{}"\n'
    good = "the bias on the masters is 0.012 mm"
    right = truth_of(folder)["decisions"]["burr"]
    wrong = "cannot be judged" if right != "cannot be judged" else "meets"
    for decision, reason, points in (
        (right, good, 3),
        (right, "it looks bad to me", 2),
        (right, "0.012", 2),
        (wrong, good, 0),
    ):
        (folder / "decisions.toml").write_text(text.format(decision, reason), encoding="utf-8")
        assert grade(folder).points == points


def test_changed_data_are_told(folder: Path) -> None:
    expert(folder)
    file = folder / "data" / "bins.csv"
    file.write_text(file.read_text() + "\n")
    assert grade(folder).changed == ("bins.csv",)


def test_a_teachers_study_needs_the_teachers_file(tmp_path: Path) -> None:
    folder = write_practice(tmp_path / "p", seed=1, salt=SALT)
    with pytest.raises(InputError, match="sealed by a teacher"):
        grade(folder)
    assert grade(folder, salt=SALT).points == 0
    with pytest.raises(InputError, match="does not open"):
        grade(folder, salt=b"other")
    with pytest.raises(InputError, match="no practice study"):
        grade(tmp_path)
