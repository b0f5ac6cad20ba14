"""What an event concerns: the whole line, some characteristics, some streams; and whether it sets anything anew."""

from __future__ import annotations

import numpy as np
import pytest
from pydantic import ValidationError

from linestudy.gauges.evaluation import _resets
from linestudy.study.model import Characteristic, Data, Event, Tool


def test_an_event_without_characteristic_concerns_the_whole_line() -> None:
    event = Event(name="lens wiped", at=500)
    assert event.concerns("a")
    assert event.concerns("a", "L")
    assert event.may_reset("a")
    # Wear begins anew only where that is said.
    assert not event.restarts("a")
    assert Event(name="regrind", at=500, resets=True).restarts("a")


def test_an_event_may_name_several_characteristics_and_streams() -> None:
    event = Event(name="regrind", at=500, characteristic=("a", "b"), stream="L")
    assert event.concerns("a")
    assert event.restarts("b")
    assert not event.concerns("c")
    assert event.concerns("a", "L")
    assert not event.concerns("a", "R")
    quiet = Event(name="coil", at=500, characteristic="a", resets=False)
    assert not quiet.restarts("a")
    assert not quiet.may_reset("a")


def test_drift_takes_every_event_of_the_line_unless_readings_are_too_few() -> None:
    events = [Event(name="wiped", at=at) for at in (250.0, 500.0, 750.0)]
    study = type("Study", (), {"events": (*events, Event(name="set", at=600, characteristic="a"))})
    item = Characteristic(id="a", name="A", upper=1.0)
    assert _resets(study, item, np.arange(0.0, 1000, 20)) == (250, 500, 750, 600)
    assert _resets(study, item, np.arange(0.0, 1000, 100)) == (600,)


def test_tags_of_several_columns_and_parts_of_a_stroke() -> None:
    data = Data(
        role="run", file="a.csv", columns={"a": "A"}, order=("Job", "N"), station=("S", "L")
    )
    assert data.order == ("Job", "N")
    assert data.station == ("S", "L")
    with pytest.raises(ValidationError):
        Tool(parts_per_stroke=0)
