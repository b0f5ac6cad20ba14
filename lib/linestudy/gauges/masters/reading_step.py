"""Resolution: the step readings come in, found from the readings themselves.

Model: readings are whole multiples of one step (plus an offset), because a display, a camera's pixel or a
clerk rounds them. The step is the greatest common divisor of the differences between distinct readings,
by Euclid's algorithm with a tolerance for how numbers are stored; readings of several
steps mixed (one appraiser rounds to halves) show the finest, and last digits that are preferred are
tested by chi-square. Rounding adds ``step**2 / 12`` to the variance (Sheppard, *Proceedings of the
London Mathematical Society* 29 (1898), 353-380), which can be taken off while the step is no wider than
two standard deviations; above that the readings of one part fall into one or two steps and their
standard deviation is a number of the grid more than of the gauge.

When it misleads: few readings may by chance share a coarser step than the gauge has; a file rounded by
somebody on the way shows their step.

Source of the tenth rule (step at most a tenth of tolerance or process spread): AIAG MSA, 4th ed. (2010),
ch. I section E, which the verdict may use; here only the shares are given.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from linestudy.gauges.masters.converted_steps import converted_step
from linestudy.numerics.normal_intervals import sd_interval
from linestudy.results import Absent, CannotJudge, Finding, Interval, arguments, data_arguments
from linestudy.results.declared import Declaration
from linestudy.results.rounding import as_given, in_short, p_text
from linestudy.results.tables import Quantity, Rows

#: Up to this many standard deviations (without rounding) a step may be wide: Sheppard's correction is then
#: off by less than one per cent of the variance, its error falling like exp(-2 pi^2 sd^2 / step^2).
_WIDEST = 2.0


@dataclass(frozen=True)
class ResolutionStudy(Finding):
    """The step of the readings, and what rounding to it does.

    Attributes
    ----------
    n : int
        Readings.
    distinct : int
        Different values among them.
    step : float
        [unit of the readings] Apparent step: greatest of which all differences are whole multiples.
    declared : float or None
        [unit of the readings] What study.toml says the gauge's resolution is.
    rounding_sd : float
        [unit of the readings] Standard deviation that rounding adds. Formula: step / √12.
    repeat_sd : Interval or None
        [unit of the readings] Repeatability as recorded.
    corrected_sd : Interval or Absent
        [unit of the readings] Repeatability with the rounding taken off (Sheppard). Formula: √(repeat_sd² - step²/12).
    categories : float or None
        Steps within six standard deviations of the process. Formula: 6 s / step.
    share_of_tolerance : float or None
        Step over tolerance.
    share_of_process : float or None
        Step over six standard deviations of the process.
    digit_p : float or None
        Of the test that no last digit is preferred; None where too few steps are spanned.
    suspect : bool
        Whether the step is wider than two standard deviations of repeated readings, so that later
        numbers rest on the grid.
    unit : str
        Unit of the readings.
    """

    n: int
    distinct: int
    step: float
    declared: float | None
    rounding_sd: float
    repeat_sd: Interval | None
    corrected_sd: Interval | Absent
    categories: float | None
    share_of_tolerance: float | None
    share_of_process: float | None
    digit_p: float | None
    suspect: bool
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Resolution"
    picture: ClassVar[str] = "gauge_error:sizes_on_a_ruler"

    @property
    def widest(self) -> float:
        """The step that the readings show, or the one that is stated where that is wider."""
        return max(self.step, self.declared or 0.0)

    @property
    def statement(self) -> str:
        shares = [
            f"{share:.1%} of {what}" if share >= 0.0005 else f"less than 0.1 % of {what}"
            for share, what in (
                (self.share_of_tolerance, "tolerance"),
                (self.share_of_process, "process variation"),
            )
            if share is not None
        ]
        text = f"Resolution {in_short(self.step, self.unit)}"
        if shares:
            text += f", {' and '.join(shares)}"
        if self.repeat_sd is None:
            return f"{text}."
        added = self.rounding_sd**2 / self.repeat_sd.estimate**2
        if self.suspect:
            return (
                f"{text}; the step is wider than two standard deviations of repeated readings, so their "
                "spread says more of the step than of the gauge."
            )
        return f"{text}; rounding makes up {added:.0%} of the variance of repeated readings."

    def _rows(self) -> Rows:
        rows = [
            Quantity("apparent step", self.step, self.unit),
            Quantity(
                "declared resolution",
                Absent("not declared") if self.declared is None else self.declared,
                self.unit,
            ),
            Quantity("readings", self.n),
            Quantity("different values among them", self.distinct),
            Quantity("SD added by rounding", self.rounding_sd, self.unit),
        ]
        if self.repeat_sd is not None:
            rows += [
                Quantity("repeatability as recorded", self.repeat_sd, self.unit),
                Quantity("repeatability without rounding", self.corrected_sd, self.unit),
            ]
        if self.share_of_tolerance is not None:
            rows.append(Quantity("step, share of tolerance", self.share_of_tolerance, "%"))
        if self.categories is not None:
            rows.append(Quantity("steps within the process spread", self.categories))
        return rows


RESOLUTION = Declaration("gauges.{gauge}.resolution", ResolutionStudy)


def _plain(number: float) -> str:
    return as_given(number)


def apparent_step(readings: ArrayLike) -> float:
    """Find the greatest step of which all differences between readings are whole multiples.

    Parameters
    ----------
    readings : array_like of float, shape (n,)
        Readings in any unit.

    Returns
    -------
    float
        In the unit of the readings; 0 where the readings show no common step.

    Raises
    ------
    CannotJudge
        Readings that are all the same.

    See Also
    --------
    resolution_study : The step held against tolerance, process and repeatability.

    Notes
    -----
    Euclid's algorithm on the gaps between distinct readings, with a tolerance for how numbers are
    stored; readings that were converted from another unit and rounded have the step of the display they were read off.
    Misleads where few readings share a coarser step by chance. Common practice, no source.

    Examples
    --------
    >>> round(apparent_step([0.1, 0.3, 0.35, 0.5]), 6)
    0.05
    """
    distinct = np.unique(data_arguments.readings(readings, least=2))
    written = _common_step(distinct)
    shown = converted_step(distinct, written)
    return written if shown is None else shown[0]


def _common_step(distinct: NDArray[np.float64]) -> float:
    """Find the greatest common step of different values; 0 where there is none."""
    gaps = np.diff(distinct)
    if gaps.size == 0:
        raise CannotJudge("All readings are the same, so no step can be seen.")
    # Numbers that print with few digits differ from them by rounding of the last bit only.
    noise = 64 * np.finfo(float).eps * float(np.abs(distinct).max())
    gaps = gaps[gaps > noise]
    if gaps.size == 0:
        raise CannotJudge("All readings are the same, so no step can be seen.")
    step = float(gaps[0])
    for gap in np.unique(gaps):
        step = _common(step, float(gap), max(noise, 1e-4 * float(gaps.min())))
        if step <= 8 * noise or step < 1e-3 * float(gaps.min()):
            return 0.0
    # Euclid's remainders add up; the mean over the widest span is the better step.
    span = float(distinct[-1] - distinct[0])
    return span / round(span / step)


def _converted(values: NDArray[np.float64], unit: str) -> list[str]:
    """Say that readings were taken off a display in another unit."""
    distinct = np.unique(values)
    written = _common_step(distinct)
    shown = converted_step(distinct, written)
    if shown is None:
        return []
    size, other = shown
    return [
        f"The readings were written in steps of {f'{_plain(written)} {unit}'.rstrip()} but fall on multiples of "
        f"{f'{_plain(size)} {unit}'.rstrip()} only: the gauge showed {other}, and that is its step."
    ]


def _common(a: float, b: float, tolerance: float) -> float:
    while b > tolerance:
        a, b = b, a - b * math.floor(a / b + 1e-9)
        if b > 0 and a - b < tolerance:
            b = 0.0
    return a


def resolution_study(
    readings: ArrayLike,
    *,
    tolerance: float | None = None,
    process: ArrayLike | None = None,
    repeat_sd: float | None = None,
    repeat_df: float | None = None,
    declared: float | None = None,
    same_gauge: bool = True,
    confidence: float = 0.95,
    unit: str = "",
) -> ResolutionStudy:
    r"""Find the step of readings and hold it against tolerance, process and repeatability.

    Parameters
    ----------
    readings : array_like of float, shape (n,)
        Of one gauge on one characteristic, in `unit`.
    tolerance : float, optional
        Width of the tolerance, in `unit`.
    process : array_like of float, shape (m,), optional
        Readings of the process in `unit`, for its spread and for the test of last digits.
    repeat_sd : float, optional
        Repeatability as recorded, in `unit`.
    repeat_df : float, optional
        Its degrees of freedom; needed with `repeat_sd`.
    declared : float, optional
        Resolution as declared, in `unit`.
    same_gauge : bool
        Whether the process was read by this gauge; only then are its last digits tested.
    confidence : float
        Of the interval of repeatability, between 0 and 1.
    unit : str
        Unit of the readings, for table, statement and picture.

    Returns
    -------
    ResolutionStudy
        The step, its shares, and repeatability without rounding.

    Raises
    ------
    CannotJudge
        Fewer than ten readings, readings that are all the same or that show no step.
    ValueError
        An argument outside its range, or `repeat_sd` without `repeat_df`.

    See Also
    --------
    apparent_step : The step alone.
    grr_anova : Repeatability on parts.

    Notes
    -----
    Model: readings are whole multiples of one step q. Rounding adds

    .. math:: \sigma_q^2 = q^2 / 12

    to the variance, which is taken off repeatability while q is at most two standard deviations wide.
    Misleads where a file was rounded by somebody on the way: it shows their step.

    References
    ----------
    Sheppard, *Proceedings of the London Mathematical Society* 29 (1898), 353-380. AIAG MSA, 4th ed.
    (2010), ch. I, section E.

    Examples
    --------
    >>> import numpy as np
    >>> values = np.round(np.random.default_rng(1).normal(10, 0.02, 200), 3)
    >>> print(resolution_study(values, tolerance=0.2, unit="mm").statement)
    Resolution 0.001 mm, 0.5% of tolerance.
    """
    values = data_arguments.readings(readings, least=10)
    data_arguments.width("tolerance", tolerance)
    data_arguments.width("declared", declared)
    arguments.share("confidence", confidence)
    if (repeat_sd is None) != (repeat_df is None):
        raise ValueError(
            f"repeat_sd = {repeat_sd} and repeat_df = {repeat_df}: give both, or neither."
        )
    step = apparent_step(values)
    if step == 0:
        raise CannotJudge(
            f"{values.size} readings show no common step: they were recorded finer than the gauge resolves, or are averages."
        )
    rounding = step / math.sqrt(12)
    repeat = None
    corrected: Interval | Absent = Absent("no repeated readings")
    suspect = False
    if repeat_sd is not None and repeat_df is not None and repeat_sd > 0:
        repeat = sd_interval(repeat_sd, repeat_df, confidence)
        corrected = _sheppard(repeat, rounding)
        suspect = isinstance(corrected, Absent) or step > _WIDEST * corrected.estimate
    run = None if process is None else data_arguments.readings(process, name="process", least=2)
    spread = None if run is None or np.ptp(run) == 0 else 6 * float(run.std(ddof=1))
    distinct = int(np.unique(values).size)
    digits = None if run is None or not same_gauge else _digit_preference(run, step)
    return ResolutionStudy(
        n=int(values.size),
        distinct=distinct,
        step=step,
        declared=declared,
        rounding_sd=rounding,
        repeat_sd=repeat,
        corrected_sd=corrected,
        categories=spread / step if spread else None,
        share_of_tolerance=step / tolerance if tolerance else None,
        share_of_process=step / spread if spread else None,
        digit_p=digits,
        suspect=suspect,
        unit=unit,
        cautions=(
            *_converted(values, unit),
            *_cautions(step, declared, suspect, digits, distinct, confidence, unit),
        ),
    )


def _sheppard(repeat: Interval, rounding: float) -> Interval | Absent:
    if repeat.estimate**2 <= rounding**2:
        return Absent("rounding alone explains all of it")
    low, best, high = (
        math.sqrt(max(sd**2 - rounding**2, 0.0))
        for sd in (repeat.low, repeat.estimate, repeat.high)
    )
    return Interval(best, low, high, repeat.confidence, "chi-square, less Sheppard's correction")


def _digit_preference(values: NDArray[np.float64], step: float) -> float | None:
    """Test by chi-square that every last digit is as frequent as the values around it make likely."""
    if np.ptp(values) < 30 * step or values.size < 500:
        return None
    from scipy.special import chdtrc

    place = np.round((values - values.min()) / step).astype(int)
    counts = np.bincount(place).astype(float)
    # A window of ten steps holds every digit once, so its mean follows the shape but no preference.
    window = np.full(11, 0.1)
    window[[0, -1]] = 0.05
    smooth = np.convolve(counts, window, mode="valid")
    inside = counts[5:-5]
    digit = (np.arange(inside.size) + 5) % 10
    seen, expected = np.bincount(digit, inside, 10), np.bincount(digit, smooth, 10)
    if expected.min() < 5:
        return None
    return float(chdtrc(9, float(((seen - expected) ** 2 / expected).sum())))


def _cautions(
    step: float,
    declared: float | None,
    suspect: bool,
    digits: float | None,
    distinct: int,
    confidence: float,
    unit: str,
) -> tuple[str, ...]:
    notes = []
    if declared is not None and abs(step / declared - 1) > 0.01:
        notes.append(
            f"The declared resolution is {_plain(declared)}, the readings come in steps of {f'{_plain(step)} {unit}'.rstrip()}: "
            + (
                "they were rounded on the way."
                if step > declared
                else "they were recorded finer than that."
            )
        )
    if suspect:
        notes.append(
            "Repeated readings fall into one or two steps. Repeatability, the shares built on it, and every "
            "test of small differences are suspect until finer readings are recorded."
        )
    if distinct < 5:
        notes.append(
            f"Only {distinct} different values occur; no chart or fit can be read from so few."
        )
    if digits is not None and digits < (1 - confidence) / 5:
        notes.append(
            f"Some last digits are preferred ({p_text(digits)}): somebody or something rounds unevenly."
        )
    return tuple(notes)
