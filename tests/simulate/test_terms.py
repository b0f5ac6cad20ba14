"""The glossary holds the terms that findings show, each with its meaning and source."""

from __future__ import annotations

from linestudy.simulate import glossary


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
