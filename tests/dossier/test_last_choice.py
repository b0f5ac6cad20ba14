"""What was chosen last is where the next notebook begins; the environment may say otherwise."""

from __future__ import annotations

from pathlib import Path

import pytest

from linestudy.dossier import Evaluation, choose


def test_the_next_notebook_begins_with_what_was_chosen(evaluation: Evaluation, cache: Path) -> None:
    first = choose(evaluation)
    assert first.characteristic == evaluation.study.characteristics[0].id
    assert not list(cache.iterdir())
    wanted = next(item.id for item in evaluation.study.characteristics if item.upper == 0.08)
    first.choose(wanted, first.streams()[-1])
    again = choose(evaluation, subject="stability")
    assert (again.characteristic, again.stream) == (wanted, first.streams()[-1])
    # Before anything is evaluated no stream is known, the characteristic is.
    assert choose(evaluation.study).characteristic == wanted
    next(cache.glob("*.choice")).write_text("[1")
    assert choose(evaluation).characteristic == evaluation.study.characteristics[0].id


def test_the_environment_names_what_to_begin_with_and_keeps_nothing(
    evaluation: Evaluation, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    wanted = evaluation.study.characteristics[2].id
    for told, begun in ((wanted, wanted), ("", evaluation.study.characteristics[0].id)):
        monkeypatch.setenv("LINESTUDY_CHOICE", told)
        found = choose(evaluation)
        assert found.characteristic == begun
        found.choose(evaluation.study.characteristics[1].id)
        assert not list(cache.iterdir())


def test_a_choice_is_no_part_of_working_papers() -> None:
    from linestudy.dossier import last_choice, working_papers

    assert working_papers.CHOICE == last_choice.VARIABLE
