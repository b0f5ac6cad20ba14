"""The site's sources: every line of code in the guide fits the library, every command its options."""

from __future__ import annotations

import ast
import inspect
import re
import shlex
from collections import defaultdict
from pathlib import Path
from xml.etree import ElementTree

import pytest
from beside import load

import linestudy

ROOT = Path(__file__).resolve().parents[2]
GUIDE = sorted((ROOT / "lib" / "docs" / "guide").glob("*.md"))
DOCS = ROOT / "lib" / "docs"


def lines_of_code(text: str) -> list[str]:
    """Python of a page: blocks, and what stands between back quotes and begins with the package."""
    blocks = re.findall(r"```python\n(.*?)```", text, flags=re.S)
    return [*blocks, *re.findall(r"`(linestudy\.[^`]+\([^`]*\))`", text)]


def calls_that_do_not_fit(code: str) -> list[str]:
    """Calls of the library in a piece of code that it has not, or that take other arguments."""
    wrong = []
    for node in ast.walk(ast.parse(code)):
        if not isinstance(node, ast.Call):
            continue
        name = ast.unparse(node.func)
        if not name.startswith("linestudy."):
            continue
        thing: object = linestudy
        try:
            for part in name.split(".")[1:]:
                thing = getattr(thing, part)
            by_name = {k.arg: None for k in node.keywords if k.arg}
            inspect.signature(thing).bind(*[None] * len(node.args), **by_name)  # type: ignore[arg-type]
        except (AttributeError, TypeError) as error:
            wrong.append(f"{ast.unparse(node)}: {error}")
    return wrong


@pytest.mark.parametrize("page", GUIDE, ids=lambda page: page.stem)
def test_code_in_the_guide_fits_the_library(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    assert [w for code in lines_of_code(text) for w in calls_that_do_not_fit(code)] == []


def test_code_that_does_not_fit_would_be_seen() -> None:
    assert calls_that_do_not_fit("linestudy.gauges.no_such(data)")
    assert calls_that_do_not_fit('linestudy.gauges.grr_anova(data, parts="x")')
    assert calls_that_do_not_fit("linestudy.plan.sample_size(true_index=2.0, required=1.67)") == []


def test_the_chart_of_studies_has_a_line_of_code_for_each_branch() -> None:
    text = (ROOT / "lib/docs/guide/which_study.md").read_text(encoding="utf-8")
    rows = [line for line in text.splitlines() if line.startswith("|") and "---" not in line]
    branches = [row for row in rows if not re.search(r"\| code \|", row)]
    assert len(branches) > 20
    assert all("`linestudy." in row for row in branches)


def test_the_chart_is_drawn_from_the_tables_of_its_page() -> None:
    chart = load("linestudy_docs_chart", DOCS / "chart.py")
    asked = chart.questions(chart.PAGE.read_text(encoding="utf-8"))
    assert len(asked) == 4
    text = chart.CHART.read_text(encoding="utf-8")
    assert text == chart.drawn(asked), "draw it again: python lib/docs/chart.py"
    said = " ".join(ElementTree.fromstring(text).itertext())
    for question in asked:
        assert question.text in said
        assert question.branches
        for branch in question.branches:
            assert branch.study in said
            # A long line of code goes on in the next one.
            assert branch.code.split("(")[0] in said
            assert calls_that_do_not_fit(branch.code) == []
    # A branch that is added to a table is one more in the chart.
    more = chart.PAGE.read_text("utf-8").replace(
        "| several streams |",
        "| a b c | d e f | `linestudy.open_study(folder)` |\n| several streams |",
    )
    assert "d e f" in chart.drawn(chart.questions(more))


@pytest.mark.parametrize("page", GUIDE, ids=lambda page: page.stem)
def test_commands_in_the_guide_are_understood(page: Path) -> None:
    from linestudy.options import parser

    known = parser(defaultdict(lambda: print), "0")
    text = page.read_text(encoding="utf-8")
    found = re.findall(r"^(linestudy .*)$", text, flags=re.M)
    found += re.findall(
        r"`(linestudy (?:sheet|new|check|dossier|recompute|practice|grade|log) [^`]+)`", text
    )
    for command in found:
        assert vars(known.parse_args(shlex.split(command)[1:])), command


def test_every_notebook_named_in_the_guide_is_there() -> None:
    named = {
        (page.name, folder, stem)
        for page in GUIDE
        for folder, stem in re.findall(
            r"`(submission|audit|learning)/(\w+)`", page.read_text("utf-8")
        )
    }
    assert named
    for page_name, folder, stem in named:
        assert list((ROOT / "notebooks" / folder).glob(f"{stem}.ipynb")), (page_name, stem)


def test_links_of_pages_taken_from_elsewhere_stay_within_the_site(tmp_path: Path) -> None:
    taken = load("linestudy_docs_taken", DOCS / "taken.py")
    for name in taken.PAGES:
        assert (ROOT / name).is_file(), name
    source = tmp_path / "source"
    target = source / "proof" / "report.md"
    target.parent.mkdir(parents=True)
    said = taken.relinked(
        "[a](OPERATING.md#x) [b](../../lib/README.md) [c](https://example.org) [d](../../lib/CHANGELOG.md)",
        ROOT, ROOT / "tests/proof/REPORT.md", target, source,
    )  # fmt: skip
    assert said == "[a](../proof/operating.md#x) b [c](https://example.org) [d](../changes.md)"


def test_a_dead_link_is_found(tmp_path: Path) -> None:
    dead_links = load("linestudy_docs_links", DOCS / "links.py").dead_links

    (tmp_path / "a.html").write_text(
        '<h1 id="here"></h1><a href="#here"></a><a href="b.html#no"></a><img src="no.png"><a href="https://x.org"></a>'
    )
    (tmp_path / "b.html").write_text('<a href="a.html#here"></a>')
    assert dead_links(tmp_path) == ["a.html: b.html#no", "a.html: no.png"]
