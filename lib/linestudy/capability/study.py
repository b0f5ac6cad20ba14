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
from linestudy.capability.quantile_indices import envelope, quantile_intervals
from linestudy.numerics import generator
from linestudy.numerics.samples import as_sample, mean_and_sd
from linestudy.results import Absent, CannotJudge, Finding, Interval, plain, show, show_ppm
from linestudy.results.declared import Declaration
from linestudy.shape import Fitted
from linestudy.threads import one_thread

if TYPE_CHECKING:
    import pandas as pd


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
    lower_bounds : dict of str to float or Absent
        One-sided lower confidence bound of each index: the index is at least that large, at the
        whole confidence. It is what ``decide_on = "lower bound"`` looks at.
    z : dict of str to Interval or Absent
        ``below``, ``above``, ``total``: how many standard deviations of a normal distribution leave
        the expected share beyond one limit.
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
    lower_bounds: dict[str, float | Absent]
    z: dict[str, Interval | Absent]
    lower: float | None
    upper: float | None
    unit: str
    cautions: tuple[str, ...]
    fitted: Any = field(repr=False, compare=False)
    counts: Any = field(repr=False, compare=False)
    title: ClassVar[str] = "Capability"
    picture: ClassVar[str] = "capability:curve_and_limits"

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
            f"Ppk = {show(self.Ppk)} ({self.method}); {show_ppm(total)} parts per million are expected "
            f"outside the limits, and {seen}."
        )

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        rows = [(name, show(getattr(self, name))) for name in ("Pp", "Ppk", "Cp", "Cpk", "Cpm")]
        bound = self.lower_bounds["Ppk"]
        rows.append(
            (
                "Ppk at least (one-sided)",
                str(bound) if isinstance(bound, Absent) else f"{bound:.2f}",
            )
        )
        rows += [
            (f"expected {side} (ppm)", show_ppm(self.expected_ppm[side]))
            for side in ("below", "above", "total")
        ]
        rows.append(("z of the share outside", show(self.z["total"])))
        rows.append(("observed outside (ppm)", show_ppm(self.observed["ppm"])))
        return pd.DataFrame(rows, columns=["quantity", "value"])

    def record(self) -> dict[str, Any]:
        """Keys as in format 1; added: Cpm, effective numbers, lower_bounds, z, statement, cautions."""
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
            "lower_bounds",
            "z",
        )
        content = {name: plain(getattr(self, name)) for name in names}
        return content | {"statement": self.statement, "cautions": list(self.cautions)}


CAPABILITY = Declaration(
    "capability",
    CapabilityStudy,
    "Capability",
    part="characteristic",
    question="fit",
    order=10,
    picture=50,
    with_table=True,
    own="indices",
)


CAPABILITY_WITH_SET_ASIDE = Declaration(
    "capability.with_set_aside",
    CapabilityStudy,
    "Capability with the periods set aside",
    part="characteristic",
    question="set aside",
    order=20,
)


@one_thread()
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
    ISO 22514-2:2017, ISO 22514-4:2016; see the modules ``indices`` and ``quantile_indices``.

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
    within = Absent("no subgroups were taken") if sd_within is None else sd_within
    known = _Known(y, mean, sd, within, df_within, worth_mean, worth_spread, lower, upper, target)

    def at(level: float) -> dict[str, Any]:
        return _numbers(known, fitted, admissible, level, generator(seed, "capability"))

    found = at(confidence)
    # The low end of a two-sided interval of less confidence is the one-sided bound.
    bounds = at(2 * confidence - 1) if confidence > 0.5 else {}
    others = _others(fitted, admissible)
    normal = fitted is None or fitted.family == "normal"
    expected = {side: found[side] for side in ("below", "above", "total")}
    x, w = np.unique(y, return_counts=True)
    return CapabilityStudy(
        n=int(n),
        mean=float(mean),
        sd_overall=float(sd),
        sd_within=within,
        method="normal" if normal else f"quantiles of the {fitted.family} distribution",  # type: ignore[union-attr]
        **{name: found[name] for name in _INDICES},
        expected_ppm=expected,
        observed=observed_nonconforming(y, lower, upper, confidence),
        effective_n_mean=worth_mean,
        effective_n_spread=worth_spread,
        lower_bounds={name: _bound(found[name], bounds.get(name)) for name in _INDICES},
        z={side: _z(expected[side]) for side in expected},
        lower=lower,
        upper=upper,
        unit=unit,
        cautions=_cautions(y, lower, upper, worth_mean, confidence, len(others)),
        fitted=fitted,
        counts=(x, w.astype(float)),
    )


