"""What the log tells each morning, from daily files to table, alarms, evidence and picture."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from two_out_study import STUDY

from linestudy import cli, open_study
from linestudy.linelog import build_log, summarise_log
from linestudy.linelog.by_group import Daily, daily, daily_picture


def write(folder: Path) -> Path:
    """Three days of two lanes and two coils each; on the third day lane R stands 0.2 higher."""
    rng = np.random.default_rng(1)
    n = 1500
    (folder / "days").mkdir()
    for day in range(3):
        stroke, lane = np.repeat(np.arange(1, n + 1), 2) + n * day, np.tile(["L", "R"], n)
        w = 10 + 0.1 * rng.normal(size=2 * n) + 0.2 * (day == 2) * (lane == "R")
        verdict = np.where(abs(w - 10) > 0.25, "nok", "ok")
        coil = np.repeat([2 * day, 2 * day + 1], n)
        table = pd.DataFrame(
            {"Hub": stroke, "Lane": lane, "Coil": coil, "W": w.round(4), "V": verdict}
        )
        table.to_csv(folder / "days" / f"day{day + 1}.csv", index=False)
        if day == 0:
            table.to_csv(folder / "day1.csv", index=False)
    tags = 'station = "Lane"\ncoil = "Coil"\nverdict = "V"\naccept = ["ok"]\nreject = ["nok"]'
    text = STUDY.replace('station = "Lane"', tags)
    (folder / "study.toml").write_text(text, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> tuple[Daily, Path]:
    folder = write(tmp_path_factory.mktemp("daily"))
    study = open_study(folder)
    summary = summarise_log(build_log(folder / "days", study).folder, study, cache=False)
    return daily(study, summary)["w"], folder


def test_yield_and_points_are_those_of_the_parts(found: tuple[Daily, Path]) -> None:
    made, folder = found[0].made, found[1]
    assert len(made) == 3 * 2 * 2
    for row in made.to_dict("records"):
        parts = pd.read_csv(folder / "days" / f"day{row['day']}.csv")
        own = parts[(parts["Coil"] == int(row["coil"])) & (parts["Lane"] == row["stream"])]
        assert row["n"] == len(own)
        assert row["yield"] == pytest.approx((own["V"] == "ok").mean())
    assert set(made["points"]) == {15}


def test_the_day_that_moved_alarms(found: tuple[Daily, Path]) -> None:
    assert len(found[0].alarms) == 1
    assert found[0].alarms[0].startswith("Day 3 (day3), R: ")
    assert "frozen from the study (30 subgroups)" in found[0].said
    out = found[0].made.groupby(["day", "stream"])["out"].sum()
    assert out[3, "R"] >= 25
    assert out.drop((3, "R")).max() <= 3


def test_the_picture_has_a_row_for_each_characteristic(found: tuple[Daily, Path]) -> None:
    figure = daily_picture({"a": found[0], "b": found[0]})
    assert figure.png()[:4] == b"\x89PNG"


@pytest.mark.proof
def test_the_command_tells_it_and_keeps_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = write(tmp_path)
    out = tmp_path / "evidence.json"
    words = ["log", str(folder / "days"), "--study", str(folder), "--evidence", str(out)]
    assert cli.main(words) == 0
    said = capsys.readouterr().out
    assert "ALARM: Day 3 (day3), R: " in said
    assert "yield" in said
    kept = json.loads(out.read_text())["characteristics"]["w"]["daily"]
    assert len(kept["made"]) == 12
    assert set(kept["limits"]) == {"L", "R"}
    picture = tmp_path / "evidence-days.png"
    drawn = picture.read_bytes()
    assert drawn[:4] == b"\x89PNG"
    # The same again leaves nothing behind; another picture of that name is kept, and what is no picture refused.
    assert cli.main(words) == 0
    assert len(list(tmp_path.glob("evidence*"))) == 2
    picture.write_bytes(drawn + b" older")
    assert cli.main(words) == 0
    kept = list(tmp_path.glob("evidence-days.*.png"))
    assert [path.read_bytes() for path in kept] == [drawn + b" older"]
    assert f"The older evidence-days.png is kept as {kept[0].name}." in capsys.readouterr().out
    picture.write_text("minutes of a meeting")
    assert cli.main(words) == 2
    assert picture.read_text() == "minutes of a meeting"


def test_without_the_files_of_the_study_nothing_is_held_against_limits(tmp_path: Path) -> None:
    folder = write(tmp_path)
    study = open_study(folder)
    summary = summarise_log(build_log(folder / "days", study).folder, study, cache=False)
    (folder / "day1.csv").unlink()
    alone = daily(study, summary)["w"]
    assert alone.limits == {}
    assert "no control limits" in alone.said
    assert "out" not in alone.made


def test_a_log_without_verdicts_coils_and_limits_is_told_too(tmp_path: Path) -> None:
    folder = write(tmp_path)
    text = STUDY.replace("lower = 9.0\nupper = 11.0\n", "nominal = 10.0\n")
    (folder / "study.toml").write_text(text, encoding="utf-8")
    study = open_study(folder)
    summary = summarise_log(build_log(folder / "days", study).folder, study, cache=False)
    plain = daily(study, summary)["w"]
    assert "yield" not in plain.made
    assert "coil" not in plain.made
    assert plain.made["Ppk"].isna().all()
    assert set(plain.limits) == {"L", "R"}
    assert daily_picture({"w": plain}).png()[:4] == b"\x89PNG"
