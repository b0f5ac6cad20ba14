"""What is inferred of an unknown file reads it as it was written; what it cannot know is left open."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from linestudy.records import infer_data_table
from linestudy.results import InputError


def plant() -> str:
    """Forty parts as a German export writes them, with two sentinels and a blank reading."""
    lines = ["Machine 4;;;;", "Teil;Zeit;Ergebnis;Breite;Spalt"]
    for n in range(1, 41):
        width = "" if n == 9 else f"2,{800 + n % 7}"
        gap = "9999" if n in (5, 21) else f"0,{610 + n % 5}"
        lines.append(f"{n};02.03.2026 06:00:{n:02d};{'nio' if n == 3 else 'io'};{width};{gap}")
    return "\n".join(lines) + "\n"


def test_a_plants_file(tmp_path: Path) -> None:
    file = tmp_path / "log.csv"
    file.write_text(plant(), encoding="utf-8")
    found = tomllib.loads(infer_data_table(file))["data"][0]
    assert found["delimiter"] == ";"
    assert found["header_row"] == 2
    assert found["decimal"] == ","
    assert found["order"] == "Teil"
    assert (found["time"], found["time_format"]) == ("Zeit", "%d.%m.%Y %H:%M:%S")
    assert found["verdict"] == "Ergebnis"
    assert list(found["columns"].values()) == ["Breite", "Spalt"]
    assert set(found["missing"]) == {"", "9999"}


def test_text_of_a_file_stays_text(tmp_path: Path) -> None:
    file = tmp_path / "log.csv"
    file.write_text('Part,"W""]\nrole = ""x"\n1,2.5\n2,2.6\n', encoding="utf-8")
    found = tomllib.loads(infer_data_table(file))["data"]
    assert len(found) == 1
    assert found[0]["role"] == "run"


@pytest.mark.parametrize(
    ("text", "told"), [("Part,Width\n", "has a header but no rows"), ("", "is empty")]
)
def test_nothing_to_infer_from(tmp_path: Path, text: str, told: str) -> None:
    file = tmp_path / "log.csv"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=told):
        infer_data_table(file)


def test_the_old_name_warns() -> None:
    import linestudy.records as room

    with pytest.warns(DeprecationWarning, match="infer_data_table"):
        assert room.propose is infer_data_table
