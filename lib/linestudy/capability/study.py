"""The capability of one characteristic, by the method its distribution asks for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, TypedDict

import numpy as np
from numpy.typing import ArrayLike, NDArray

from linestudy.capability.finding import INDICES, CapabilityStudy
from linestudy.capability.indices import cp, cpk, cpm
from linestudy.capability.lots.lot_draws import LotDraws, drawn_from
from linestudy.capability.lots.over_lots import over_lots
from linestudy.capability.nonconforming import (
    normal_nonconforming,
    observed_nonconforming,
    zero_failure_bound,
)
from linestudy.capability.quantile_indices import envelope, is_uninformative, quantile_intervals
from linestudy.numerics import generator
from linestudy.numerics.samples import mean_and_sd
from linestudy.results import Absent, CannotJudge, Interval, arguments, data_arguments, show
from linestudy.running.deprecation import old_keywords, renamed
from linestudy.running.threads import one_thread
from linestudy.shape.fitting import FittedDistribution


@old_keywords(
    renamed("n_mean", "n_eff_mean", since="0.2.0", removal="0.3.0"),
    renamed("n_spread", "n_eff_sd", since="0.2.0", removal="0.3.0"),
    renamed("admissible", "plausible_families", since="0.2.0", removal="0.3.0"),
)
@one_thread()
def process_capability(
    values: ArrayLike,
    lower: float | None = None,
    upper: float | None = None,
    *,
    target: float | None = None,
    fitted: FittedDistribution | None = None,
    plausible_families: tuple[FittedDistribution, ...] = (),
    sd_within: float | Absent | None = None,
    df_within: float | None = None,
    n_eff_mean: float | None = None,
    n_eff_sd: float | None = None,
    lots: Sequence[ArrayLike] | LotDraws = (),
    confidence: float = 0.95,
    seed: int | None = None,
    unit: str = "",
) -> CapabilityStudy:
    r"""Compute the capability and performance indices of one characteristic.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        Readings in any unit, at least ten.
    lower, upper : float, optional
        Tolerance limits in the unit of the values; at least one.
    target : float, optional
        Target value, for Cpm.
    fitted : FittedDistribution, optional
        Distribution of the values, as :func:`linestudy.shape.fit` or ``select_distribution(...).chosen``
        gives it; normal when absent.
    plausible_families : tuple of FittedDistribution
        Distributions that describe the values about as well; intervals of Pp, Ppk and ppm hold theirs.
    sd_within : float or Absent, optional
        Standard deviation within subgroups, or why it may not be used.
    df_within : float, optional
        Its degrees of freedom.
    n_eff_mean, n_eff_sd : float, optional
        Effective sample sizes for the mean and for the standard deviation where values are serially
        correlated; n when absent.
    lots : sequence of array_like, each of shape (n,), or LotDraws
        Lot (coil, batch) of each value, then what is between lot and value, if anything: intervals then
        hold for the process that goes on to other lots.
    confidence : float
        Of the two-sided intervals and the one-sided bounds, between 0 and 1.
    seed : int, optional
        Of the draws behind intervals; the kit's own when absent, so that a second call gives the same
        numbers.
    unit : str
        Unit of the values, for texts and pictures.

    Returns
    -------
    CapabilityStudy
        Indices with intervals and one-sided bounds, nonconforming parts expected and counted.

    Raises
    ------
    CannotJudge
        Fewer than ten values, values that are missing or infinite, or values that never differ.
    ValueError
        No limit, limits that are not in order, a confidence outside 0 to 1, or an array of other
        than one dimension.
    TypeError
        A table in place of values, or an argument of another kind.

    See Also
    --------
    cp, cpk, cpm : The indices from a mean and a standard deviation.
    quantile_intervals : The indices of a fitted distribution.
    tolerance_intervals : Without any distribution.

    Notes
    -----
    Model: independent values of the given distribution, or ``n_eff_mean`` and ``n_eff_sd`` of them. For a
    normal distribution

    .. math:: P_p = \frac{U - L}{6 s}, \qquad
        P_{pk} = \min\left(\frac{U - \bar x}{3 s}, \frac{\bar x - L}{3 s}\right),

    for another the same of its quantiles :math:`x_{0.00135}, x_{0.5}, x_{0.99865}`; Cp and Cpk of the
    standard deviation within subgroups, where it may be used. Intervals of normal indices are exact or by
    the generalized pivot, those of quantile indices by the profile likelihood. With `lots`, intervals come
    from the variance between and within them (:func:`lot_capability`): three coils of a process whose coils
    differ bound next to nothing, however many parts each gave. A family by which the interval of Ppk spans more
    than tenfold is dropped: the next that describes the values takes its place, and a caution says so.
    Misleads where the process moved between what was sampled and what will be made, where parts were sorted before they
    were recorded, and where none of the distributions tried is the true one.

    References
    ----------
    ISO 22514-2:2017; ISO 22514-4:2016 (general geometric method for quantiles).

    Examples
    --------
    >>> import numpy as np
    >>> y = 16 + 2 * np.random.default_rng(1).normal(size=400)
    >>> study = process_capability(y, 8.0, 24.0, unit="mm")
    >>> print(study.statement)
    All values together: Ppk = 1.43 (1.33 to 1.54) (normal); 12 (3 to 49) ppm expected outside the limits; 0 of 400
    values outside.
    """
    y = data_arguments.one_dimensional(values, least=10)
    lower, upper = arguments.limits(lower, upper)
    arguments.share("confidence", confidence)
    for name, item in (
        ("fitted", fitted),
        *(("plausible_families", f) for f in plausible_families),
    ):
        if item is not None and not isinstance(item, FittedDistribution):
            raise TypeError(
                f"{name} must be a FittedDistribution, not {type(item).__name__} {item!r}."
            )
    for name, number in (
        ("sd_within", None if isinstance(sd_within, Absent) else sd_within),
        ("df_within", df_within),
        ("n_eff_mean", n_eff_mean),
        ("n_eff_sd", n_eff_sd),
    ):
        if number is not None:
            arguments.number(name, number, above=0)
    mean, sd = mean_and_sd(y)
    if np.ptp(y) == 0:
        raise CannotJudge("All values are the same, so they have no spread to judge by.")
    n = float(y.size)
    for_mean, for_sd = min(n_eff_mean or n, n), min(n_eff_sd or n, n)
    within = Absent("no subgroups were taken") if sd_within is None else sd_within
    draws = drawn_from(y, lots)
    independent = n_eff_mean is None and n_eff_sd is None
    known = _Known(
        y, mean, sd, within, df_within, for_mean, for_sd, lower, upper, target, draws, independent
    )

    def at(level: float, rates: bool = True) -> dict[str, Any]:
        rng = generator(seed, "capability")
        return _numbers(known, fitted, plausible_families, level, rng, rates)

    found = at(confidence)
    untold: tuple[str, ...] = ()
    if is_uninformative(found["Ppk"]):
        fitted, plausible_families, untold = _determined(
            known, fitted, plausible_families, confidence, seed
        )
        found = at(confidence)
    # The low end of a two-sided interval of less confidence is the one-sided bound of an index.
    bounds = at(2 * confidence - 1, rates=False) if confidence > 0.5 else {}
    others = _others(fitted, plausible_families)
    expected = {side: found[side] for side in ("below", "above", "total")}
    x, w = np.unique(y, return_counts=True)
    return CapabilityStudy(
        n=int(n),
        mean=float(mean),
        sd_overall=float(sd),
        sd_within=within,
        method="normal"
        if fitted is None or fitted.family == "normal"
        else f"quantiles of the {fitted.family} distribution",
        **{name: found[name] for name in INDICES},
        expected_ppm=expected,
        observed=observed_nonconforming(y, lower, upper, confidence=confidence),
        n_eff_mean=for_mean,
        n_eff_sd=for_sd,
        lower_bounds={name: _bound(found[name], bounds.get(name)) for name in INDICES},
        z={side: _z(expected[side]) for side in expected},
        lower=lower,
        upper=upper,
        unit=unit,
        cautions=(
            *untold,
            *_cautions(y, lower, upper, for_mean, confidence, len(others)),
            *_of_lots(draws),
        ),
        fitted=fitted,
        counts=(x, w.astype(float)),
    )


class _Sizes(TypedDict):
    n_eff_mean: float
    n_eff_sd: float


class _Level(TypedDict):
    df: float
    confidence: float


class _Limits(TypedDict):
    lower: float | None
    upper: float | None


@dataclass(frozen=True)
class _Known:
    """What indices are made of."""

    values: NDArray[np.float64]
    mean: float
    sd: float
    within: float | Absent
    df_within: float | None
    n_eff_mean: float
    n_eff_sd: float
    lower: float | None
    upper: float | None
    target: float | None
    lots: LotDraws | None
    independent: bool

    @property
    def limits(self) -> _Limits:
        return {"lower": self.lower, "upper": self.upper}


def _numbers(
    known: _Known,
    fitted: FittedDistribution | None,
    plausible_families: tuple[FittedDistribution, ...],
    confidence: float,
    rng: np.random.Generator,
    rates: bool,
) -> dict[str, Any]:
    """Compute indices and, if asked for, expected rates, each with its interval at one confidence."""
    limits = known.limits
    sizes: _Sizes = {"n_eff_mean": known.n_eff_mean, "n_eff_sd": known.n_eff_sd}
    df = max(known.n_eff_sd - 1, 1.0)
    normal = fitted is None or fitted.family == "normal"
    found: dict[str, Any]
    if fitted is None or normal:
        level: _Level = {"df": df, "confidence": confidence}
        about = known.mean, known.sd
        found = {
            "Pp": cp(known.sd, **level, **limits),
            "Ppk": cpk(*about, n=known.n_eff_mean, **level, **limits),
            **normal_nonconforming(*about, n=known.n_eff_mean, **level, **limits, rng=rng),
        }
        found["Cpm"] = cpm(*about, **level, **limits, target=known.target)
    else:
        found = quantile_intervals(
            fitted,
            **limits,
            **sizes,
            confidence=confidence,
            rng=rng,
            values=known.values,
            with_rates=rates,
        )
        found["Cpm"] = Absent("Cpm is defined for normal values")
    others = _others(fitted, plausible_families)
    if others:
        widened = {name: item for name, item in found.items() if name != "Cpm"}
        found |= envelope(
            widened, others, **limits, **sizes, rng=rng, values=known.values, with_rates=rates
        )
    if known.lots is not None:
        settings: Any = {"target": known.target, "independent": known.independent}
        found = over_lots(found, known.lots, fitted, **limits, **settings)
        # A few clumps of readings hardly show a family's shape.
        for_level, for_spread = known.lots.n_eff
        clumped: _Sizes = {
            "n_eff_mean": min(known.n_eff_mean, for_level),
            "n_eff_sd": min(known.n_eff_sd, for_spread),
        }
        if fitted is not None and not normal and clumped != sizes:
            also: Any = {"confidence": confidence, "values": known.values, "with_rates": rates}
            theirs = quantile_intervals(fitted, **limits, **clumped, **also, rng=rng)
            found |= {name: _wider(found[name], other) for name, other in theirs.items()}
    found["Cp"], found["Cpk"] = _within(known, normal, confidence)
    return found


def _wider(own: Interval | Absent, other: Interval | Absent) -> Interval | Absent:
    if not isinstance(own, Interval) or not isinstance(other, Interval):
        return own
    return replace(own, low=min(own.low, other.low), high=max(own.high, other.high))


def _determined(
    known: _Known,
    fitted: FittedDistribution | None,
    plausible_families: tuple[FittedDistribution, ...],
    confidence: float,
    seed: int | None,
) -> tuple[FittedDistribution | None, tuple[FittedDistribution, ...], tuple[str, ...]]:
    """Select the families whose index the values determine, and say what is open of the others."""
    determined: list[FittedDistribution | None] = []
    undetermined: list[tuple[str, Interval]] = []
    one_process = replace(known, lots=None)
    for item in (fitted, *_others(fitted, plausible_families)):
        rng = generator(seed, "capability")
        index = _numbers(one_process, item, (), confidence, rng, False)["Ppk"]
        if is_uninformative(index):
            undetermined.append(("normal" if item is None else item.family, index))
        else:
            determined.append(item)
    if not undetermined:
        return fitted, plausible_families, ()
    if not determined:
        return (
            fitted,
            plausible_families,
            (f"The values leave Ppk anywhere in {show(undetermined[0][1])}; take more of them.",),
        )
    family = "normal" if determined[0] is None else determined[0].family
    lost = "; ".join(f"{name}, {show(index)}" for name, index in undetermined)
    return (
        determined[0],
        tuple(item for item in determined[1:] if item is not None),
        (
            f"By some distributions so few values leave Ppk open more than tenfold ({lost}): they are left out, and the "
            f"index is that of the {family} distribution.",
        ),
    )


def _others(
    fitted: FittedDistribution | None, plausible_families: tuple[FittedDistribution, ...]
) -> list[FittedDistribution]:
    return [item for item in plausible_families if fitted is None or item.family != fitted.family]


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
        cp(known.within, df=df, **known.limits, confidence=confidence),
        cpk(
            known.mean,
            known.within,
            n=known.n_eff_mean,
            df=df,
            **known.limits,
            confidence=confidence,
        ),
    )


def _bound(two_sided: Interval | Absent, wider: Interval | Absent | None) -> float | Absent:
    if isinstance(two_sided, Absent):
        return two_sided
    return wider.low if isinstance(wider, Interval) else Absent("confidence is not above one half")


def _z(ppm: Interval) -> Interval | Absent:
    """Convert a share to the distance that leaves it beyond one limit of a normal distribution."""
    from scipy.special import ndtri

    if ppm.high == 0:
        return Absent(ppm.method)
    # Less than a part in a million millions is nothing that the components of a mixture tell.
    least = 1e-6 if "of a mixture" in ppm.method else 0.0
    return ppm.mapped(lambda value: float(-ndtri(min(max(value, least) / 1e6, 1.0))))


def _of_lots(draws: LotDraws | None) -> tuple[str, ...]:
    if draws is None:
        return ()
    return (
        f"The values come from {draws.lots:,} lots; intervals hold for the process that goes on to other lots, "
        "whose number and not that of the values decides how wide they are.",
    )


def _cautions(
    y: Any,
    lower: float | None,
    upper: float | None,
    n_eff: float,
    confidence: float,
    others: int,
) -> tuple[str, ...]:
    notes = []
    outside = (0 if lower is None else int((y < lower).sum())) + (
        0 if upper is None else int((y > upper).sum())
    )
    if outside == 0:
        limit = zero_failure_bound(int(y.size), confidence=confidence)
        notes.append(
            f"None seen in {y.size:,} proves, at {confidence:.0%} confidence and for independent parts, "
            f"less than {limit:,.0f} ppm; the expected rate beyond that rests on the distribution."
        )
    if outside == y.size:
        notes.append("Every value lies outside the limits; look at unit and limits first.")
    if y.size < 100:
        notes.append(f"{y.size} values are few; see how wide the intervals are.")
    if n_eff < 0.5 * y.size:
        notes.append(
            f"The values are not independent: their effective sample size is {n_eff:,.0f} of {y.size:,}; intervals use that."
        )
    if others:
        notes.append(
            f"{others + 1} distributions describe the values about as well, and the intervals hold those of "
            "all; where none of them is the true one they cover less than they claim."
        )
    return tuple(notes)
