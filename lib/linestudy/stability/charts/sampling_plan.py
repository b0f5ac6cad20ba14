"""Advice for the control plan: how many parts to measure how often, to find a shift in time.

Model: a shift stays once it has come; subgroups of n neighbours are taken every h minutes and held
against three-sigma limits that know how much subgroups differ when nothing is wrong. The variance of
a subgroup's mean is ``between**2 + within**2 / n``: where neighbours are nearly the same part, more
of them tell little more. A shift comes on average half an interval before the next subgroup, so the
mean time to a signal is ``h (ARL - 1/2)`` (Duncan, *JASA* 51 (1956), 228-242; Montgomery,
*Introduction to Statistical Quality Control*, ch. 5). Misleads where h is shorter than the spacing
at which correlation is spent. What to do at a signal is the user's own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from linestudy.results import CannotJudge, Finding, show
from linestudy.results.declared import Declaration
from linestudy.stability.charts.run_lengths import average_run_length

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class PlanAdvice(Finding):
    """Subgroup size and interval for the running chart.

    Attributes
    ----------
    shift : float
        The shift that matters, in the unit of the values.
    wished_minutes : float
        Mean time from shift to signal that is asked for.
    size, interval_minutes, parts_per_hour, false_alarm_hours : float
        The option that measures fewest parts.
    options : tuple of dict
        ``size``, ``run_length`` (points to the signal), ``interval_minutes``,
        ``interval_parts``, ``parts_per_hour``, ``false_alarm_hours``.
    """

    shift: float
    wished_minutes: float
    size: int
    interval_minutes: float
    parts_per_hour: float
    false_alarm_hours: float
    rules: tuple[str, ...]
    options: tuple[dict[str, Any], ...]
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Advice for the control plan"
    picture: ClassVar[str] = "stability:plan_cost"

    @property
    def statement(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        return (
            f"To find a shift of {show(self.shift)}{unit} within {self.wished_minutes:g} minutes on "
            f"average, {self.size} {'part' if self.size == 1 else 'neighbouring parts'} every "
            f"{self.interval_minutes:,.0f} minutes cost the fewest measurements "
            f"({self.parts_per_hour:,.1f} parts an hour), with a false alarm every "
            f"{self.false_alarm_hours:,.0f} hours."
        )

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        return pd.DataFrame(
            {
                "subgroup size": [o["size"] for o in self.options],
                "points to the signal": [show(o["run_length"]) for o in self.options],
                "interval (min)": [show(o["interval_minutes"]) for o in self.options],
                "interval (parts)": [
                    "" if o["interval_parts"] is None else f"{o['interval_parts']:,.0f}"
                    for o in self.options
                ],
                "parts measured per hour": [f"{o['parts_per_hour']:,.1f}" for o in self.options],
                "hours to a false alarm": [f"{o['false_alarm_hours']:,.1f}" for o in self.options],
            }
        )


ADVICE = Declaration("stability.advice", PlanAdvice, "Advice for the control plan")


def advise(
    shift: float,
    sd_within: float,
    wished_minutes: float = 60.0,
    sd_between: float = 0.0,
    line_rate: float | None = None,
    spacing_minutes: float | None = None,
    sizes: Sequence[int] = (1, 2, 3, 4, 5, 6, 8, 10),
    rules: str = "three sigma",
    unit: str = "",
) -> PlanAdvice:
    """Choose subgroup size and interval from the time in which a shift must be found.

    Parameters
    ----------
    shift : float
        The shift of the mean that matters, in the unit of the values.
    sd_within : float
        Spread within subgroups of neighbours.
    wished_minutes : float
        Mean time from shift to signal.
    sd_between : float
        Spread of subgroup means that is there although nothing is wrong, beyond chance.
    line_rate : float, optional
        Strokes per minute.
    spacing_minutes : float, optional
        Spacing at which serial correlation is spent; shorter intervals are cautioned.
    sizes : sequence of int
        Subgroup sizes to compare.
    rules : str
        Name of a published set of rules that depend on zones only.
    unit : str

    Returns
    -------
    PlanAdvice

    Raises
    ------
    CannotJudge
        A shift, spread or time not above zero, or no size that finds the shift in time.

    Examples
    --------
    >>> advise(2.0, 1.0, wished_minutes=30).size
    4
    """
    if not (shift > 0 and sd_within > 0 and wished_minutes > 0 and sd_between >= 0):
        raise CannotJudge("Shift, spread and wished time must be above zero.")
    rest = average_run_length(rules)
    options: list[dict[str, Any]] = []
    for n in sizes:
        error = math.sqrt(sd_between**2 + sd_within**2 / n)
        points = average_run_length(rules, shift / error)
        interval = wished_minutes / (points - 0.5)
        if line_rate and interval * line_rate < n:
            continue
        options.append(
            {
                "size": int(n),
                "run_length": points,
                "interval_minutes": interval,
                "interval_parts": interval * line_rate if line_rate else None,
                "parts_per_hour": 60 * n / interval,
                "false_alarm_hours": rest * interval / 60,
            }
        )
    if not options:
        raise CannotJudge(
            "No subgroup size finds this shift in the wished time, even if every part is measured."
        )
    best = min(options, key=lambda o: float(o["parts_per_hour"]))
    notes = ["Holds for a shift that stays; what comes and goes between subgroups is not seen."]
    if spacing_minutes is not None and best["interval_minutes"] < spacing_minutes:
        notes.append(
            f"The interval is shorter than the {show(spacing_minutes)} minutes at which correlation is "
            "spent; points then resemble each other and false alarms come in clusters."
        )
    if shift < sd_within / 2:
        notes.append(
            "The shift that matters is small against the spread; a chart for small shifts (EWMA, "
            "CUSUM) finds it with fewer parts."
        )
    from linestudy.stability.charts.rules import chosen

    return PlanAdvice(
        float(shift),
        float(wished_minutes),
        int(best["size"]),
        float(best["interval_minutes"]),
        float(best["parts_per_hour"]),
        float(best["false_alarm_hours"]),
        tuple(rule.key for rule in chosen(rules)),
        tuple(options),
        unit,
        tuple(notes),
    )
