"""A notebook begins with a characteristic that it has something of."""

from __future__ import annotations

from pathlib import Path

from linestudy import open_study
from linestudy.dossier import Evaluation, choose
from linestudy.dossier.choice_lists import Lists
from linestudy.dossier.evaluation import evaluate


def test_a_notebook_begins_with_a_characteristic_it_has_something_of(
    evaluation: Evaluation, cache: Path
) -> None:
    judged = next(item for item in evaluation.study.characteristics if item.is_attribute)
    choose(evaluation).choose(judged.id)
    other = choose(evaluation, subject="stability")
    assert evaluation.findings.of(other.characteristic, "stability")
    # That is no choice of anybody's: the one that was made is kept.
    assert choose(evaluation, subject="verdict").characteristic == judged.id


def test_a_study_of_judgements_alone_is_told_which_notebooks_are_empty(
    tmp_path: Path, cache: Path
) -> None:
    (tmp_path / "eye.csv").write_text(
        "part,who,trial,said,right\n"
        + "".join(
            f"{part},{who},{trial},{'nok' if part % 3 == 0 else 'ok'},{'nok' if part % 3 == 0 else 'ok'}\n"
            for part in range(1, 31)
            for who in ("Mara", "Jo")
            for trial in (1, 2)
        )
    )
    (tmp_path / "study.toml").write_text(
        """format = 1
[study]
title = "Burr by eye"
part = "B-1"
[[characteristic]]
id = "burr"
name = "Burr"
[[data]]
role = "attribute"
file = "eye.csv"
characteristic = "burr"
part = "part"
appraiser = "who"
trial = "trial"
judgement = "said"
reference = "right"
accept = ["ok"]
reject = ["nok"]
"""
    )
    found = evaluate(open_study(tmp_path))
    for subject, words in (
        ("stability", "no run of parts"),
        ("capability", "no readings of parts with limits"),
        ("gauges", "how a gauge reads"),
    ):
        choice = choose(found, subject=subject)
        assert words in choice.note
        # On paper too, where the lists are not.
        assert words in Lists(choice).panel._repr_mimebundle_()["text/html"]
    assert choose(found, subject="attribute").note == ""
    assert choose(found).note == ""


def test_a_study_with_a_run_is_told_nothing(evaluation: Evaluation, cache: Path) -> None:
    for subject in ("stability", "capability", "gauges"):
        assert choose(evaluation, subject=subject).note == ""
