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

from linestudy.core import CannotJudge, Finding, Interval, generator, show

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure


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

    def table(self) -> pd.DataFrame:
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

    def figure(self) -> Figure:
        from linestudy.figures.stability import shares_of_variance

        figure = shares_of_variance(self.shares)
        figure.alt_text = self.alt_text
        return figure


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
    from scipy.special import ndtri, stdtrit

    y = table[value].to_numpy(dtype=float)
    x = table[order].to_numpy(dtype=float)
    if y.size < 100:
        raise CannotJudge(f"{y.size} parts are too few to tell sources of variation apart.")
    if np.ptp(y) == 0:
        raise CannotJudge("The values never differ, so there is no variation to explain.")
    names, design, blocks_of = _design(table, x, factors, resets)
    moments = _block_moments(design, y - y.mean())
    rng = generator(seed, "sources")
    weights = rng.multinomial(len(moments), [1 / len(moments)] * len(moments), resamples)
    whole = _shares(moments.sum(axis=0)[None], blocks_of)
    drawn = _shares(np.tensordot(weights, moments, axes=1), blocks_of)
    tails = ((1 - confidence) / 2, (1 + confidence) / 2)

    # Percentiles of so few stretches are short by the usual small-sample factors.
    spare = max(len(moments) - design.shape[1], 4)
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
        float(y.std(ddof=1)),
        int(y.size),
        unit,
        _cautions(table, names),
    )


def _within_one(share: Interval) -> Interval:
    return share.mapped(lambda value: min(max(value, 0.0), 1.0))


def _design(
    table: pd.DataFrame, x: Any, factors: tuple[str, ...], resets: tuple[float, ...]
) -> tuple[list[str], Any, dict[str, list[int]]]:
    """Columns of the least-squares problem and which belong to which source."""
    import pandas as pd

    columns = [np.ones(x.size)]
    blocks: dict[str, list[int]] = {}
    used = []
    for factor in factors:
        if factor not in table:
            continue
        codes, levels = pd.factorize(table[factor], sort=True)
        if not 2 <= len(levels) <= 60:
            continue
        used.append(factor)
        blocks[factor] = []
        for level in range(1, len(levels)):
            blocks[factor].append(len(columns))
            columns.append((codes == level).astype(float))
    starts = np.array([x[0], *[r for r in sorted(resets) if x[0] < r < x[-1]]])
    since = x - starts[np.searchsorted(starts, x, side="right") - 1]
    blocks["wear"] = [len(columns)]
    columns.append(since)
    return used, np.column_stack(columns), blocks


def _block_moments(design: Any, y: Any) -> Any:
    """Cross products of the design and the values, stretch by stretch of the run."""
    full = np.column_stack([design, y])
    stretches = min(60, max(10, len(y) // 50))
    return np.stack([piece.T @ piece for piece in np.array_split(full, stretches)])


def _shares(moments: Any, blocks: dict[str, list[int]]) -> dict[str, Any]:
    """Shares, slope and station difference for a stack of cross-product matrices."""
    k = moments.shape[-1] - 1
    ss_total = moments[:, k, k] - moments[:, 0, k] ** 2 / moments[:, 0, 0]
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


def _fit(moments: Any, columns: list[int]) -> tuple[Any, Any]:
    k = moments.shape[-1] - 1
    # Columns differ by orders of magnitude; scaling keeps the pseudo-inverse honest.
    scale = np.sqrt(np.maximum(np.diagonal(moments, axis1=1, axis2=2)[:, columns], 1e-300))
    left = moments[:, columns][:, :, columns] / (scale[:, :, None] * scale[:, None, :])
    right = moments[:, columns, k] / scale
    beta = np.einsum("bij,bj->bi", np.linalg.pinv(left, rcond=1e-11, hermitian=True), right)
    sse = np.maximum(moments[:, k, k] - (beta * right).sum(axis=1), 0.0)
    return sse, beta / scale


def _cautions(table: pd.DataFrame, names: list[str]) -> tuple[str, ...]:
    notes = []
    for name in names:
        levels = table[name].nunique()
        if name == "coil" and levels < 10:
            notes.append(f"{levels} coils describe this run, not coils in general.")
    return tuple(notes)
