"""Units: declared, written in the cells, or only suspected; conversion by pint.

Factors reveal units that were mixed up. Two medians of one quantity that differ by a factor within five per cent of 25.4, 1,000,
39.37 or an inverse of them are reported as millimetres and inches, metres and inches, thousandths. Readings of a part lie within
its tolerance, which is a few per cent of its size at most; what is nought in the middle, as an offset, says nothing here.
"""

from __future__ import annotations

import functools
import math
import re
from typing import TYPE_CHECKING, Any

from linestudy.results import InputError

if TYPE_CHECKING:
    import pint

#: Only letters and signs: pint would also work out arithmetic such as "m**99", which no cell needs.
_UNIT = re.compile(r'[A-Za-zµ°%"/Ω·]{1,12}')
#: Units met in exports; anything else is refused rather than guessed at ("a" is a year to pint).
_KNOWN = frozenset(
    [
        "mm",
        "µm",
        "um",
        "micron",
        "microns",
        "cm",
        "m",
        "nm",
        "in",
        "inch",
        "inches",
        "mil",
        "thou",
        '"',
        "N",
        "kN",
        "mN",
        "cN",
        "lbf",
        "kgf",
        "g",
        "kg",
        "mg",
        "s",
        "ms",
        "µs",
        "min",
        "h",
        "V",
        "mV",
        "kV",
        "A",
        "mA",
        "µA",
        "Ω",
        "mΩ",
        "µΩ",
        "kΩ",
        "MΩ",
        "Ohm",
        "ohm",
        "mOhm",
        "kOhm",
        "°C",
        "degC",
        "K",
        "%",
        "bar",
        "mbar",
        "MPa",
        "GPa",
        "kPa",
        "Pa",
        "psi",
        "Hz",
        "kHz",
        "W",
        "J",
        "°",
        "deg",
    ]
)
#: Units of torque, which are written with a point between or without one; to pint "Nm" is a measure of yarn, "mil" an angle.
_TORQUE = {
    f"{force}{point}{arm}": f"{force}*{arm}"
    for force in ("N", "cN", "mN", "kN")
    for arm in ("m", "cm", "mm")
    for point in ("", "·")
} | {f"{one}·{two}": f"{one}*{two}" for one, two in (("lbf", "in"), ("in", "lbf"))}
_OHM = {f"{before}Ohm": f"{before}ohm" for before in ("", "m", "k")}
_SPELT = (
    {'"': "inch", "um": "micrometer", "mil": "thou", "°": "degree", "°C": "degC"} | _OHM | _TORQUE
)


def _one_spelling(unit: str) -> str:
    """Replace each variant of the micro sign, omega and product point by one sign."""
    return unit.translate({0x3BC: 0xB5, 0x2126: 0x3A9, 0x22C5: 0xB7, 0x2219: 0xB7, 0x2022: 0xB7})


def is_unit(text: str) -> bool:
    """Check whether a short text is a unit of measurement known from exports.

    Parameters
    ----------
    text : str
        A cell.

    Returns
    -------
    bool
        True for a length, angle, force or another unit that is known.

    Examples
    --------
    >>> is_unit("mm"), is_unit("N·m"), is_unit("ok")
    (True, True, False)
    """
    text = _one_spelling(text)
    return text in _KNOWN or text in _TORQUE


#: A unit at the end of a column's name: "Width [mm]", "Width (mm)", "Width in mm", "Width / mm", "Width, in", "Width_mm".
#: How inches are written.
INCHES = frozenset(["in", "inch", "inches", '"'])
#: "Gap_in" and "Gap_out" are no inches, "Width, L" is no litre.
_IN_HEAD = re.compile(
    r"(?:\[\s*([^\[\]]{1,12}?)\s*\]|\(\s*([^()]{1,12}?)\s*\)|(?:\s+in|\s*/)\s+(\S{1,12})"
    r"|,\s*(N|(?!min$)[^\s,]{2,12})|(?<=\w)[_ ](mm|µm|μm|um|cm|inch|kN|MM|UM|мм|мкм)|(?<=\w)_(in|IN|mil|thou|lbf|N|deg))\s*$"
)
#: Units as some heads write them.
_WRITTEN = {
    **dict.fromkeys(("1/1000 mm", "1/1000mm", "0.001 mm", "0,001 mm", "10-3 mm", "10⁻³ mm"), "µm"),
    "MM": "mm", "UM": "um", "IN": "in", "мм": "mm", "мкм": "µm", "Н": "N",
}  # fmt: skip


