"""Every term of the trade has the function, labs and test that its place names."""

from __future__ import annotations

from pathlib import Path

import linestudy
from linestudy.simulate.term_places import LAB_FILES, PLACES
from linestudy.simulate.terms import TERMS

ROOT = Path(__file__).resolve().parents[2]
LEARNING = ROOT / "notebooks" / "learning"


def test_each_term_has_one_place_and_what_it_names_is_there() -> None:
    assert list(PLACES) == [term.name for term in TERMS]
    for place in PLACES.values():
        if place.function:
            package, _, name = place.function.partition(".")
            assert callable(getattr(getattr(linestudy, package), name)), place
        assert not place.test or (ROOT / place.test).is_file(), place
        assert all(1 <= number <= len(LAB_FILES) for number in place.labs)
    # A term with neither is a word of conversation; they are few.
    assert sum(not (place.function or place.labs) for place in PLACES.values()) <= 3
    assert sum(not place.test for place in PLACES.values()) <= 1


def test_labs_are_called_as_their_notebooks() -> None:
    names = sorted(LEARNING.glob("[0-9]*.ipynb"), key=lambda file: int(file.stem.split("_")[0]))
    assert tuple(file.stem for file in names) == LAB_FILES
    assert [int(name.split("_")[0]) for name in LAB_FILES] == list(range(1, len(LAB_FILES) + 1))


def test_a_term_leads_to_each_lab() -> None:
    shown = {number for place in PLACES.values() for number in place.labs}
    assert shown == set(range(1, len(LAB_FILES) + 1))
