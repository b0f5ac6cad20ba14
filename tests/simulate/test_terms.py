"""The glossary holds the terms that findings show, each with its meaning and source."""

from __future__ import annotations

from pathlib import Path

from linestudy.simulate import glossary
from linestudy.simulate.terms import LABS


def test_the_glossary_holds_what_findings_show() -> None:
    symbols = set(glossary()["symbol"])
    assert symbols >= {
        "Pp",
        "Ppk",
        "Cp",
        "Cpk",
        "Cpm",
        "ndc",
        "GRR",
        "Cg",
        "Cgk",
        "Q_MP",
        "kappa",
        "ppm",
    }
    assert (glossary()[["term", "meaning", "source"]] != "").all(axis=None)


def test_a_term_stands_once() -> None:
    assert glossary()["term"].is_unique


def test_a_lab_that_is_named_is_there(root: Path) -> None:
    terms = dict(zip(glossary()["term"], glossary()["lab"], strict=True))
    for name, labs in LABS.items():
        assert terms[name] == labs
        for number in labs.split(", "):
            assert list((root / "notebooks" / "learning").glob(f"{number}_*.ipynb")), (name, number)


def test_no_formula_leaves_open_what_it_divides_by() -> None:
    assert not [
        formula for formula in glossary()["formula"] if "/ 6 s" in formula or "/ 3 s" in formula
    ]
