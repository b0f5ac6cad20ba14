"""What was measured of the sample study's document stays: pages, their fill, words, lettering, cautions by class."""

from __future__ import annotations

from pathlib import Path

import pytest
from beside import load

from linestudy.dossier.content.cautions.destinations import conditions
from linestudy.dossier.evaluation import Evaluation

measuring = load("document_figures", Path(__file__).with_name("document_figures.py"))


@pytest.fixture(scope="module")
def figures(dossier: Path) -> measuring.Figures:
    return measuring.measure(dossier / "data/dossier.pdf")


def test_the_report_is_short_and_its_pages_are_full(figures: measuring.Figures) -> None:
    assert figures.report <= 20
    assert figures.half_empty == ()
    assert sum(figures.fill) / len(figures.fill) > 0.8


def test_lettering_is_large_enough_to_read(figures: measuring.Figures) -> None:
    assert pytest.approx(figures.smallest, abs=0.03) == 7.0 or figures.smallest > 7.0


def test_the_report_does_not_grow(figures: measuring.Figures) -> None:
    assert figures.words < 10_500
    assert figures.numbers < 2_500


def test_few_cautions_ask_the_customer_for_something(evaluation: Evaluation) -> None:
    asked = {
        text
        for about in (None, *(item.id for item in evaluation.study.characteristics))
        for text in conditions(evaluation, about)
    }
    assert 0 < len(asked) <= 15


def test_a_page_with_little_on_it_is_found(starter_dossier: Path) -> None:
    found = measuring.measure(starter_dossier / "data/dossier.pdf")
    assert min(found.fill) < 0.6
    thin = measuring.Figures((1.0, 0.3, 0.9, 0.9), 3, 1, 1, 7.0)
    assert thin.half_empty == (2,)
