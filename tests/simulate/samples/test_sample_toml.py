"""study.toml of the sample: what the library reads from it is the invented line, and the sample has it."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from linestudy.simulate.samples import scenario as line
from linestudy.simulate.samples.sample_toml import study_toml


def test_it_is_the_sample_studys_own(sample_study: Path) -> None:
    assert study_toml(line.SEED) == (sample_study / "study.toml").read_text(encoding="utf-8")


def test_limits_bounds_and_regrinds_are_those_of_the_line() -> None:
    read = tomllib.loads(study_toml(7))
    assert read["study"]["seed"] == 7
    assert read["study"]["line_rate"] == line.LINE_RATE
    by_id = {item["id"]: item for item in read["characteristic"]}
    assert set(by_id) == {f.id for f in line.FEATURES} | {"pull", "appearance"}
    for feature in line.FEATURES:
        item = by_id[feature.id]
        for key in ("nominal", "lower", "upper", "bound"):
            assert item.get(key) == getattr(feature, key), (feature.id, key)
        assert item["unit"] == "mm"
    numbers = [item["number"] for item in read["characteristic"]]
    assert len(set(numbers)) == len(numbers)
    at = [event["at"] for event in read["event"] if "at" in event]
    assert any(place in (line.REGRIND_AT, line.REGRIND_AT + 1) for place in at)


def test_every_file_that_it_names_is_there(sample_study: Path) -> None:
    read = tomllib.loads(study_toml(line.SEED))
    gauges = {gauge["id"] for gauge in read["gauge"]}
    for data in read["data"]:
        assert (sample_study / data["file"]).is_file(), data["file"]
        assert {data.get("gauge"), *data.get("gauges", ())} - {None} <= gauges


def test_plant_and_people_are_said_to_be_invented() -> None:
    read = tomllib.loads(study_toml(1))["study"]
    assert read["supplier"].endswith("(invented)")
    assert read["customer"].endswith("(invented)")
    with pytest.raises(KeyError):
        read["criteria"]
