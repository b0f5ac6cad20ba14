"""Sampling plan: how many parts to measure how often, to find a shift in time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from linestudy.results import CannotJudge, Finding, arguments, counted, show
from linestudy.results.declared import Declaration
from linestudy.results.rounding import in_short, time_between
from linestudy.results.tables import Rows
from linestudy.running.deprecation import old_keywords, renamed
from linestudy.stability.charts.rules import select_rules
from linestudy.stability.charts.run_lengths import average_run_length


@dataclass(frozen=True, slots=True)
class SamplingOption:
    """One subgroup size and what it asks for.

    Attributes
    ----------
    size : int
        Parts in a subgroup.
    run_length : float
        Mean points to the signal after the shift.
    interval_minutes : float
        [min] From one subgroup to the next.
    interval_parts : float or None
        The same in parts made; None where the line's rate is not known.
    parts_per_hour : float
        Parts measured per hour. Formula: ``60 * size / interval_minutes``.
    false_alarm_hours : float
        [h] Mean time between false alarms.
    """

    size: int
    run_length: float
    interval_minutes: float
    interval_parts: float | None
    parts_per_hour: float
    false_alarm_hours: float


@dataclass(frozen=True)
class SamplingPlan(Finding):
    """Subgroup size and interval for the running chart.

    Attributes
    ----------
    shift : float
        [unit of the values] The shift that matters.
    minutes_to_signal : float
        [min] Mean time from shift to signal that is asked for.
    size : int
        Subgroup size of the option that measures fewest parts.
    interval_minutes : float
        [min] Its interval.
    parts_per_hour : float
        Its parts measured per hour.
    false_alarm_hours : float
        [h] Its mean time between false alarms.
    rules : tuple of str
        Rules of the chart.
    options : tuple of SamplingOption
        All subgroup sizes that find the shift in time.
    unit : str
        Of the values.
    """

    shift: float
    minutes_to_signal: float
    size: int
    interval_minutes: float
    parts_per_hour: float
    false_alarm_hours: float
    rules: tuple[str, ...]
    options: tuple[SamplingOption, ...]
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Sampling plan"
    picture: ClassVar[str] = "stability:plan_cost"

    @property
    def statement(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        return (
            f"A shift of {in_short(self.shift)}{unit} is found after {self.minutes_to_signal:g} minutes on average "
            f"by {self.size} {'part' if self.size == 1 else 'neighbouring parts'} every {time_between(self.interval_minutes)}, "
            f"at the fewest measurements ({self.parts_per_hour:,.1f} parts an hour) and with a false alarm every "
            f"{self.false_alarm_hours:,.0f} hours."
        )

    def _rows(self) -> Rows:
        return [
            {
                "subgroup size": option.size,
                "points to the signal": option.run_length,
                "interval (min)": option.interval_minutes,
                "interval (parts)": option.interval_parts,
                "parts measured per hour": option.parts_per_hour,
                "time between false alarms (h)": option.false_alarm_hours,
            }
            for option in self.options
        ]


SAMPLING_PLAN = Declaration("stability.sampling_plan", SamplingPlan)


@old_keywords(
    renamed("sizes", "subgroup_sizes", since="0.3.0", removal="0.4.0"),
)
def sampling_plan(
    shift: float,
    sd_within: float,
    *,
    minutes_to_signal: float = 60.0,
    sd_between: float = 0.0,
    line_rate: float | None = None,
    spacing_minutes: float | None = None,
    turn: int | None = None,
    subgroup_sizes: Sequence[int] = (1, 2, 3, 4, 5, 6, 8, 10),
    rules: str = "three sigma",
    unit: str = "",
) -> SamplingPlan:
    r"""Choose subgroup size and interval from the time in which a shift must be found.

    Parameters
    ----------
    shift : float
        The shift of the mean that matters, in the unit of the values, above 0.
    sd_within : float
        Standard deviation within subgroups of neighbours, in the unit of the values, above 0.
    minutes_to_signal : float
        Mean time from shift to signal that is asked for, in minutes, above 0.
    sd_between : float
        Standard deviation of subgroup means that is there although nothing is wrong, beyond chance; in the
        unit of the values, not below 0.
    line_rate : float, optional
        Strokes per minute.
    spacing_minutes : float, optional
        Spacing from which on parts may be taken as independent, in minutes; shorter intervals are cautioned.
    turn : int, optional
        Parts after which the stations repeat, where they take turns.
    subgroup_sizes : sequence of int
        Subgroup sizes to compare, each at least 1.
    rules : str
        Name of a published set of rules that depend on zones only.
    unit : str
        Of the values.

    Returns
    -------
    SamplingPlan
        The option that measures fewest parts, and all others.

    Raises
    ------
    CannotJudge
        No size finds the shift in time.
    ValueError, TypeError
        An argument outside its range.

    See Also
    --------
    run_length : How soon a chart finds a shift.
    autocorrelation : Gives the spacing.

    Notes
    -----
    Model: a shift stays once it has come; subgroups of n neighbours are taken every h minutes and held
    against three-sigma limits that know how much subgroups differ when nothing is wrong. A shift comes on
    average half an interval before the next subgroup, so the mean time to a signal is

    .. math:: h\,(ARL(\delta) - \tfrac12), \qquad \delta = shift / \sqrt{\sigma_b^2 + \sigma_w^2/n}

    Where neighbours are nearly the same part, more of them add little. Misleads where h is shorter than the
    spacing from which on parts are independent, and for shifts that come and go between subgroups. What to
    do at a signal is the user's own.

    References
    ----------
    Duncan, *Journal of the American Statistical Association* 51 (1956), 228-242. Montgomery, *Introduction to
    Statistical Quality Control*, ch. 5.

    Examples
    --------
    >>> plan = sampling_plan(2.0, 1.0, minutes_to_signal=30)
    >>> print(plan.size, f"{plan.interval_minutes:.0f}", f"{plan.parts_per_hour:.0f}")
    4 44 6
    """
    if turn is not None:
        arguments.whole("turn", turn, least=1)
    arguments.number("shift", shift, above=0)
    arguments.number("sd_within", sd_within, above=0)
    arguments.number("minutes_to_signal", minutes_to_signal, above=0)
    arguments.number("sd_between", sd_between, least=0)
    arguments.positive(line_rate=line_rate, spacing_minutes=spacing_minutes)
    in_control = average_run_length(rules)
    options = []
    for n in subgroup_sizes:
        arguments.whole("a size of subgroup_sizes", n, least=1)
        error = math.sqrt(sd_between**2 + sd_within**2 / n)
        points = average_run_length(rules, shift / error)
        interval = minutes_to_signal / (points - 0.5)
        if line_rate and interval * line_rate < n:
            continue
        options.append(
            SamplingOption(
                size=int(n),
                run_length=points,
                interval_minutes=interval,
                interval_parts=interval * line_rate if line_rate else None,
                parts_per_hour=60 * n / interval,
                false_alarm_hours=in_control * interval / 60,
            )
        )
    if not options:
        raise CannotJudge(
            f"No subgroup size finds this shift within {minutes_to_signal:g} minutes, even if every part is "
            "measured."
        )
    best = min(options, key=lambda option: option.parts_per_hour)
    return SamplingPlan(
        shift=float(shift),
        minutes_to_signal=float(minutes_to_signal),
        size=best.size,
        interval_minutes=best.interval_minutes,
        parts_per_hour=best.parts_per_hour,
        false_alarm_hours=best.false_alarm_hours,
        rules=tuple(rule.key for rule in select_rules(rules)),
        options=tuple(options),
        unit=unit,
        cautions=tuple(_cautions(best, shift, sd_within, spacing_minutes, turn)),
    )


def _cautions(
    best: SamplingOption,
    shift: float,
    sd_within: float,
    spacing_minutes: float | None,
    turn: int | None,
) -> list[str]:
    notes = ["Holds for a shift that stays; what comes and goes between subgroups is not seen."]
    if spacing_minutes is not None and best.interval_minutes < spacing_minutes:
        notes.append(
            f"The interval is shorter than the {show(spacing_minutes)} minutes from which on parts are "
            "independent; points then resemble each other and false alarms come in clusters."
        )
    if turn is not None and best.size % turn:
        notes.append(
            f"Stations take turns every {turn} parts: take {counted(best.size, 'part')} of each station, or the same "
            "stations may be measured each time."
        )
    if shift < sd_within / 2:
        notes.append(
            "The shift that matters is small against the spread; a chart for small shifts (EWMA, "
            "CUSUM) finds it with fewer parts."
        )
    return notes
