"""A study through the packages: what breaks off is told in its place, and what nothing has read is listed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from linestudy.dossier import evaluation as module
from linestudy.dossier.evaluation import Evaluation, kit_versions
from linestudy.records import Records
from linestudy.results import Findings, Unjudged
from linestudy.study import open_study

STUDY = """format = 1
[study]
title = "T"
part = "P"
[[characteristic]]
id = "w"
name = "Width"
lower = 0.0
upper = 1.0
[[characteristic]]
id = "v"
name = "Height"
lower = 0.0
upper = 1.0
[[gauge]]
id = "cam"
name = "Camera"
[[gauge]]
id = "cmm"
name = "CMM"
[[data]]
role = "run"
file = "run.csv"
columns = { w = "W", v = "V" }
[[data]]
role = "run"
file = "run2.csv"
columns = { w = "W" }
[[data]]
role = "reference"
gauge = "cam"
file = "masters.csv"
reference = "R"
columns = { w = "W" }
[[data]]
role = "paired"
gauges = ["cam", "cmm"]
part = "P"
file = "pairs.csv"
columns = { w = ["A", "B"] }
"""


@pytest.fixture
def study(tmp_path: Path) -> Any:
    (tmp_path / "study.toml").write_text(STUDY, encoding="utf-8")
    return open_study(tmp_path)


def found_at(study: Any, *places: tuple[str, ...]) -> Evaluation:
    findings = Findings()
    for key, *path in places:
        findings.add(key, tuple(path), Unjudged("Method", "Why."))
    records: Any = None
    return Evaluation(study, records, findings)


def test_what_no_method_has_read_is_listed_once(study: Any) -> None:
    assert found_at(study).not_evaluated() == (
        ("w", "run", ""),
        ("v", "run", ""),
        ("w", "reference", "cam"),
        ("w", "paired", "cam~cmm"),
    )


def test_a_finding_anywhere_it_may_stand_will_do_and_one_of_another_will_not(study: Any) -> None:
    """A reason why a method says nothing is a finding too: the file was read."""
    read = found_at(
        study,
        ("w", "stability", "chart"),
        ("v", "capability"),
        ("w", "gauges", "cam", "cg_cgk"),
        ("w", "agreement", "cam~cmm"),
    )
    assert read.not_evaluated() == ()
    other = found_at(
        study,
        ("w", "shape"),
        ("v", "capability"),
        ("w", "gauges", "cmm", "bias"),
        ("w", "agreement", "cmm~cam"),
    )
    assert [entry[1] for entry in other.not_evaluated()] == ["run", "reference", "paired"]


def breaks() -> Findings:
    np.linalg.inv(np.zeros((2, 2)))
    return Findings()


def test_a_package_that_breaks_off_is_told_for_every_characteristic(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("LINESTUDY_STRICT", "0")
    found = module._or_unjudged("shape", ["w", "v"], breaks)
    for key in ("w", "v"):
        told = found.get(key, "shape")
        assert told is not None
        assert told.statement.startswith("Distribution: cannot be judged. It could not be computed")
    # Without a verdict there is no submission.
    with pytest.raises(np.linalg.LinAlgError):
        module._or_unjudged("verdict", ["w"], breaks)


def test_a_mistake_of_the_programmer_comes_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LINESTUDY_STRICT", "0")

    def wrong() -> Findings:
        raise KeyError("x")

    with pytest.raises(KeyError):
        module._or_unjudged("shape", ["w"], wrong)


def test_time_is_added_up_for_each_package() -> None:
    evaluation = Evaluation(*[None] * 2, Findings())  # type: ignore[arg-type]
    for key, seconds in (("w", 1.5), ("v", 2.0)):
        found = Findings()
        found.add(key, ("shape",), Unjudged("Shape", "Why."))
        evaluation.add("shape", found, seconds)
    assert evaluation.timings == {"shape": 3.5}
    assert len(evaluation.findings) == 2


def test_an_auditor_names_the_versions_of_the_author() -> None:
    records: Any = None
    here = Evaluation(records, records, Findings())
    assert here.versions == kit_versions()
    there = Evaluation(records, records, Findings(), kit={"linestudy": "0.1"})
    assert there.versions == {"linestudy": "0.1"}


def test_who_looks_may_end_it_before_anything_is_computed(
    study: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "run_all", lambda *args: pytest.fail("something was computed"))
    seen: list[object] = []

    class Enough(Exception):
        pass

    def look(records: Records) -> None:
        seen.append(records)
        raise Enough

    for name in ("run.csv", "run2.csv", "masters.csv", "pairs.csv"):
        text = "W,V,R,P,A,B\n" + "".join(f"0.{k},0.{k},0.5,{k},0.{k},0.{k}\n" for k in range(1, 10))
        (study.folder / name).write_text(text, encoding="utf-8")
    told: list[str] = []
    with pytest.raises(Enough):
        module.evaluate(study, progress=told.append, look=look)
    assert len(seen) == 1
    assert told == ["records"]