def unit_in_head(name: str) -> str | None:
    """Find the unit that a column's name ends with.

    Parameters
    ----------
    name : str
        As it is in the file.

    Returns
    -------
    str or None
        None where it ends with none that is known.

    Examples
    --------
    >>> unit_in_head("Width [mm]"), unit_in_head("GAP_IN"), unit_in_head("Width (nominal)")
    ('mm', 'in', None)
    """
    found = _IN_HEAD.search(name)
    unit = next((each for each in found.groups() if each), "") if found else ""
    unit = _WRITTEN.get(unit, unit)
    return unit if is_unit(unit) else None


def without_unit(name: str) -> str:
    """Give a column's name without the unit, or what else stands in brackets, at its end.

    Parameters
    ----------
    name : str

    Returns
    -------
    str
        The name itself where nothing would be left.

    Examples
    --------
    >>> without_unit("Width [mm]"), without_unit("Gap_in"), without_unit("Width, mm"), without_unit("In")
    ('Width', 'Gap', 'Width', 'In')
    """
    found = _IN_HEAD.search(name)
    if found is not None and (unit_in_head(name) is not None or name.rstrip()[-1:] in ")]"):
        name_alone = name[: found.start()]
    else:
        name_alone = re.sub(r"\s*(?:\[[^\[\]]*\]|\([^()]*\))\s*$", "", name)
    return name_alone.rstrip(" ,_") or name


@functools.lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[Any]:
    import pint

    return pint.UnitRegistry()


@functools.lru_cache(maxsize=256)
def _factor(given: str, wanted: str) -> float | None:
    import pint

    if not (_UNIT.fullmatch(given) and _UNIT.fullmatch(wanted)):
        return None
    try:
        units = _registry()
        one = units.Quantity(1.0, _SPELT.get(given, given)).to(_SPELT.get(wanted, wanted))
        none = units.Quantity(0.0, _SPELT.get(given, given)).to(_SPELT.get(wanted, wanted))
    except (pint.PintError, AttributeError, ValueError, TypeError):
        return None
    # A scale with its own zero (degree Celsius) cannot be converted by a factor.
    return float(one.magnitude) if none.magnitude == 0 else None


def unit_factor(given: str | None, wanted: str | None, file: str) -> float:
    """Return the factor from a file's unit to the characteristic's unit.

    Parameters
    ----------
    given, wanted : str or None
        Unit of the file and of the characteristic; None or equal units give 1.
    file : str
        For the message.

    Returns
    -------
    float
        What a number of the file is multiplied with.

    Raises
    ------
    InputError
        The units cannot be converted into each other.

    Examples
    --------
    >>> round(unit_factor("inch", "mm", "run.csv"), 9)
    25.4
    """
    if given is None or wanted is None or given == wanted:
        return 1.0
    factor = _factor(_one_spelling(given), _one_spelling(wanted))
    if factor is None:
        raise InputError(
            file, f'unit "{given}" is not that of the characteristic, "{wanted}"', "mend the unit"
        )
    return factor


#: How many of the second unit make one of the first.
FACTORS: dict[float, tuple[str, str]] = {
    25.4: ("inch", "mm"),
    1000.0: ("mm", "µm"),
    39.37007874: ("m", "inch"),
}
#: The nearest of them is meant within this share.
WITHIN = 0.05


def factor_between(value: float, known: float, within: float = WITHIN) -> float | None:
    """Find the factor of units by which two sizes differ.

    Parameters
    ----------
    value, known : float
        Sizes that ought to be the same.
    within : float
        How far their ratio may lie from a factor, as a logarithm.

    Returns
    -------
    float or None
        What `value` is to be multiplied by; None where they do not differ by such a factor.

    Examples
    --------
    >>> factor_between(0.1102, 2.8)
    25.4
    """
    if not (math.isfinite(value) and math.isfinite(known)) or value * known <= 0:
        return None
    ratio = known / value
    for factor in FACTORS:
        for each in (factor, 1.0 / factor):
            if abs(math.log(ratio / each)) < within:
                return each
    return None


def units_of(factor: float) -> tuple[str, str]:
    """Name the units of a value and of what it is held against, where they differ by a factor.

    Parameters
    ----------
    factor : float
        From :func:`factor_between`.

    Returns
    -------
    (str, str)
        Most likely unit of the value, and of the other.

    Examples
    --------
    >>> units_of(25.4)
    ('inch', 'mm')
    """
    for known, (large, small) in FACTORS.items():
        if math.isclose(factor, known, rel_tol=1e-6):
            return large, small
        if math.isclose(factor, 1 / known, rel_tol=1e-6):
            return small, large
    raise ValueError(f"{factor} is no factor of units")
