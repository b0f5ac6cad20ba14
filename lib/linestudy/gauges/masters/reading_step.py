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
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np
from numpy.typing import NDArray

from linestudy.gauges.arguments import as_readings
from linestudy.numerics.normal_intervals import sd_interval
from linestudy.results import Absent, CannotJudge, Finding, Interval, show
from linestudy.results.declared import Declaration

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from linestudy.results.picture import Picture

#: Up to this many standard deviations (without rounding) a step may be wide: Sheppard's correction is then
#: off by less than one per cent of the variance, its error falling like exp(-2 pi^2 sd^2 / step^2).
_WIDEST = 2.0


@dataclass(frozen=True)
class ResolutionStudy(Finding):
    """The step of the readings, and what rounding to it does.

    Attributes
    ----------
    n, distinct : int
        Readings, and different values among them.
    step : float
        Apparent step, in the unit of the readings.
    declared : float or None
        What study.toml says the gauge's resolution is.
    rounding_sd : float
        Standard deviation that rounding adds, step over the square root of twelve.
    repeat_sd : Interval or None
        Repeatability as recorded.
    corrected_sd : Interval or Absent
        Repeatability with the rounding taken off (Sheppard).
    categories : float or None
        Steps within six standard deviations of the process.
    share_of_tolerance, share_of_process : float or None
        Step over tolerance, and over six standard deviations of the process.
    digit_p : float or None
        Test that no last digit is preferred; None where too few steps are spanned.
    suspect : bool
        Whether the step is wider than two standard deviations of repeated readings, so that later
        numbers rest on the grid.
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

    @property
    def statement(self) -> str:
        shares = [
            f"{share:.1%} of {what}"
            for share, what in (
                (self.share_of_tolerance, "the tolerance"),
                (self.share_of_process, "the process spread"),
            )
            if share is not None
        ]
        text = f"Readings come in steps of {_plain(self.step)} {self.unit}".rstrip()
        if shares:
            text += f", {' and '.join(shares)}"
        if self.repeat_sd is None:
            return f"{text}."
        added = self.rounding_sd**2 / self.repeat_sd.estimate**2
        if self.suspect:
            return (
                f"{text}; the step is wider than two standard deviations of repeated readings, so that their "
                "spread is a number of the grid more than of the gauge."
            )
        return f"{text}; rounding makes up {added:.0%} of the variance of repeated readings."

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        unit = f" ({self.unit})" if self.unit else ""
        declared = "not declared" if self.declared is None else _plain(self.declared)
        rows = [
            (f"apparent step{unit}", _plain(self.step)),
            (f"declared resolution{unit}", declared),
            ("different values", f"{self.distinct} among {self.n:,} readings"),
            (f"SD added by rounding{unit}", show(self.rounding_sd)),
        ]
        if self.repeat_sd is not None:
            rows += [
                (f"repeatability as recorded{unit}", show(self.repeat_sd)),
                (f"repeatability without rounding{unit}", show(self.corrected_sd)),
            ]
        if self.categories is not None:
            rows.append(("steps within the process spread", f"{self.categories:.0f}"))
        return pd.DataFrame(rows, columns=["quantity", "value"])

    def _draw(self, ax: Axes | None = None, **options: Any) -> Picture:
        from linestudy.figures.gauge_error import sizes_on_a_ruler

        sizes = {"step": self.step, "added by rounding (SD)": self.rounding_sd}
        if self.repeat_sd is not None:
            sizes["repeatability (SD)"] = self.repeat_sd.estimate
        if self.share_of_process:
            sizes["process spread (6 SD)"] = self.step / self.share_of_process
        if self.share_of_tolerance:
            sizes["tolerance"] = self.step / self.share_of_tolerance
        return sizes_on_a_ruler(sizes, self.unit, ax=ax)


RESOLUTION = Declaration("gauges.{gauge}.resolution", ResolutionStudy, "Resolution")


def _plain(number: float) -> str:
    return f"{number:.6g}"


def apparent_step(values: Any) -> float:
    """Greatest step of which all differences between readings are whole multiples.

    Parameters
    ----------
    values : array_like of float, shape (n,)

    Returns
    -------
    float
        In the unit of the readings; 0 where the readings show no common step.

    Raises
    ------
    CannotJudge
        Readings that are all the same.

    Examples
    --------
    >>> round(apparent_step([0.1, 0.3, 0.35, 0.5]), 6)
    0.05
    """
    distinct = np.unique(as_readings(values, least=2, name="reading"))
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


def _common(a: float, b: float, tolerance: float) -> float:
    while b > tolerance:
        a, b = b, a - b * math.floor(a / b + 1e-9)
        if b > 0 and a - b < tolerance:
            b = 0.0
    return a


def resolution(
    readings: Any,
    tolerance: float | None = None,
    process: Any = None,
    repeat_sd: float | None = None,
    repeat_df: float | None = None,
    declared: float | None = None,
    confidence: float = 0.95,
    unit: str = "",
    same_gauge: bool = True,
) -> ResolutionStudy:
    """Find the step of readings and hold it against what must be told apart.

    Parameters
    ----------
    readings : array_like of float, shape (n,)
        Of one gauge on one characteristic.
    tolerance : float, optional
        Width of the tolerance.
    process : array_like of float, shape (m,), optional
        Readings of the process, for its spread and for the test of last digits.
    repeat_sd, repeat_df : float, optional
        Repeatability as recorded, and its degrees of freedom.
    declared : float, optional
        Resolution as declared.
    confidence : float
    unit : str
    same_gauge : bool
        Whether the process was read by this gauge; only then are its last digits tested.

    Returns
    -------
    ResolutionStudy

    Raises
    ------
    CannotJudge
        Fewer than ten readings, readings that are all the same or that show no step.

    Examples
    --------
    >>> import numpy as np
    >>> values = np.round(np.random.default_rng(1).normal(10, 0.02, 200), 3)
    >>> study = resolution(values, tolerance=0.2)
    >>> round(study.step, 6), round(study.share_of_tolerance, 4)
    (0.001, 0.005)
    """
    values = as_readings(readings, least=10, name="reading")
    step = apparent_step(values)
    if step == 0:
        raise CannotJudge(
            "Readings show no common step: they were recorded finer than the gauge resolves, or are averages."
        )
    rounding = step / math.sqrt(12)
    repeat = None
    corrected: Interval | Absent = Absent("no repeated readings")
    suspect = False
    if repeat_sd is not None and repeat_df is not None and repeat_sd > 0:
        repeat = sd_interval(repeat_sd, repeat_df, confidence)
        corrected = _sheppard(repeat, rounding)
        suspect = isinstance(corrected, Absent) or step > _WIDEST * corrected.estimate
    run = None if process is None else as_readings(process, least=2, name="reading")
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
        cautions=_cautions(step, declared, suspect, digits, distinct, confidence),
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
    """Chi-square test that no last digit is more frequent than its neighbours on the scale let expect."""
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
) -> tuple[str, ...]:
    notes = []
    if declared is not None and abs(step / declared - 1) > 0.01:
        notes.append(
            f"The declared resolution is {_plain(declared)}, the readings come in steps of {_plain(step)}: "
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
            f"Some last digits are preferred (p = {digits:.2g}): somebody or something rounds unevenly."
        )
    return tuple(notes)
