"""Events that name a time get the order number that the run had then, by the clock of the run."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from linestudy.records.counting.event_places import with_places_of_events
from linestudy.results import InputError
from linestudy.study.load import Study, _checked

CLOCK = pd.DataFrame({"order": [1.0, 2, 3, 4], "time": pd.date_range("2026-03-02 05:00", periods=4, freq="h")})  # fmt: skip


def _places(*times: str, away: bool = False, runs: int = 1) -> list[float | None]:
    content = {
        "format": 1,
        "study": {"title": "t", "part": "p"},
        "characteristic": [{"id": "w", "name": "W", "unit": "mm", "upper": 9.0}],
        "event": [{"name": f"e{i}", "time": time} for i, time in enumerate(times)],
    }
    study = Study(Path(), _checked(content, ""))
    return [event.at for event in with_places_of_events(study, [CLOCK] * runs, away).events]


def test_the_first_part_from_then_on() -> None:
    assert _places("2026-03-02 05:30", "2026-03-02 07:00", "2026-03-03 00:00") == [2.0, 3.0, 5.0]
    assert _places("2026-03-02 05:30", runs=0) == [None]


def test_an_offset_is_counted_in_utc() -> None:
    assert _places("2026-03-02T08:00:00+01:00", "2026-03-02T07:00:00Z", away=True) == [3.0, 3.0]


def test_a_time_without_the_offset_that_the_run_has_is_refused() -> None:
    with pytest.raises(InputError, match=r"offset from UTC.*08:00:00\+01:00"):
        _places("2026-03-02 08:00", away=True)
    with pytest.raises(InputError, match="time is none"):
        _places("soon")