_INDICES = ("Pp", "Ppk", "Cp", "Cpk", "Cpm")


@dataclass(frozen=True)
class _Known:
    """What indices are made of."""

    values: Any
    mean: float
    sd: float
    within: float | Absent
    df_within: float | None
    n_mean: float
    n_spread: float
    lower: float | None
    upper: float | None
    target: float | None

    @property
    def limits(self) -> tuple[float | None, float | None]:
        return self.lower, self.upper


def _numbers(
    known: _Known,
    fitted: Fitted | None,
    admissible: tuple[Fitted, ...],
    confidence: float,
    rng: np.random.Generator,
) -> dict[str, Any]:
    """Indices and expected rates, each with its interval at one confidence."""
    worth = known.n_mean, known.n_spread
    df = max(known.n_spread - 1, 1.0)
    normal = fitted is None or fitted.family == "normal"
    if normal:
        about = known.mean, known.sd, known.n_mean, df
        found: dict[str, Any] = {
            "Pp": spread_index(known.sd, df, *known.limits, confidence),
            "Ppk": location_index(*about, *known.limits, confidence),
            **normal_nonconforming(*about, *known.limits, confidence, rng=rng),
        }
        found["Cpm"] = target_index(*about, *known.limits, known.target, confidence)
    else:
        assert fitted is not None
        found = quantile_intervals(
            fitted, *known.limits, *worth, confidence, rng, values=known.values
        )
        found["Cpm"] = Absent("Cpm is defined for normal values")
    others = _others(fitted, admissible)
    if others:
        widened = {name: item for name, item in found.items() if name != "Cpm"}
        found |= envelope(widened, others, *known.limits, *worth, rng, known.values)
    found["Cp"], found["Cpk"] = _within(known, normal, confidence)
    return found


def _others(fitted: Fitted | None, admissible: tuple[Fitted, ...]) -> list[Fitted]:
    return [item for item in admissible if fitted is None or item.family != fitted.family]


def _within(
    known: _Known, normal: bool, confidence: float
) -> tuple[Interval | Absent, Interval | Absent]:
    if isinstance(known.within, Absent):
        return known.within, known.within
    if not normal:
        why = Absent("the distribution is not normal, so the within-spread gives no index")
        return why, why
    df = known.df_within
    if df is None or df < 1:
        why = Absent("the degrees of freedom within subgroups are not known")
        return why, why
    return (
        spread_index(known.within, df, *known.limits, confidence),
        location_index(known.mean, known.within, known.n_mean, df, *known.limits, confidence),
    )


def _bound(two_sided: Interval | Absent, wider: Interval | Absent | None) -> float | Absent:
    if isinstance(two_sided, Absent):
        return two_sided
    return wider.low if isinstance(wider, Interval) else Absent("confidence is not above one half")


def _z(ppm: Interval) -> Interval | Absent:
    """A share as the distance that leaves it beyond one limit of a normal distribution."""
    from scipy.special import ndtri

    if ppm.high == 0:
        return Absent(ppm.method)
    return ppm.mapped(lambda value: float(-ndtri(min(max(value, 0.0) / 1e6, 1.0))))


def _cautions(
    y: Any,
    lower: float | None,
    upper: float | None,
    worth: float,
    confidence: float,
    others: int,
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
    if others:
        notes.append(
            f"{others + 1} distributions describe the values about as well, and the intervals hold those of "
            "all; where none of them is the true one they cover less than they claim."
        )
    return tuple(notes)
