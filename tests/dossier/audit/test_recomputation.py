"""An auditor finds every change, and nobody honest is accused."""

from __future__ import annotations

import json
import random
import shutil
from pathlib import Path

import bagit
import pytest

from linestudy.cli import main
from linestudy.dossier import recompute
from linestudy.dossier.audit.numbers import compare
from linestudy.dossier.audit.recomputation import _otherwise_shown, audit
from linestudy.dossier.evaluation import Evaluation
from linestudy.results import InputError


@pytest.fixture(scope="module")
def small(starter_dossier: Path) -> Path:
    return starter_dossier


@pytest.fixture
def copy(small: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(small, tmp_path / "copy"))


def renew(folder: Path) -> None:
    bagit.Bag(str(folder)).save(manifests=True)


def test_an_untouched_dossier_agrees_in_three_lines(small: Path) -> None:
    report = recompute(small)
    assert report.agrees
    assert sum(report.compared.values()) > 200
    assert str(report).startswith("Everything agrees.")
    assert len(str(report).splitlines()) == 3
    assert report.remarks == ()


def test_the_sample_dossier_says_what_is_recomputed(evaluation: Evaluation, dossier: Path) -> None:
    # Its part number holds a thickness with decimals, which head and foot repeat on every page.
    report = audit(dossier, evaluation)
    assert report.agrees, report.details()


@pytest.mark.proof
def test_a_changed_file_is_named(copy: Path) -> None:
    file = copy / "data/study/data/run.csv"
    file.write_text(file.read_text().replace("1,6.3", "1,6.2", 1))
    report = recompute(copy)
    assert not report.agrees
    assert any("run.csv" in line for line in report.damaged)
    assert any("run.csv" in line for line in report.inputs)
    assert any(item.place.endswith("capability.mean") for item in report.differences)


def test_a_changed_limit_is_told_with_the_decision_it_changes(copy: Path) -> None:
    file = copy / "data/study/study.toml"
    file.write_text(file.read_text().replace("upper = 6.35", "upper = 6.31"))
    renew(copy)
    report = recompute(copy)
    assert any("study.toml" in line for line in report.inputs)
    assert report.decisions == (
        'Blade width: "customer approval required" recorded, "does not meet" recomputed',
    )
    first = str(report).splitlines()
    assert first[0].startswith("Not everything agrees: ")
    assert "results.json" in first[0]
    assert "values differ, most of all" in first[1]
    assert first[2] == "Decision: " + report.decisions[0]


def test_a_changed_number_is_found_though_the_sums_were_made_anew(copy: Path) -> None:
    file = copy / "data/results.json"
    results = json.loads(file.read_text())
    results["characteristics"]["width"]["capability"]["Ppk"]["estimate"] *= 1 + 1e-6
    file.write_text(json.dumps(results))
    renew(copy)
    report = recompute(copy)
    assert not report.damaged
    assert [item.place for item in report.differences] == [
        "characteristics.width.capability.Ppk.estimate"
    ]
    assert report.differences[0].relative == pytest.approx(1e-6, rel=1e-3)
    # Written without the line ends and the order of every dossier.
    assert any("not written as its content" in line for line in report.documents)


def leaves(tree: object, path: tuple = ()) -> list[tuple]:
    if isinstance(tree, dict):
        return [leaf for key, value in tree.items() for leaf in leaves(value, (*path, key))]
    if isinstance(tree, list):
        return [leaf for i, value in enumerate(tree) for leaf in leaves(value, (*path, i))]
    return [path]


@pytest.mark.proof
def test_six_hundred_single_changes_are_all_found(small: Path) -> None:
    # Comparison alone: the recomputed numbers are those of the untouched dossier.
    results = json.loads((small / "data/results.json").read_text())
    places = leaves(results)
    chooser = random.Random(1)
    for _ in range(600):
        place = chooser.choice(places)
        changed = json.loads(json.dumps(results))
        branch = changed
        for key in place[:-1]:
            branch = branch[key]
        value = branch[place[-1]]
        if isinstance(value, bool) or value is None:
            branch[place[-1]] = "changed"
        elif isinstance(value, (int, float)):
            # A thousandth: of the four digits that are shown the last one.
            branch[place[-1]] = (
                value + 1 if value == 0 else type(value)(value * 1.001 + (type(value) is int))
            )
        else:
            branch[place[-1]] = value + " "
        found = compare(changed, results)
        named = [item.place for item in found.differences]
        named += [".".join(str(key) for key in path) for path in found.words]
        # A share of 1e-20 that became another one is within what cancels; that it is shown otherwise is said.
        named += [line.split(" ")[0] for line in _otherwise_shown(found, results)]
        if not named and isinstance(value, float):
            # Within a millionth of its own interval, or of what cancels, and shown to every reader alike.
            assert place in found.near
            assert abs(value) < 1e-4
            continue
        assert named == [".".join(str(key) for key in place)]


