"""Serial correlation: the effective sample size of a run, and the sampling distance."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from linestudy.numerics.arrays import FloatArray
from linestudy.results import CannotJudge, Finding, Interval, arguments, data_arguments, show
from linestudy.results.declared import Declaration
from linestudy.results.tables import Quantity, Rows
from linestudy.stability.movement.slow_noise import slow_noise

if TYPE_CHECKING:
    from collections.abc import Callable

#: Numbers of batches whose means are looked at for slow movements, and the level of each test.
BATCHES, ALPHA = (40, 20, 10), 0.01
#: Parts in a batch below which the window alone decides.
LEAST_BATCH = 20
#: A run of a smaller effective sample size than this has not seen what moves it (common practice, no source).
LEAST_N_EFF = 10
#: Below this an autocorrelation no longer matters for a chart (common practice, no source).
NEGLIGIBLE = 0.10


@dataclass(frozen=True)
class AutocorrelationStudy(Finding):
    """Autocorrelation of a run and the effective sample sizes that follow from it.

    Attributes
    ----------
    n : int
        Parts.
    lag1 : Interval
        Correlation of neighbouring parts.
    n_eff_mean : float
        Effective sample size for the mean: the number of independent parts whose mean would be known as
        well, the doubt about the correlations included.
    n_eff_sd : float
        Effective sample size for the standard deviation, likewise.
    too_short : bool
        Whether the effective sample size of the run is below ten, so that it has not seen what moves it.
    spacing : int or None
        Distance in parts from which on the correlation is negligible; None where it is not within the
        longest lag looked at.
    spacing_minutes : float or None
        [min] The same in time; None where the line's rate is not known.
    interval_factor_mean : float
        By what factor an interval of the mean is wider than n independent parts would make it.
        Formula: ``sqrt(n / n_eff_mean)``.
    interval_factor_sd : float
        The same for the standard deviation, and so for an index. Formula: ``sqrt(n / n_eff_sd)``.
    limits_too_narrow_by : float
        True standard deviation of the mean of a subgroup of neighbours over what limits from within such
        subgroups take it for; 1 where neighbours are independent.
    n_eff_subgroups : float
        Effective number of subgroups: ``n_eff_mean`` over the subgroup size, not more than subgroups that
        are the spacing from each other.
    stations_removed : bool
        Whether the means of stations were taken out first.
    unit : str
        Of the values.
    """

    n: int
    lag1: Interval
    n_eff_mean: float
    n_eff_sd: float
    too_short: bool
    spacing: int | None
    spacing_minutes: float | None
    interval_factor_mean: float
    interval_factor_sd: float
    limits_too_narrow_by: float
    n_eff_subgroups: float
    stations_removed: bool
    unit: str
    cautions: tuple[str, ...]
    correlations: FloatArray = field(repr=False, compare=False)
    title: ClassVar[str] = "Serial correlation"
    picture: ClassVar[str] = "stability:autocorrelation"

    @property
    def statement(self) -> str:
        if self.spacing is None:
            spacing = "the correlation is not negligible within the longest spacing looked at"
        elif self.spacing <= 1:
            spacing = "neighbours may be taken as independent"
        else:
            minutes = (
                f" ({show(self.spacing_minutes)} min)" if self.spacing_minutes is not None else ""
            )
            spacing = f"parts {self.spacing:,} strokes apart{minutes} may be taken as independent"
        return (
            f"Correlation of neighbouring parts {show(self.lag1)}; {spacing}. Effective sample size of the "
            f"{self.n:,} parts: {self.n_eff_mean:,.0f} (mean), {self.n_eff_sd:,.0f} (standard deviation)."
        )

    def _rows(self) -> Rows:
        return [
            Quantity("parts", self.n),
            Quantity("correlation of neighbours", self.lag1),
            Quantity("effective sample size for the mean", self.n_eff_mean, "", 10.0),
            Quantity("effective sample size for the SD", self.n_eff_sd, "", 10.0),
            Quantity(
                "interval of the mean wider by a factor of", self.interval_factor_mean, "", 0.1
            ),
            Quantity("interval of an index wider by a factor of", self.interval_factor_sd, "", 0.1),
            Quantity(
                "limits from neighbours too narrow by a factor of",
                self.limits_too_narrow_by,
                "",
                0.1,
            ),
            Quantity("effective number of subgroups", self.n_eff_subgroups, "", 10.0),
            Quantity(
                "spacing of independent parts (parts)",
                "not reached" if self.spacing is None else self.spacing,
            ),
            Quantity("spacing of independent parts", self.spacing_minutes, "min"),
        ]


AUTOCORRELATION = Declaration(
    "stability.autocorrelation",
    AutocorrelationStudy,
    part="characteristic",
    question="control",
    order=20,
)


def autocorrelation(
    values: ArrayLike,
    *,
    line_rate: float | None = None,
    station: ArrayLike | None = None,
    subgroup_size: int = 5,
    confidence: float = 0.95,
    unit: str = "",
) -> AutocorrelationStudy:
    r"""Measure serial correlation and the effective sample size it leaves.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In production order.
    line_rate : float, optional
        Strokes per minute.
    station : array_like, shape (n,), optional
        Station of each value; its mean is taken out first.
    subgroup_size : int
        Neighbours in a subgroup, for the consequence on a chart's limits; at least 1.
    confidence : float
        Of the interval of the correlation, between 0 and 1.
    unit : str
        Of the values.

    Returns
    -------
    AutocorrelationStudy
        Correlation, effective sample sizes and spacing.

    Raises
    ------
    CannotJudge
        Fewer than 20 values, values that are missing, or values that never differ.
    ValueError, TypeError
        An argument outside its range, or values of more than one dimension.

    See Also
    --------
    residual_chart : A chart for points that correlate.
    variance_sources : What moves the process.

    Notes
    -----
    Model: a level that wanders as an autoregression of order one under independent scatter. With known
    autocorrelation :math:`r_k` the mean and the variance of n parts would be known as well as those of

    .. math:: n_{eff,mean} = \frac{n}{1 + 2\sum r_k}, \qquad n_{eff,sd} = \frac{n}{1 + 2\sum r_k^2}

    independent ones (Bayley & Hammersley). The run itself estimates them badly, and the worse the slower it moves, so
    the effective sample sizes given are those with which Student's t and the chi-square hold mean and standard
    deviation as a weighing of all correlations does that the run leaves open (``movement.slow_noise``). From the
    sums of a line log they come by the formula, the sum ending where the window is five times as long as
    the sum itself, and slower movement from the means of forty, twenty and ten batches. Misleads where the run is not
    stationary: wear, steps and coils count as slow correlation here, which makes the effective sample size
    small, as it should be for a claim about the coming production; what moves in one direction over the whole run is
    understated still. A part of two stations that alternate resembles every second part for ever; give
    the stations, and the mean of each is removed first. The interval of the lag-1 correlation is Bartlett's.

    References
    ----------
    Bartlett, *Supplement to the JRSS* 8 (1946), 27-41. Bayley & Hammersley, ibid., 184-197. Sokal, "Monte
    Carlo methods in statistical mechanics" (1997), sec. 3. Law & Kelton, *Simulation Modeling and Analysis*,
    3rd ed. (2000), ch. 9.5 (batch means). Box & Jenkins, *Time Series Analysis*, 2.1.6.

    Examples
    --------
    >>> import numpy as np
    >>> study = autocorrelation(np.random.default_rng(1).normal(size=500))
    >>> study.spacing
    1
    """
    from statsmodels.tsa.stattools import acf

    if line_rate is not None:
        arguments.number("line_rate", line_rate, above=0)
    arguments.whole("subgroup_size", subgroup_size, least=1)
    arguments.share("confidence", confidence)
    y = data_arguments.one_dimensional(values, least=20)
    arguments.same_length(values=y, station=station)
    if np.ptp(y) == 0:
        raise CannotJudge("The values never differ, so correlation has no meaning.")
    y, removed = _without_stations(y, station)
    if np.ptp(y) == 0:
        raise CannotJudge("The values of each station never differ.")
    r = np.asarray(acf(y - y.mean(), nlags=longest_lag(y.size), fft=True))
    found = slow_noise(y)
    return from_correlations(
        r,
        y.size,
        lambda factor: y.size / found.n_eff_mean,
        n_eff_sd=found.n_eff_sd,
        line_rate=line_rate,
        stations_removed=removed,
        subgroup_size=subgroup_size,
        confidence=confidence,
        unit=unit,
    )


def longest_lag(n: int) -> int:
    """Return the number of lags looked at in a run of n parts."""
    return max(1, min(n // 3, 20_000))


def from_correlations(
    r: NDArray[np.float64],
    n: int,
    slow: Callable[[float], float],
    *,
    n_eff_sd: float | None = None,
    line_rate: float | None,
    stations_removed: bool,
    subgroup_size: int,
    confidence: float,
    unit: str,
) -> AutocorrelationStudy:
    """Derive effective sample sizes and spacing from the autocorrelations of a run.

    Parameters
    ----------
    r : numpy.ndarray of float, shape (lags + 1,)
        From lag 0 on.
    n : int
        Parts.
    slow : callable
        From the number of parts per independent one for the mean, by what neighbours show, to that
        number with slow movements counted.
    n_eff_sd : float, optional
        Effective sample size for the standard deviation; by the squared correlations when absent.
    line_rate : float or None
        Strokes per minute.
    stations_removed : bool
        Whether the means of stations were taken out first.
    subgroup_size : int
        Neighbours in a subgroup.
    confidence : float
        Of the interval of the correlation.
    unit : str
        Of the values.

    Returns
    -------
    AutocorrelationStudy
        As :func:`autocorrelation` gives it.
    """
    per_part = 1 + 2 * np.cumsum(r[1:])
    window = _window(per_part)
    spread = float(1 + 2 * (r[1 : window + 1] ** 2).sum())
    neighbours = max(float(per_part[window - 1]), 1.0)
    mean_factor = slow(neighbours)
    spread = max(spread, 1.0)
    # In a short run chance alone exceeds that; three standard errors of no correlation pass.
    small = np.abs(r[1:]) < max(NEGLIGIBLE, 3 / math.sqrt(n))
    # The first lag from which on the correlation stays small over as long a stretch again.
    spacing = _first_lasting(small)
    error = _lag1_error(r, n)
    z = _z(confidence)
    cautions = []
    # Doubt about the correlations makes the factor larger too; twice is more than doubt in a long run.
    if mean_factor > 2 * neighbours + 1:
        cautions.append(
            "Long stretches differ more than neighbours suggest, so something moves slowly (coils, wear, "
            f"steps): the effective sample size for the mean is {n / mean_factor:,.0f}."
        )
    elif mean_factor > 2:
        cautions.append(
            f"{n:,} parts carry the information of {n / mean_factor:,.0f} independent ones; intervals use that number."
        )
    too_short = n / mean_factor < LEAST_N_EFF
    if too_short:
        cautions.append(
            f"The run is too short against its own slow movements: it shows an effective sample size of "
            f"{n / mean_factor:.0f}, and what moves the process has not shown itself."
        )
    effective = max(n / mean_factor, 1.5)
    for_sd = max(n / spread if n_eff_sd is None else n_eff_sd, 1.5)
    size = max(int(subgroup_size), 1)
    spaced = n / max(spacing or r.size - 1, size)
    return AutocorrelationStudy(
        n=int(n),
        lag1=Interval(
            float(r[1]),
            max(float(r[1]) - z * error, -1.0),
            min(float(r[1]) + z * error, 1.0),
            confidence,
            "Bartlett",
        ),
        n_eff_mean=effective,
        n_eff_sd=for_sd,
        too_short=too_short,
        spacing=spacing,
        spacing_minutes=None if spacing is None or not line_rate else spacing / line_rate,
        interval_factor_mean=math.sqrt(n / effective),
        interval_factor_sd=math.sqrt(n / for_sd),
        limits_too_narrow_by=_too_narrow(r, size),
        n_eff_subgroups=max(min(effective / size, spaced), 1.0),
        stations_removed=stations_removed,
        unit=unit,
        cautions=tuple(cautions),
        correlations=r,
    )


def _without_stations(y: Any, station: Any) -> tuple[Any, bool]:
    """Subtract from values the mean of their station."""
    if station is None:
        return y, False
    import pandas as pd

    codes, levels = pd.factorize(pd.array(station))
    if len(levels) < 2 or (codes < 0).any():
        return y, False
    means = np.bincount(codes, y - y.mean()) / np.bincount(codes)
    return y - means[codes], True


def slow_movements(batches: dict[int, tuple[float, Any]], variance: float, factor: float) -> float:
    """Compute parts per independent part for the mean from the means of batches.

    Parameters
    ----------
    batches : dict
        Number of batches, ascending in length, to parts in each and their means.
    variance : float
        Of single parts.
    factor : float
        Parts per independent part by what neighbours show.

    Returns
    -------
    float
        The same with slow movements counted; not smaller.
    """
    from scipy.special import chdtri

    moving = False
    for number, (length, means) in batches.items():
        if length < LEAST_BATCH:
            continue
        found = length * float(means.var(ddof=1)) / variance
        # Once something moves, longer batches see more of it; they need no test of their own.
        moving = moving or found * (number - 1) > factor * float(chdtri(number - 1, ALPHA))
        if moving:
            factor = max(factor, found)
    return factor


def _too_narrow(r: Any, size: int) -> float:
    """Divide the spread of the mean of `size` neighbours by the one their own spread suggests.

    With mean correlation c of the pairs of a subgroup: variance of the mean s2 (1 + (n - 1) c) / n,
    expected variance within s2 (1 - c).
    """
    if size < 2:
        return 1.0
    lags = np.arange(1, min(size, r.size))
    c = float(((size - lags) * r[lags]).sum() * 2 / (size * (size - 1)))
    return math.sqrt(max(1 + (size - 1) * c, 1e-12) / max(1 - c, 1e-12))


def _z(confidence: float) -> float:
    from scipy.special import ndtri

    return float(ndtri((1 + confidence) / 2))


def _lag1_error(r: Any, n: int) -> float:
    """Compute the standard error of r(1) for a first-order autoregression (Bartlett 1946), plus 1/n."""
    return math.sqrt(max(1 - float(r[1]) ** 2, 0.0) / n + 1 / n**2)


def _window(per_part: Any) -> int:
    lags = np.arange(1, per_part.size + 1)
    enough = np.flatnonzero(lags >= 5 * np.maximum(per_part, 1.0))
    return int(enough[0]) + 1 if enough.size else int(per_part.size)


def _first_lasting(small: Any) -> int | None:
    """Find the first lag k for which all of k … 2k (at least five) are small."""
    total = np.concatenate([[0], np.cumsum(small)])
    lags = np.arange(1, small.size + 1)
    ends = np.minimum(np.maximum(2 * lags, lags + 4), small.size)
    whole = total[ends] - total[lags - 1] == ends - lags + 1
    lasting = np.flatnonzero(whole & (ends >= np.minimum(lags + 4, small.size)))
    return int(lasting[0]) + 1 if lasting.size else None
