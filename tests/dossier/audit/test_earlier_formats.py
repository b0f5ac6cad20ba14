"""Dossiers of format 1: their numbers are found under today's names."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from linestudy.dossier.audit.earlier_formats import RENAMED, compare_earlier, is_earlier, today
from linestudy.dossier.audit.recomputation import audit
from linestudy.dossier.evaluation import Evaluation


def test_a_place_may_be_renamed_above_and_below() -> None:
    renamed = (
        ("characteristics.*.steps", "characteristics.*.change_points"),
        (
            "characteristics.*.change_points.steps.*.at",
            "characteristics.*.change_points.found.*.order",
        ),
    )
    path = ("characteristics", "a", "steps", "steps", 3, "at")
    assert today(path, renamed) == ("characteristics", "a", "change_points", "found", 3, "order")
    assert today(("characteristics", "a", "wear", "n"), renamed) == (
        "characteristics",
        "a",
        "wear",
        "n",
    )


def test_no_renaming_ends_in_a_circle() -> None:
    for old, _ in RENAMED:
        path = tuple(0 if part == "*" else part for part in old.split("."))
        assert today(path) != path


def test_the_same_numbers_under_an_earlier_format_agree(
    starter: Evaluation, starter_dossier: Path
) -> None:
    recorded = json.loads((starter_dossier / "data" / "results.json").read_text(encoding="utf-8"))
    assert not is_earlier(recorded)
    recorded["format"] = 1
    found, remarks = compare_earlier(recorded, json.loads(json.dumps(starter.results())))
    assert found.differences == []
    assert sum(found.compared.values()) > 1000
    assert "earlier format" in remarks[0]


def test_an_earlier_dossier_is_recomputed_and_a_changed_number_named(
    starter: Evaluation, starter_dossier: Path, tmp_path: Path
) -> None:
    import shutil

    place = Path(shutil.copytree(starter_dossier, tmp_path / "old"))
    file = place / "data" / "results.json"
    recorded = json.loads(file.read_text(encoding="utf-8"))
    recorded["format"] = 1
    file.write_text(json.dumps(recorded), encoding="utf-8")
    report = audit(place, starter)
    assert report.agrees
    assert "every sum held" in str(report)
    key = next(iter(recorded["characteristics"]))
    recorded["characteristics"][key]["capability"]["Ppk"]["estimate"] += 0.01
    file.write_text(json.dumps(recorded), encoding="utf-8")
    report = audit(place, starter)
    assert not report.agrees
    assert report.differences[0].place == f"characteristics.{key}.capability.Ppk.estimate"


@pytest.mark.parametrize("value", [None, [], {}, {"format": "1"}, {"format": 3}])
def test_what_is_no_earlier_format(value: object) -> None:
    assert not is_earlier(value)
