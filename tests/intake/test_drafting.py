"""From the raw files of a plant to a study by questions alone: nothing is asked that a file already says."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from plant_files import write_plant_files

from linestudy import open_study
from linestudy.cli import main
from linestudy.intake import draft_study
from linestudy.intake.drafting import draft_by_questions
from linestudy.records import Records, read


@pytest.fixture(scope="module")
def drafted(tmp_path_factory: pytest.TempPathFactory) -> tuple[Records, list[str], list[str], dict]:
    folder = tmp_path_factory.mktemp("plant")
    truth = write_plant_files(folder / "raw")
    asked: list[str] = []
    told: list[str] = []

    def ask(line: str) -> str:
        # The line before the choices is the question.
        question = next(line for line in reversed(told) if not line.startswith("  "))
        asked.append(question.split("   (")[0])
        return "BC-12" if asked[-1] == "Part number" else ""

    draft_by_questions(folder / "study", sorted((folder / "raw").iterdir()), ask, told.append)
    return read(open_study(folder / "study")), asked, told, truth


def test_only_what_no_file_says_is_asked(drafted: tuple) -> None:
    _, asked, _, _ = drafted
    assert asked == [
        "Title of the study",
        "Part number",
        "Revision of the drawing",
        "In which unit are the readings of msa.xlsx, Contact height?",
        "Can Burr be below 0 at all?",
    ]


def test_every_file_has_its_role_and_its_truth(drafted: tuple) -> None:
    records, _, _, truth = drafted
    run = records.table("run", "contact_height")
    np.testing.assert_allclose(np.sort(run["value"]), np.sort(truth["log.csv"][:, 0]))
    assert set(run["station"]) == {"L", "R"}
    crossed = records.table("crossed", "contact_height")
    seen = crossed.pivot_table(index="part", columns=["appraiser", "trial"], values="value")
    np.testing.assert_allclose(seen.loc[[str(i) for i in range(1, 11)]], truth["msa.xlsx"])
    masters = records.table("reference", "contact_height")
    np.testing.assert_allclose(masters[["value", "reference"]], truth["masters.csv"])
    pull = records.table("nested", "pull_force")
    np.testing.assert_allclose(
        pull.groupby("coil")["value"].mean(), truth["pull force.csv"].mean(axis=0)
    )
    judged = records.table("attribute", "weld_seam")
    assert judged["judgement"].sum() == truth["Weld seam"][:, 1:].sum()


def test_the_drawing_is_taken_as_it_stands(drafted: tuple) -> None:
    study = drafted[0].study
    height, burr, force, _ = study.characteristics
    assert (height.lower, height.upper, height.unit, height.special) == (0.108, 0.112, "in", True)
    assert (burr.lower, burr.upper, burr.bound) == (None, 0.0015, 0.0)
    assert (force.lower, force.upper, force.unit) == (35.0, None, "N")
    assert {gauge.name for gauge in study.gauges} == {"Camera K2"}


def test_what_is_missing_is_one_sentence(drafted: tuple) -> None:
    told = drafted[2]
    missing = [line for line in told if line.startswith("For a complete submission")]
    assert len(missing) == 1
    assert "a crossed study of Camera K2 for Burr" in missing[0]
    assert "crossed study of Camera K2 for Contact height" not in missing[0]


@pytest.mark.proof
def test_the_command_asks_nothing_with_defaults(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    write_plant_files(tmp_path / "raw", strokes=60)
    monkeypatch.setattr("builtins.input", lambda _: pytest.fail("asked"))
    files = [str(file) for file in sorted((tmp_path / "raw").iterdir())]
    assert main(["new", str(tmp_path / "study"), "--defaults", "--from", *files]) == 0
    assert "Written:" in capsys.readouterr().out
    assert main(["check", str(tmp_path / "study")]) == 0
    assert "For a complete submission is missing" in capsys.readouterr().out
    assert main(["help", "format"]) == 0
    assert "# study.toml, format 1" in capsys.readouterr().out


@pytest.mark.proof
def test_files_added_later_leave_what_was_written(tmp_path: Path) -> None:
    write_plant_files(tmp_path / "raw", strokes=60)
    first = [tmp_path / "raw" / name for name in ("drawing.csv", "log.csv")]
    file = draft_by_questions(tmp_path / "study", first, lambda _: "", lambda _: None)
    mine = file.read_text(encoding="utf-8").replace(
        '[[gauge]]\nid = "camera_k2"\n',
        '# ours since 2019\n[[gauge]]\nid = "camera_k2"\nresolution = 0.00005   # from the data sheet\n',
    )
    file.write_text(mine, encoding="utf-8")
    later = [tmp_path / "raw" / name for name in ("drawing.csv", "masters.csv")]
    draft_by_questions(tmp_path / "study", later, lambda _: "", lambda _: None)
    text = file.read_text(encoding="utf-8")
    assert "# ours since 2019" in text
    assert "resolution = 0.00005   # from the data sheet" in text
    study = open_study(tmp_path / "study")
    assert [data.role for data in study.data] == ["run", "reference"]
    assert len(study.gauges) == 1
    assert len(study.characteristics) == 3
    # Once more adds nothing.
    draft_by_questions(tmp_path / "study", later, lambda _: "", lambda _: None)
    assert file.read_text(encoding="utf-8") == text


@pytest.mark.proof
def test_a_folder_and_a_picture_keep_no_file_out(tmp_path: Path) -> None:
    write_plant_files(tmp_path / "raw", strokes=60)
    (tmp_path / "raw" / "pictures").mkdir()
    (tmp_path / "raw" / "part.png").write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(99))
    told: list[str] = []
    files = sorted((tmp_path / "raw").iterdir())
    draft_by_questions(tmp_path / "study", files, lambda _: "", told.append, defaults=True)
    assert "Left out: pictures is a folder." in told
    assert any(line.startswith("Left out: part.png") for line in told)
    assert len(open_study(tmp_path / "study").data) == 5


@pytest.mark.proof
def test_the_second_sample_study_out_of_its_files_alone(root: Path, tmp_path: Path) -> None:
    """German heads beside English file names: what no name says, sizes do."""
    files = sorted((root / "sample_data" / "twin_contact" / "data").iterdir())
    draft = draft_study([file for file in files if file.is_file()])
    answers = {"accept": "frei, leicht", "gauge": "Camera"}
    assert any("say which grades accept" in each for each in draft.doubts())
    for question in draft.questions():
        kind = question.key.partition(":")[0]
        draft.answer(question.key, answers.get(kind, question.default))
    # What was answered is not asked again.
    assert not any("say which grades accept" in each for each in draft.doubts())
    draft.write(tmp_path / "study")
    drafted = read(open_study(tmp_path / "study"))
    own = read(open_study(root / "sample_data" / "twin_contact"))
    names = {"hoehe": "height", "fenster": "window", "grat": "burr"}
    for german, english in names.items():
        for role in ("run", "reference", "crossed"):
            ours, theirs = drafted.table(role, german), own.table(role, english)
            assert ours is not None
            assert theirs is not None
            np.testing.assert_allclose(np.sort(ours["value"]), np.sort(theirs["value"]))
    assert {item.id for item in drafted.study.characteristics} == set(names)
    # Two crossed studies of burr, one after the other; grades by eye are judgements, in their order.
    assert list(drafted.occasions("grat")) == ["msa_before", "msa"]
    ours, theirs = drafted.table("attribute", "grat"), own.table("attribute", "burr")
    assert ours["judgement"].tolist() == theirs["judgement"].tolist()
    (graded,) = [data for data in drafted.study.data if data.grades]
    assert graded.grades == ("frei", "leicht", "stark")
    run = drafted.table("run", "hoehe")
    assert set(run["station"]) == {"L", "R"}
    assert len(run) > 16_000
