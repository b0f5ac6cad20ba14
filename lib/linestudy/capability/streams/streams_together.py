"""The distribution of what several streams make together: known shares, a fitted distribution for each.

Where the stream of every part is known, its share is counted and not estimated, and each stream is
fitted by itself. A mixture whose shares and components are sought in the pooled values has a likelihood
that is flat where streams overlap; here nothing is sought.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from linestudy.results import Interval
from linestudy.shape.families.family import Family
from linestudy.shape.families.location_scale import Normal
from linestudy.shape.fitting import FittedDistribution
from linestudy.shape.parameter_draws import draw_parameters

#: What it is called in place of a family.
NAME = "mixture of streams"
_STEPS = 60
_QUANTILES = np.array([0.00135, 0.5, 0.99865])


@dataclass(frozen=True)
class StreamMixture(FittedDistribution):
    """Fitted distributions of streams in the shares in which they are made.

    Attributes
    ----------
    components : tuple of FittedDistribution
        One for each stream.
    shares : tuple of float
        Of the parts; they add up to one.
    counts : tuple of (numpy.ndarray, numpy.ndarray)
        Distinct values of each stream, ascending, and how often each occurs.
    level_error : float
        [unit of the values] Standard error of a level that all of them share.
    """

    components: tuple[FittedDistribution, ...] = field(default=(), repr=False)
    shares: tuple[float, ...] = ()
    counts: tuple[tuple[Any, Any], ...] = field(default=(), repr=False, compare=False)
    level_error: float = 0.0

    @classmethod
    def of(cls, components: list[FittedDistribution], values: list[Any]) -> StreamMixture:
        """Make the mixture of streams, each fitted to its values."""
        sizes = [float(np.size(y)) for y in values]
        families = ", ".join(dict.fromkeys(item.family for item in components))
        return cls(
            f"{NAME} ({families})",
            {},
            float(sum(item.loglik for item in components)),
            round(sum(sizes)),
            components=tuple(components),
            shares=tuple(n / sum(sizes) for n in sizes),
            counts=tuple(
                (x, w.astype(float)) for x, w in (np.unique(y, return_counts=True) for y in values)
            ),
        )

    @property
    def kind(self) -> Family:
        """A class of distributions that reaches as far on both sides as it likes."""
        return Normal()

    @property
    def from_bound(self) -> bool:
        """Whether it begins at the physical bound: its components know."""
        return False

    def _weighed(self, name: str, x: Any) -> Any:
        found = 0.0
        for item, share in zip(self.components, self.shares, strict=True):
            found = found + share * np.nan_to_num(getattr(item, name)(x))
        return found

    def cdf(self, x: Any) -> Any:
        """Return the share of parts up to x."""
        return self._weighed("cdf", x)

    def sf(self, x: Any) -> Any:
        """Return the share of parts beyond x."""
        return self._weighed("sf", x)

    def logpdf(self, x: Any) -> Any:
        """Return the log density."""
        with np.errstate(divide="ignore"):
            return np.log(self._weighed("pdf", x))

    def ppf(self, q: Any) -> Any:
        """Return quantiles: each lies between those of the streams."""
        q = np.asarray(q, dtype=float)
        ends = np.array([item.ppf(q) for item in self.components])
        low, high = ends.min(axis=0), ends.max(axis=0)
        for _ in range(_STEPS):
            middle = (low + high) / 2
            # The smaller of the two tails is compared, which keeps its digits.
            beyond = np.where(q > 0.5, self.sf(middle) < 1 - q, self.cdf(middle) > q)
            low, high = np.where(beyond, low, middle), np.where(beyond, middle, high)
        return (low + high) / 2

    def rvs(self, size: Any, rng: np.random.Generator) -> Any:
        """Draw random values."""
        drawn = np.array([item.rvs(size, rng) for item in self.components])
        which = rng.choice(len(self.shares), size=size, p=self.shares)
        return np.take_along_axis(drawn, which[None], axis=0)[0]


def mixture_intervals(
    item: StreamMixture,
    lower: float | None,
    upper: float | None,
    *,
    n_eff_mean: float,
    n_eff_sd: float,
    confidence: float,
    rng: np.random.Generator,
    draws: int = 400,
) -> dict[str, Interval]:
    """Compute Pp, Ppk and expected ppm of what all streams make together, with intervals.

    Parameters
    ----------
    item : StreamMixture
        Its components with the covariance of their coordinates.
    lower, upper : float or None
        Tolerance limits in the unit of the values; at least one.
    n_eff_mean, n_eff_sd : float
        Effective sample sizes of all values together.
    confidence : float
        Of the intervals.
    rng : numpy.random.Generator
        Source of the draws.
    draws : int
        Of the parameters of every stream.

    Returns
    -------
    dict of str to Interval
        ``Ppk``; with two limits ``Pp`` and ``total``; ``below`` and ``above`` as far as there are limits.

    Notes
    -----
    Model: shares are known, streams are independent given what moves them all. The parameters of each
    stream are drawn as its likelihood leaves them, a slow movement common to all streams is drawn
    beside them as a displacement, and the ends of an interval are quantiles of what the draws give,
    moved so that its middle is the estimate.
    """
    q0 = item.ppf(_QUANTILES)
    n = sum(float(w.sum()) for _, w in item.counts)
    drawn = [
        draw_parameters(one, x, w, draws, rng, n_eff=max(n_eff_sd * float(w.sum()) / n, 4.0))
        for one, (x, w) in zip(item.components, item.counts, strict=True)
    ]
    sd = float(q0[2] - q0[0]) / 6
    moved_by = max(sd * np.sqrt(max(1 / n_eff_mean - 1 / n_eff_sd, 0.0)), item.level_error)
    slow = moved_by * rng.standard_normal(draws)
    best = {name: float(value) for name, value in _indices(item, q0, lower, upper).items()}
    moved = _Draws(item, drawn)
    # The limits as the values saw them before they moved.
    ends = [None if limit is None else limit - slow for limit in (lower, upper)]
    samples = _indices(moved, _near(moved, q0), *ends)
    return {name: _about(value, samples[name], confidence) for name, value in best.items()}


class _Draws:
    """The mixture at many draws of its components' coordinates; a row of x for each draw."""

    def __init__(self, item: StreamMixture, drawn: list[Any]) -> None:
        # Coordinates as columns against rows of values: all draws are evaluated at once.
        self.parts = [
            (one, one.kind.in_range(points.T)[:, :, None], share)
            for one, points, share in zip(item.components, drawn, item.shares, strict=True)
        ]

    def _weighed(self, name: str, x: Any) -> Any:
        rows = np.asarray(x, dtype=float)
        rows = rows[:, None] if rows.ndim == 1 else rows
        found: Any = 0.0
        with np.errstate(all="ignore"):
            for one, points, share in self.parts:
                value = getattr(one.kind, name)(rows - one.origin, points)
                found = found + share * np.nan_to_num(value)
        return found[:, 0] if np.ndim(x) == 1 else found

    def cdf(self, x: Any) -> Any:
        return self._weighed("cdf", x)

    def sf(self, x: Any) -> Any:
        return self._weighed("sf", x)


