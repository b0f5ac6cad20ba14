"""Correcting one gauge by another: the function, its uncertainty, and whether it is warranted.

Model: the Deming line ``first = intercept + slope * second`` turned round, so that a reading of the first
gauge becomes what the second would have read; the uncertainty of the function is that of the line
(jackknife, with the covariance of slope and intercept), not of a single reading. Warranted where the
correction is seen beyond chance at a limit or in the middle (all places together at one level, Working &
Hotelling, *Journal of the American Statistical Association* 24 (1929), 73-85), and is larger than half the first gauge's
step, below which no reading can be corrected. Misleads outside the sizes of the parts that were
compared, and where the second gauge is the one that is off.

Source of the uncertainty of a line turned round: GUM (JCGM 100:2008), 5.1 and 5.2 with H.3.
"""

from __future__ import annotations

from dataclasses import dataclass

from linestudy.results import Interval, show_in


@dataclass(frozen=True)
class Correction:
    """Correction of the first gauge towards the second.

    Attributes
    ----------
    slope : float
        Of the first gauge's readings on the second's.
    intercept : float
        [unit of the readings] Formula: corrected = (reading - intercept) / slope.
    at : dict of str to Interval
        [unit of the readings] By place (``lower``, ``middle``, ``upper``): what is added to a reading there.
    warranted : bool
        Whether a correction is seen beyond chance and is larger than half a step.
    answer : str
        One plain sentence.
    """

    slope: float
    intercept: float
    at: dict[str, Interval]
    warranted: bool
    answer: str


def corrections(
    slope: float,
    level: float,
    middle: float,
    errors: tuple[float, float],
    correlation: float,
    factor: float,
    places: dict[str, float],
    confidence: float,
) -> dict[str, Interval]:
    """Compute from a fitted line the corrections to be added to readings of some sizes.

    Parameters
    ----------
    slope : float
        Of first on second.
    level, middle : float
        Point of the line about which slope and level are given: first at ``middle`` of second.
    errors : (float, float)
        Standard errors of slope and level.
    correlation : float
        Between them.
    factor : float
        Coverage factor of the interval.
    places : dict of str to float
        Readings of the first gauge at which the correction is given.
    confidence : float
        Of the interval.

    Returns
    -------
    dict of str to Interval
        By place, in the unit of the readings.

    Examples
    --------
    >>> found = corrections(1.0, 5.1, 5.0, (0.001, 0.01), 0.0, 2.0, {"middle": 5.0}, 0.95)
    >>> round(found["middle"].estimate, 3)
    -0.1
    """
    at = {}
    for place, reading in places.items():
        distance = (reading - level) / slope
        value = middle + distance - reading
        variance = (
            errors[1] ** 2
            + (distance * errors[0]) ** 2
            + 2 * correlation * distance * errors[0] * errors[1]
        ) / slope**2
        half = factor * max(variance, 0.0) ** 0.5
        at[place] = Interval(value, value - half, value + half, confidence, "jackknife")
    return at


def correction_from(
    at: dict[str, Interval],
    slope: float,
    intercept: float,
    widening: float,
    step: float | None,
    names: tuple[str, str],
    unit: str,
) -> Correction:
    """Say whether a correction is warranted.

    Parameters
    ----------
    at : dict of str to Interval
        What must be added to a reading, by place.
    slope, intercept : float
        Of first on second.
    widening : float
        Of a half width, so that all places together are held at the confidence of one.
    step : float or None
        The first gauge's resolution.
    names : (str, str)
        Names of the gauges.
    unit : str
        Unit of the readings.

    Returns
    -------
    Correction

    Examples
    --------
    >>> at = {"middle": Interval(-0.1, -0.12, -0.08, 0.95, "jackknife")}
    >>> correction_from(at, 1.0, 0.1, 1.25, None, ("camera", "CMM"), "mm").warranted
    True
    """
    seen = {place: c for place, c in at.items() if not _holds_nought(c, widening)}
    large = {p: c for p, c in seen.items() if step is None or abs(c.estimate) > step / 2}
    camera, other = names
    if large:
        place, largest = max(large.items(), key=lambda item: abs(item[1].estimate))
        where = "in the middle" if place == "middle" else f"at the {place} limit"
        answer = (
            f"Correcting {camera} by {other} is warranted: {where} a reading needs "
            f"{show_in(largest, unit)} added."
        )
    elif seen:
        answer = (
            f"Correcting {camera} is not warranted: a difference from {other} is seen, but it is smaller than "
            f"half the step of {camera}, so no reading would change."
        )
    else:
        answer = (
            f"Correcting {camera} is not warranted: tested at all sizes together, no difference from {other} is significant, and a "
            "correction would only add its own uncertainty."
        )
    return Correction(slope, intercept, at, bool(large), answer)


def _holds_nought(value: Interval, widening: float) -> bool:
    below, above = value.estimate - value.low, value.high - value.estimate
    return value.estimate - widening * below <= 0 <= value.estimate + widening * above
