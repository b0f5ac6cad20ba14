"""Where a study stands, and a way to every finding of it."""

from __future__ import annotations

import shutil
from pathlib import Path
from types import SimpleNamespace

import pytest

from linestudy.dossier import Evaluation, browse, overview, points_out
from linestudy.dossier.overviews import _too_many, findings_below


def test_what_is_missing_comes_with_a_command_that_works(
    starter: Evaluation, tmp_path: Path
) -> None:
    from linestudy.cli import main

    found = overview(starter)
    how = next(how for what, how in found.missing if what.startswith("masters read"))
    command = how.split(";")[0].split()
    assert command[:2] == ["linestudy", "sheet"]
    study = shutil.copytree(starter.study.folder, tmp_path / "s")
    out = tmp_path / command[5]
    words = [command[1], str(study), *command[3:5], str(out), *command[6:]]
    words[words.index("LOW") :] = ["6.2", "6.3", "6.4"]
    assert main(words) == 0
    assert out.is_file()
    assert "Missing" in repr(found)
    assert "<h4>Decided</h4>" in found._repr_html_()


def test_what_is_open_is_what_the_decision_rests_on(evaluation: Evaluation) -> None:
    found = overview(evaluation)
    open_of = {name for name, _ in found.open}
    limited = {
        item.name
        for item in evaluation.study.characteristics
        if evaluation.findings.get(item.id, "verdict").decision != "meets"  # type: ignore[union-attr]
    }
    assert limited
    assert limited <= open_of


def test_every_finding_of_the_study_can_be_shown(evaluation: Evaluation) -> None:
    found = evaluation.findings
    streams = {
        name: {path[1] for path in found.of(name, "streams")}
        for name in (*found.characteristics(), None)
    }
    reached = {
        (name, path)
        for name in (*found.characteristics(), None)
        for stream in ("all", *streams[name])
        for _, path in findings_below(found, name, stream)
    }
    assert reached == {(place.characteristic, place.path) for place, _ in found.items()}


def test_gauges_are_called_by_their_names(evaluation: Evaluation) -> None:
    names = {gauge.id: gauge.name for gauge in evaluation.study.gauges}
    labels = [label for label, _ in findings_below(evaluation.findings, "blade", "all", names)]
    assert any(label.startswith("gauges, In-die camera, ") for label in labels)
    assert any("In-die camera and CMM" in label for label in labels)
    assert not any("~" in label or ", camera" in label for label in labels)
    assert len(set(labels)) == len(labels)


def test_choosing_another_characteristic_keeps_what_was_studied(evaluation: Evaluation) -> None:
    box = browse(evaluation.findings)
    about, stream, study = box.children[0].children
    study.label = "stability"
    first = box.children[1].value
    about.value = evaluation.findings.characteristics()[1]
    assert study.label == "stability"
    assert box.children[1].value != first
    assert "<img" in box._repr_mimebundle_()["text/html"]
    assert stream.options[0] == "all"
    about.value = ""
    assert "<h4>" in box.children[1].value


@pytest.mark.parametrize(
    ("points", "expected", "said"), [(0, 0.0, False), (2, 1.1, False), (5, 1.1, True)]
)
def test_a_false_alarm_or_two_is_no_open_point(points: int, expected: float, said: bool) -> None:
    assert _too_many(points, expected) is said


def test_points_out_of_control_are_listed_or_it_is_said_that_there_are_none(
    evaluation: Evaluation,
) -> None:
    told = [points_out(evaluation, item.id) for item in evaluation.study.characteristics]
    tables = [each for each in told if hasattr(each, "columns")]
    listed = [table for table in tables if "cause" in table.columns]
    assert listed
    # A chart over the whole run may mark points where the one decided on, whose level begins anew at events, marks none.
    none = [table.iloc[0, 0] for table in tables if "cause" not in table.columns]
    assert set(none) == {
        "none on the chart that is decided on; it has a level of its own after each named event"
    }
    assert any("was judged" in getattr(each, "reason", "") for each in told)


def test_a_sheet_is_named_for_each_characteristic_that_lacks_it(starter: Evaluation) -> None:
    from linestudy.dossier.overviews import _how

    folder = starter.study.folder.name
    item = starter.study.characteristics[0]
    others = SimpleNamespace(
        folder=starter.study.folder,
        gauges=starter.study.gauges,
        characteristics=[item, SimpleNamespace(id="h", name="Height"), SimpleNamespace(id="b", name="Burr")],
    )  # fmt: skip
    gauge = starter.study.gauges[0]
    what = f"masters read by {gauge.name} for {item.name}, Height and Burr"
    assert _how(others, what) == (
        f"linestudy sheet {folder} reference {item.id} reference_{item.id}.xlsx --gauge {gauge.id} --masters LOW MIDDLE "
        f"HIGH; fill it in, then linestudy new {folder} --from reference_{item.id}.xlsx; likewise for h and b"
    )
    assert "likewise" not in _how(others, f"a crossed study of {gauge.name} for Height")
    assert "crossed h crossed_h.xlsx" in _how(others, f"a crossed study of {gauge.name} for Height")
    assert "attribute b" in _how(others, "judgements of Burr")
