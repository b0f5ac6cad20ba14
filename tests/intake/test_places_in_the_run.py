"""Times that come twice and order numbers without readings are listed, and no other ones are."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from linestudy import open_study
from linestudy.cli import main
from linestudy.intake import ambiguous_times, places_without_readings
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
[[data]]
role = "run"
file = "f.csv"
columns = { w = "W" }
order = "No"
time = "Time"
"""


def told(folder: Path, more: str) -> tuple[str, ...]:
    """A part every minute from 01:00 to 04:00 of the night in which German clocks go from 03:00 back to 02:00."""
    utc = pd.date_range("2026-10-24T23:00", "2026-10-25T03:00", freq="min", tz="UTC")
    local = utc.tz_convert("Europe/Berlin").tz_localize(None)
    rows = [f"{i},{time:%Y-%m-%dT%H:%M:%S},{2.8 + i / 1e5:.5f}" for i, time in enumerate(local, 1)]
    (folder / "f.csv").write_text("No,Time,W\n" + "\n".join(rows) + "\n")
    (folder / "study.toml").write_text(TOML + more)
    return ambiguous_times(read(open_study(folder)))


def test_an_event_in_the_hour_that_came_twice(tmp_path: Path) -> None:
    (sentence,) = told(tmp_path, '[[event]]\nname = "coil"\ntime = "2026-10-25T02:30:00"\n')
    assert sentence == (
        '[[event]] "coil": 2026-10-25T02:30:00 came twice, at number 91 and at 151, for the clock goes back from '
        "02:59:00 to 02:00:00. Write at with the order number instead."
    )


def test_both_ends_of_a_period(tmp_path: Path) -> None:
    period = '[[set_aside]]\nreason = "jam"\nbegin = "2026-10-25T01:30"\nend = "2026-10-25T02:10"\n'
    (sentence,) = told(tmp_path, period)
    assert '[[set_aside]] "jam", end: 2026-10-25T02:10 came twice' in sentence
    assert "Write last" in sentence


@pytest.mark.parametrize("time", ["2026-10-25T01:59", "2026-10-25T03:01", "2026-10-25T12:00"])
def test_a_time_that_came_once(tmp_path: Path, time: str) -> None:
    assert told(tmp_path, f'[[event]]\nname = "coil"\ntime = "{time}"\n') == ()


def test_check_says_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told(tmp_path, '[[event]]\nname = "coil"\ntime = "2026-10-25T02:30:00"\n')
    assert main(["check", str(tmp_path)]) == 0
    assert "came twice" in capsys.readouterr().out


def outside(folder: Path, more: str) -> tuple[str, ...]:
    """40 parts, order numbers 1 to 20 and 31 to 50: between them the line stood."""
    numbers = [*range(1, 21), *range(31, 51)]
    rows = [f"{i},{2.8 + i / 1e5:.5f}" for i in numbers]
    (folder / "f.csv").write_text("No,W\n" + "\n".join(rows) + "\n")
    (folder / "study.toml").write_text(TOML.replace('time = "Time"\n', "") + more)
    return places_without_readings(read(open_study(folder)))


WHO = 'cause = "strip"\naction = "cut"\nby = "NN"\n'


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        (
            f"[[cause]]\n{WHO}at = 99999\n",
            '[[cause]] "strip": no reading of the run has order number 99,999 (the run goes from 1 to 50), so it explains no point.',
        ),
        (
            f"[[cause]]\n{WHO}first = 22\nlast = 29\n",
            '[[cause]] "strip": no reading of the run has order number from 22 to 29, so it explains no point.',
        ),
        (
            '[[set_aside]]\nreason = "jam"\nfirst = 51\nlast = 60\ncharacteristic = "w"\n',
            '[[set_aside]] "jam": no reading of the run has order number from 51 to 60 (the run goes from 1 to 50), so it takes none out.',
        ),
        (
            '[[event]]\nname = "regrind"\nat = 310\n',
            '[[event]] "regrind": order number 310 comes after the last reading of the run (50), so no reading was taken after it.',
        ),
    ],
)
def test_a_place_without_readings(tmp_path: Path, more: str, sentence: str) -> None:
    assert outside(tmp_path, more) == (sentence,)


@pytest.mark.parametrize(
    "more",
    [
        f"[[cause]]\n{WHO}at = 20\n",
        f"[[cause]]\n{WHO}first = 22\nlast = 31\n",
        '[[set_aside]]\nreason = "jam"\nfirst = 50\nlast = 60\n',
        '[[set_aside]]\nreason = "jam"\nfirst = 45\n',
        # What was done before the first reading, and where the line stood, may be named.
        '[[event]]\nname = "regrind"\nat = 0\n',
        '[[event]]\nname = "regrind"\nat = 25\n',
        '[[event]]\nname = "end of the coil"\nat = 50\n',
    ],
)
def test_a_place_with_readings(tmp_path: Path, more: str) -> None:
    assert outside(tmp_path, more) == ()


def test_check_lists_a_cause_where_no_reading_is(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    outside(tmp_path, f"[[cause]]\n{WHO}at = 99999\n")
    assert main(["check", str(tmp_path)]) == 0
    assert 'Look at this: [[cause]] "strip"' in capsys.readouterr().out
