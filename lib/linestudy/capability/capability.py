"""The capability of one characteristic, by the method its distribution asks for."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.capability.indices import (
    location_index,
    none_seen_limit,
    normal_nonconforming,
    observed_nonconforming,
    spread_index,
    target_index,
)
from linestudy.capability.quantile import envelope, quantile_intervals
from linestudy.core import Absent, CannotJudge, Finding, Interval, generator, plain, show
from linestudy.core.samples import as_sample, mean_and_sd
from linestudy.shape import Fitted

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure


@dataclass(frozen=True)
class CapabilityStudy(Finding):
    """Indices and expected nonconforming parts of one characteristic.

    Attributes
    ----------
    n : int
        Values.
    mean, sd_overall : float
        In the unit of the values.
    sd_within : float or Absent
    method : str
        ``"normal"`` or ``"quantiles of the … distribution"``.
    Cp, Cpk, Pp, Ppk, Cpm : Interval or Absent
    expected_ppm : dict of str to Interval
        ``below``, ``above``, ``total``.
    observed : dict
        ``below``, ``above``, ``n``, ``ppm`` (Interval).
    effective_n_mean, effective_n_spread : float
        What intervals were made with.
    """

    n: int
    mean: float
    sd_overall: float
    sd_within: float | Absent
    method: str
    Cp: Interval | Absent
    Cpk: Interval | Absent
    Pp: Interval | Absent
    Ppk: Interval | Absent
    Cpm: Interval | Absent
    expected_ppm: dict[str, Interval]
    observed: dict[str, Any]
    effective_n_mean: float
    effective_n_spread: float
    lower: float | None
    upper: float | None
    unit: str
    cautions: tuple[str, ...]
    fitted: Any = field(repr=False, compare=False)
    counts: Any = field(repr=False, compare=False)
    title: ClassVar[str] = "Capability"

    @property
    def statement(self) -> str:
        total = self.expected_ppm["total"]
        outside = self.observed["below"] + self.observed["above"]
        seen = (
            f"{outside:,} of {self.n:,} values {'lies' if outside == 1 else 'lie'} outside"
            if outside
            else f"none of {self.n:,} values lies outside"
        )
        return (
            f"Ppk = {show(self.Ppk)} ({self.method}); {_ppm(total)} parts per million are expected "
            f"outside the limits, and {seen}."
        )

    def table(self) -> pd.DataFrame:
        import pandas as pd

        rows = [(name, show(getattr(self, name))) for name in ("Pp", "Ppk", "Cp", "Cpk", "Cpm")]
        rows += [
            (f"expected {side} (ppm)", _ppm(self.expected_ppm[side]))
            for side in ("below", "above", "total")
        ]
        rows.append(("observed outside (ppm)", _ppm(self.observed["ppm"])))
        return pd.DataFrame(rows, columns=["quantity", "value"])

    def figure(self) -> Figure:
        from linestudy.figures.capability import curve_and_limits

        figure = curve_and_limits(self)
        figure.alt_text = self.alt_text
        return figure

    def record(self) -> dict[str, Any]:
        """Keys as in format 1; added: Cpm, effective numbers, statement, cautions."""
        names = (
            "n",
            "mean",
            "sd_overall",
            "sd_within",
            "method",
            "Cp",
            "Cpk",
            "Pp",
            "Ppk",
            "Cpm",
            "expected_ppm",
            "observed",
            "effective_n_mean",
            "effective_n_spread",
        )
        content = {name: plain(getattr(self, name)) for name in names}
        return content | {"statement": self.statement, "cautions": list(self.cautions)}


def _ppm(interval: Interval) -> str:
    def text(value: float) -> str:
        if value == 0:
            return "0"
        if value < 0.001:
            return "less than 0.001"
        return f"{value:,.0f}" if value >= 10 else f"{value:.2g}"

    return f"{text(interval.estimate)} ({text(interval.low)} to {text(interval.high)})"


def capability(
    values: Any,
    lower: float | None = None,
    upper: float | None = None,
    target: float | None = None,
    fitted: Fitted | None = None,
    admissible: tuple[Fitted, ...] = (),
    sd_within: float | Absent | None = None,
    df_within: float | None = None,
    n_mean: float | None = None,
    n_spread: float | None = None,
    confidence: float = 0.95,
    seed: int | None = None,
    unit: str = "",
) -> CapabilityStudy:
    """Capability and performance of one characteristic.

    Parameters
    ----------
    values : array_like of float, shape (n,)
    lower, upper : float, optional
        Tolerance limits; at least one.
    target : float, optional
        For Cpm.
    fitted : Fitted, optional
        Distribution of the values; normal when absent.
    admissible : tuple of Fitted
        Families that describe the values about as well; intervals of Pp, Ppk and ppm hold theirs.
    sd_within : float or Absent, optional
        Spread within subgroups, or why it may not be used.
    df_within : float, optional
        Its degrees of freedom.
    n_mean, n_spread : float, optional
        Effective numbers of values where they are serially correlated; n when absent.
    confidence : float
    seed : int, optional
    unit : str

    Returns
    -------
    CapabilityStudy

    Raises
    ------
    CannotJudge
        No limit, fewer than ten values, or values that never differ.

    Notes
    -----
    ISO 22514-2:2017, ISO 22514-4:2016; see the modules ``indices`` and ``quantile``.

    Examples
    --------
    >>> import numpy as np
    >>> y = 16 + 2 * np.random.default_rng(1).normal(size=400)
    >>> round(capability(y, 8.0, 24.0).Ppk.estimate, 1)
    1.4
    """
    if lower is None and upper is None:
        raise CannotJudge("There is no limit to hold the values against.")
    y = as_sample(values, least=10)
    mean, sd = mean_and_sd(y)
    if np.ptp(y) == 0:
        raise CannotJudge("All values are the same, so they have no spread to judge by.")
    n = float(y.size)
    worth_mean, worth_spread = min(n_mean or n, n), min(n_spread or n, n)
    df = max(worth_spread - 1, 1.0)
    rng = generator(seed, "capability")
    normal = fitted is None or fitted.family == "normal"
    if normal:
        pp: Interval | Absent = spread_index(sd, df, lower, upper, confidence)
        ppk: Interval | Absent = location_index(mean, sd, worth_mean, df, lower, upper, confidence)
        expected = normal_nonconforming(mean, sd, worth_mean, df, lower, upper, confidence, rng=rng)
        cpm = target_index(mean, sd, worth_mean, df, lower, upper, target, confidence)
        method = "normal"
    else:
        assert fitted is not None
        found = quantile_intervals(fitted, lower, upper, worth_mean, worth_spread, confidence, rng)
        pp, ppk = found["Pp"], found["Ppk"]
        expected = {side: found[side] for side in ("below", "above", "total")}  # type: ignore[misc]
        cpm = Absent("Cpm is defined for normal values")
        method = f"quantiles of the {fitted.family} distribution"
    others = [item for item in admissible if fitted is None or item.family != fitted.family]
    if others:
        both = {"Pp": pp, "Ppk": ppk} | expected
        both = envelope(both, others, lower, upper, worth_mean, worth_spread, rng)
        pp, ppk = both["Pp"], both["Ppk"]
        expected = {side: both[side] for side in expected}  # type: ignore[misc]
    within = Absent("no subgroups were taken") if sd_within is None else sd_within
    cp, cpk = _within(within, df_within, mean, worth_mean, lower, upper, normal, confidence)
    x, w = np.unique(y, return_counts=True)
    return CapabilityStudy(
        n=int(n),
        mean=float(mean),
        sd_overall=float(sd),
        sd_within=within,
        method=method,
        Cp=cp,
        Cpk=cpk,
        Pp=pp,
        Ppk=ppk,
        Cpm=cpm,
        expected_ppm=expected,
        observed=observed_nonconforming(y, lower, upper, confidence),
        effective_n_mean=worth_mean,
        effective_n_spread=worth_spread,
        lower=lower,
        upper=upper,
        unit=unit,
        cautions=_cautions(y, lower, upper, worth_mean, confidence),
        fitted=fitted,
        counts=(x, w.astype(float)),
    )


def _within(
    within: float | Absent,
    df: float | None,
    mean: float,
    n_mean: float,
    lower: float | None,
    upper: float | None,
    normal: bool,
    confidence: float,
) -> tuple[Interval | Absent, Interval | Absent]:
    if isinstance(within, Absent):
        return within, within
    if not normal:
        why = Absent("the distribution is not normal, so the within-spread gives no index")
        return why, why
    if df is None or df < 1:
        why = Absent("the degrees of freedom within subgroups are not known")
        return why, why
    return (
        spread_index(within, df, lower, upper, confidence),
        location_index(mean, within, n_mean, df, lower, upper, confidence),
    )


def _cautions(
    y: Any, lower: float | None, upper: float | None, worth: float, confidence: float
) -> tuple[str, ...]:
    notes = []
    outside = (0 if lower is None else int((y < lower).sum())) + (
        0 if upper is None else int((y > upper).sum())
    )
    if outside == 0:
        limit = none_seen_limit(int(y.size), confidence)
        notes.append(
            f"None seen in {y.size:,} proves, at {confidence:.0%} confidence and for independent parts, "
            f"less than {limit:,.0f} ppm; the expected rate beyond that rests on the distribution."
        )
    if outside == y.size:
        notes.append("Every value lies outside the limits; look at unit and limits first.")
    if y.size < 100:
        notes.append(f"{y.size} values are few; see how wide the intervals are.")
    if worth < 0.5 * y.size:
        notes.append(
            f"The values are not independent: {y.size:,} are worth {worth:,.0f}; intervals use that."
        )
    return tuple(notes)
