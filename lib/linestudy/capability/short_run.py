"""Machine performance: a short run of consecutive parts with nothing touched."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from linestudy.capability.finding import CapabilityStudy
from linestudy.capability.study import process_capability
from linestudy.results import (
    Absent,
    CannotJudge,
    Finding,
    Interval,
    arguments,
    data_arguments,
    show,
)
from linestudy.results.declared import Declaration
from linestudy.results.rounding import p_text
from linestudy.results.tables import Quantity, Rows
from linestudy.shape.selection import select_distribution
from linestudy.stability.movement.block_means import without_stations

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from linestudy.results.picture import Picture

#: ISO 22514-3: fewer parts than the first are no study, fewer than the second a poor one.
LEAST, PREFERRED = 30, 100
#: Level at which drift and serial correlation are said beside the index (common practice, no source). Three tests at it
#: together stay below the level at which a verdict holds the stability of a run, so that the two never disagree.
ALPHA = 0.001
#: Largest correlation of neighbours that the slope allows for: beyond it a short run shows no slope.
_MOST_ALIKE = 0.97


@dataclass(frozen=True)
class MachineStudy(Finding):
    """Machine performance of one characteristic.

    Attributes
    ----------
    n : int
        Parts.
    mean : float
        [unit of the values] Arithmetic mean.
    sd : float
        [unit of the values] Standard deviation.
    method : str
        ``"normal"`` or ``"quantiles of the … distribution"``.
    Pm : Interval or Absent
        Potential machine performance. Formula: ``(U - L) / (6 s)``, or of quantiles.
    Pmk : Interval or Absent
        Machine performance. Formula: ``min(U - mean, mean - L) / (3 s)``, or of quantiles.
    lower_bounds : dict of str to float or Absent
        One-sided lower confidence bounds of ``Pm`` and ``Pmk``.
    slope : Interval
        [unit of the values] Drift over the run, from its first to its last part.
    slope_p : float
        p-value of the test that there is no drift, allowing for what neighbours have in common.
    lag1 : float
        Autocorrelation of neighbours.
    unit : str
        Unit of the values; not recorded here.
    study : CapabilityStudy
        The indices as for a process; not recorded.
    """

    n: int
    mean: float
    sd: float
    method: str
    Pm: Interval | Absent
    Pmk: Interval | Absent
    lower_bounds: dict[str, float | Absent]
    slope: Interval
    slope_p: float
    lag1: float
    unit: str = field(repr=False)
    cautions: tuple[str, ...]
    study: CapabilityStudy = field(repr=False, compare=False)
    title: ClassVar[str] = "Machine performance of a short run"

    @property
    def statement(self) -> str:
        bound = self.lower_bounds["Pmk"]
        least = "" if isinstance(bound, Absent) else f", at least {bound:.2f} (one-sided)"
        return (
            f"In a short run of {self.n} consecutive parts, taken as independent, Pmk = {show(self.Pmk)}{least} "
            f"({self.method}); this is the machine in one setting, not the process."
        )

    def _rows(self) -> Rows:
        return [
            Quantity("parts", self.n),
            Quantity("mean", self.mean, self.unit),
            Quantity("standard deviation", self.sd, self.unit),
            Quantity("Pm", self.Pm),
            Quantity("Pmk", self.Pmk),
            Quantity("drift over the run", self.slope, self.unit),
            Quantity("autocorrelation of neighbours", self.lag1),
        ]

    def shown(self) -> pd.DataFrame:
        """Return the table as text, mean and autocorrelation rounded by their standard errors.

        Returns
        -------
        pandas.DataFrame
        """
        table = super().shown()
        table.loc[1, "value"] = show(self.mean, self.sd / math.sqrt(self.n))
        table.loc[6, "value"] = show(self.lag1, 1 / math.sqrt(self.n))
        return table

    def _draw(self, ax: Axes | None = None, **options: Any) -> Picture:
        from linestudy.figures.capability import histogram_with_limits

        return histogram_with_limits(
            self.study,
            question="Does a short run of the machine fit between the limits?",
            ax=ax,
            **options,
        )


MACHINE = Declaration("capability.machine", MachineStudy, "Short run of the machine")


def machine_performance(
    values: ArrayLike,
    lower: float | None = None,
    upper: float | None = None,
    *,
    family: str = "auto",
    bound: float | None = None,
    confidence: float = 0.95,
    station: ArrayLike | None = None,
    seed: int | None = None,
    unit: str = "",
) -> MachineStudy:
    r"""Compute the machine performance indices of a short run.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        Consecutive parts in the order they were made, at least thirty, in any unit.
    lower, upper : float, optional
        Tolerance limits in the unit of the values; at least one.
    family : str
        ``"auto"``, or the family that is known to describe the process.
    bound : float, optional
        Physical bound below all values, in their unit.
    confidence : float
        Of the two-sided intervals and the one-sided bounds, between 0 and 1.
    station : array_like, shape (n,), optional
        Station of each part; station means are taken out before drift and correlation are looked for.
    seed : int, optional
        Of the draws behind intervals; the kit's own when absent.
    unit : str
        Unit of the values, for texts and pictures.

    Returns
    -------
    MachineStudy
        Pm and Pmk with intervals and one-sided bounds, and the tests of the run itself.

    Raises
    ------
    CannotJudge
        Fewer than thirty values, or values that never differ.
    ValueError, TypeError
        No limit, limits that are not in order, an unknown family, a table, or an array of other
        than one dimension.

    See Also
    --------
    process_capability : The indices of a process.
    linestudy.shape.select_distribution : How the distribution is selected.

    Notes
    -----
    Model: parts made one after the other under one setting, one coil, warm machine; their spread is what
    press, die and weld do of themselves. The indices are

    .. math:: P_m = \frac{U - L}{x_{0.99865} - x_{0.00135}}, \qquad
        P_{mk} = \min\left(\frac{U - x_{0.5}}{x_{0.99865} - x_{0.5}},
        \frac{x_{0.5} - L}{x_{0.5} - x_{0.00135}}\right)

    of the distribution that describes the run, by the usual formulas where it is normal. The standard
    wants at least 50 parts and prefers 100 or more. Misleads as a process index: it says nothing of coils, shifts,
    wear or lens. A run that drifts while it lasts, or neighbours that are alike, give a spread
    that is either too large or has not been seen whole; both are tested and named. The gauge's spread is
    in it in full, and counts for more here than anywhere.

    The drift is the least-squares slope. Its error is that under an autoregression of order one, whose correlation is that of the
    residuals' neighbours, freed of the bias :math:`-(2 + 4\rho)/n` that mean and slope bring, plus one standard error and never
    below nought; degrees of freedom are Satterthwaite's. Of 1,000 runs each of 30 to 200 parts without drift p lay below 0.01 in at
    most 1.6 % where neighbours correlate by up to 0.6, in 0.2 to 4.5 % (30 parts) at 0.9; least squares for independent parts
    gave 20 and 54 %.

    References
    ----------
    ISO 22514-3:2020. Tanaka, *Journal of Econometrics* 22 (1983), 205-214, for the bias of a serial correlation about a
    trend (from memory).

    Examples
    --------
    >>> import numpy as np
    >>> y = np.random.default_rng(2).normal(5.0, 0.1, 100)
    >>> print(machine_performance(y, 4.4, 5.6).statement)
    In a short run of 100 consecutive parts, taken as independent, Pmk = 2.09 (1.77 to 2.36), at least 1.82
    (one-sided) (normal); this is the machine in one setting, not the process.
    """
    y = data_arguments.one_dimensional(values, least=2)
    arguments.same_length(values=y, station=station)
    lower, upper = arguments.limits(lower, upper)
    arguments.share("confidence", confidence)
    n = int(y.size)
    if n < LEAST:
        raise CannotJudge(
            f"{n} parts are no short run; at least {LEAST} are needed, {PREFERRED} are preferred."
        )
    shape = select_distribution(
        y, family=family, bound=bound, refits=0, seed=seed, lower=lower, upper=upper
    )
    found = process_capability(
        y,
        lower,
        upper,
        fitted=shape.chosen,
        plausible_families=shape.plausible_families,
        confidence=confidence,
        seed=seed,
        unit=unit,
    )
    about = without_stations(y, station)
    slope, p = _drift(about, confidence)
    lag1 = _neighbours(about - about.mean())
    return MachineStudy(
        n=n,
        mean=found.mean,
        sd=found.sd_overall,
        method=found.method,
        Pm=found.Pp,
        Pmk=found.Ppk,
        lower_bounds={"Pm": found.lower_bounds["Pp"], "Pmk": found.lower_bounds["Ppk"]},
        slope=slope,
        slope_p=p,
        lag1=lag1,
        unit=unit,
        cautions=cautions_of(found, p, lag1),
        study=found,
    )


def cautions_of(
    found: CapabilityStudy, slope_p: float, lag1: float, streams: int = 1
) -> tuple[str, ...]:
    """List what a reader of a short run has to know.

    Parameters
    ----------
    found : CapabilityStudy
        Its indices.
    slope_p : float
        p-value of the drift.
    lag1 : float
        Autocorrelation of neighbours.
    streams : int
        Streams that are looked at in the same way, of which this is one.

    Returns
    -------
    tuple of str
    """
    from scipy.special import ndtri

    notes = list(found.cautions)
    if found.n < PREFERRED:
        notes.append(f"{found.n} parts were taken; ISO 22514-3 prefers {PREFERRED}.")
    if slope_p * streams < ALPHA:
        notes.append(
            f"The run drifts ({p_text(slope_p)}); what moved belongs to the process, and the "
            "machine alone may be better than this."
        )
    elif abs(lag1) * math.sqrt(found.n) > -float(ndtri(ALPHA / 2 / streams)):
        notes.append(
            f"Neighbours are correlated ({lag1:.2f}); the intervals, which take the parts as independent, are too narrow."
        )
    return tuple(notes)


def _drift(y: Any, confidence: float) -> tuple[Interval, float]:
    """Estimate the change from the first part to the last, with the p-value of none, where neighbours may be alike."""
    from scipy.stats import t

    n = int(y.size)
    x = np.arange(n) / (n - 1) - 0.5
    squares = float(x @ x)
    slope = float(x @ y) / squares
    rest = y - y.mean() - slope * x
    left = float(rest @ rest)
    how = "least squares, Student t, neighbours allowed for"
    nothing = n * (1e-12 * float(np.abs(y).max())) ** 2
    if left <= nothing:
        # All on a line: what rounding of the arithmetic leaves is no slope.
        p = 0.0 if slope * slope * squares > nothing else 1.0
        return Interval(slope, slope, slope, confidence, how), p
    rho = (n * _neighbours(rest) + 2) / (n - 4) + 1 / math.sqrt(n)
    rho = min(max(rho, 0.0), _MOST_ALIKE)
    error, df = _error_of_slope(x, rho, left)
    half = float(t.ppf((1 + confidence) / 2, df)) * error
    p = float(2 * t.sf(abs(slope) / error, df))
    return Interval(slope, slope - half, slope + half, confidence, how), p


def _error_of_slope(x: Any, rho: float, left: float) -> tuple[float, float]:
    """Compute standard error and degrees of freedom of a least-squares slope over `x` about nought, residual sum `left`.

    With correlations ``R`` and residuals ``M y`` the expected sum of squares is ``tr(MR)`` variances, and its own
    variance goes with ``tr(MRMR)`` (Satterthwaite).
    """
    from scipy.signal import fftconvolve

    n = int(x.size)
    lags = rho ** np.arange(n)
    kernel = np.concatenate([lags[:0:-1], lags])
    # Mean and slope, at right angles and of length one: the residuals are what is left of them.
    basis = np.column_stack([np.full(n, 1 / math.sqrt(n)), x / math.sqrt(float(x @ x))])
    spread = np.column_stack([fftconvolve(column, kernel, mode="valid") for column in basis.T])
    inner = basis.T @ spread
    trace = n - float(np.trace(inner))
    whole = n + 2 * float(((n - np.arange(1, n)) * lags[1:] ** 2).sum())
    squares = whole - 2 * float((spread * spread).sum()) + float((inner * inner).sum())
    variance = left / trace * float(inner[1, 1]) / float(x @ x)
    return math.sqrt(variance), max(trace * trace / squares, 1.0)


def _neighbours(rest: Any) -> float:
    """Compute the autocorrelation of neighbours of values about nought."""
    squares = float(rest @ rest)
    return float(rest[1:] @ rest[:-1]) / squares if squares > 0 else 0.0
