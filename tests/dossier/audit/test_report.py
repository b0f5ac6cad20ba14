"""What an auditor reads: short first, everything in the details, and no finding without a word."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest

from linestudy.dossier.audit.numbers import Difference
from linestudy.dossier.audit.report import RecomputeReport

GOOD = RecomputeReport((), {"shape": 1200, "capability": 300}, (), pictures=True)
OFF = Difference("characteristics.a.shape.mean", "6.1", "6.2", 0.0161)
FAR = Difference("characteristics.a.capability.Ppk.low", "1.2", "1.8", 0.333)


def test_what_agrees_says_so_with_how_much_was_held() -> None:
    assert GOOD.agrees
    assert str(GOOD).splitlines() == [
        "Everything agrees.",
        "1,500 values recomputed from the inputs; page, PDF and workbook set anew from them; every file and every sum held.",
    ]
    earlier = dataclasses.replace(GOOD, documents_held=False)
    assert "page" not in str(earlier)
    undrawn = dataclasses.replace(GOOD, pictures=False)
    assert str(undrawn).splitlines()[-1].startswith("Pictures were not drawn again")


@pytest.mark.parametrize(
    "changes",
    [
        {"damaged": ("data/run.csv was changed",)},
        {"differences": (OFF,)},
        {"documents": ("index.html: holds “6.2”, written anew “6.1”",)},
        {"decisions": ("Width: meets, recomputed does not meet",)},
        {"unexplained": 1},
    ],
)
def test_whatever_is_found_is_no_agreement(changes: dict[str, object]) -> None:
    found = dataclasses.replace(GOOD, **changes)  # type: ignore[arg-type]
    assert not found.agrees
    assert str(found).startswith("Not everything agrees: ")


def test_what_accuses_nobody_is_agreement() -> None:
    seen = dataclasses.replace(GOOD, remarks=("numpy 2.1 there, 2.2 here",))
    assert seen.agrees
    assert "remark: numpy 2.1 there, 2.2 here" in str(seen)


def test_the_largest_difference_and_each_decision_come_first() -> None:
    found = dataclasses.replace(
        GOOD, differences=(OFF, FAR), decisions=("Width: meets, recomputed does not meet",)
    )
    text = str(found)
    assert "2 of 1,500 values differ, most of all characteristics.a.capability.Ppk.low: " in text
    assert "1.2 recorded, 1.8 recomputed (relative 0.33)" in text
    assert "Decision: Width: meets, recomputed does not meet" in text
    assert "No decision changes." in str(dataclasses.replace(found, decisions=()))
    assert "All 1,500 values agree." in str(dataclasses.replace(found, differences=()))


def test_the_short_form_shows_three_of_a_kind_and_the_details_all() -> None:
    lines = tuple(f"index.html: line {k}" for k in range(7))
    found = dataclasses.replace(GOOD, documents=lines, differences=(OFF, FAR))
    assert sum(line.startswith("document: index.html") for line in str(found).splitlines()) == 3
    assert "document: … and 4 more" in str(found)
    details = found.details()
    assert all(f"document: {line}" in details for line in lines)
    assert "shape: 1,199 of 1,200 values agree" in details
    assert "capability: 299 of 300 values agree" in details
    assert f"differs: {OFF.place}: 6.1 recorded, 6.2 recomputed (relative 0.016)" in details


def test_files_are_named_once_and_what_is_no_file_is_the_bag() -> None:
    found = RecomputeReport(
        (
            "data/run.csv was changed",
            "data/run.csv is missing",
            "the bag's size is not as recorded",
        ),
        {},
        (OFF,),
        documents=("index.html: x", "dossier.pdf: y"),
    )
    names = ("run.csv", "the bag", "results.json", "index.html", "dossier.pdf")
    assert found.files() == names


def test_it_is_written_as_it_is_read(tmp_path: Path) -> None:
    hostile = dataclasses.replace(GOOD, damaged=("data/\ud800.csv was added",))
    for report in (GOOD, hostile):
        file = report.write(tmp_path / "report.txt")
        assert file.read_bytes().decode("utf-8").startswith(str(report).splitlines()[0][:20])
