"""Numbers made of a fitted distribution, and three ways to their intervals."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np

from linestudy.numerics.likelihood_interval import Contour, extremes
from linestudy.results import CannotJudge, Interval, arguments
from linestudy.results.interval import Absent
from linestudy.shape.fitting import FittedDistribution
from linestudy.shape.refits import refit

#: A share that is none.
_NO_PART = 1e-300
#: How values are stretched from their origin (0 not at all), and what is added to them.
Shift = tuple[float, float]
Target = Callable[[FittedDistribution, Shift], float]
STILL: Shift = (0.0, 0.0)
_QUANTILES = (0.00135, 0.5, 0.99865)


def quantile_index(
    fitted: FittedDistribution, lower: float | None, upper: float | None
) -> tuple[float | None, float]:
    r"""Compute Pp and Ppk of a fitted distribution.

    Parameters
    ----------
    fitted : FittedDistribution
        Distribution of the values.
    lower, upper : float or None
        Tolerance limits in the unit of the values; at least one.

    Returns
    -------
    Pp : float or None
        A pure number; None where a limit is missing.
    Ppk : float
        A pure number.

    Raises
    ------
    ValueError, TypeError
        No limit, or limits that are not in order.

    See Also
    --------
    quantile_intervals : With intervals; model, formula and when it misleads.

    References
    ----------
    ISO 22514-4:2016, general geometric method.

    Examples
    --------
    >>> import numpy as np
    >>> from linestudy.shape import fit
    >>> item = fit(np.random.default_rng(1).normal(0, 1, 4000), "normal")
    >>> round(quantile_index(item, -4.0, 4.0)[1], 1)
    1.3
    """
    lower, upper = arguments.limits(lower, upper)
    low, _, high = (float(v) for v in fitted.ppf(_QUANTILES))
    both = None if lower is None or upper is None else _times(upper - lower, high - low)
    return both, min(index_sides(fitted, lower, upper))


def index_sides(item: FittedDistribution, lower: float | None, upper: float | None) -> list[float]:
    """Compute the index towards each limit, the upper one first; Ppk is the lesser."""
    low, middle, high = (float(v) for v in item.ppf(_QUANTILES))
    sides = []
    if upper is not None:
        sides.append(_times(upper - middle, high - middle))
    if lower is not None:
        sides.append(_times(middle - lower, middle - low))
    return sides


def _times(margin: float, spread: float) -> float:
    """Divide a margin by a spread; a spread of nothing gives ten thousand million, not infinity."""
    return margin / spread if spread > 1e-10 * abs(margin) else 1e10 * float(np.sign(margin))


def targets_of(lower: float | None, upper: float | None) -> dict[str, Target]:
    """Make the functions from a distribution, its values stretched and displaced, to each index and rate."""

    def moved(item: FittedDistribution, limit: float, shift: Shift) -> float:
        # The limit as the values saw it before they moved.
        stretch, added = shift
        return item.origin + (limit - added - item.origin) / (1 + stretch)

    def limits(item: FittedDistribution, shift: Shift) -> tuple[float | None, float | None]:
        return (
            None if lower is None else moved(item, lower, shift),
            None if upper is None else moved(item, upper, shift),
        )

    def ppm(item: FittedDistribution, shift: Shift, below: bool, above: bool) -> float:
        total = 0.0
        if below and lower is not None:
            total += float(item.cdf(moved(item, lower, shift)))
        if above and upper is not None:
            total += float(item.sf(moved(item, upper, shift)))
        return 1e6 * max(total, 1e-300)

    targets: dict[str, Target] = {
        "Ppk": lambda item, s: quantile_index(item, *limits(item, s))[1],
    }
    if lower is not None and upper is not None:
        targets["total"] = lambda item, s: ppm(item, s, True, True)
    if lower is not None:
        targets["below"] = lambda item, s: ppm(item, s, True, False)
    if upper is not None:
        targets["above"] = lambda item, s: ppm(item, s, False, True)
    if lower is not None and upper is not None:
        targets["Pp"] = lambda item, s: float(quantile_index(item, *limits(item, s))[0] or 0.0)
    return targets


def scale_of(
    name: str, estimate: float
) -> tuple[Callable[[float], float], Callable[[float], float]]:
    """Map to a scale without bounds on which a number's likelihood is nearly a parabola, and back."""
    from scipy.special import ndtr, ndtri

    if name not in ("Pp", "Ppk"):
        # A rate as the distance that leaves it beyond one limit of a normal distribution.
        return (
            lambda ppm: -float(ndtri(max(ppm / 1e6, _NO_PART))),
            lambda z: 1e6 * share if (share := float(ndtr(-z))) > 2 * _NO_PART else 0.0,
        )
    if estimate > 0.05:
        return lambda index: math.log(max(index, 1e-300)), math.exp
    return float, float


