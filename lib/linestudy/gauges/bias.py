"""Bias on masters: how far the mean reading lies from what the master is known to be.

Model: readings of a master are independent and normal about master + bias. The t-test asks
whether the bias is zero; it says nothing of whether it matters, so the interval is shown
against the tolerance. With several masters the pooled test assumes one bias for all sizes;
where linearity finds a slope, read that instead. Misleads when readings were taken in one
sitting (drift between days is not in their spread) and with very many readings, where every
bias is "significant". Source: AIAG MSA, 4th ed. (2010), ch. III, section B.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.core import Absent, CannotJudge, Finding, Interval, show
from linestudy.core.normal_constants import d2_star, range_df
from linestudy.core.normal_intervals import one_sided_index_interval, spread_index_interval
from linestudy.core.samples import as_sample, mean_and_sd

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure


@dataclass(frozen=True)
class BiasStudy(Finding):
    """Bias over all masters, and on each.

    Attributes
    ----------
    n : int
        Readings.
    mean_bias : Interval
        In the unit of the readings.
    sd : float
        Standard deviation of the errors.
    t, df, p : float
        Test that the bias is zero.
    masters : tuple of dict
        Per master: ``reference, n, bias (Interval), p``.
    tolerance : float or None
    """

    n: int
    mean_bias: Interval
    sd: float
    t: float
    df: float
    p: float
    masters: tuple[dict[str, Any], ...]
    tolerance: float | None
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Bias on masters"

    @property
    def statement(self) -> str:
        share = ""
        if self.tolerance:
            share = f", {abs(self.mean_bias.estimate) / self.tolerance:.1%} of the tolerance"
        return (
            f"Over {self.n} readings of {len(self.masters)} master(s) the bias is "
            f"{show(self.mean_bias)} {self.unit}{share}; the test that it is zero gives p = {self.p:.2g}."
        ).replace("  ", " ")

    def table(self) -> pd.DataFrame:
        import pandas as pd

        unit = f" ({self.unit})" if self.unit else ""
        return pd.DataFrame(
            {
                f"master{unit}": [item["reference"] for item in self.masters],
                "readings": [item["n"] for item in self.masters],
                f"bias{unit}": [show(item["bias"]) for item in self.masters],
                "p": [item["p"] for item in self.masters],
            }
        )

    def figure(self) -> Figure:
        from linestudy.figures.gauges import bias_by_master

        figure = bias_by_master(self.masters, self.unit)
        figure.alt_text = self.alt_text
        return figure


def bias(
    readings: Any,
    reference: Any,
    tolerance: float | None = None,
    spread: str = "sd",
    confidence: float = 0.95,
    unit: str = "",
) -> BiasStudy:
    """Test and estimate the bias of a gauge on masters of known value.

    Parameters
    ----------
    readings : array_like of float, shape (n,)
    reference : float or array_like of float, shape (n,)
        Known value of the master behind each reading.
    tolerance : float, optional
        Only for the statement.
    spread : {"sd", "range"}
        Standard deviation from the sample, or from the range over d2* as hand
        calculations have it (one master only).
    confidence : float
    unit : str

    Returns
    -------
    BiasStudy

    Raises
    ------
    CannotJudge
        Fewer than two readings, or readings that never differ.

    Notes
    -----
    AIAG MSA, 4th ed. (2010), ch. III, section B; with the range, degrees of freedom
    are those of Patnaik's approximation.

    Examples
    --------
    >>> study = bias([5.9, 6.1, 6.0, 6.2], 6.0)
    >>> round(study.mean_bias.estimate, 3)
    0.05
    """
    values = as_sample(readings, least=2, name="reading")
    known = np.broadcast_to(np.asarray(reference, dtype=float), values.shape)
    errors = values - known
    mean, sd, df = _spread(errors, spread, values)
    if sd == 0:
        raise CannotJudge(
            "All readings of the masters are the same; resolution hides their spread."
        )
    t, p, interval = _t_test(mean, sd, errors.size, df, confidence)
    masters = []
    for size in np.unique(known):
        own = errors[known == size]
        masters.append(_master(float(size), own, confidence))
    cautions = []
    if errors.size < 10:
        cautions.append(f"{errors.size} readings are few for a test of bias.")
    if any(item["p"] is None for item in masters):
        cautions.append(
            "On some masters the readings never differed; resolution hides their spread."
        )
    return BiasStudy(
        errors.size, interval, sd, t, df, p, tuple(masters), tolerance, unit, tuple(cautions)
    )


def _spread(errors: Any, spread: str, values: Any) -> tuple[float, float, float]:
    mean, sd = mean_and_sd(errors)
    if spread == "sd":
        return mean, sd, float(errors.size - 1)
    if spread != "range":
        raise ValueError('spread must be "sd" or "range"')
    n = errors.size
    return mean, float(np.ptp(values)) / d2_star(n), range_df(n)


def _t_test(
    mean: float, sd: float, n: int, df: float, confidence: float
) -> tuple[float, float, Interval]:
    from scipy.special import stdtr, stdtrit

    error = sd / np.sqrt(n)
    t = float(mean / error)
    p = float(2 * stdtr(df, -abs(t)))
    half = float(stdtrit(df, (1 + confidence) / 2) * error)
    return t, p, Interval(float(mean), mean - half, mean + half, confidence, "t")


def _master(size: float, errors: Any, confidence: float) -> dict[str, Any]:
    mean, sd = mean_and_sd(errors)
    if errors.size < 2 or sd == 0:
        reason = "one reading" if errors.size < 2 else "readings that never differ"
        return {
            "reference": size,
            "n": errors.size,
            "bias": Absent(reason),
            "p": None,
            "mean": float(mean),
        }
    _, p, interval = _t_test(mean, sd, errors.size, errors.size - 1, confidence)
    return {"reference": size, "n": int(errors.size), "bias": interval, "p": p, "mean": float(mean)}


@dataclass(frozen=True)
class LinearityStudy(Finding):
    """Whether the bias changes with size.

    Attributes
    ----------
    n : int
    slope : Interval
        Change of bias per unit of size (dimensionless).
    intercept : Interval
        Bias extrapolated to size zero, in the unit of the readings.
    slope_t, slope_p, intercept_t, intercept_p : float
    r_squared, residual_sd : float
    at_limits : dict of str to Interval
        Bias at each tolerance limit.
    lack_of_fit_p : float or None
        Test that a straight line describes the means of the masters.
    """

    n: int
    slope: Interval
    intercept: Interval
    slope_t: float
    slope_p: float
    intercept_t: float
    intercept_p: float
    r_squared: float
    residual_sd: float
    at_limits: dict[str, Interval]
    lack_of_fit_p: float | None
    unit: str
    cautions: tuple[str, ...]
    readings: Any = field(repr=False, compare=False)
    title: ClassVar[str] = "Linearity"

    @property
    def statement(self) -> str:
        moves = "changes" if not self.slope.low <= 0 <= self.slope.high else "is not seen to change"
        ends = "; ".join(
            f"at the {name} limit it is {show(value)} {self.unit}".rstrip()
            for name, value in self.at_limits.items()
        )
        tail = f"; {ends}" if ends else ""
        return (
            f"The bias {moves} with size (slope {show(self.slope)}, p = {self.slope_p:.2g}){tail}."
        )

    def table(self) -> pd.DataFrame:
        import pandas as pd

        unit = f" ({self.unit})" if self.unit else ""
        rows: list[tuple[str, str, float | None]] = [
            ("slope", show(self.slope), self.slope_p),
            (f"intercept{unit}", show(self.intercept), self.intercept_p),
        ]
        rows += [(f"bias at {k} limit{unit}", show(v), None) for k, v in self.at_limits.items()]
        return pd.DataFrame(rows, columns=["quantity", "value", "p"])

    def figure(self) -> Figure:
        from linestudy.figures.gauges import bias_against_size

        figure = bias_against_size(self)
        figure.alt_text = self.alt_text
        return figure

    def record(self) -> dict[str, Any]:
        """Keys as in format 1; added: n, intervals, at_limits, lack_of_fit_p."""
        from linestudy.core import plain

        return {
            "n": self.n,
            "slope": self.slope.record(),
            "intercept": self.intercept.record(),
            "slope_t": self.slope_t,
            "slope_p": self.slope_p,
            "intercept_t": self.intercept_t,
            "intercept_p": self.intercept_p,
            "r_squared": self.r_squared,
            "residual_sd": self.residual_sd,
            "at_limits": plain(self.at_limits),
            "lack_of_fit_p": self.lack_of_fit_p,
            "statement": self.statement,
            "cautions": list(self.cautions),
        }


def linearity(
    readings: Any,
    reference: Any,
    lower: float | None = None,
    upper: float | None = None,
    confidence: float = 0.95,
    unit: str = "",
) -> LinearityStudy:
    """Regress the bias on the size of the masters.

    Parameters
    ----------
    readings, reference : array_like of float, shape (n,)
    lower, upper : float, optional
        Tolerance limits, at which the bias is given.
    confidence : float
    unit : str

    Returns
    -------
    LinearityStudy

    Raises
    ------
    CannotJudge
        Fewer than three masters of different size, or errors that never differ.

    Notes
    -----
    Straight line by least squares with independent normal errors of equal spread (AIAG
    MSA, 4th ed. (2010), ch. III, section B). Lack of fit: the pure-error F-test.

    Examples
    --------
    >>> study = linearity([1.0, 1.1, 2.1, 2.2, 3.2, 3.3], [1, 1, 2, 2, 3, 3])
    >>> round(study.slope.estimate, 3)
    0.1
    """
    from scipy.special import stdtr, stdtrit

    values = as_sample(readings, least=3, name="reading")
    sizes = np.asarray(reference, dtype=float)
    levels = np.unique(sizes)
    if levels.size < 3:
        raise CannotJudge(
            f"{levels.size} size(s) of master were measured; three are needed for linearity."
        )
    errors = values - sizes
    n, df = errors.size, errors.size - 2
    middle = sizes.mean()
    x = sizes - middle
    sxx = float(x @ x)
    slope = float(x @ (errors - errors.mean()) / sxx)
    level = float(errors.mean())
    residuals = errors - level - slope * x
    sse = float(residuals @ residuals)
    total = float(((errors - level) ** 2).sum())
    if sse <= 0:
        raise CannotJudge("The errors lie on one line exactly; resolution hides their spread.")
    s = float(np.sqrt(sse / df))
    factor = float(stdtrit(df, (1 + confidence) / 2))

    def at(size: float, name: str = "t") -> Interval:
        value = level + slope * (size - middle)
        half = factor * s * np.sqrt(1 / n + (size - middle) ** 2 / sxx)
        return Interval(value, value - half, value + half, confidence, name)

    slope_error = s / np.sqrt(sxx)
    intercept = at(0.0)
    intercept_t = intercept.estimate / (s * np.sqrt(1 / n + middle**2 / sxx))
    slope_t = slope / slope_error
    half = factor * slope_error
    limits = {name: at(x) for name, x in (("lower", lower), ("upper", upper)) if x is not None}
    return LinearityStudy(
        n=int(n),
        slope=Interval(slope, slope - half, slope + half, confidence, "t"),
        intercept=intercept,
        slope_t=float(slope_t),
        slope_p=float(2 * stdtr(df, -abs(slope_t))),
        intercept_t=float(intercept_t),
        intercept_p=float(2 * stdtr(df, -abs(intercept_t))),
        r_squared=1 - sse / total if total > 0 else 0.0,
        residual_sd=s,
        at_limits=limits,
        lack_of_fit_p=_lack_of_fit(errors, sizes, levels, sse),
        unit=unit,
        cautions=_outside(levels, lower, upper),
        readings=np.column_stack([sizes, errors]),
    )


def _lack_of_fit(errors: Any, sizes: Any, levels: Any, sse: float) -> float | None:
    from scipy.special import fdtrc

    pure = sum(float(((e := errors[sizes == size]) - e.mean()) @ (e - e.mean())) for size in levels)
    df_pure, df_lack = errors.size - levels.size, levels.size - 2
    if df_pure < 1 or df_lack < 1 or pure <= 0:
        return None
    return float(fdtrc(df_lack, df_pure, max(sse - pure, 0.0) / df_lack / (pure / df_pure)))


def _outside(levels: Any, lower: float | None, upper: float | None) -> tuple[str, ...]:
    beyond = [
        name
        for name, limit, out in (
            ("lower", lower, lower is not None and lower < levels[0]),
            ("upper", upper, upper is not None and upper > levels[-1]),
        )
        if out
    ]
    if not beyond:
        return ()
    return (
        f"The masters do not reach the {' and '.join(beyond)} limit; the bias there is extrapolated.",
    )


@dataclass(frozen=True)
class RepeatabilityStudy(Finding):
    """Repeated readings of one master against a fraction of the tolerance.

    Attributes
    ----------
    n : int
    mean, sd, bias : float
        In the unit of the readings.
    Cg, Cgk : Interval
    t, p : float
        Test that the bias is zero.
    fraction, spread : float
        Share of the tolerance that is allowed, and standard deviations it must hold.
    smallest_tolerance : Interval
        The tolerance at which Cg would be 1.33 (the usual demand; common practice, no source).
    """

    n: int
    mean: float
    sd: float
    bias: float
    Cg: Interval
    Cgk: Interval
    t: float
    p: float
    fraction: float
    spread: float
    smallest_tolerance: Interval
    reference: float
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Repeatability on one master"

    @property
    def statement(self) -> str:
        return (
            f"On the master of {self.reference:g} {self.unit} the gauge holds Cg = {show(self.Cg)} and "
            f"Cgk = {show(self.Cgk)}, for {self.fraction:.0%} of the tolerance and {self.spread:g} "
            "standard deviations."
        )

    def table(self) -> pd.DataFrame:
        import pandas as pd

        unit = f" ({self.unit})" if self.unit else ""
        rows = [
            ("Cg", show(self.Cg)),
            ("Cgk", show(self.Cgk)),
            (f"bias{unit}", show(self.bias)),
            (f"standard deviation{unit}", show(self.sd)),
            (f"smallest tolerance{unit}", show(self.smallest_tolerance)),
        ]
        return pd.DataFrame(rows, columns=["quantity", "value"])


def repeatability(
    readings: Any,
    reference: float,
    tolerance: float,
    fraction: float = 0.2,
    spread: float = 6.0,
    confidence: float = 0.95,
    unit: str = "",
) -> RepeatabilityStudy:
    """Cg and Cgk of repeated readings of one master.

    Parameters
    ----------
    readings : array_like of float, shape (n,)
    reference : float
        Known value of the master.
    tolerance : float
        Width of the tolerance.
    fraction : float
        Share of the tolerance allowed to the gauge.
    spread : float
        Standard deviations that share must hold: 6, or 4.
    confidence : float
    unit : str

    Returns
    -------
    RepeatabilityStudy

    Raises
    ------
    CannotJudge
        Fewer than two readings, or readings that never differ.

    Notes
    -----
    ``Cg = fraction * tolerance / (spread * s)``, ``Cgk = (fraction * tolerance / 2 - |bias|) /
    (spread / 2 * s)``; common practice in the manner of VDA 5 and ISO 22514-7. Intervals:
    chi-square for Cg; for Cgk the noncentral t of the nearer side.

    Examples
    --------
    >>> round(repeatability([1.0, 1.1, 0.9, 1.0], 1.0, 6.0).Cg.estimate, 3)
    2.449
    """
    values = as_sample(readings, least=2, name="reading")
    mean, sd = mean_and_sd(values)
    if sd == 0:
        raise CannotJudge("All readings of the master are the same; resolution hides their spread.")
    n = values.size
    offset = mean - reference
    t, p, _ = _t_test(offset, sd, n, n - 1, confidence)
    cg = spread_index_interval(fraction * tolerance / spread, sd, n - 1, confidence)
    room = fraction * tolerance / 2 - abs(offset)
    cgk = one_sided_index_interval(room, sd, n, n - 1, confidence).times(6.0 / spread)
    cautions: tuple[str, ...] = ()
    if n < 25:
        cautions = (f"{n} readings are few; 25 to 50 are usual for this study.",)
    return RepeatabilityStudy(
        n=int(n),
        mean=float(mean),
        sd=sd,
        bias=float(offset),
        Cg=cg,
        Cgk=cgk,
        t=t,
        p=p,
        fraction=fraction,
        spread=spread,
        smallest_tolerance=cg.mapped(lambda c: 1.33 * tolerance / c),
        reference=float(reference),
        unit=unit,
        cautions=cautions,
    )
