"""What notebooks, guide, glossary, labs and the form of practice studies say keeps to the words of the document."""

from __future__ import annotations

import re
from pathlib import Path

import nbformat
import pytest
from beside import load

from linestudy.simulate.exercises.decision_questions import DECISIONS
from linestudy.simulate.practice.decision_form import empty_form
from linestudy.simulate.term_places import LAB_FILES, lab_name
from linestudy.simulate.terms import TERMS

ROOT = Path(__file__).resolve().parents[2]
#: The phrases that the document is scanned for; a notebook may name study.toml and its keys.
PHRASES = load("linestudy_test_language", ROOT / "tests/dossier/test_language.py").PHRASES
RULES = (r"\w\(s\)", r"\d%", r"\b\d+(?:\.\d+)?[eE][-+−]?\d+\b")


def prose(text: str) -> str:
    """Markdown without code and without addresses of links."""
    plain = re.sub(r"```.*?```|`[^`]*`", " ", text, flags=re.S)
    return re.sub(r"\]\([^)]*\)|<[^>]*>", "] ", plain)


def texts() -> dict[str, str]:
    """Everything that is read, by where it stands."""
    found = {}
    for file in (ROOT / "notebooks").rglob("*.ipynb"):
        if ".ipynb_checkpoints" not in file.parts:
            cells = nbformat.read(file, as_version=4).cells
            words = "\n".join(cell.source for cell in cells if cell.cell_type == "markdown")
            found[file.stem] = prose(words)
    docs = ROOT / "lib" / "docs"
    for file in (docs / "index.md", *docs.glob("guide/*.md")):
        found[f"docs {file.stem}"] = prose(file.read_text(encoding="utf-8"))
    found["glossary"] = "\n".join(f"{t.name}: {t.meaning}; {t.formula}" for t in TERMS)
    found["labs"] = "\n".join(lab_name(n + 1) for n in range(len(LAB_FILES)))
    # Of the kinds the keys are words of study.toml.
    found["form"] = re.sub(r"(?m)^#   \w+", " ", empty_form())
    found["decisions"] = "\n".join(one.text() for many in DECISIONS.values() for one in many)
    return found


SAID = texts()
#: Said of readings in study.toml's own word, which the reader is to write there.
MAY = {"implausible"}


@pytest.mark.parametrize("pattern", [*PHRASES, *RULES])
def test_words_of_the_document_stand_everywhere(pattern: str) -> None:
    found = [
        (place, " ".join(text[max(0, m.start() - 40) : m.end() + 30].split()))
        for place, text in SAID.items()
        for m in re.finditer(pattern, text)
        if text[max(0, m.start() - 2) : m.end()] not in MAY
    ]
    assert found == []


def test_the_scan_finds_what_it_looks_for() -> None:
    text = prose("The [ledger](ledger.md) of `ledger`: 10% of file(s) are set aside")
    assert [bool(re.search(p, text)) for p in ("[Ll]edger", r"\bset aside\b", *RULES)] == [
        True, True, True, True, False,
    ]  # fmt: skip
    assert text.count("ledger") == 1
