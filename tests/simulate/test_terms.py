"""The glossary holds the terms that findings show, each with its meaning and source."""

from __future__ import annotations

import re
from pathlib import Path

from linestudy.simulate import glossary, show_glossary


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


def test_the_page_leads_from_a_term_to_its_labs(root: Path) -> None:
    learning = root / "notebooks" / "learning"
    page = show_glossary()._repr_html_()
    links = re.findall(r'href="([^"]+)"', page)
    assert len(links) > 30
    assert all((learning / link).is_file() for link in links)
    row = next(line for line in page.split("<tr>") if "<b>guard band" in line)
    for words in ("16_guard_band.ipynb", "gauges.conformity_risk", "tests/gauges/budget/"):
        assert words in row
    # Nobody reads prose that is set against the right edge.
    assert "right" not in re.sub(r">[^<]*<", "><", page)


def test_no_formula_leaves_open_what_it_divides_by() -> None:
    assert not [
        formula for formula in glossary()["formula"] if "/ 6 s" in formula or "/ 3 s" in formula
    ]
