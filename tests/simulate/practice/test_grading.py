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
        # Neither number nor place: it may have been guessed, and the sentence beside them rests on nothing.
        (3 * jump["number"], "", 2),
    ):
        reading = Reading()
        reading.add("jump", jump["about"], number, where)
        write_form(folder, "S", {}, reading)
        assert grade(folder).points == points


def decided(folder: Path, **said: tuple[str, str]) -> float:
    """Points for decisions with reasons, and nothing else on the form."""
    text = '[decision.{}]\ndecision = "{}"\nreason = "{}"\n'
    form = "".join(text.format(name, *both) for name, both in said.items())
    (folder / "decisions.toml").write_text(form, encoding="utf-8")
    return grade(folder).points


def test_a_reason_needs_a_number_of_this_study_beside_a_right_answer(folder: Path) -> None:
    jump = next(f for f in truth_of(folder)["faults"] if f["kind"] == "jump")
    about, at = jump["about"], int(jump["where"])
    right, meets = "customer approval required", "meets"
    assert truth_of(folder)["decisions"]["appearance"] == meets
    for name, decision, reason, points in (
        (about, right, f"from stroke {at:,} on the mean lies elsewhere", 3),
        (about, right, f"the mean moves by {abs(jump['number']):.3f} mm and stays", 3),
        (about, right, "it looks bad to me", 2),
        (about, right, str(at), 2),
        # Words of the trade, a criterion, a number that nobody found here.
        (about, right, "bias gauge drift jump coil 1", 2),
        (about, right, "the index is below 1.67 as asked", 2),
        (about, right, "numbers: " + " ".join(str(n) for n in range(at - 5, at + 5)), 2),
        (about, meets, f"from stroke {at:,} on the mean lies elsewhere", 0),
        ("appearance", meets, "all 40 parts were judged by three people", 3),
        ("appearance", meets, "the effectiveness is 61.3 % of all judgements", 2),
        ("record", meets, "the bins hold 0 rejects that the run lacks", 3),
    ):
        assert decided(folder, **{name: (decision, reason)}) == points, reason


def test_a_sentence_for_everything_is_the_reason_of_nothing(folder: Path) -> None:
    same = "all 40 parts and 2,400 rows are good"
    both = dict.fromkeys(("appearance", "record"), ("meets", same))
    assert decided(folder, **both) == 4
    both["record"] = ("meets", "all 2,400 rows stand there once")
    assert decided(folder, **both) == 6


def test_approval_of_what_nobody_can_know_is_half_the_way(tmp_path: Path) -> None:
    folder = write_practice(tmp_path / "p", seed=3, salt=SALT, with_salt=True, kinds=("bias",))
    fault = truth_of(folder)["faults"][0]
    said = {fault["about"]: "customer approval required"}
    reading = Reading()
    write_form(folder, "S", said, reading)
    assert grade(folder).points == 0
    reading.add("bias", fault["about"], fault["number"])
    write_form(folder, "S", said, reading)
    # Half the decision and its reason, and all of the fault.
    assert grade(folder).points == 1 + 1 + 6


def test_keywords_beside_a_fault_that_was_found_are_no_reason(folder: Path) -> None:
    jump = next(f for f in truth_of(folder)["faults"] if f["kind"] == "jump")
    points = []
    for reason in (
        "bias gauge drift jump coil 1",
        f"the mean moves by {1.1 * jump['number']:.4f} mm",
        "after about half of the run the mean lies 2.6 SD elsewhere and stays there",
    ):
        text = f'[[fault]]\nkind = "jump"\nabout = "{jump["about"]}"\nwhere = "{jump["where"]}"\n'
        text += f'number = "{jump["number"]}"\nask = "cause"\nreason = "{reason}"\n'
        (folder / "decisions.toml").write_text(text, encoding="utf-8")
        points.append(grade(folder).points)
    assert points == [6, 7, 7]


