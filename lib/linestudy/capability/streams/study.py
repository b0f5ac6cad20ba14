"""Capability of each stream beside that of the whole tool: which one is worst, and what centring would gain."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

import numpy as np

from linestudy.capability.finding import CapabilityStudy
from linestudy.capability.quantile_movement import index_sides
from linestudy.numerics import generator
from linestudy.results import Absent, CannotJudge, Finding, Interval, arguments, show
from linestudy.results.declared import Declaration
from linestudy.results.tables import Rows
from linestudy.shape.fitting import FittedDistribution, fit

_QUANTILES = (0.00135, 0.5, 0.99865)
_DRAWS = 4000


@dataclass(frozen=True, slots=True)
class StreamIndex:
    """One stream beside the others.

    Attributes
    ----------
    n : int
        Values.
    mean : float
        [unit of the values] Arithmetic mean.
    sd : float
        [unit of the values] Standard deviation.
    low, middle, high : float
        [unit of the values] Quantiles 0.135, 50 and 99.865 % of its distribution.
    Ppk : Interval
        Of this stream alone.
    lower_bound : float
        One-sided lower confidence bound of it.
    expected_ppm : Interval
        [ppm] Outside the limits.
    """

    n: int
    mean: float
    sd: float
    low: float
    middle: float
    high: float
    Ppk: Interval
    lower_bound: float
    expected_ppm: Interval


@dataclass(frozen=True)
class StreamCapabilityStudy(Finding):
    """Capability of the streams of a tool.

    Attributes
    ----------
    streams : dict of str to StreamIndex
        By name.
    worst : str
        Stream with the lowest Ppk.
    Ppk : Interval
        Of the worst stream, whichever that is: its interval allows for the choice. Formula: ``min Ppk_k``;
        low end the lowest of the streams' own, high end the lowest of theirs at ``1 - α/k``.
    lower_bound : float
        One-sided lower confidence bound of the worst stream's Ppk.
    selection : float
        By how much the lowest of the estimates lies below the worst stream's own index on average, because it
        is the lowest.
    whole : Interval or Absent
        Ppk of what all streams make together.
    Ppk_matched : float
        Of the worst stream if every stream's median were brought to that of the whole tool.
    Ppk_centred : float or Absent
        Of the worst stream if every stream had the level where its index is largest.
    lower, upper : float or None
        [unit of the values] Tolerance limits; not recorded here.
    unit : str
        Of the values; not recorded here.
    """

    streams: dict[str, StreamIndex]
    worst: str
    Ppk: Interval
    lower_bound: float
    selection: float
    whole: Interval | Absent
    Ppk_matched: float
    Ppk_centred: float | Absent
    lower: float | None = field(repr=False)
    upper: float | None = field(repr=False)
    unit: str = field(repr=False)
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Capability by stream"
    picture: ClassVar[str] = "streams:streams_between_limits"

    @property
    def statement(self) -> str:
        best = max(self.streams, key=lambda name: self.streams[name].Ppk.estimate)
        text = (
            f"Of {len(self.streams)} streams {self.worst} is the worst: Ppk = {show(self.Ppk)}; the best, {best}, "
            f"has {show(self.streams[best].Ppk)}"
        )
        text += (
            f", all parts together {show(self.whole)}." if isinstance(self.whole, Interval) else "."
        )
        gain = self.Ppk_matched - self.Ppk.estimate
        if gain > 0.01:
            text += f" With all streams at the level of the whole tool the worst would have {self.Ppk_matched:.2f}"
            centred = self.Ppk_centred
            text += (
                f", each in its best place {centred:.2f}." if isinstance(centred, float) else "."
            )
        return text

    def _rows(self) -> Rows:
        unit = f" ({self.unit})" if self.unit else ""
        return [
            {
                "stream": name,
                "n": item.n,
                f"mean{unit}": item.mean,
                f"SD{unit}": item.sd,
                "Ppk": item.Ppk,
                "lower bound": item.lower_bound,
                "expected outside (ppm)": item.expected_ppm,
            }
            for name, item in self.streams.items()
        ]


STREAM_CAPABILITY = Declaration(
    "streams.{stream}.capability", CapabilityStudy, "Capability of one stream", part="none"
)
STREAMS = Declaration(
    "capability.streams",
    StreamCapabilityStudy,
    "Capability by stream",
    part="characteristic",
    question="fit",
    order=12,
    picture=50,
    with_table=True,
)


def stream_capability(
    found: dict[str, CapabilityStudy],
    *,
    of_tool: Interval | Absent | None = None,
    confidence: float = 0.95,
    seed: int | None = None,
) -> StreamCapabilityStudy:
    r"""Put the capability of streams beside each other.

    Parameters
    ----------
    found : dict of str to CapabilityStudy
        Capability of each stream, with the same limits.
    of_tool : Interval or Absent, optional
        Ppk of what all streams make together.
    confidence : float
        Of the interval of the worst stream.
    seed : int, optional
        Of the draws behind ``selection``.

    Returns
    -------
    StreamCapabilityStudy
        The worst stream with its interval, and what matching and centring the streams would gain.

    Raises
    ------
    CannotJudge
        Fewer than two streams have an index.

    See Also
    --------
    linestudy.stability.compare_streams : Whether means and spreads differ, pair by pair.

    Notes
    -----
    Model: each stream has an index :math:`\theta_k` with an interval of its own. The worst is
    :math:`\theta = \min_k \theta_k`. Whichever stream it is, its own lower end holds it, so the lowest lower
    end does, without a correction for the number of streams. The high end fails where any stream's high end
    lies below :math:`\theta`, so each is taken at :math:`1 - \alpha / (2k)` (Bonferroni). The lowest of
    k estimates lies below :math:`\theta` on average where streams are alike: ``selection`` says by how much.

    References
    ----------
    Hochberg & Tamhane, *Multiple Comparison Procedures* (1987), for the union and intersection of intervals.

    Examples
    --------
    >>> import numpy as np
    >>> from linestudy.capability import process_capability
    >>> rng = np.random.default_rng(1)
    >>> found = {name: process_capability(rng.normal(at, 1, 500), -5, 5) for name, at in (("L", 0), ("R", 1))}
    >>> stream_capability(found).worst
    'R'
    """
    from scipy.special import ndtri

    arguments.share("confidence", confidence)
    held = {name: item for name, item in found.items() if isinstance(item.Ppk, Interval)}
    if len(held) < 2:
        raise CannotJudge(f"Of {len(found)} streams {len(held)} have an index; two are needed.")
    k, z = len(held), float(ndtri((1 + confidence) / 2))
    wider = float(ndtri(1 - (1 - confidence) / (2 * k))) / z
    indices: dict[str, Interval] = {name: _interval(item) for name, item in held.items()}
    worst = min(indices, key=lambda name: indices[name].estimate)
    lowest = indices[worst].estimate
    high = min(item.estimate + wider * (item.high - item.estimate) for item in indices.values())
    ppk = Interval(
        lowest,
        min(item.low for item in indices.values()),
        max(high, lowest),
        confidence,
        "lowest of the streams; high end for all of them together",
    )
    fits = {name: _fitted(item) for name, item in held.items()}
    limits = held[worst].lower, held[worst].upper
    streams = {}
    for name, item in held.items():
        low, middle, top = (float(v) for v in fits[name].ppf(_QUANTILES))
        streams[name] = StreamIndex(
            n=item.n,
            mean=item.mean,
            sd=item.sd_overall,
            low=low,
            middle=middle,
            high=top,
            Ppk=indices[name],
            lower_bound=_bound(item),
            expected_ppm=item.expected_ppm["total"],
        )
    selection = _selection(list(indices.values()), z, seed)
    return StreamCapabilityStudy(
        streams=streams,
        worst=worst,
        Ppk=ppk,
        lower_bound=min(item.lower_bound for item in streams.values()),
        selection=selection,
        whole=Absent("it was not computed") if of_tool is None else of_tool,
        Ppk_matched=_matched(streams, fits, *limits),
        Ppk_centred=_centred(streams, *limits),
        lower=limits[0],
        upper=limits[1],
        unit=held[worst].unit,
        cautions=_cautions(streams, worst, selection, len(found) - k),
    )


def _interval(item: CapabilityStudy) -> Interval:
    assert isinstance(item.Ppk, Interval)
    return item.Ppk


def _bound(item: CapabilityStudy) -> float:
    bound = item.lower_bounds["Ppk"]
    return bound if isinstance(bound, float) else _interval(item).low


def _fitted(item: CapabilityStudy) -> FittedDistribution:
    """Return the distribution of a stream; where it is normal none was fitted."""
    if item.fitted is not None:
        return item.fitted
    x, w = item.counts
    return fit(np.repeat(x, w.astype(int)), "normal")


def _selection(indices: list[Interval], z: float, seed: int | None) -> float:
    """Compute how far the lowest of the estimates lies below the lowest index on average."""
    rng = generator(seed, "worst stream")
    at = np.array([item.estimate for item in indices])
    error = np.array([(item.high - item.low) / (2 * z) for item in indices])
    drawn = at + error * rng.standard_normal((_DRAWS, at.size))
    return max(float(at.min() - drawn.min(axis=1).mean()), 0.0)


def _matched(
    streams: dict[str, StreamIndex],
    fits: dict[str, FittedDistribution],
    lower: float | None,
    upper: float | None,
) -> float:
    """Take the worst stream with every median at the mean of all medians, weighted by parts."""
    n = np.array([item.n for item in streams.values()], dtype=float)
    level = float(np.average([item.middle for item in streams.values()], weights=n))
    found = []
    for name, item in streams.items():
        shift = level - item.middle
        moved = [None if limit is None else limit - shift for limit in (lower, upper)]
        found.append(min(index_sides(fits[name], *moved)))
    return float(min(found))


def _centred(
    streams: dict[str, StreamIndex], lower: float | None, upper: float | None
) -> float | Absent:
    """Take the worst stream with each centred where its two sides are alike: the width over its own width."""
    if lower is None or upper is None:
        return Absent("there is one limit only, and no place is best")
    return float(min((upper - lower) / (item.high - item.low) for item in streams.values()))


def _cautions(
    streams: dict[str, StreamIndex], worst: str, selection: float, left_out: int
) -> tuple[str, ...]:
    notes = []
    own = streams[worst].Ppk
    near = [name for name, item in streams.items() if name != worst and item.Ppk.low < own.high]
    if near and selection > 0.05 * abs(own.estimate):
        notes.append(
            f"The intervals of {len(near) + 1} streams overlap: the lowest of their estimates lies {selection:.2f} "
            "below the worst stream's own index on average, because it is the lowest."
        )
    if left_out:
        notes.append(f"{left_out} streams with too few values are not among them.")
    return tuple(notes)
