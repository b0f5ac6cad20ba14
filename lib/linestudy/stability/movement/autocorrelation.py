"""Serial correlation: how many independent parts a run is worth, and how far apart to sample.

Model: the run is stationary with autocorrelation r(k). The mean of n parts has the variance of
``n / (1 + 2 sum r(k))`` independent ones, their variance that of ``n / (1 + 2 sum r(k)^2)``
(Bartlett 1946; Bayley & Hammersley, *Supplement to the JRSS* 8 (1946), 184-197). The sum is cut
where the window is five times as long as the sum itself (Sokal, "Monte Carlo methods in
statistical mechanics", 1997, sec. 3). A correlation that is weak but lasts for thousands of parts, as
between coils, ends such a window long before it is spent; so the run is also cut into forty, twenty
and ten batches, and where their means scatter more than the window allows (chi-square, 1 % for each)
the largest scatter from there on gives the number for the mean (batch means; Law & Kelton,
*Simulation Modeling and Analysis*, 3rd ed., 2000, ch. 9.5). Misleads where the run is not stationary:
wear, steps and coils count as slow correlation here, which makes the effective number small, as it
should be for a claim about the coming production; what moves over more than a tenth of the run is
understated still. A part of two stations that alternate resembles every second part for ever; give
the stations, and each is freed of its own mean first. Autocorrelations are
statsmodels', their intervals Bartlett's (Box & Jenkins, *Time Series Analysis*, 2.1.6).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.numerics.samples import as_sample
from linestudy.results import CannotJudge, Finding, Interval, show
from linestudy.results.declared import Declaration

if TYPE_CHECKING:
    from collections.abc import Callable

    import pandas as pd

#: Numbers of batches whose means are looked at for slow movements, and the level of each test.
BATCHES, ALPHA = (40, 20, 10), 0.01
#: Parts in a batch below which the window alone decides.
LEAST_BATCH = 20
#: Below this an autocorrelation no longer matters for a chart (common practice, no source).
SPENT = 0.10


@dataclass(frozen=True)
class SerialStudy(Finding):
    """Serial correlation of a run.

    Attributes
    ----------
    n : int
        Parts.
    lag1 : Interval
        Correlation of neighbouring parts.
    effective_n_mean, effective_n_variance : float
        How many independent parts the run is worth for its mean and for its variance.
    spacing : int or None
        Parts apart at which the correlation is spent; None where it is not within the
        longest lag looked at.
    spacing_minutes : float or None
    wider_mean, wider_spread : float
        By what factor an interval of the mean, and of the spread (so of an index), is wider than
        n independent parts would make it.
    limits_too_narrow : float
        True spread of the mean of a subgroup of neighbours over what limits from within such
        subgroups take it for; 1 where neighbours are independent.
    independent_subgroups : float
        How many of the asked 25 subgroups this run really has: the number for the mean over
        the subgroup size, not more than subgroups that lie the spacing apart.
    stations_removed : bool
    """

    n: int
    lag1: Interval
    effective_n_mean: float
    effective_n_variance: float
    spacing: int | None
    spacing_minutes: float | None
    wider_mean: float
    wider_spread: float
    limits_too_narrow: float
    independent_subgroups: float
    stations_removed: bool
    unit: str
    cautions: tuple[str, ...]
    correlations: Any = field(repr=False, compare=False)
    title: ClassVar[str] = "Serial correlation"
    picture: ClassVar[str] = "stability:autocorrelation"

    @property
    def statement(self) -> str:
        if self.spacing is None:
            apart = "the correlation is not spent within the longest spacing looked at"
        elif self.spacing <= 1:
            apart = "neighbours may be taken as independent"
        else:
            minutes = (
                f" ({show(self.spacing_minutes)} min)" if self.spacing_minutes is not None else ""
            )
            apart = f"parts {self.spacing:,} strokes apart{minutes} may be taken as independent"
        return (
            f"Neighbouring parts correlate with {show(self.lag1)}; {apart}. The {self.n:,} parts are worth "
            f"{self.effective_n_mean:,.0f} independent ones for the mean and "
            f"{self.effective_n_variance:,.0f} for the spread."
        )

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        rows = [
            ("parts", f"{self.n:,}"),
            ("correlation of neighbours", show(self.lag1)),
            ("independent parts, for the mean", f"{self.effective_n_mean:,.0f}"),
            ("independent parts, for the spread", f"{self.effective_n_variance:,.0f}"),
            ("interval of the mean wider by", f"{self.wider_mean:.2f}"),
            ("interval of an index wider by", f"{self.wider_spread:.2f}"),
            ("limits from neighbours too narrow by", f"{self.limits_too_narrow:.2f}"),
            ("independent subgroups in the run", f"{self.independent_subgroups:,.0f}"),
            (
                "spacing at which correlation is spent (parts)",
                "not reached" if self.spacing is None else f"{self.spacing:,}",
            ),
            (
                "the same (min)",
                "" if self.spacing_minutes is None else show(self.spacing_minutes),
            ),
        ]
        return pd.DataFrame(rows, columns=["quantity", "value"])


SERIAL = Declaration(
    "stability.serial",
    SerialStudy,
    "Serial correlation",
    part="characteristic",
    question="control",
    order=20,
)


def serial(
    values: Any,
    line_rate: float | None = None,
    confidence: float = 0.95,
    unit: str = "",
    station: Any = None,
    subgroup_size: int = 5,
) -> SerialStudy:
    """Measure serial correlation and what it does to sample size.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In production order.
    line_rate : float, optional
        Strokes per minute.
    confidence : float
    unit : str
    station : array_like, shape (n,), optional
        Station of each value; its mean is taken out first.
    subgroup_size : int
        Neighbours in a subgroup, for the consequence on a chart's limits.

    Returns
    -------
    SerialStudy

    Raises
    ------
    CannotJudge
        Fewer than 20 values, or values that never differ.

    Examples
    --------
    >>> import numpy as np
    >>> study = serial(np.random.default_rng(1).normal(size=500))
    >>> study.spacing
    1
    """
    from statsmodels.tsa.stattools import acf

    y = as_sample(values, least=20)
    if np.ptp(y) == 0:
        raise CannotJudge("The values never differ, so correlation has no meaning.")
    y, removed = _without_stations(y, station)
    if np.ptp(y) == 0:
        raise CannotJudge("The values of each station never differ.")
    r = np.asarray(acf(y - y.mean(), nlags=longest_lag(y.size), fft=True))
    return from_correlations(
        r,
        y.size,
        lambda factor: _with_slow_movements(y, factor),
        line_rate,
        confidence,
        unit,
        removed,
        subgroup_size,
    )


def longest_lag(n: int) -> int:
    """Lags looked at in a run of n parts."""
    return max(1, min(n // 3, 20_000))


def from_correlations(
    r: Any,
    n: int,
    slow: Callable[[float], float],
    line_rate: float | None,
    confidence: float,
    unit: str,
    stations_removed: bool,
    subgroup_size: int,
) -> SerialStudy:
    """What the autocorrelations of a run mean for it.

    Parameters
    ----------
    r : numpy.ndarray of float, shape (lags + 1,)
        From lag 0 on.
    n : int
        Parts.
    slow : callable
        From the number of parts that neighbours make worth one independent part for the mean to that
        number with slow movements counted.
    line_rate, confidence, unit, stations_removed, subgroup_size
        As for :func:`serial`.

    Returns
    -------
    SerialStudy
    """
    worth = 1 + 2 * np.cumsum(r[1:])
    window = _window(worth)
    spread = float(1 + 2 * (r[1 : window + 1] ** 2).sum())
    neighbours = max(float(worth[window - 1]), 1.0)
    mean_factor = slow(neighbours)
    spread = max(spread, 1.0)
    # In a short run chance alone exceeds that; three standard errors of no correlation pass.
    small = np.abs(r[1:]) < max(SPENT, 3 / math.sqrt(n))
    # The first lag from which on the correlation stays small over as long a stretch again.
    spacing = _first_lasting(small)
    error = _lag1_error(r, n)
    z = _z(confidence)
    cautions = []
    if mean_factor > neighbours:
        cautions.append(
            "Long stretches differ more than neighbours let expect, so something moves slowly (coils, wear, "
            f"steps): for the mean the {n:,} parts are worth {n / mean_factor:,.0f}."
        )
    elif mean_factor > 2:
        cautions.append(
            f"{n:,} parts carry the information of {n / mean_factor:,.0f}; intervals use that number."
        )
    if n / mean_factor < 25:
        cautions.append(
            "The run is too short against its own slow movements: its mean is known from few "
            "independent stretches only."
        )
    effective = max(n / mean_factor, 2.0)
    size = max(int(subgroup_size), 1)
    apart = n / max(spacing or r.size - 1, size)
    return SerialStudy(
        n=int(n),
        lag1=Interval(
            float(r[1]),
            max(float(r[1]) - z * error, -1.0),
            min(float(r[1]) + z * error, 1.0),
            confidence,
            "Bartlett",
        ),
        effective_n_mean=effective,
        effective_n_variance=max(n / spread, 2.0),
        spacing=spacing,
        spacing_minutes=None if spacing is None or not line_rate else spacing / line_rate,
        wider_mean=math.sqrt(n / effective),
        wider_spread=math.sqrt(n / max(n / spread, 2.0)),
        limits_too_narrow=_too_narrow(r, size),
        independent_subgroups=max(min(effective / size, apart), 1.0),
        stations_removed=stations_removed,
        unit=unit,
        cautions=tuple(cautions),
        correlations=r,
    )


def _without_stations(y: Any, station: Any) -> tuple[Any, bool]:
    """Values less the mean of their station."""
    if station is None:
        return y, False
    import pandas as pd

    codes, levels = pd.factorize(pd.array(station))
    if len(levels) < 2 or (codes < 0).any():
        return y, False
    means = np.bincount(codes, y - y.mean()) / np.bincount(codes)
    return y - means[codes], True


def _with_slow_movements(y: Any, factor: float) -> float:
    """How many parts are worth one independent part for the mean, slow movements counted."""
    batches = {}
    for number in BATCHES:
        length = y.size // number
        if length < LEAST_BATCH:
            continue
        batches[number] = (length, y[: number * length].reshape(number, length).mean(axis=1))
    return slow_movements(batches, float(y.var()), factor)


def slow_movements(batches: dict[int, tuple[float, Any]], variance: float, factor: float) -> float:
    """The same from the means of batches.

    Parameters
    ----------
    batches : dict
        Number of batches, ascending in length, to parts in each and their means.
    variance : float
        Of single parts.
    factor : float
        Parts worth one by what neighbours show.

    Returns
    -------
    float
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
    """Spread of the mean of `size` neighbours over the one their own spread suggests.

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
    """Standard error of r(1) for a first-order autoregression (Bartlett 1946), plus 1/n."""
    return math.sqrt(max(1 - float(r[1]) ** 2, 0.0) / n + 1 / n**2)


def _window(worth: Any) -> int:
    lags = np.arange(1, worth.size + 1)
    enough = np.flatnonzero(lags >= 5 * np.maximum(worth, 1.0))
    return int(enough[0]) + 1 if enough.size else int(worth.size)


def _first_lasting(small: Any) -> int | None:
    """First lag k for which all of k … 2k (at least five) are small."""
    total = np.concatenate([[0], np.cumsum(small)])
    lags = np.arange(1, small.size + 1)
    ends = np.minimum(np.maximum(2 * lags, lags + 4), small.size)
    whole = total[ends] - total[lags - 1] == ends - lags + 1
    lasting = np.flatnonzero(whole & (ends >= np.minimum(lags + 4, small.size)))
    return int(lasting[0]) + 1 if lasting.size else None
