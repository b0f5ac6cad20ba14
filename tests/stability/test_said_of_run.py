"""What study.toml says of a run: events by stream, resets, coils."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd

from linestudy.stability.said_of_run import (
    events_of,
    names_streams,
    resets_at_coil_changes,
    resets_of,
)
from linestudy.study.events import Event
from linestudy.study.model import Characteristic


def test_an_event_that_names_streams_concerns_no_other() -> None:
    events = (
        Event(name="ground", at=10, characteristic="w", stream="L"),
        Event(name="ground", at=20, characteristic="w", stream=("R", "M")),
        Event(name="coil", at=30),
    )
    study: Any = SimpleNamespace(events=events)
    item = Characteristic(id="w", name="W", upper=1.0)
    assert resets_of(study, item, "L") == (10.0,)
    assert resets_of(study, item, "M") == (20.0,)
    assert resets_of(study, item) == (10.0, 20.0)
    assert events_of(study, item, "L") == ((10.0, "ground"), (30.0, "coil"))
    assert events_of(study, item) == ((10.0, "ground (L)"), (20.0, "ground (R, M)"), (30.0, "coil"))
    assert names_streams(study, item)
    assert not names_streams(SimpleNamespace(events=events[2:]), item)  # type: ignore[arg-type]


def test_resets_that_come_with_a_change_of_coil_are_counted() -> None:
    table = pd.DataFrame(
        {"order": np.arange(1.0, 101), "coil": np.repeat(["1", "2", "3", "4"], 25)}
    )
    assert resets_at_coil_changes(table, (26.0, 51.0, 60.0)) == 2
    assert resets_at_coil_changes(table, (30.0,)) == 0
    assert resets_at_coil_changes(table.drop(columns="coil"), (26.0,)) == 0
    assert resets_at_coil_changes(table, ()) == 0
