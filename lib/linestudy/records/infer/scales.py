"""Factors between numbers that belong together: millimetres and inches, metres and inches, thousandths.

Two medians of one quantity that differ by a factor within five per cent of 25.4, 1,000, 39.37 or an inverse of
them are told as units mixed up. Readings of a part lie within its tolerance, which is a few per cent of its size
at most; what is nought in the middle, as an offset, says nothing here.
"""

from __future__ import annotations

import math

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