def test_a_share_may_be_written_as_one(tmp_path: Path) -> None:
    folder = write_practice(tmp_path / "p", seed=3, salt=SALT, with_salt=True, kinds=("noisy_gauge",))  # fmt: skip
    fault = truth_of(folder)["faults"][0]
    points = []
    for number in (fault["number"], fault["number"] / 100, 3.0):
        reading = Reading()
        reading.add("noisy_gauge", fault["about"], number)
        write_form(folder, "S", {}, reading)
        points.append(grade(folder).points)
    assert points[0] == points[1] == 6
    assert points[2] < 6


@pytest.mark.proof
def test_who_decides_alike_everywhere_gets_little(tmp_path: Path) -> None:
    from linestudy.simulate.practice.decision_form import DECIDED
    from linestudy.simulate.practice.kinds import DECISIONS

    for level in (2, 4):
        folder = write_practice(
            tmp_path / f"p{level}", seed=5, level=level, salt=SALT, with_salt=True
        )
        for word in DECISIONS:
            reason = "bias gauge drift jump lane coil Ppk 1.2 below 1.67"
            decided(folder, **dict.fromkeys(DECIDED, (word, reason)))
            assert grade(folder).share < 0.25, (level, word)


def test_the_honest_study_of_judgements_is_within_the_criteria() -> None:
    import numpy as np

    from linestudy.simulate.practice.line import judgements

    for seed in range(50):
        table = judgements(np.random.default_rng(seed), 20)
        wrong = table[table["judgement"] != table["reference"]]
        # AIAG MSA, 4th ed., ch. III section C: misses at most 2 %, false alarms at most 5 % (here of 40).
        assert (wrong["reference"] == "ok").all()
        assert (wrong.groupby("appraiser").size() <= 1).all()


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


def test_every_fault_is_told_with_where_it_shows(folder: Path) -> None:
    from linestudy.simulate.practice import KINDS
    from linestudy.simulate.practice.lessons import LESSONS

    assert set(LESSONS) == set(KINDS)
    found = grade(folder)
    assert {text.split(", ")[1].split(": ")[0] for text in found.lessons} == {"jump", "bias"}
    assert LESSONS["jump"] in str(found)
    assert "Where each fault shows" in found._repr_html_()
    assert "(within 25 %)" in str(found)
    assert "a sentence of 5 words or more with a number" in str(found)


@pytest.mark.parametrize(
    ("said", "true", "kind", "right"),
    [
        ("coil C3", "C3", "coil", True),
        (" c3. ", "C3", "coil", True),
        ("C3 C4", "C4", "coil", False),
        ("Lane L", "L", "lane", True),
        ("L R", "R", "lane", False),
        ("L", "R", "lane", False),
        ("stroke 1,385", "1385", "stroke", True),
        ("ca. 1 400", "1385", "stroke", True),
        ("200 or 1385", "1385", "stroke", False),
        ("", "1385", "stroke", False),
        ("coil", "C3", "coil", False),
        ("in coil C3 only", "C3", "coil", True),
        ("appraiser Ada", "Ada", "person", True),
        ("Ada (inspector)", "Ada", "person", True),
        ("Ada, Ben", "Ada", "person", False),
        ("1385.0", "1385", "stroke", True),
        ("1370 to 1400", "1385", "stroke", True),
        ("1370, 1385 and 1400", "1385", "stroke", False),
    ],
)
def test_a_place_counts_as_people_write_it_and_two_are_none(
    said: str, true: str, kind: str, right: bool
) -> None:
    from linestudy.simulate.practice.grading import _same_place

    assert _same_place(said, true, kind) is right


@pytest.mark.parametrize("seed", range(6))
def test_what_is_counted_in_a_study_is_its_truth(seed: int, tmp_path: Path) -> None:
    """The share that an inspector was drawn with is not the share that a student counts."""
    import pandas as pd

    folder = write_practice(tmp_path / "p", seed=seed, salt=SALT, kinds=("blind_inspector",))
    (fault,) = truth_of(folder, SALT)["faults"]
    told = pd.concat([pd.read_csv(one) for one in (folder / "data").glob("appearance*.csv")])
    bad = told[(told["appraiser"] == fault["where"]) & (told["reference"] == "nok")]
    assert fault["number"] == pytest.approx(100 * (bad["judgement"] == "ok").mean())