def _near(item: _Draws, q: Any) -> Any:
    """Find quantiles of every draw that lie near `q`: two secant steps on the normal scale."""
    from scipy.special import ndtri

    def z(x: Any) -> Any:
        return np.where(x > q[1], -ndtri(item.sf(x)), ndtri(item.cdf(x)))

    sought = np.array([-3.0, 0.0, 3.0]) * ndtri(0.99865) / 3
    step = (q[2] - q[0]) / 200 * np.array([1.0, 1.0, -1.0])
    x = np.tile(q, (item.parts[0][1].shape[1], 1))
    for _ in range(2):
        here = z(x)
        slope = (z(x + step) - here) / step
        x = x + np.clip((sought - here) / slope, -20 * abs(step), 20 * abs(step))
    return x


def _indices(item: Any, q: Any, lower: Any, upper: Any) -> dict[str, Any]:
    """Compute indices and rates from three quantiles, of one distribution or of every draw."""
    low, middle, high = np.moveaxis(np.asarray(q, dtype=float), -1, 0)
    found, sides = {}, []
    if lower is not None:
        sides.append((middle - lower) / (middle - low))
        found["below"] = 1e6 * item.cdf(lower)
    if upper is not None:
        sides.append((upper - middle) / (high - middle))
        found["above"] = 1e6 * item.sf(upper)
    if lower is not None and upper is not None:
        found["Pp"] = (upper - lower) / (high - low)
        found["total"] = found["below"] + found["above"]
    return {"Ppk": np.minimum.reduce(sides)} | found


def _about(estimate: float, sample: Any, confidence: float) -> Interval:
    """Form an interval about the estimate from draws about it, on the logarithm where all are positive."""
    sample = sample[np.isfinite(sample)]
    tails = [(1 - confidence) / 2, (1 + confidence) / 2]
    if estimate > 0 and sample.min() > 0:
        low, high = estimate * np.exp(
            np.quantile(np.log(sample), tails) - np.median(np.log(sample))
        )
    else:
        low, high = estimate + np.quantile(sample, tails) - np.median(sample)
    return Interval(
        estimate,
        float(min(low, estimate)),
        float(max(high, estimate)),
        confidence,
        "draws of each stream's parameters, shares known",
    )
