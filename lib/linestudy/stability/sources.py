"""Where the spread of a run comes from: coil, station, wear, the rest between and within.

Model: value = coil + station + slope * strokes since the last named event + remainder, fitted by
least squares to every part. The share of a source is what the variance would fall by if that
source alone were removed (its part of the sum of squares, the others kept). Intervals come from
resampling whole stretches of the run, which keeps its serial correlation (block bootstrap:
Künsch, *Annals of Statistics* 17 (1989), 1217-1241). Misleads where sources move together (a coil
change at the regrind): neither then gets the share that both explain. Four coils are a small sample
of coils: their share describes this run, not coils in general.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.numerics import generator
from linestudy.results import CannotJudge, Finding, Interval, show
from linestudy.results.declared import Declaration

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from linestudy.results.picture import Picture


@dataclass(frozen=True)
class SourcesStudy(Finding):
    """Shares of the variance of a run, by source.

    Attributes
    ----------
    shares : dict of str to Interval
        Source → share of the variance that its removal would free.
    wear_per_thousand : Interval or None
        Change of the mean per thousand strokes between named events.
    station_difference : Interval or None
        Largest difference between stations, in the unit of the values.
    sd : float
        Standard deviation of all values.
    """

    shares: dict[str, Interval]
    wear_per_thousand: Interval | None
    station_difference: Interval | None
    sd: float
    n: int
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Sources of variation"

    @property
    def statement(self) -> str:
        ordered = sorted(self.shares.items(), key=lambda item: -item[1].estimate)
        lead = [f"{name} {share.estimate:.0%}" for name, share in ordered if share.estimate >= 0.01]
        text = f"Removed one at a time, the sources would free of the variance: {', '.join(lead) or 'nothing'}."
        if self.wear_per_thousand is not None and 0 not in self.wear_per_thousand:
            text += f" The mean moves by {show(self.wear_per_thousand)} {self.unit} per thousand strokes."
        if self.station_difference is not None and 0 not in self.station_difference:
            text += f" The stations differ by {show(self.station_difference)} {self.unit}."
        return text

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        unit = f" ({self.unit})" if self.unit else ""
        rows = [
            (f"share of the variance: {name}", f"{i.estimate:.1%} ({i.low:.1%} to {i.high:.1%})")
            for name, i in self.shares.items()
        ]
        if self.wear_per_thousand is not None:
            rows.append((f"change per thousand strokes{unit}", show(self.wear_per_thousand)))
        if self.station_difference is not None:
            rows.append((f"difference of stations{unit}", show(self.station_difference)))
        return pd.DataFrame(rows, columns=["quantity", "value"])

    def _draw(self, ax: Axes | None = None, **options: Any) -> Picture:
        from linestudy.figures.stability import shares_of_variance

        return shares_of_variance(self.shares, ax=ax)


SOURCES = Declaration("stability.sources", SourcesStudy, "Sources of variation", picture=66)


def sources(
    table: pd.DataFrame,
    value: str = "value",
    order: str = "order",
    factors: tuple[str, ...] = ("coil", "station"),
    resets: tuple[float, ...] = (),
    confidence: float = 0.95,
    resamples: int = 400,
    seed: int | None = None,
    unit: str = "",
) -> SourcesStudy:
    """Split the variance of a run among its sources.

    Parameters
    ----------
    table : pandas.DataFrame
        One part per row, in production order.
    value, order : str
        Columns.
    factors : tuple of str
        Columns of group names; those that are absent or constant are left out.
    resets : tuple of float
        Order numbers at which wear starts anew (regrind, lens wiped).
    confidence : float
    resamples : int
        Resampled runs behind each interval.
    seed : int, optional
    unit : str

    Returns
    -------
    SourcesStudy

    Raises
    ------
    CannotJudge
        Fewer than 100 parts, or values that never differ.

    Examples
    --------
    >>> import numpy as np, pandas as pd
    >>> n = np.arange(400)
    >>> run = pd.DataFrame({"order": n, "station": np.where(n % 2, "a", "b"),
    ...     "value": 1.0 * (n % 2) + 0.1 * np.random.default_rng(1).normal(size=400)})
    >>> round(sources(run).shares["station"].estimate, 2)
    0.97
    """
    y = table[value].to_numpy(dtype=float)
    x = table[order].to_numpy(dtype=float)
    if y.size < 100:
        raise CannotJudge(f"{y.size} parts are too few to tell sources of variation apart.")
    if np.ptp(y) == 0:
        raise CannotJudge("The values never differ, so there is no variation to explain.")
    _, dummies, blocks_of = dummies_of(table, factors)
    blocks_of["wear"] = [dummies.shape[1]]
    design = np.column_stack([dummies, strokes_since(x, x[0], x[-1], resets)])
    moments = _block_moments(design, y - y.mean())
    return of_moments(
        moments, blocks_of, y.size, confidence, resamples, seed, unit, cautions_of(table, factors)
    )


def of_moments(
    moments: Any,
    blocks_of: dict[str, list[int]],
    n: int,
    confidence: float,
    resamples: int,
    seed: int | None,
    unit: str,
    cautions: tuple[str, ...],
) -> SourcesStudy:
    """Shares out of cross products of design and values, stretch by stretch of the run.

    Parameters
    ----------
    moments : numpy.ndarray of float, shape (stretches, k + 1, k + 1)
        The first column of the design is the constant, the last the values.
    blocks_of : dict of str to list of int
        Columns of the design that belong to each source.
    n : int
        Parts.
    confidence : float
    resamples : int
    seed : int, optional
    unit : str
    cautions : tuple of str

    Returns
    -------
    SourcesStudy
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
        return Interval(
            estimate,
            min(float(low), estimate),
            max(float(high), estimate),
            confidence,
            "block bootstrap",
        )

    shares = {
        name: _within_one(interval(float(whole[name][0]), drawn[name]))
        for name in (*blocks_of, "rest")
    }
    wear = station = None
    if "wear" in blocks_of:
        wear = interval(float(whole["slope"][0]) * 1000, drawn["slope"] * 1000)
    if "station" in blocks_of:
        station = interval(float(whole["stations apart"][0]), drawn["stations apart"])
    labels = {"wear": "wear (trend between events)", "rest": "everything else"}
    return SourcesStudy(
        {labels.get(k, k): v for k, v in shares.items()},
        wear,
        station,
        math.sqrt(float(_total(moments.sum(axis=0)[None])[0]) / (n - 1)),
        n,
        unit,
        cautions,
    )


