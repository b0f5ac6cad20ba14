"""Readings that a display showed in another unit, and somebody converted and rounded.

A display in steps of 0.0001 in has steps of 0.00254 mm. Written with three decimals the readings are multiples of 0.001 mm, so the
greatest common step is that of the writing, and hides the gauge's. Tried are steps of 1, 2 and 5 times a power of ten of an inch,
a millimetre, a pound-force or a kilogram-force in the other unit of its kind: all readings must be such multiples as rounding leaves
them. A reading does so by chance in ``step / converted`` of the cases, the different values among them independently.

When it misleads: readings with an offset (deviations from a nominal that was converted by itself) are not recognised. Common practice,
no source; factors of the units: ISO 80000-1 and the international yard and pound of 1959 (an inch is 25.4 mm, a pound 0.45359237 kg).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

#: Digits of what one step of a display becomes, and what such displays show.
_DISPLAYS = {
    2.54: "inches",
    1 / 2.54: "millimetres",
    4.4482216152605: "pounds-force",
    1 / 4.4482216152605: "newtons",
    9.80665: "kilograms-force",
}
#: Least ratio of a converted step to that of the writing, different values that are needed, and how seldom chance may do it.
_LEAST, _VALUES, _BY_CHANCE = 2.0, 5, 1e-4


def converted_step(distinct: NDArray[np.float64], step: float) -> tuple[float, str] | None:
    """Find the step of a display in another unit behind readings that were converted and rounded.

    Parameters
    ----------
    distinct : numpy.ndarray of float
        Different values of the readings, sorted.
    step : float
        Of which all are multiples.

    Returns
    -------
    tuple of float and str, or None
        The step in the unit of the readings, and what the display shows; None where none fits beyond chance.

    Examples
    --------
    >>> import numpy as np
    >>> read = np.round(np.arange(250, 290, 3) * 0.0001 * 25.4, 3)
    >>> converted_step(read, 0.001)
    (0.00254, 'inches')
    """
    n = distinct.size
    if n < _VALUES or step <= 0:
        return None
    span = float(distinct[-1] - distinct[0])
    tried = [
        (size, shows)
        for digits, shows in _DISPLAYS.items()
        for power in range(
            math.floor(math.log10(step / digits)), math.ceil(math.log10(span / digits)) + 1
        )
        for size in (float(f"{times * digits * 10.0**power:.15g}") for times in (1, 2, 5))
        if _LEAST * step <= size <= span / 2
    ]
    fitting = [
        (size, shows)
        for size, shows in tried
        if len(tried) * (step / size) ** n < _BY_CHANCE
        # Half a step either way is what rounding does; a little more is how numbers are stored.
        and np.abs(distinct - size * np.round(distinct / size)).max() <= 0.5001 * step
    ]
    return max(fitting) if fitting else None
