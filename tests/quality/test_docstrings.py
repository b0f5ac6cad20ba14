"""Examples in docstrings run, and public names are documented."""

from __future__ import annotations

import doctest
import importlib
import inspect
import pkgutil
import re
from pathlib import Path

import pytest
from packages import PACKAGES

import linestudy

FLAGS = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE | doctest.IGNORE_EXCEPTION_DETAIL
MODULES = sorted(
    name
    for _, name, _ in pkgutil.walk_packages(linestudy.__path__, "linestudy.")
    if not name.endswith("__main__")
)


@pytest.mark.parametrize("name", MODULES)
def test_examples_run(name: str) -> None:
    module = importlib.import_module(name)
    # What a package hands out has its example run where it is written, among the names it uses.
    handed_out = getattr(module, "__all__", ()) if hasattr(module, "__path__") else ()
    result = doctest.DocTestRunner(optionflags=FLAGS)
    for one in doctest.DocTestFinder().find(module, module.__name__):
        if one.name.removeprefix(f"{name}.") not in handed_out:
            result.run(one)
    assert result.failures == 0


def public_names() -> list[str]:
    return [
        f"{room}.{name}"
        for room in PACKAGES
        for name in importlib.import_module(f"linestudy.{room}").__all__
    ]


@pytest.mark.parametrize("name", public_names())
def test_public_names_are_documented(name: str) -> None:
    room, attribute = name.split(".")
    thing = getattr(importlib.import_module(f"linestudy.{room}"), attribute)
    if inspect.ismodule(thing) or not callable(thing):
        return
    doc = inspect.getdoc(thing) or ""
    assert len(doc.split()) > 4, f"{name} has no docstring"
    if inspect.isfunction(thing) and inspect.signature(thing).parameters:
        assert "Parameters" in doc, f"{name} does not describe its arguments"
        assert "Returns" in doc or "Yields" in doc, f"{name} does not say what it returns"


#: Words that begin a summary which names a thing instead of saying what the function does: articles, questions, plurals.
NO_VERB = re.compile(
    r"A|All|An|Both|By|Each|Every|Everything|How|It|Least|Most|Never|No|One|That|The|Three|Two|What|When|Where|Whether|Which|Who"
    r"|Whom|Whose|Why|With|Without|(?!Address|Assess|Compress|Express|Guess|Pass|Process|Regress)\w+s"
)


def test_summaries_begin_with_a_verb(root: Path) -> None:
    """Hold what PEP 257 asks of functions; properties are named after what they are."""
    found = []
    for file in sorted((root / "lib" / "linestudy").rglob("*.py")):
        # Line by line: to parse all modules takes twenty times as long.
        head, named = "", False
        for line in file.read_text(encoding="utf-8").splitlines():
            text = line.lstrip()
            if text.startswith("@") and "property" in text:
                named = True
            elif text.startswith(("def ", "class ")):
                head, named = ("" if named or text.startswith("class ") else text), False
            elif head and text.startswith(('"""', 'r"""')):
                word = text.lstrip('r"').split(" ")[0].strip('.,:;"')
                if NO_VERB.fullmatch(word):
                    found.append(f"{file.name} {head[:60]} {text[:100]}")
                head = ""
            elif text and not line.endswith((",", "(", ":")):
                # The body has begun without a docstring.
                head = ""
    assert found == []
