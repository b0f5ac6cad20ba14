"""Sources of variation of a run: coil, station, wear, and everything else."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.numerics import generator
from linestudy.results import CannotJudge, Finding, Interval, arguments, data_arguments, show
from linestudy.results.declared import Declaration
from linestudy.results.tables import Quantity, Rows, over_strokes
from linestudy.stability.movement.least_squares import reduce_to_last

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from linestudy.results.picture import Picture


@dataclass(frozen=True)
class VarianceSourcesStudy(Finding):
    """Shares of the variance of a run, by source.

    Attributes
    ----------
    shares : dict of str to Interval
        By source, the share of the variance that its removal would free.
    shared : Interval
        Share of the variance that several sources explain together and none alone; below zero where
        sources offset each other. With `shares` it adds up to one.
    wear_per_thousand : Interval or None
        [unit of the values] Change of the mean per thousand strokes between named events; None where the
        other sources leave nothing to estimate it from.
    station_difference : Interval or None
        [unit of the values] Largest difference between stations; None likewise.
    sd : float
        [unit of the values] Standard deviation of all values.
    n : int
        Parts.
    unit : str
        Of the values.
    over : int or None
        Strokes to which the slope is reported, where the study has chosen; not recorded.
    """

    shares: dict[str, Interval]
    shared: Interval
    wear_per_thousand: Interval | None
    station_difference: Interval | None
    sd: float
    n: int
    unit: str
    cautions: tuple[str, ...]
    over: int | None = field(default=None, repr=False, compare=False, kw_only=True)
    title: ClassVar[str] = "Sources of variation"

    @property
    def statement(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        ordered = sorted(self.shares.items(), key=lambda item: -item[1].estimate)
        lead = [f"{name} {share.estimate:.0%}" for name, share in ordered if share.estimate >= 0.01]
        text = f"% contribution of each source alone: {', '.join(lead) or 'none above 1 %'}."
        if self.shared.estimate >= 0.01:
            text += f" {self.shared.estimate:.0%} is explained by several sources together and cannot be told apart."
        if self.wear_per_thousand is not None and 0 not in self.wear_per_thousand:
            slope, over = over_strokes(self.wear_per_thousand, over=self.over)
            text += f" The mean moves by {show(slope)}{unit} {over}."
        difference = self.station_difference
        if difference is not None and 0 not in difference:
            difference = difference.times(math.copysign(1, difference.estimate))
            text += f" The stations differ by {show(difference)}{unit}."
        return text

    def _rows(self) -> Rows:
        rows = [
            Quantity(f"share of the variance: {name}", share, "%")
            for name, share in self._shares_with_shared().items()
        ]
        if self.wear_per_thousand is not None:
            slope, over = over_strokes(self.wear_per_thousand, over=self.over)
            rows.append(Quantity(f"change {over}", slope, self.unit))
        if self.station_difference is not None:
            rows.append(Quantity("difference of stations", self.station_difference, self.unit))
        return rows

    def _draw(self, ax: Axes | None = None, **options: Any) -> Picture:
        from linestudy.figures.stability.movements import shares_of_variance

        return shares_of_variance(self._shares_with_shared(), ax=ax)

    def _shares_with_shared(self) -> dict[str, Interval]:
        """Return the shares to be shown; the joint one of several sources only from 1 % on."""
        more = (
            {"several sources together": self.shared} if abs(self.shared.estimate) >= 0.01 else {}
        )
        return {**self.shares, **more}


VARIANCE_SOURCES = Declaration("stability.variance_sources", VarianceSourcesStudy, picture=66)


def variance_sources(
    data: pd.DataFrame,
    *,
    value: str = "value",
    order: str = "order",
    factors: tuple[str, ...] = ("coil", "station"),
    resets: tuple[float, ...] = (),
    confidence: float = 0.95,
    resamples: int = 400,
    seed: int | None = None,
    unit: str = "",
) -> VarianceSourcesStudy:
    r"""Split the variance of a run among its sources.

    Parameters
    ----------
    data : pandas.DataFrame
        One part per row, in production order; rows without a value or an order number are left out.
    value : str
        Column of the values.
    order : str
        Column of order numbers.
    factors : tuple of str
        Columns of group names; those that are absent or constant are left out.
    resets : tuple of float
        Order numbers at which wear starts anew (regrind, lens wiped).
    confidence : float
        Of the intervals, between 0 and 1.
    resamples : int
        Resampled runs behind each interval, at least 100.
    seed : int, optional
        Of the resampling; the kit's own when absent.
    unit : str
        Of the values.

    Returns
    -------
    VarianceSourcesStudy
        Shares with intervals, wear and the difference of stations.

    Raises
    ------
    CannotJudge
        Fewer than 100 parts, or values that never differ.
    ValueError, TypeError
        No such column of values or order numbers, or an argument outside its range.

    See Also
    --------
    variance_components : Nested levels of time and material.
    compare_streams : Differences between stations or coils, pair by pair.

    Notes
    -----
    Model: value = coil + station + slope × strokes since the last named event + remainder, fitted by
    least squares to every part. The share of a source is what the variance would fall by if that
    source alone were removed,

    .. math:: S_j = (SS_{without\,j} - SS_{all}) / SS_{total}.

    Intervals come from resampling whole stretches of the run, which keeps its serial correlation (block
    bootstrap). Where sources move together (a coil change at the regrind) neither gets the share that
    both explain; it is given as shared. A source that cannot be separated from the others at all (a station
    that made one coil each) gets no effect, for least squares would have to choose one of many. Misleads where
    what moves the process is no source that was recorded. Four coils are a small sample of coils: their share
    describes this run, not coils in general.

    References
    ----------
    Künsch, *Annals of Statistics* 17 (1989), 1217-1241 (block bootstrap). Fox & Monette, *Journal of the
    American Statistical Association* 87 (1992), 178-183 (generalized variance inflation).

    Examples
    --------
    >>> import numpy as np, pandas as pd
    >>> n = np.arange(400)
    >>> run = pd.DataFrame({"order": n, "station": np.where(n % 2, "a", "b"),
    ...     "value": 1.0 * (n % 2) + 0.1 * np.random.default_rng(1).normal(size=400)})
    >>> round(variance_sources(run).shares["station"].estimate, 2)
    0.97
    """
    data_arguments.column(data, value, "value")
    data_arguments.column(data, order, "order")
    arguments.share("confidence", confidence)
    arguments.whole("resamples", resamples, least=100)
    data = data[data[value].notna() & data[order].notna()]
    y = data[value].to_numpy(dtype=float)
    x = data[order].to_numpy(dtype=float)
    if y.size < 100:
        raise CannotJudge(
            f"{y.size} parts are too few to separate sources of variation; 100 are needed."
        )
    if np.ptp(y) == 0:
        raise CannotJudge("The values never differ, so there is no variation to explain.")
    _, dummies, blocks_of = dummies_of(data, factors)
    blocks_of["wear"] = [dummies.shape[1]]
    design = np.column_stack([dummies, strokes_since(x, x[0], x[-1], resets)])
    moments = _block_moments(design, y - y.mean())
    return of_moments(
        moments,
        blocks_of,
        y.size,
        confidence=confidence,
        resamples=resamples,
        seed=seed,
        unit=unit,
        cautions=cautions_of(data, factors),
    )


def of_moments(
    moments: Any,
    blocks_of: dict[str, list[int]],
    n: int,
    *,
    confidence: float,
    resamples: int,
    seed: int | None,
    unit: str,
    cautions: tuple[str, ...],
) -> VarianceSourcesStudy:
    """Compute shares from cross products of design and values, stretch by stretch of the run.

    Parameters
    ----------
    moments : numpy.ndarray of float, shape (stretches, k + 1, k + 1)
        The first column of the design is the constant, the last the values.
    blocks_of : dict of str to list of int
        Columns of the design that belong to each source.
    n : int
        Parts.
    confidence : float
        Of the intervals.
    resamples : int
        Resampled runs behind each interval.
    seed : int, optional
        Of the resampling.
    unit : str
        Of the values.
    cautions : tuple of str
        To which those of this function are added.

    Returns
    -------
    VarianceSourcesStudy
        As :func:`variance_sources` gives it.
    """
    from scipy.special import ndtri, stdtrit

    rng = generator(seed, "sources")
    weights = rng.multinomial(len(moments), [1 / len(moments)] * len(moments), resamples)
    whole = _shares(moments.sum(axis=0)[None], blocks_of)
    drawn = _shares(np.tensordot(weights, moments, axes=1), blocks_of)
    tails = ((1 - confidence) / 2, (1 + confidence) / 2)
    # Percentiles of so few stretches are short by the usual small-sample factors.
    spare = max(len(moments) - moments.shape[-1] + 1, 4)
    widen = math.sqrt(len(moments) / spare) * float(stdtrit(spare, tails[1]) / ndtri(tails[1]))

    def interval(estimate: float, sample: Any) -> Interval:
        low, high = estimate + widen * (np.quantile(sample, tails) - estimate)
        ends = min(float(low), estimate), max(float(high), estimate)
        return Interval(estimate, *ends, confidence, "block bootstrap")

    def coefficient(name: str) -> Interval | None:
        """Return a coefficient; None where the run, or most resamples of it, cannot determine it."""
        if name not in whole:
            return None
        estimate, sample = float(whole[name][0]), drawn[name][np.isfinite(drawn[name])]
        if not math.isfinite(estimate) or sample.size < resamples / 2:
            return None
        return interval(estimate, sample)

    shares = {
        name: interval(float(whole[name][0]), drawn[name]).mapped(lambda s: min(max(s, 0.0), 1.0))
        for name in (*blocks_of, "rest")
    }
    wear, station = coefficient("slope"), coefficient("station difference")
    both = max(float(whole["shared"][0]), 0.0)
    labels = {"wear": "wear (trend between events)", "rest": "everything else"}
    return VarianceSourcesStudy(
        shares={labels.get(k, k): v for k, v in shares.items()},
        shared=interval(float(whole["shared"][0]), drawn["shared"]).mapped(
            lambda s: min(max(s, -1.0), 1.0)
        ),
        wear_per_thousand=wear if wear is None else wear.mapped(lambda slope: 1000 * slope),
        station_difference=station,
        sd=math.sqrt(float(_total(moments.sum(axis=0)[None])[0]) / (n - 1)),
        n=n,
        unit=unit,
        cautions=(*_entangled_cautions(_entangled(moments, blocks_of), shares, both), *cautions),
    )


#: Sources that explain less than this, shared parts included, need not be separated (common practice, no source). Of 40 runs of 3,000
#: independent parts each, 2 to 20 coils alike and no wear, none reports it; with neighbours correlated by 0.9, 18 % (5 coils) to 98 % (20).
_LITTLE = 0.05


def _entangled_cautions(
    entangled: dict[str, tuple[float, list[str]]], shares: dict[str, Interval], shared: float
) -> list[str]:
    """Report sources that move together, each pair once, if they explain enough to matter."""
    notes, named = [], set()
    for name, (inflation, others) in entangled.items():
        group, beside = frozenset([name, *others]), " and ".join(others)
        explained = max(shares[n].estimate for n in group) + shared
        if math.isinf(inflation) and group not in named:
            notes.append(
                f"{name.capitalize()} and {beside} change together in this run and cannot be separated: "
                "what both explain is counted as shared, and the effect of neither is given."
            )
            named.add(group)
        elif math.isfinite(inflation) and explained >= _LITTLE:
            notes.append(
                f"{name.capitalize()} moves almost together with {beside}: only {1 / inflation:.1%} of how it "
                "varies is its own, and its share and its effect rest on that."
            )
    return notes


#: More groups than this are no factor of least squares: nearly every stretch would have its own.
_MOST = 60


def dummies_of(
    table: pd.DataFrame, factors: tuple[str, ...]
) -> tuple[list[str], Any, dict[str, list[int]]]:
    """Build a constant and a column for every level but the first of each usable factor.

    Returns
    -------
    names : list of str
        Factors used.
    columns : numpy.ndarray of float, shape (rows, k)
    blocks : dict of str to list of int
        Columns of each.
    """
    import pandas as pd

    columns = [np.ones(len(table))]
    blocks: dict[str, list[int]] = {}
    for factor in factors:
        if factor not in table:
            continue
        codes, levels = pd.factorize(table[factor], sort=True)
        if not 2 <= len(levels) <= _MOST:
            continue
        blocks[factor] = []
        for level in range(1, len(levels)):
            blocks[factor].append(len(columns))
            columns.append((codes == level).astype(float))
    return list(blocks), np.column_stack(columns), blocks


def strokes_since(x: Any, first: float, last: float, resets: tuple[float, ...]) -> Any:
    """Count strokes since the last reset (or the run's first part), from where wear is counted."""
    starts = np.array([first, *[r for r in sorted(resets) if first < r < last]])
    return x - starts[np.searchsorted(starts, x, side="right") - 1]


def _block_moments(design: Any, y: Any) -> Any:
    """Compute cross products of the design and the values, stretch by stretch of the run."""
    full = np.column_stack([design, y])
    stretches = min(60, max(10, len(y) // 50))
    return np.stack([piece.T @ piece for piece in np.array_split(full, stretches)])


def _shares(moments: Any, blocks: dict[str, list[int]]) -> dict[str, Any]:
    """Compute shares, slope and station difference for a stack of cross-product matrices.

    Each source comes last in a Cholesky reduction of its own, so that what it frees is a sum of squares
    and no difference of two large ones: a share of a billionth keeps its digits on every processor.
    A coefficient is NaN where the other sources leave nothing to estimate it from.
    """
    k = moments.shape[-1] - 1
    ss_total = _total(moments)
    found: dict[str, Any] = {"shared": np.ones(len(moments))}
    for name, columns in blocks.items():
        kept = [c for c in range(k) if c not in columns]
        last = reduce_to_last(moments, [*kept, *columns], len(columns))
        found[name] = np.clip(last.explained / ss_total, 0, 1)
        found["rest"] = np.clip(last.left / ss_total, 0, 1)
        found["shared"] = found["shared"] - found[name]
        if name == "wear":
            found["slope"] = last.coefficients()[:, 0]
        if name == "station":
            levels = last.coefficients()
            # With two stations the difference keeps its sign; with more it is the largest one.
            found["station difference"] = (
                levels[:, 0]
                if len(columns) == 1
                else np.maximum(levels.max(axis=1), 0.0) - np.minimum(levels.min(axis=1), 0.0)
            )
    found["shared"] = found["shared"] - found["rest"]
    return found


#: Variance inflation beyond which a coefficient rests on very little (Kutner et al., *Applied Linear
#: Statistical Models*, 5th ed., 10.5, from memory).
_INFLATED = 10.0


def _entangled(moments: Any, blocks: dict[str, list[int]]) -> dict[str, tuple[float, list[str]]]:
    """Find sources that move with others: generalized variance inflation per column, and with which sources.

    Infinite where a source cannot be separated from the others (Fox & Monette, *Journal of the American
    Statistical Association* 87 (1992), 178-183).
    """
    whole = moments.sum(axis=0)[None]
    found = {}

    def inflation(name: str, others: list[str]) -> float:
        own = blocks[name]
        before = [0, *(c for other in others for c in blocks[other])]
        alone = float(reduce_to_last(whole, [0, *own], len(own)).determinant[0])
        beside = float(reduce_to_last(whole, [*before, *own], len(own)).determinant[0])
        return (alone / beside) ** (1 / len(own)) if beside > 0 else math.inf

    for name in blocks:
        others = [other for other in blocks if other != name]
        if others and (worst := inflation(name, others)) > _INFLATED:
            single = [other for other in others if inflation(name, [other]) > _INFLATED]
            found[name] = worst, single or others
    return found


def _total(moments: Any) -> Any:
    """Compute the sum of squares of the values about their mean."""
    k = moments.shape[-1] - 1
    return moments[:, k, k] - moments[:, 0, k] ** 2 / moments[:, 0, 0]


def cautions_of(table: pd.DataFrame, factors: tuple[str, ...]) -> tuple[str, ...]:
    """Say of few coils, and of factors left out for having too many groups."""
    notes = []
    for name in factors:
        groups = table[name].nunique() if name in table else 0
        if name == "coil" and 2 <= groups < 10:
            notes.append(f"{groups} coils describe this run, not coils in general.")
        if groups > _MOST:
            notes.append(
                f"{groups} groups of {name} are too many for this split and were left out; the components "
                "of variation hold them."
            )
    return tuple(notes)
