"""How well a gauge repeats behind the steps that its readings come in.

Model: a reading is the mean of its cell plus a normal error, rounded to the nearest step; so what is known of
it is the step's interval that it lies in. The mean of each cell is integrated over all positions (a flat prior,
as restricted likelihood does it where nothing is rounded), which leaves one likelihood of the standard deviation:

    L(σ) = product over cells of  integral  product over readings of [ F((k + 1/2 - u) / σ) - F((k - 1/2 - u) / σ) ] du

in units of the step, with k the reading, σ the standard deviation and F the normal distribution. Its interval is that of the likelihood
ratio. Measured coverage: `tests/proof/test_gauges_steps.py`.

This is another number than the repeatability of the crossed study, which is that of the readings as they are
recorded, their rounding included, and which decides: whoever uses the gauge reads it in steps.

When it misleads: heavy tails (a stray reading counts as spread); parts whose sizes all lie alike between two steps,
as gauge blocks of whole tenths do (the prior takes them as lying anywhere); appraisers who round to different steps; a step
that is coarser than the readings show, because all of them happen to be multiples of it.

Sources: Gjeddebaek, *Scandinavian Actuarial Journal* (1949), 135-159 (normal distribution grouped in classes);
Lindley, *Proceedings of the Cambridge Philosophical Society* 46 (1950), 106-110; both from memory.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import numpy as np
from numpy.typing import NDArray

from linestudy.gauges.grr.design import lay_out
from linestudy.gauges.grr.intervals import NO_TOLERANCE, percent
from linestudy.gauges.masters.reading_step import apparent_step
from linestudy.results import (
    Absent,
    CannotJudge,
    Finding,
    Interval,
    arguments,
    data_arguments,
    show_in,
)
from linestudy.results.declared import Declaration
from linestudy.results.rounding import as_given
from linestudy.results.tables import Quantity, Rows

if TYPE_CHECKING:
    import pandas as pd

    from linestudy.gauges.grr.finding import CrossedStudy

#: Step from which rounding counts, in standard deviations of repeatability.
_COARSE = 0.5
#: Smallest standard deviation that is looked at, in steps: smaller ones make all readings of a cell alike.
_LEAST = 0.002
#: How far beyond the readings a cell's mean may lie, and points of the integral in a standard deviation.
_REACH, _DENSE, _MOST = 8.0, 3.0, 6000


@dataclass(frozen=True)
class RoundedRepeatability(Finding):
    """Repeatability of a gauge before its readings were rounded.

    Attributes
    ----------
    step : float
        [unit of the readings] Step of the readings.
    sd : Interval
        [unit of the readings] Standard deviation of repeated readings before rounding.
    recorded_sd : float
        [unit of the readings] That of the readings as recorded. Formula: sqrt(sum of squares within cells / df).
    share_of_tolerance : Interval or Absent
        Formula: sigma_multiplier * sd / tolerance.
    cells : int
        Cells with repeated readings.
    unit : str
        Unit of the readings.
    """

    step: float
    sd: Interval
    recorded_sd: float
    share_of_tolerance: Interval | Absent
    cells: int
    unit: str
    cautions: tuple[str, ...] = ()
    title: ClassVar[str] = "Repeatability behind the resolution"

    @property
    def statement(self) -> str:
        share = (
            f" ({percent(self.share_of_tolerance)} of tolerance)"
            if isinstance(self.share_of_tolerance, Interval)
            else ""
        )
        step = f"Before rounding to steps of {as_given(self.step)}{f' {self.unit}' if self.unit else ''}"
        if self.sd.estimate == 0:
            most = f"a standard deviation of at most {show_in(self.sd.high, self.unit)}"
            return f"{step}, repeated readings have {most} ({100 * self.sd.confidence:.4g} % CI); as recorded they never differed."
        return (
            f"{step}, repeated readings have a standard deviation of {show_in(self.sd, self.unit)}{share}; as recorded "
            f"{show_in(self.recorded_sd, self.unit, self.sd.half_width or None)}."
        )

    def _rows(self) -> Rows:
        return [
            Quantity("step of the readings", self.step, self.unit),
            Quantity("repeatability before rounding (SD)", self.sd, self.unit),
            Quantity("repeatability as recorded (SD)", self.recorded_sd, self.unit),
            Quantity("before rounding, of tolerance", self.share_of_tolerance, "%"),
            Quantity("cells of repeated readings", self.cells),
        ]


ROUNDED = Declaration("gauges.{gauge}.rounded_repeatability", RoundedRepeatability, order=101)


def coarse(study: CrossedStudy) -> bool:
    """Check whether the step of the readings is so wide that repeatability before rounding is another number.

    Parameters
    ----------
    study : CrossedStudy

    Returns
    -------
    bool
        From half a standard deviation of repeatability on, where rounding makes 2 % of the variance.

    Examples
    --------
    >>> import numpy as np
    >>> import pandas as pd
    >>> from linestudy.gauges import grr_anova
    >>> y = np.random.default_rng(1).normal(size=(10, 3))
    >>> data = pd.DataFrame({"part": np.repeat(np.arange(10), 3), "value": y.ravel()})
    >>> [coarse(grr_anova(data.round(digits), appraiser=None)) for digits in (3, 0)]
    [False, True]
    """
    own = study.components["repeatability"].sd.estimate
    return apparent_step(study.layout.values) >= _COARSE * own


def rounded_repeatability(
    data: pd.DataFrame,
    *,
    value: str = "value",
    part: str = "part",
    appraiser: str | None = "appraiser",
    factor: str | None = None,
    step: float | None = None,
    tolerance: float | None = None,
    sigma_multiplier: float = 6.0,
    confidence: float = 0.95,
    unit: str = "",
) -> RoundedRepeatability:
    r"""Estimate how well a gauge repeats behind the steps that its readings come in.

    Parameters
    ----------
    data : pandas.DataFrame
        One reading per row, in `unit`.
    value, part : str
        Columns of the readings and of the part.
    appraiser : str or None
        Column of the appraiser; None stands for an automatic gauge.
    factor : str, optional
        Column of a third crossed factor, as for `grr_anova`.
    step : float, optional
        Step that the readings were rounded to, in `unit`; the one they show when absent.
    tolerance : float, optional
        Width of the tolerance, in `unit`.
    sigma_multiplier : float
        Standard deviations that count against the tolerance.
    confidence : float
        Of the intervals, between 0 and 1.
    unit : str
        Unit of the readings, for table and statement.

    Returns
    -------
    RoundedRepeatability
        Standard deviation before rounding, with its interval.

    Raises
    ------
    CannotJudge
        No repeated readings, one part, or readings that show no step.
    ValueError
        A column that is not there, or an argument outside its range.

    See Also
    --------
    grr_anova : Repeatability of the readings as recorded, which decides.
    resolution_study : The step held against tolerance, process and repeatability.

    Notes
    -----
    Model: normal errors about the mean of each cell, rounded to the nearest multiple of the step. With
    readings :math:`k` and the standard deviation :math:`\sigma` in steps

    .. math:: L(\sigma) = \prod_{cells} \int \prod_j \left[ \Phi\left(\frac{k_j + 1/2 - u}{\sigma}\right) -
        \Phi\left(\frac{k_j - 1/2 - u}{\sigma}\right) \right] du

    and the interval of the likelihood ratio. Misleads under heavy tails, where appraisers round to
    different steps, and where all parts lie alike between two steps.

    References
    ----------
    Gjeddebaek, *Scandinavian Actuarial Journal* (1949), 135-159. Lindley, *Proceedings of the Cambridge
    Philosophical Society* 46 (1950), 106-110. Both from memory.

    Examples
    --------
    >>> import numpy as np
    >>> import pandas as pd
    >>> rng = np.random.default_rng(1)
    >>> part, who = np.repeat(np.arange(10), 9), np.tile(np.repeat(list("ABC"), 3), 10)
    >>> readings = rng.normal(5, 0.1, 10)[part] + rng.normal(0, 0.005, 90)
    >>> data = pd.DataFrame({"part": part, "appraiser": who, "value": readings.round(2)})
    >>> print(rounded_repeatability(data, unit="mm").statement)  # doctest: +NORMALIZE_WHITESPACE
    Before rounding to steps of 0.01 mm, repeated readings have a standard deviation of 0.0041 (0.0032 to
    0.0054) mm; as recorded 0.0051 mm.
    """
    arguments.share("confidence", confidence)
    arguments.number("sigma_multiplier", sigma_multiplier, above=0)
    data_arguments.width("tolerance", tolerance)
    data_arguments.width("step", step)
    layout = lay_out(data, value, part, appraiser, None, factor)
    seen = apparent_step(layout.values) if step is None else step
    if not seen > 0:
        raise CannotJudge("The readings show no common step.")
    cells = [
        np.round((own - own.min()) / seen).astype(int)
        for own in np.split(layout.values, np.flatnonzero(np.diff(layout.cells)) + 1)
        if own.size > 1
    ]
    free = sum(cell.size - 1 for cell in cells)
    recorded = math.sqrt(float((layout.rest() ** 2).sum()) / free)
    sd = _interval(
        Counter(tuple(sorted(cell.tolist())) for cell in cells), recorded / seen, confidence
    )
    sd = sd.times(seen)
    return RoundedRepeatability(
        step=seen,
        sd=sd,
        recorded_sd=recorded,
        share_of_tolerance=sd.times(sigma_multiplier / tolerance) if tolerance else NO_TOLERANCE,
        cells=len(cells),
        unit=unit,
    )


def _interval(patterns: Counter[tuple[int, ...]], recorded: float, confidence: float) -> Interval:
    """Find the largest likelihood and the ends of its ratio, in steps."""
    from scipy.optimize import brentq
    from scipy.special import chdtri

    low, high = math.log(max(_LEAST, 0.1 * recorded)), math.log(max(4 * recorded, 1.0))

    def of(x: float) -> NDArray[np.float64]:
        return _likelihood(math.exp(x), patterns)

    if recorded == 0:
        # Readings of a cell never differ: the smaller the spread the likelier, up to certainty.
        at, best, estimate = low, 0.0, 0.0
    else:
        at = brentq(lambda x: float(of(x)[1]), low, high, xtol=1e-12) if of(low)[1] > 0 else low
        best, estimate = float(of(at)[0]), math.exp(at)
    drop = float(chdtri(1, 1 - confidence)) / 2

    def excess(x: float) -> float:
        return best - drop - float(of(x)[0])

    lower = math.exp(brentq(excess, low, at, xtol=1e-12)) if excess(low) > 0 else 0.0
    while excess(high) < 0:
        high += 1.0
    upper = math.exp(brentq(excess, at, high, xtol=1e-12))
    return Interval(estimate, lower, upper, confidence, "likelihood ratio of rounded readings")


def _likelihood(s: float, patterns: Counter[tuple[int, ...]]) -> NDArray[np.float64]:
    """Compute the log likelihood of a standard deviation, in steps, and its slope by the logarithm of that."""
    each = [
        times * _of_cell(s, np.array(cell, dtype=float)) for cell, times in sorted(patterns.items())
    ]
    return np.asarray(np.sum(each, axis=0))


def _of_cell(s: float, cell: NDArray[np.float64]) -> NDArray[np.float64]:
    from scipy.special import ndtr

    begin, end = -0.5 - _REACH * s, float(cell.max()) + 0.5 + _REACH * s
    points = int(min(max(60, math.ceil((end - begin) * _DENSE / s)), _MOST))
    means = np.linspace(begin, end, points)
    off = np.abs(cell[:, None] - means)
    # Taken on the side of the small tail, so that differences keep their digits.
    above, below = (0.5 - off) / s, (-0.5 - off) / s
    inside = np.maximum(ndtr(above) - ndtr(below), 1e-300)
    moved = (below * np.exp(-(below**2) / 2) - above * np.exp(-(above**2) / 2)) / math.sqrt(
        2 * math.pi
    )
    logs = np.log(inside).sum(axis=0)
    most = float(logs.max())
    weights = np.exp(logs - most)
    total = float(weights.sum())
    slope = float(weights @ (moved / inside).sum(axis=0)) / total
    return np.array([most + math.log(total * float(means[1] - means[0])), slope])
