"""Factors of units between two sizes; ordinary differences are none."""

from __future__ import annotations

import math

import pytest

from linestudy.records.units import factor_between, unit_in_head, units_of


@pytest.mark.parametrize(
    ("value", "known", "units"),
    [
        (0.1102, 2.8, ("inch", "mm")),
        (71.12, 2.8, ("mm", "inch")),
        (2801, 2.8, ("µm", "mm")),
        (0.0028, 2.8, ("mm", "µm")),
        (0.0711, 2.8, ("m", "inch")),
    ],
)
def test_factors(value: float, known: float, units: tuple[str, str]) -> None:
    factor = factor_between(value, known)
    assert factor is not None
    assert value * factor == pytest.approx(known, rel=0.05)
    assert units_of(factor) == units


@pytest.mark.parametrize("value", [2.8, 2.9, 28, 0, -70, math.nan, math.inf])
def test_none(value: float) -> None:
    assert factor_between(value, 2.8) is None


def test_what_is_no_factor() -> None:
    with pytest.raises(ValueError, match="no factor of units"):
        units_of(3.0)


@pytest.mark.parametrize(
    ("name", "unit"),
    [
        ("Blade width, in", "in"), ("Width_mm", "mm"), ("Width mm", "mm"), ("Force, N", "N"), ("Width [mm]", "mm"), ("Gap_in", None),
        ("Gap_out", None), ("Width, L", None), ("Width, min", None), ("Lane, A", None), ("mm", None),
    ],
)  # fmt: skip
def test_units_at_the_end_of_a_name(name: str, unit: str | None) -> None:
    assert unit_in_head(name) == unit
