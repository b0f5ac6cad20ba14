"""Readings in another unit than the characteristic's: recognised by the factor, and named.

A gauge study never lies a factor 25.4 or 1000 away from what it measures, so a median that does is a
unit that was not declared (common practice, no source).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from linestudy.results import CannotJudge, data_arguments
from linestudy.results.rounding import as_given

#: Reading over expectation → what the readings look like, given what they were declared as.
_FACTORS = {
    1 / 25.4: "inches read as millimetres",
    25.4: "millimetres read as inches",
    1000.0: "micrometres read as millimetres",
    1 / 1000.0: "millimetres read as micrometres, or metres as millimetres",
    1000 / 25.4: "thousandths of an inch read as millimetres",
}


def refuse_wrong_unit(
    readings: ArrayLike,
    nominal: float | None,
    lower: float | None,
    upper: float | None,
    *,
    unit: str = "",
) -> None:
    """Stop where readings lie a factor between units away from the tolerance.

    Parameters
    ----------
    readings : array_like of float, shape (n,)
        Readings as they are in the file.
    nominal, lower, upper : float or None
        Of the characteristic, in `unit`.
    unit : str
        Unit of the characteristic.

    Returns
    -------
    None
        Nothing; it raises where the unit is another.

    Raises
    ------
    ValueError
        Readings of other than one dimension.
    CannotJudge
        The median is a factor between units away from the nominal (or the middle of the limits).

    See Also
    --------
    resolution_study : The step of the readings.

    Examples
    --------
    >>> refuse_wrong_unit([0.1102, 0.1103], 2.8, 2.75, 2.85, unit="mm")
    Traceback (most recent call last):
    ...
    linestudy.results.errors.CannotJudge: Readings lie near 0.11025 where 2.8 mm is expected, 0.03937 times that: they look like inches read as millimetres. Declare their unit in its [[data]] table.
    """
    values = data_arguments.one_dimensional(readings, name="readings", what="reading")
    aim = nominal
    if aim is None and lower is not None and upper is not None:
        aim = (lower + upper) / 2
    width = None if lower is None or upper is None else upper - lower
    # A magnitude near zero has no scale of its own, and one as wide as it is large hardly any.
    if not aim or (width is not None and width > abs(aim)):
        return
    shown = f"{as_given(aim)} {unit}".rstrip()
    middle = float(np.median(values))
    ratio = middle / aim
    for factor, words in _FACTORS.items():
        if ratio > 0 and abs(np.log(ratio / factor)) < 0.05:
            raise CannotJudge(
                f"Readings lie near {middle:.5g} where {shown} is expected, {ratio:.4g} times "
                f"that: they look like {words}. Declare their unit in its [[data]] table."
            )


def refuse_unit_of_masters(readings: ArrayLike, references: ArrayLike, unit: str) -> None:
    """Stop where readings of masters lie a factor between units away from the masters' own values.

    Parameters
    ----------
    readings, references : array_like of float, shape (n,)
        In the unit that is declared of them.
    unit : str
        Unit of the characteristic.

    Raises
    ------
    CannotJudge
        As for :func:`refuse_wrong_unit`.
    """
    known = np.asarray(references, dtype=float)
    if known.size:
        refuse_wrong_unit(readings, float(np.median(known)), None, None, unit=unit)