def _within_one(share: Interval) -> Interval:
    return share.mapped(lambda value: min(max(value, 0.0), 1.0))


#: More groups than this are no factor of least squares: nearly every stretch would have its own.
_MOST = 60


def dummies_of(
    table: pd.DataFrame, factors: tuple[str, ...]
) -> tuple[list[str], Any, dict[str, list[int]]]:
    """A constant and a column for every level but the first of each usable factor.

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
    """Strokes since the last reset (or the run's first part), from where wear is counted."""
    starts = np.array([first, *[r for r in sorted(resets) if first < r < last]])
    return x - starts[np.searchsorted(starts, x, side="right") - 1]


def _block_moments(design: Any, y: Any) -> Any:
    """Cross products of the design and the values, stretch by stretch of the run."""
    full = np.column_stack([design, y])
    stretches = min(60, max(10, len(y) // 50))
    return np.stack([piece.T @ piece for piece in np.array_split(full, stretches)])


def _shares(moments: Any, blocks: dict[str, list[int]]) -> dict[str, Any]:
    """Shares, slope and station difference for a stack of cross-product matrices."""
    k = moments.shape[-1] - 1
    ss_total = _total(moments)
    everything = list(range(k))
    sse, beta = _fit(moments, everything)
    found: dict[str, Any] = {}
    for name, columns in blocks.items():
        kept = [c for c in everything if c not in columns]
        without, _ = _fit(moments, kept)
        found[name] = np.clip((without - sse) / ss_total, 0, 1)
    found["rest"] = np.clip(sse / ss_total, 0, 1)
    if "wear" in blocks:
        found["slope"] = beta[:, blocks["wear"][0]]
    if "station" in blocks:
        levels = np.concatenate([np.zeros((len(beta), 1)), beta[:, blocks["station"]]], axis=1)
        # With two stations the difference keeps its sign; with more it is the largest one.
        found["stations apart"] = (
            levels[:, 1] if levels.shape[1] == 2 else levels.max(axis=1) - levels.min(axis=1)
        )
    return found


def _total(moments: Any) -> Any:
    """Sum of squares of the values about their mean."""
    k = moments.shape[-1] - 1
    return moments[:, k, k] - moments[:, 0, k] ** 2 / moments[:, 0, 0]


def _fit(moments: Any, columns: list[int]) -> tuple[Any, Any]:
    k = moments.shape[-1] - 1
    # Columns differ by orders of magnitude; scaling keeps the pseudo-inverse honest.
    scale = np.sqrt(np.maximum(np.diagonal(moments, axis1=1, axis2=2)[:, columns], 1e-300))
    left = moments[:, columns][:, :, columns] / (scale[:, :, None] * scale[:, None, :])
    right = moments[:, columns, k] / scale
    beta = np.einsum("bij,bj->bi", np.linalg.pinv(left, rcond=1e-11, hermitian=True), right)
    sse = np.maximum(moments[:, k, k] - (beta * right).sum(axis=1), 0.0)
    return sse, beta / scale


def cautions_of(table: pd.DataFrame, factors: tuple[str, ...]) -> tuple[str, ...]:
    """Few coils, and factors left out for having too many groups."""
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
