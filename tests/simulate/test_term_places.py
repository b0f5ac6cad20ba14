"""Every term of the trade has the function, lab and test that its places name."""

from __future__ import annotations

from pathlib import Path

import linestudy
from linestudy.simulate.term_places import FUNCTIONS, TESTS
from linestudy.simulate.terms import LABS, TERMS

ROOT = Path(__file__).resolve().parents[2]


def test_each_term_has_its_places() -> None:
    names = {term.name for term in TERMS}
    assert set(FUNCTIONS) | set(TESTS) | set(LABS) <= names
    for place in FUNCTIONS.values():
        package, _, name = place.partition(".")
        assert callable(getattr(getattr(linestudy, package), name)), place
    for file in TESTS.values():
        assert (ROOT / file).is_file(), file
    for numbers in LABS.values():
        for number in numbers.split(","):
            assert list((ROOT / "notebooks/learning").glob(f"{number.strip()}_*.ipynb")), number
    # A term with neither is a word of conversation; they are few.
    assert len(names - set(FUNCTIONS) - set(LABS)) <= 3
