"""BESIDE.md holds what is measured today of the kit's own docstrings and signatures."""

from __future__ import annotations

import re
from pathlib import Path
from types import ModuleType

import pytest
from beside import load

HERE = Path(__file__).parent
#: Least shares of public functions that are held; none may fall.
LEAST = {
    "a section of references": 0.75,
    "a formula in math": 0.6,
    "says when it misleads": 0.7,
    "a keyword-only argument": 0.75,
}
#: Shares that stay at nought.
NONE = (
    "PR07: a parameter has no description",
    "RT03: what is returned has none",
    "SA01: no See Also",
    "EX01: no example",
    "a parameter that is a name and a type alone",
)


@pytest.fixture(scope="module")
def counting() -> ModuleType:
    return load("linestudy_quality_beside", HERE / "beside_others.py")


def test_the_page_says_what_is_counted(counting: ModuleType) -> None:
    ours = counting.measured(counting.ours())
    page = (HERE / "BESIDE.md").read_text(encoding="utf-8")
    for name, share in ours.items():
        stated = re.search(rf"^\| {re.escape(name)} \| (\d+)% \|", page, re.M)
        assert stated is not None, name
        # New functions come and go; a share that moved by more is measured anew.
        assert abs(share - int(stated.group(1)) / 100) < 0.05, name
    assert {name: ours[name] for name in NONE} == dict.fromkeys(NONE, 0.0)
    for name, least in LEAST.items():
        assert ours[name] >= least, name
    took, drew = counting.pictures_into_axes()
    assert took >= 0.75 * drew


def test_what_is_missing_is_counted(counting: ModuleType) -> None:
    doc = "Sum up.\n\nParameters\n----------\nx : float\ny : float\n    In mm.\n\nReturns\n-------\nfloat\n"
    assert counting.bare(doc) == (1, 2)
    assert counting.section(doc, "References") == ""
    assert counting.section(doc, "Returns").strip() == "float"