def profiled(
    item: FittedDistribution,
    contour: Contour,
    name: str,
    target: Target,
    limits: tuple[float | None, float | None],
    n_eff_mean: float,
    n_eff_sd: float,
    confidence: float,
) -> Interval:
    """Compute an interval by profile likelihood, sought on a scale on which the number is nearly straight."""
    from scipy.special import ndtri

    estimate = target(item, STILL)
    there, back = scale_of(name, estimate)
    numbers: list[Callable[[Any], float]]
    if name == "Ppk":
        # Where both limits are as near, the lesser index has a corner: each side is smooth by itself.
        def towards(side: int) -> Callable[[Any], float]:
            return lambda c: there(index_sides(item.with_free(c), *limits)[side])

        numbers = [towards(side) for side in range(2 - limits.count(None))]
    else:
        numbers = [lambda c: there(target(item.with_free(c), STILL))]
    middle = there(estimate)
    ends = extremes(numbers, contour)
    extra = float(ndtri((1 + confidence) / 2)) ** 2 * _slow(
        item, lambda s: there(target(item, s)), n_eff_mean, n_eff_sd
    )
    low, high = sorted(
        back(middle + math.copysign(math.sqrt((end - middle) ** 2 + extra), sign))
        for sign, end in zip((-1.0, 1.0), ends, strict=True)
    )
    method = "profile likelihood"
    if not contour.one_top:
        method = "profile likelihood of a mixture"
    elif item.family.endswith("with threshold"):
        # Where the threshold runs into the smallest value the end is known no better (dossier/tolerances.py).
        method = "profile likelihood with a threshold"
    return Interval(estimate, min(low, estimate), max(high, estimate), confidence, method)


def _slow(
    item: FittedDistribution, number: Callable[[Shift], float], n_eff_mean: float, n_eff_sd: float
) -> float:
    """Compute the variance of a number from slow movements that the mean includes and the SD does not.

    What moves a process may add to its values or, where they begin at a bound, stretch them; nobody
    knows which, so the larger effect counts. Stretching carries the tail along: on a skewed process it
    may weigh several times as much.
    """
    unknown = max(1 / n_eff_mean - 1 / n_eff_sd, 0.0)
    if unknown == 0:
        return 0.0
    low, middle, high = (float(v) for v in item.ppf([0.15866, 0.5, 0.84134]))
    move = 1e-3 * (high - low) / 2
    kinds: list[Callable[[float], Shift]] = [lambda size: (0.0, size)]
    reach = middle - item.origin
    if item.from_bound and reach > 0:
        kinds.append(lambda size: (size / reach, 0.0))
    slopes = [(number(kind(move)) - number(kind(-move))) / 2e-3 for kind in kinds]
    return max(slope * slope for slope in slopes) * unknown


def by_curvature(
    item: FittedDistribution,
    target: Target,
    n_eff_mean: float,
    n_eff_sd: float,
    confidence: float,
    most: float = math.inf,
) -> Interval:
    """Compute an interval by the delta method, on the logarithm unless an index is not positive; no number exceeds `most`."""
    from scipy.special import ndtri

    estimate = target(item, STILL)
    log = estimate > 0.05
    free = np.asarray(item.free, dtype=float)
    # Tiny rates are computed from a fit of finite precision; work on their logarithm always.
    log = log or estimate > 0

    def value(point: Any, shift: Shift = STILL) -> float:
        number = target(item.with_free(point), shift)
        return math.log(max(number, 1e-300)) if log else number

    step = 1e-4 * np.sqrt(np.diag(item.known_covariance) * item.n)
    gradient = np.array(
        [
            # A coordinate that is held at an end does not vary.
            (value(free + move) - value(free - move)) / (2 * move[i]) if move[i] > 0 else 0.0
            for i, move in enumerate(np.diag(step))
        ]
    )
    variance = float(gradient @ item.covariance @ gradient) * item.n / n_eff_sd
    variance += _slow(item, lambda s: value(free, s), n_eff_mean, n_eff_sd)
    half = float(ndtri((1 + confidence) / 2)) * math.sqrt(max(variance, 0.0))
    if not log:
        return Interval(estimate, estimate - half, estimate + half, confidence, "delta")
    half = min(half, 600.0)
    return Interval(
        estimate,
        estimate * math.exp(-half),
        max(min(estimate * math.exp(half), most), estimate),
        confidence,
        "delta, logarithm",
    )


def by_refits(
    item: FittedDistribution,
    targets: dict[str, Target],
    n: int,
    confidence: float,
    rng: np.random.Generator,
    refits: int,
) -> dict[str, Interval | Absent]:
    """Compute the basic bootstrap interval on the log ratio of refitted to fitted.

    The spread of the refits is that of the fitted distribution, itself estimated from n values; ends
    are moved out by the ratio of Student's to the normal quantile, which at n = 30 adds the
    percent of coverage that the basic interval lacks (proof, "quantile index").
    """
    from scipy.special import ndtri, stdtrit

    wider = float(stdtrit(n - 1, (1 + confidence) / 2) / ndtri((1 + confidence) / 2))
    drawn: dict[str, list[float]] = {name: [] for name in targets}
    # All refits at once; samples whose refit does not converge are left out and counted below.
    again = refit(item, item.rvs((refits, n), rng))
    for row in again.parameters[again.converged]:
        named = dict(zip(item.parameters, map(float, row), strict=True))
        one = FittedDistribution(item.family, named, item.loglik, n, item.bound)
        for name, target in targets.items():
            drawn[name].append(target(one, STILL))
    found: dict[str, Interval | Absent] = {}
    for name, target in targets.items():
        estimate = target(item, STILL)
        sample = np.asarray(drawn[name])
        if sample.size < refits / 2:
            raise CannotJudge("Too few simulated samples could be fitted to give an interval.")
        low, high = np.quantile(sample, [(1 - confidence) / 2, (1 + confidence) / 2])
        if estimate > 0 and low > 0:
            low, high = (
                estimate * math.exp(min(wider * (math.log(estimate) - math.log(end)), 600.0))
                for end in (high, low)
            )
        else:
            low, high = (estimate + wider * (estimate - end) for end in (high, low))
        found[name] = Interval(
            float(estimate),
            float(min(low, estimate)),
            float(max(high, estimate)),
            confidence,
            "parametric bootstrap",
        )
    return found
