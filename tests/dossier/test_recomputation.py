"""An auditor finds every change, and printed numbers are held against recomputed ones."""

from __future__ import annotations

import json
import random
import shutil
from pathlib import Path

import bagit
import pytest

from linestudy.cli import main
from linestudy.dossier import recompute
from linestudy.dossier.documents import compare_documents
from linestudy.dossier.evaluation import Evaluation
from linestudy.dossier.recomputation import _differ, _pairs
from linestudy.results import InputError


@pytest.fixture(scope="module")
def small(starter_dossier: Path) -> Path:
    return starter_dossier


@pytest.fixture
def copy(small: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(small, tmp_path / "copy"))


def test_an_untouched_dossier_agrees(small: Path) -> None:
    report = recompute(small)
    assert report.agrees
    assert sum(report.compared.values()) > 200
    assert "Everything agrees." in str(report)


def test_the_sample_dossier_prints_what_is_recomputed(
    evaluation: Evaluation, dossier: Path
) -> None:
    # Its part number holds a thickness with decimals, which head and foot repeat on every page.
    assert compare_documents(evaluation, dossier / "data") == ()


def test_a_changed_file_is_named(copy: Path) -> None:
    file = copy / "data/study/data/run.csv"
    file.write_text(file.read_text().replace("1,6.3", "1,6.2", 1))
    report = recompute(copy)
    assert not report.agrees
    assert any("run.csv" in line for line in report.damaged)
    assert any(item.place.endswith("capability.mean") for item in report.differences)


def test_a_changed_number_is_found_though_the_sums_were_made_anew(copy: Path) -> None:
    file = copy / "data/results.json"
    results = json.loads(file.read_text())
    results["characteristics"]["width"]["capability"]["Ppk"]["estimate"] *= 1 + 1e-6
    file.write_text(json.dumps(results))
    bagit.Bag(str(copy)).save(manifests=True)
    report = recompute(copy)
    assert not report.damaged
    assert [item.place for item in report.differences] == [
        "characteristics.width.capability.Ppk.estimate"
    ]
    assert report.differences[0].relative == pytest.approx(1e-6, rel=1e-3)


def leaves(tree: object, path: tuple = ()) -> list[tuple]:
    if isinstance(tree, dict):
        return [leaf for key, value in tree.items() for leaf in leaves(value, (*path, key))]
    if isinstance(tree, list):
        return [leaf for i, value in enumerate(tree) for leaf in leaves(value, (*path, i))]
    return [path]


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
            branch[place[-1]] = value + 1 if value == 0 else value * 1.00001
        else:
            branch[place[-1]] = value + " "
        found = [
            p for p, old, new in _pairs(changed, results, ()) if _differ(".".join(p), old, new)
        ]
        assert found == [tuple(str(key) for key in place)]


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


def test_missing_and_added_files_are_named(copy: Path) -> None:
    (copy / "data/index.html").unlink()
    (copy / "data/extra.txt").write_text("x")
    lines = " ".join(recompute(copy).damaged)
    assert "index.html" in lines
    assert "extra.txt" in lines


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


@pytest.mark.parametrize("name", ["aiag_crossed", "aiag_bias", "davies_dyestuff", "bland_altman"])
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