@pytest.mark.proof
@pytest.mark.parametrize(
    "name",
    [
        "data/dossier.pdf",
        "data/index.html",
        "data/workbook.xlsx",
        "data/study/study.toml",
        "bag-info.txt",
        "manifest-sha256.txt",
    ],
)
def test_every_file_is_covered_by_a_sum(copy: Path, name: str) -> None:
    with (copy / name).open("ab") as stream:
        stream.write(b"\n# x")
    assert not recompute(copy).agrees


@pytest.mark.proof
def test_missing_and_added_files_are_named(copy: Path) -> None:
    (copy / "data/index.html").unlink()
    (copy / "data/extra.txt").write_text("x")
    lines = " ".join(recompute(copy).damaged)
    assert "index.html" in lines
    assert "extra.txt" in lines


@pytest.mark.proof
def test_what_was_found_goes_to_a_file_outside_the_dossier(
    copy: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = sorted(copy.rglob("*"))
    assert main(["recompute", str(copy)]) == 0
    assert not (tmp_path / "copy.audit.txt").exists()
    (copy / "data/extra.txt").write_text("x")
    assert main(["recompute", str(copy)]) == 1
    assert "data/extra.txt" in (tmp_path / "copy.audit.txt").read_text(encoding="utf-8")
    assert main(["recompute", str(copy), "--details", str(tmp_path / "here.txt")]) == 1
    assert "data/extra.txt" in (tmp_path / "here.txt").read_text(encoding="utf-8")
    assert main(["recompute", str(copy), "--details", str(copy / "here.txt")]) == 2
    assert "outside the dossier" in capsys.readouterr().err
    (copy / "data/extra.txt").unlink()
    assert sorted(copy.rglob("*")) == before


def test_exit_codes(
    small: Path, copy: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["recompute", str(small)]) == 0
    (copy / "data/study/study.toml").unlink()
    assert main(["recompute", str(copy)]) == 1
    assert main(["recompute", str(tmp_path / "nothing")]) == 2
    (tmp_path / "empty").mkdir()
    assert main(["recompute", str(tmp_path / "empty")]) == 2
    assert "Traceback" not in capsys.readouterr().err


@pytest.mark.proof
@pytest.mark.parametrize(
    "text", ["{", "[]", '{"a": NaN}', '{"a": ' + "9" * 5000 + "}", "[" * 100_000]
)
def test_results_that_cannot_be_read_are_a_finding(copy: Path, text: str) -> None:
    (copy / "data/results.json").write_text(text)
    renew(copy)
    assert any(line.startswith("results.json: ") for line in recompute(copy).documents)


@pytest.mark.proof
@pytest.mark.parametrize(
    "name", ["aiag_crossed", "aiag_bias", "davies_dyestuff", "bland_altman", "pastes", "oxide"]
)
def test_published_studies_round_to_what_is_printed(published: Path, name: str) -> None:
    # Sources: printed.toml in each folder.
    folder = published / name
    report = recompute(folder, against=folder / "printed.toml")
    assert report.unexplained == 0, "\n".join(report.printed)
    assert any(line.startswith("rounds to it") for line in report.printed)


def test_a_printed_number_that_does_not_follow_is_called_unexplained(
    published: Path, tmp_path: Path
) -> None:
    folder = published / "bland_altman"
    text = (folder / "printed.toml").read_text().replace("38.8", "38.9")
    (tmp_path / "printed.toml").write_text(text)
    report = recompute(folder, against=tmp_path / "printed.toml")
    assert report.unexplained == 1
    assert not report.agrees
    (tmp_path / "bad.toml").write_text("[[printed]]\nplace = 1\n")
    with pytest.raises(InputError, match="place"):
        recompute(folder, against=tmp_path / "bad.toml")


def test_the_published_studies_run_through_the_main_command(
    published: Path, tmp_path: Path
) -> None:
    for name in ("aiag_crossed", "aiag_bias"):
        assert main(["dossier", str(published / name), "--out", str(tmp_path / name)]) == 0
        assert (tmp_path / name / "data/dossier.pdf").stat().st_size > 10_000
