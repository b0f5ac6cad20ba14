"""Units of cells and names, what turns one into another, and factors between two sizes that ought to be the same."""

from __future__ import annotations

import math

import pytest

from linestudy.records.units import (
    FACTORS,
    factor_between,
    is_unit,
    unit_factor,
    unit_in_head,
    units_of,
)
from linestudy.results import InputError


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
        ("Blade width, in", "in"), ("Width_mm", "mm"), ("Width mm", "mm"), ("Force, N", "N"), ("Width [mm]", "mm"), ("Gap_in", "in"),
        ("Gap_out", None), ("Width, L", None), ("Width, min", None), ("Lane, A", None), ("mm", None),
    ],
)  # fmt: skip
def test_units_at_the_end_of_a_name(name: str, unit: str | None) -> None:
    assert unit_in_head(name) == unit


@pytest.mark.checks("factors of units", source="NIST SP 811 (2008), appendix B", memory=True)
@pytest.mark.parametrize(
    ("given", "wanted", "factor"),
    [
        ("inch", "mm", 25.4), ('"', "mm", 25.4), ("mil", "µm", 25.4), ("thou", "mm", 0.0254), ("um", "mm", 1e-3),
        ("μm", "mm", 1e-3), ("kN", "N", 1e3), ("lbf", "N", 4.4482216152605), ("kgf", "N", 9.80665), ("°", "deg", 1.0),
        ("bar", "MPa", 0.1), ("min", "s", 60.0), ("mm", "mm", 1.0),
    ],
)  # fmt: skip
def test_numbers_are_multiplied_by(given: str, wanted: str, factor: float) -> None:
    assert unit_factor(given, wanted, "run.csv") == pytest.approx(factor, rel=1e-12)
    assert unit_factor(wanted, given, "run.csv") == pytest.approx(1 / factor, rel=1e-12)


def test_without_a_unit_on_either_side_nothing_is_turned() -> None:
    assert unit_factor(None, "mm", "run.csv") == unit_factor("mm", None, "run.csv") == 1.0


@pytest.mark.parametrize(
    ("given", "wanted"),
    [
        ("mm", "N"),
        ("°C", "K"),
        ("m**99", "mm"),
        ("mm; import os", "mm"),
        ("", "mm"),
        ("furlongs per week", "mm"),
    ],
)
def test_what_cannot_be_turned_is_refused_with_both_units(given: str, wanted: str) -> None:
    # Degrees Celsius have a zero of their own: no factor turns them.
    with pytest.raises(InputError) as stop:
        unit_factor(given, wanted, "run.csv")
    assert "run.csv" in str(stop.value)
    assert given in str(stop.value)
    assert wanted in str(stop.value)


def test_units_are_those_of_exports_and_no_words_or_letters() -> None:
    assert all(map(is_unit, ("mm", "µm", "μm", '"', "%", "°C", "Ohm")))
    assert not any(map(is_unit, ("ok", "a", "L", "day", "mmm", "", "MM", "l")))


@pytest.mark.parametrize("factor", [each for known in FACTORS for each in (known, 1 / known)])
def test_a_factor_holds_within_five_per_cent_and_not_beyond(factor: float) -> None:
    assert factor_between(2.0 / factor, 2.0) == pytest.approx(factor)
    for off in (1.045, 0.957):
        assert factor_between(2.0 / factor * off, 2.0) == pytest.approx(factor)
    for off in (1.06, 0.94):
        assert factor_between(2.0 / factor * off, 2.0) is None
    one, other = units_of(factor)
    assert unit_factor(one, other, "") == pytest.approx(factor)


@pytest.mark.parametrize(
    ("units", "of"),
    [
        (("cm", "m", "nm", "in", "inches", "micron", "microns", "mil", "thou", '"', "um"), "mm"),
        (("kN", "mN", "lbf", "kgf"), "N"),
        (("kg", "mg"), "g"),
        (("ms", "min", "h"), "s"),
        (("kPa", "MPa", "bar"), "Pa"),
        (("Ohm", "Ω"), "ohm"),
        (("mV",), "V"),
        (("mA",), "A"),
        (("°",), "deg"),
    ],
)
def test_every_unit_that_is_known_is_one_of_its_quantity(units: tuple[str, ...], of: str) -> None:
    for unit in units:
        assert is_unit(unit)
        assert unit_factor(unit, of, "run.csv") > 0


def test_a_torque_is_no_length() -> None:
    # To pint "Nm" is the number of a yarn, metres to a gram.
    from linestudy.records.units import _SPELT, _registry

    quantity = _registry().Quantity(1.0, _SPELT["Nm"])
    assert quantity.to("newton * millimeter").magnitude == pytest.approx(1000.0)
