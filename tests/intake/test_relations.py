"""Factors of 25.4, 1,000 and 39.37 between what belongs together are named before anything is computed."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from proposals import records_of

from linestudy import open_study
from linestudy.cli import main
from linestudy.intake import draft_study, unit_doubts
from linestudy.intake.draft import Draft
from linestudy.records import read

TOML = """format = 1
[study]
title = "t"
part = "p"
[[characteristic]]
id = "w"
name = "Width"
unit = "mm"
lower = 2.7
upper = 2.9
[[gauge]]
id = "g"
name = "Camera"
[[gauge]]
id = "h"
name = "CMM"
[[data]]
role = "{role}"
file = "f.csv"
{keys}
"""
FACTORS = [1 / 25.4, 1 / 1000, 1000.0, 1 / 39.37]


def told(folder: Path, role: str, keys: str, text: str) -> str:
    (folder / "study.toml").write_text(TOML.format(role=role, keys=keys), encoding="utf-8")
    (folder / "f.csv").write_text(text, encoding="utf-8")
    return "\n".join(unit_doubts(read(open_study(folder))))


@pytest.mark.parametrize("factor", FACTORS)
def test_readings_against_the_drawing(tmp_path: Path, factor: float) -> None:
    text = "W\n" + "".join(f"{2.8 * factor * (1 + i / 1e4)!r}\n" for i in range(9))
    assert "the drawing" in told(tmp_path, "run", 'columns = { w = "W" }', text)


def test_masters_in_another_unit_than_their_readings(tmp_path: Path) -> None:
    text = "M,W\n" + "".join(f"{m},{m / 25.4:.5f}\n" for m in (2.7, 2.8, 2.9) for _ in range(4))
    found = told(tmp_path, "reference", 'gauge = "g"\nreference = "M"\ncolumns = { w = "W" }', text)
    assert "the masters' values there" in found
    assert "inch" in found


def test_two_gauges(tmp_path: Path) -> None:
    text = "P,A,B\n" + "".join(
        f"{i},{2.8 + i / 1000},{(2.8 + i / 1000) / 25.4}\n" for i in range(9)
    )
    keys = 'gauges = ["g", "h"]\npart = "P"\ncolumns = { w = ["A", "B"] }'
    assert "the second" in told(tmp_path, "paired", keys, text)


def test_sound_files_are_not_doubted(tmp_path: Path) -> None:
    text = "M,W\n" + "".join(f"{m},{m + 0.001}\n" for m in (2.7, 2.8, 2.9) for _ in range(4))
    keys = 'gauge = "g"\nreference = "M"\ncolumns = { w = "W" }'
    assert told(tmp_path, "reference", keys, text) == ""
    inches = "M [mm],W [in]\n" + "".join(f"{m},{m / 25.4:.6f}\n" for m in (2.7, 2.8, 2.9))
    keys = 'gauge = "g"\nreference = "M [mm]"\ncolumns = { w = "W [in]" }'
    assert told(tmp_path, "reference", keys, inches) == ""


@pytest.mark.parametrize("tag", ["station", "appraiser"])
@pytest.mark.parametrize("factor", FACTORS)
def test_one_station_or_one_appraiser_in_another_unit(
    tmp_path: Path, tag: str, factor: float
) -> None:
    rows = [
        f"{i},{side},{(2.8 + i / 1e4) * (factor if side == 'R' else 1)!r}\n"
        for i in range(9)
        for side in "LLR"
    ]
    role = "run" if tag == "station" else "crossed"
    keys = f'columns = {{ w = "W" }}\n{tag} = "S"\n' + (
        'gauge = "g"\npart = "P"\n' if role == "crossed" else ""
    )
    found = told(tmp_path, role, keys, "P,S,W\n" + "".join(rows))
    assert f"of {tag} R in f.csv" in found
    same = "P,S,W\n" + "".join(
        f"{i},{side},{2.8 + i / 1e4!r}\n" for i in range(9) for side in "LLR"
    )
    assert told(tmp_path, role, keys, same) == ""


def test_what_has_an_upper_limit_only(tmp_path: Path) -> None:
    """A burr has no size on the drawing: readings far beyond the limit, or files that differ by a factor, are told."""
    study = TOML.replace("lower = 2.7\nupper = 2.9", "upper = 0.0015\nbound = 0")
    text = "W\n" + "".join(f"{0.0076 + i / 1e5}\n" for i in range(9))
    (tmp_path / "study.toml").write_text(study.format(role="run", keys='columns = { w = "W" }'))
    (tmp_path / "f.csv").write_text(text)
    assert "5.09 times the upper limit" in "\n".join(unit_doubts(read(open_study(tmp_path))))
    more = '[[data]]\nrole = "machine"\nfile = "m.csv"\ncolumns = { w = "W" }\n'
    (tmp_path / "study.toml").write_text(
        study.format(role="run", keys='columns = { w = "W" }') + more
    )
    (tmp_path / "f.csv").write_text("W\n" + "".join(f"{0.0003 + i / 1e6}\n" for i in range(9)))
    (tmp_path / "m.csv").write_text(text.replace("0.0076", "0.0062"))
    found = "\n".join(unit_doubts(read(open_study(tmp_path))))
    assert "those in f.csv" in found
    assert "inch" in found


def test_a_dossier_says_it_before_it_computes(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    text = "W\n" + "".join(f"{(2.8 + i / 1e4) / 25.4!r}\n" for i in range(9))
    told(tmp_path, "run", 'columns = { w = "W" }', text)

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("linestudy.dossier.evaluation.run_all", stop)
    assert main(["dossier", str(tmp_path), "--out", str(tmp_path.with_name("out"))]) != 0
    assert "Look at this: Width: its readings in f.csv" in capsys.readouterr().out


def test_names_that_may_mean_one_part_or_person_are_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    parts = ["P01", "p1", "1"]
    people = (["Ana Souza", "A. Souza"], ["Bruno Lima", "Bruno Lima"])
    rows = [
        f"{parts[trial] if part == 1 else f'P{part:02d}'},{who[trial % 2]},{trial + 1},{2.8 + part / 1000}"
        for who in people
        for part in range(1, 6)
        for trial in range(3)
    ]
    text = "Part,Appraiser,Trial,Width\n" + "\n".join(rows)
    keys = 'gauge = "g"\npart = "Part"\nappraiser = "Appraiser"\ntrial = "Trial"\ncolumns = { w = "Width" }'
    told(tmp_path, "crossed", keys, text)
    main(["check", str(tmp_path)])
    seen = capsys.readouterr().out
    assert "f.csv: Names that may mean one part: P01, p1, 1; where" in seen
    assert "f.csv: Names that may mean one person: Ana Souza, A. Souza; where" in seen
    main(["check", str(tmp_path / "f.csv")])
    seen = capsys.readouterr().out
    assert "# Names that may mean one part: P01, p1, 1" in seen
    assert "# Names that may mean one person: Ana Souza, A. Souza" in seen


def _files_of_people(folder: Path, names: list[str], wide: bool) -> tuple[Draft, pd.DataFrame]:
    chance = np.random.default_rng(11)
    sizes = 2.8 + 0.01 * chance.standard_normal(10)
    (folder / "data").mkdir()
    paths, truth = [], []
    for name in names:
        read = np.round(sizes[:, None] + 0.001 * chance.standard_normal((10, 3)), 4)
        if wide:
            lines = ["Part,Width 1,Width 2,Width 3"]
            lines += [f"{p + 1},{','.join(map(str, read[p]))}" for p in range(10)]
        else:
            lines = ["Part,Trial,Width"]
            lines += [f"{p + 1},{t + 1},{read[p, t]}" for t in range(3) for p in range(10)]
        paths.append(folder / "data" / f"{name}.csv")
        paths[-1].write_text("\n".join(lines))
        truth += [(name, str(p + 1), read[p, t]) for p in range(10) for t in range(3)]
    draft = draft_study(paths)
    for question in draft.questions():
        if question.key.startswith("gauge"):
            draft.answer(question.key, "Camera")
    return draft, pd.DataFrame(truth, columns=["file", "part", "value"])


@pytest.mark.parametrize("wide", [False, True])
@pytest.mark.parametrize("names", [["GRR_Anna", "GRR_Ben", "GRR_Cora"], ["Anna GRR", "Ben GRR"], ["Müller", "Weiß"]])  # fmt: skip
def test_files_with_names_of_people_are_one_study(
    tmp_path: Path, names: list[str], wide: bool
) -> None:
    draft, truth = _files_of_people(tmp_path, names, wide)
    assert [item.name for item in draft.items] == ["Width"]
    found = records_of(tmp_path, draft).table("crossed", "width")
    assert found is not None
    people = [name.replace("GRR", "").strip("_ ") for name in truth["file"]]
    want = sorted(zip(people, truth["part"], truth["value"], strict=True))
    assert sorted(zip(found["appraiser"], found["part"], found["value"], strict=True)) == want
    assert any("taken for the readings of one appraiser" in each for each in draft.doubts())


@pytest.mark.parametrize(("names", "told"), [(["grr_before", "grr_after"], True), (["grr_2026-03", "grr_2026-09"], True), (["grr1", "grr2"], True), (["left", "right"], True)])  # fmt: skip
def test_files_without_names_of_people_are_studies_one_after_the_other(
    tmp_path: Path, names: list[str], told: bool
) -> None:
    draft, truth = _files_of_people(tmp_path, names, wide=False)
    found = records_of(tmp_path, draft).table("crossed", "width")
    assert found is not None
    last = truth[truth["file"] == names[-1]]
    assert sorted(found["value"]) == sorted(last["value"])
    assert any("made one after the other" in each for each in draft.doubts()) is told
