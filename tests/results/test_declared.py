"""A finding is declared once; what reads the declaration learns of a mistake at import."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import pytest

from linestudy.results import Finding, Findings, Interval
from linestudy.results.declared import Declaration, declaration_of
from linestudy.results.tables import Quantity, Rows


@dataclass(frozen=True)
class Spread(Finding):
    sd: Interval
    cautions: tuple[str, ...] = ()
    title: ClassVar[str] = "Spread of something"

    def _rows(self) -> Rows:
        return [Quantity("SD", self.sd, "mm")]

    @property
    def statement(self) -> str:
        return "SD 1.0 mm (95 % CI 0.5 to 1.5)."


SPREAD = Spread(Interval(1.0, 0.5, 1.5, 0.95, "example"), ("Few parts.",))
OF_GAUGE = Declaration("tried_gauges.{gauge}.spread", Spread, "Spread")


def test_a_place_with_a_name_in_it() -> None:
    assert OF_GAUGE.at(gauge="camera") == ("tried_gauges", "camera", "spread")
    assert declaration_of(("tried_gauges", "cmm", "spread")) is OF_GAUGE
    assert declaration_of(("tried_gauges", "cmm", "other")) is None
    with pytest.raises(KeyError):
        OF_GAUGE.at()


def test_a_field_that_is_not_there_is_told_at_once() -> None:
    assert OF_GAUGE.field("sd") == "sd"
    assert OF_GAUGE.field("statement") == "statement"
    with pytest.raises(AttributeError, match="has no field 'spread'"):
        OF_GAUGE.field("spread")


def test_a_picture_that_is_not_drawn_cannot_be_shown() -> None:
    with pytest.raises(ValueError, match="draws no picture"):
        Declaration("tried.picture", Spread, "Spread", picture=60)


def test_two_findings_do_not_share_a_place() -> None:
    @dataclass(frozen=True)
    class Other(Spread):
        pass

    with pytest.raises(ValueError, match="two findings"):
        Declaration("tried_gauges.{gauge}.spread", Other, "Other")


def test_findings_are_walked_by_name() -> None:
    found = Findings()
    found.add("blade", ("stability",), SPREAD)
    found.add("blade", ("stability", "wear"), SPREAD)
    found.add(None, ("joint",), SPREAD)
    assert found.blade.stability.wear is SPREAD
    assert found.blade.stability.sd == SPREAD.sd
    assert found.blade.stability.finding is SPREAD
    assert found.joint.finding is SPREAD
    assert {"blade", "joint"} <= set(dir(found))
    assert "wear" in dir(found.blade.stability)
    assert found["blade", "stability", "wear"] is SPREAD
    with pytest.raises(AttributeError, match="did you mean 'blade'"):
        _ = found.blad
    with pytest.raises(AttributeError, match="did you mean 'wear'"):
        _ = found.blade.stability.waer
    with pytest.raises(KeyError, match=r"did you mean 'blade\.stability\.wear'"):
        _ = found["blade", "stability", "weer"]
    assert len(found.overview()) == 3
    assert "stability.wear" in str(found)


def test_a_finding_printed_is_a_few_lines_that_teach() -> None:
    assert str(SPREAD).splitlines() == [
        "Spread of something",
        "SD 1.0 mm (95 % CI 0.5 to 1.5).",
        "",
        "  quantity  value",
        "  SD (mm)   1.00 (0.50 to 1.50)",
        "Note: Few parts.",
    ]
    assert repr(SPREAD) == str(SPREAD)
    assert SPREAD.table()["low"].tolist() == [0.5]
    with pytest.raises(ValueError, match="no picture"):
        SPREAD.plot()
