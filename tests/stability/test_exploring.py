"""A slider looks into a stretch of the run, and leaves words where no kernel runs."""

from __future__ import annotations

from pathlib import Path

import pytest

from linestudy import open_study, read
from linestudy.results import Findings, Unjudged
from linestudy.stability import control_chart, explore


def test_a_slider_looks_into_the_run(sample_study: Path) -> None:
    study = open_study(sample_study)
    values = read(study).table("run", "blade")
    found = Findings()
    found.attempt(
        "blade",
        ("stability",),
        "x",
        lambda: control_chart(values["value"], values["subgroup"], values["order"]),
    )
    box = explore(study, found, "blade")
    column, image = box.children
    (slider,) = column.children
    whole = image.value
    slider.value = (slider.min, slider.min + (slider.max - slider.min) / 4)
    assert image.value != whole
    assert "<img" in image.value
    assert "Seen from " in image.value
    # A place between two subgroups shows the last picture on.
    before = image.value
    slider.value = (slider.min + 1, slider.min + 2)
    assert image.value == before
    assert isinstance(explore(study, Findings(), "blade"), Unjudged)
    with pytest.raises(KeyError):
        explore(study, found, "nothing")
