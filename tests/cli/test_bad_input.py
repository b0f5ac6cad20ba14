"""Bad input: one clear line, exit 2, nothing written; data that cannot be judged stop nothing."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from links import link

from linestudy.cli import main
from linestudy.study import start_study


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return start_study(tmp_path / "study")


def edit(folder: Path, name: str, old: str, new: str) -> None:
    file = folder / name
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), encoding="utf-8")


def drop_file(folder: Path) -> None:
    (folder / "data/run.csv").unlink()


def empty_file(folder: Path) -> None:
    (folder / "data/run.csv").write_text("", encoding="utf-8")


def only_a_header(folder: Path) -> None:
    (folder / "data/run.csv").write_text("Part,Width\n", encoding="utf-8")


def text_for_a_number(folder: Path) -> None:
    lines = (folder / "data/run.csv").read_text(encoding="utf-8").splitlines()
    # One such cell is set aside; where there are many the column is read in a wrong way.
    lines[6:40] = [f"{number},wide" for number in range(6, 40)]
    (folder / "data/run.csv").write_text("\n".join(lines), encoding="utf-8")


def no_such_column(folder: Path) -> None:
    edit(folder, "study.toml", 'columns = { width = "Width" }', 'columns = { width = "Widht" }')


def unknown_key(folder: Path) -> None:
    edit(folder, "study.toml", "nominal", "nominel")


def limits_crossed(folder: Path) -> None:
    edit(folder, "study.toml", "lower = 6.25", "lower = 6.45")


def outside_the_folder(folder: Path) -> None:
    edit(folder, "study.toml", "data/run.csv", "../run.csv")


def a_link_out(folder: Path) -> None:
    outside = folder.parent / "outside.csv"
    (folder / "data/run.csv").rename(outside)
    link(folder / "data/run.csv", outside)


BAD: list[tuple[Callable[[Path], None], str]] = [
    (drop_file, "run.csv"),
    (empty_file, "run.csv"),
    (only_a_header, "run.csv"),
    (text_for_a_number, "line 7"),
    (no_such_column, "Width"),
    (unknown_key, 'did you mean "nominal"'),
    (limits_crossed, "not below upper limit"),
    (outside_the_folder, "inside the study folder"),
    (a_link_out, "run.csv"),
]


@pytest.mark.parametrize(("spoil", "words"), BAD, ids=[case[0].__name__ for case in BAD])
@pytest.mark.parametrize("command", ["check", "dossier"])
def test_one_line_exit_2_nothing_written(
    folder: Path,
    capsys: pytest.CaptureFixture[str],
    command: str,
    spoil: Callable[[Path], None],
    words: str,
) -> None:
    spoil(folder)
    before = sorted(p.name for p in folder.parent.iterdir())
    code = main([command, str(folder)])
    error = capsys.readouterr().err
    assert code == 2
    assert error.count("\n") == 1, error
    assert words in error
    assert sorted(p.name for p in folder.parent.iterdir()) == before


def test_there_is_no_folder(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["dossier", "no/such/folder"]) == 2
    assert "no such folder" in capsys.readouterr().err


def one_part(folder: Path) -> None:
    rows = [f"1,{who},{trial},6.30{trial}" for who in "abc" for trial in (1, 2, 3)]
    (folder / "data/crossed.csv").write_text(
        "Part,Appraiser,Trial,Width\n" + "\n".join(rows) + "\n"
    )


def one_appraiser(folder: Path) -> None:
    rows = [f"{part},a,{trial},6.3{part}{trial}" for part in range(1, 9) for trial in (1, 2, 3)]
    (folder / "data/crossed.csv").write_text(
        "Part,Appraiser,Trial,Width\n" + "\n".join(rows) + "\n"
    )


def all_equal(folder: Path) -> None:
    rows = [f"{n},6.300" for n in range(1, 151)]
    (folder / "data/run.csv").write_text("Part,Width\n" + "\n".join(rows) + "\n")


def too_few(folder: Path) -> None:
    (folder / "data/run.csv").write_text("Part,Width\n1,6.301\n2,6.299\n3,6.304\n")


def one_value(folder: Path) -> None:
    (folder / "data/run.csv").write_text("Part,Width\n1,6.301\n")


def equal_gauge_readings(folder: Path) -> None:
    rows = [f"{p},{who},{t},6.3" for p in range(1, 6) for who in "ab" for t in (1, 2)]
    (folder / "data/crossed.csv").write_text(
        "Part,Appraiser,Trial,Width\n" + "\n".join(rows) + "\n"
    )


def no_reading(folder: Path) -> None:
    _blank(folder / "data/run.csv")


def no_gauge_reading(folder: Path) -> None:
    _blank(folder / "data/crossed.csv")


def nothing_at_all(folder: Path) -> None:
    no_reading(folder)
    no_gauge_reading(folder)


def _blank(path: Path) -> None:
    """The camera was off: every reading is a mark of none."""
    head, *rows = path.read_text().splitlines()
    path.write_text("\n".join([head, *(row.rpartition(",")[0] + ",NA" for row in rows)]) + "\n")


#: The last two in every run, the others among the slow tests.
UNJUDGED = [
    *(
        pytest.param(case, id=case.__name__, marks=pytest.mark.proof)
        for case in (one_part, all_equal, too_few, one_value, equal_gauge_readings, no_reading)
    ),
    *(pytest.param(case, id=case.__name__) for case in (no_gauge_reading, nothing_at_all)),
]


def results(written: Path) -> dict:
    return json.loads(next(written.rglob("results.json")).read_text(encoding="utf-8"))


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("spoil", UNJUDGED)
def test_what_cannot_be_judged_stops_nothing(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], spoil: Callable[[Path], None]
) -> None:
    spoil(folder)
    assert main(["dossier", str(folder), "--out", str(tmp_path / "out")]) == 0
    shown = capsys.readouterr()
    assert "cannot be judged" in shown.out
    assert shown.err == ""
    content = results(tmp_path / "out")["characteristics"]["width"]
    assert content["verdict"]["decision"] == "cannot be judged"
    assert content["verdict"]["reasons"]


@pytest.mark.proof
def test_one_appraiser_is_judged_with_a_caution(folder: Path, tmp_path: Path) -> None:
    one_appraiser(folder)
    assert main(["dossier", str(folder), "--out", str(tmp_path / "out")]) == 0
    crossed = results(tmp_path / "out")["characteristics"]["width"]["gauges"]["camera"]["crossed"]
    assert crossed.get("absent") or crossed["cautions"]


def test_evidence_of_a_log_needs_a_place_before_anything_is_read(
    tmp_path: Path, capsys: pytest.CaptureFixture
) -> None:
    study = start_study(tmp_path / "study")
    days = tmp_path / "days"
    days.mkdir()
    for place in (tmp_path / "none" / "x.json", tmp_path):
        command = ["log", str(days), "--study", str(study), "--evidence", str(place)]
        assert main(command) == 2
        told = capsys.readouterr().err
        assert told.count("\n") == 1
        assert "give a file name in an existing folder" in told
    assert not (tmp_path / "days.log").exists()
