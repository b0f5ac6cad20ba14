"""The glossary as a table and as a page: every term once, in order, its text escaped, its links those of labs that exist."""

from __future__ import annotations

import html
import re
from importlib import import_module
from pathlib import Path

import pytest

from linestudy.simulate.term_pages import Glossary, glossary, show_glossary
from linestudy.simulate.term_places import PLACES
from linestudy.simulate.terms import TERMS, Term


def test_the_table_has_every_term_once_in_the_order_of_the_alphabet() -> None:
    table = glossary()
    assert table["term"].tolist() == sorted(term.name for term in TERMS)
    assert table["term"].is_unique
    assert list(table) == [
        "term",
        "symbol",
        "meaning",
        "formula",
        "function",
        "lab",
        "test",
        "source",
    ]
    # Nothing but text, and no meaning left out.
    assert all(isinstance(cell, str) for cell in table.to_numpy().ravel())
    assert (table["meaning"] != "").all()


def test_functions_that_are_named_are_there() -> None:
    for named in filter(None, glossary()["function"]):
        every = re.findall(r"[a-z_]+(?:\.[a-z_]+)+", named)
        assert every, named
        for each in every:
            module, _, name = each.rpartition(".")
            module = module if module.startswith("linestudy") else f"linestudy.{module}"
            assert hasattr(import_module(module), name), each


@pytest.mark.proof
def test_links_of_the_page_lead_to_notebooks_that_exist(root: Path) -> None:
    page = show_glossary()._repr_html_()
    links = set(re.findall(r'href="([^"]+)"', page))
    assert links
    names = {path.name for path in root.rglob("*.ipynb")}
    assert {Path(link).name for link in links} <= names
    assert page.count("<tr>") == len(TERMS) + 1
    for number in {lab for place in PLACES.values() for lab in place.labs}:
        assert str(number) in "".join(glossary()["lab"])


def test_what_stands_in_a_term_is_text_on_the_page() -> None:
    known = TERMS[0]
    odd = (
        Term(**{**known.__dict__, "meaning": "<script>a & b</script>"})
        if hasattr(known, "__dict__")
        else None
    )
    if odd is None:
        from dataclasses import replace

        odd = replace(known, meaning="<script>a & b</script>")
    page = Glossary((odd,))._repr_html_()
    assert "<script>" not in page
    assert html.escape("<script>a & b</script>") in page


def test_printed_it_is_a_line_for_each_term() -> None:
    lines = str(show_glossary()).splitlines()
    assert len(lines) == len(TERMS)
    assert all(": " in line for line in lines)
