"""A notebook begins with a characteristic that it has something of."""

from __future__ import annotations

from pathlib import Path

from linestudy.dossier import Evaluation, choose


def test_a_notebook_begins_with_a_characteristic_it_has_something_of(
    evaluation: Evaluation, cache: Path
) -> None:
    judged = next(item for item in evaluation.study.characteristics if item.is_attribute)
    choose(evaluation).choose(judged.id)
    other = choose(evaluation, subject="stability")
    assert evaluation.findings.of(other.characteristic, "stability")
    # That is no choice of anybody's: the one that was made is kept.
    assert choose(evaluation, subject="verdict").characteristic == judged.id
