"""Cautions of runs and distributions: each has one destination, and every condition says what it asks for."""

from __future__ import annotations

from linestudy.dossier.content.cautions.of_processes import OF_PROCESSES


def test_patterns_are_listed_once() -> None:
    patterns = [kind.pattern for kind in OF_PROCESSES]
    assert len(patterns) == len(set(patterns))


def test_a_condition_has_words_of_its_own_and_asks_for_something() -> None:
    asked = [kind for kind in OF_PROCESSES if kind.goes == "condition"]
    assert asked
    assert all(kind.words and kind.asks for kind in asked)
