"""Variance components of a run: coil, stop-to-stop run, quarter hour, within; station beside them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.numerics import generator
from linestudy.numerics.arrays import FloatArray
from linestudy.results import CannotJudge, Finding, Interval, arguments, data_arguments
from linestudy.results.declared import Declaration
from linestudy.results.rounding import with_unit
from linestudy.results.tables import Rows

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from linestudy.results.picture import Picture


@dataclass(frozen=True, slots=True)
class NestedSquares:
    """One line of a nested analysis of variance.

    Attributes
    ----------
    source : str
        Level.
    df : float
        Degrees of freedom.
    ss : float
        [squared unit of the values] Sum of squares.
    ms : float
        [squared unit of the values] Mean square. Formula: ``ss / df``.
    """

    source: str
    df: float
    ss: float
    ms: float


@dataclass(frozen=True)
class VarianceComponentsStudy(Finding):
    """Nested variance components of a run.

    Attributes
    ----------
    variance : dict of str to Interval
        [squared unit of the values] By level; ``within`` is the last.
    share : dict of str to Interval
        By level, its share of the total variance, which would go if the level were removed.
    anova : tuple of NestedSquares
        Sequential analysis of variance.
    negative : tuple of str
        Levels whose estimate was below zero and is set to zero.
    groups : dict of str to int
        How many of each level there are.
    n : int
        Parts.
    unit : str
        Of the values.
    """

    variance: dict[str, Interval]
    share: dict[str, Interval]
    anova: tuple[NestedSquares, ...]
    negative: tuple[str, ...]
    groups: dict[str, int]
    n: int
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Variance components of the run"

    @property
    def statement(self) -> str:
        ordered = sorted(self.share.items(), key=lambda item: -item[1].estimate)
        named = ", ".join(f"{name} {share.estimate:.0%}" for name, share in ordered)
        return f"Variance components of {self.n:,} parts: {named}."

    def _rows(self) -> Rows:
        return [
            {
                "source": name,
                "groups": self.groups.get(name),
                with_unit("SD", self.unit): self.variance[name].mapped(
                    lambda x: max(x, 0.0) ** 0.5
                ),
                "share of the variance (%)": share.times(100.0),
            }
            for name, share in self.share.items()
        ]

    def _draw(self, ax: Axes | None = None, **options: Any) -> Picture:
        from linestudy.figures.stability.movements import shares_of_variance

        return shares_of_variance(self.share, ax=ax)


VARIANCE_COMPONENTS = Declaration(
    "stability.variance_components", VarianceComponentsStudy, "Variance components"
)


def variance_components(
    data: pd.DataFrame,
    *,
    levels: Sequence[str] = ("coil", "stop", "quarter hour"),
    line_rate: float | None = None,
    value: str = "value",
    station: str = "station",
    confidence: float = 0.95,
    draws: int = 4000,
    seed: int | None = None,
    unit: str = "",
) -> VarianceComponentsStudy:
    r"""Split the variance of a run among nested levels and stations.

    Parameters
    ----------
    data : pandas.DataFrame
        One part per row in production order.
    levels : sequence of str
        Columns, outermost first; those that are absent or have one group only are left out.
        ``quarter hour`` is made from ``order`` and `line_rate`, or from ``time``.
    line_rate : float, optional
        Strokes per minute.
    value : str
        Column of the values.
    station : str
        Column of stations; no stations where the table has no such column.
    confidence : float
        Of the intervals, between 0 and 1.
    draws : int
        Draws of the pivots, at least 10.
    seed : int, optional
        Of the draws; the kit's own when absent.
    unit : str
        Of the values.

    Returns
    -------
    VarianceComponentsStudy
        Variance and share of each level, with intervals.

    Raises
    ------
    CannotJudge
        Fewer than 20 parts, values that never differ, or no level with two groups.
    ValueError, TypeError
        No such column of values, or an argument outside its range.

    See Also
    --------
    variance_sources : Sources that cross, and wear.
    nested_components : Nested components of a gauge study.

    Notes
    -----
    Model: each level is random within the one above,

    .. math:: y = \mu + c_i + s_{j(i)} + q_{k(ij)} + \varepsilon;

    stations are fixed and crossed with all, so their means are taken out first and their share is the variance
    of those means. Unequal numbers are the rule on a line, so the components solve the expected sequential
    sums of squares (Henderson's method I). Intervals are generalized pivots, each mean square over
    its own chi-square (exact for equal numbers, approximate otherwise). Misleads where parts within a quarter
    hour correlate: the lowest levels then look larger than they are; and four coils leave the share of coils
    nearly open.

    References
    ----------
    Searle, Casella & McCulloch, *Variance Components* (1992), ch. 5.3.

    Examples
    --------
    >>> import pandas as pd
    >>> data = pd.DataFrame({"coil": list("aaaaabbbbbcccccddddd"),
    ...     "value": [1, 2, 3, 2, 1, 5, 6, 5, 6, 4, 1, 1, 2, 2, 1, 8, 9, 8, 9, 8.0]})
    >>> print(variance_components(data).statement)
    Variance components of 20 parts: coil 96%, within 4%.
    """
    arguments.share("confidence", confidence)
    arguments.whole("draws", draws, least=10)
    arguments.positive(line_rate=line_rate)
    y = data_arguments.one_dimensional(data_arguments.column(data, value, "value"), least=20)
    names, codes = levels_of(data, levels, line_rate, y.size)
    centred = y - y.mean()
    sums = Sums(np.ones(y.size), centred, centred * centred)
    return of_sums(
        sums,
        names,
        codes,
        data.get(station),
        confidence=confidence,
        draws=draws,
        seed=seed,
        unit=unit,
    )


@dataclass(frozen=True)
class Sums:
    """Count, sum and sum of squares of groups of parts (or of each part, counted once).

    Attributes
    ----------
    n, y, yy : numpy.ndarray of float, shape (groups,)
        Values counted from a level near their mean.
    """

    n: FloatArray
    y: FloatArray
    yy: FloatArray

    @property
    def parts(self) -> float:
        return float(self.n.sum())

    @property
    def variance(self) -> float:
        """Of all parts, divisor n."""
        mean = float(self.y.sum()) / self.parts
        return max(float(self.yy.sum()) / self.parts - mean * mean, 0.0)

    def less(self, by: Any) -> Sums:
        """Return the same with a number taken off every value of a group."""
        return Sums(self.n, self.y - by * self.n, self.yy - 2 * by * self.y + by * by * self.n)


def of_sums(
    sums: Sums,
    names: list[str],
    codes: list[Any],
    station: Any = None,
    *,
    confidence: float = 0.95,
    draws: int = 4000,
    seed: int | None = None,
    unit: str = "",
) -> VarianceComponentsStudy:
    """Estimate components from sums over the finest groups; parts are groups of one.

    Parameters
    ----------
    sums : Sums
        Over the finest groups.
    names : list of str
        Levels, outermost first.
    codes : list of numpy.ndarray of int, each of shape (groups,)
        Group of every sum at each level, nested in the levels above.
    station : array_like, shape (groups,), optional
        Station of every sum.
    confidence : float
        Of the intervals.
    draws : int
        Draws of the pivots.
    seed : int, optional
        Of the draws.
    unit : str
        Of the values.

    Returns
    -------
    VarianceComponentsStudy
        As :func:`variance_components` gives it.

    Raises
    ------
    CannotJudge
        Values that never differ, or no level with two groups.
    """
    if sums.variance <= 0:
        raise CannotJudge("The values never differ, so there is no variation to explain.")
    sums, between_stations, stations = _stations(sums, station)
    if not names:
        raise CannotJudge("The run has one coil, one stretch and one quarter hour at most.")
    squares, df = _sequential(sums.less(float(sums.y.sum()) / sums.parts), codes)
    matrix = _expected(codes, sums.n)
    rng = generator(seed, "components")
    pivots = rng.chisquare(df, (draws, df.size))
    raw = np.linalg.solve(matrix, squares)
    drawn = np.maximum(np.linalg.solve(matrix, (squares * df / pivots).T).T, 0.0)
    best = np.maximum(raw, 0.0)
    tails = ((1 - confidence) / 2, (1 + confidence) / 2)
    fixed = between_stations
    total, drawn_total = best.sum() + fixed, drawn.sum(axis=1) + fixed
    every = [*names, "within"]

    def interval(estimate: float, sample: Any) -> Interval:
        low, high = np.quantile(sample, tails)
        return Interval(
            estimate,
            min(float(low), estimate),
            max(float(high), estimate),
            confidence,
            "generalized pivot",
        )

    variance = {name: interval(float(best[i]), drawn[:, i]) for i, name in enumerate(every)}
    share = {
        name: interval(float(best[i] / total), drawn[:, i] / drawn_total)
        for i, name in enumerate(every)
    }
    groups = {name: int(code.max()) + 1 for name, code in zip(names, codes, strict=True)}
    if stations > 1:
        variance["station"] = _station_interval(fixed, sums, stations, confidence)
        share["station"] = interval(float(fixed / total), fixed / drawn_total)
        groups["station"] = stations
    return VarianceComponentsStudy(
        variance=variance,
        share=share,
        anova=tuple(
            NestedSquares(name, float(d), float(sum_of), float(sum_of / d))
            for name, d, sum_of in zip(every, df, squares, strict=True)
        ),
        negative=tuple(name for name, v in zip(every, raw, strict=True) if v < 0),
        groups=groups,
        n=int(sums.parts),
        unit=unit,
        cautions=tuple(
            f"{groups[name]} groups of {name} describe this run, not those to come."
            for name in names
            if groups[name] < 10
        ),
    )


def _stations(sums: Sums, station: Any) -> tuple[Sums, float, int]:
    """Subtract station means from the sums; return also their variance and their number."""
    if station is None:
        return sums, 0.0, 1
    import pandas as pd

    codes, labels = pd.factorize(pd.array(station))
    if len(labels) < 2 or (codes < 0).any():
        return sums, 0.0, 1
    counts = np.bincount(codes, sums.n)
    effect = np.bincount(codes, sums.less(float(sums.y.sum()) / sums.parts).y) / counts
    rest = sums.less(effect[codes])
    # The means of pure chance differ too; that much is taken off.
    chance = rest.variance * (len(labels) - 1) / sums.parts
    raw = float((counts * effect**2).sum() / sums.parts)
    return rest, max(raw - chance, 0.0), len(labels)


#: Beyond this statistic the normal approximation differs by less than a ten-millionth.
_FAR = 1e8


def _station_interval(fixed: float, sums: Sums, stations: int, confidence: float) -> Interval:
    """Compute the variance of station means by the noncentral F of their test (chi-square in the limit)."""
    from scipy.special import chndtr, chndtrinc, ndtri

    noise = sums.variance / sums.parts
    if not noise > fixed * 1e-300:
        # Nothing varies but the stations: their means are known.
        return Interval(fixed, fixed, fixed, confidence, "noncentral chi-square")
    observed = fixed / noise + stations - 1
    ends = []
    for probability in ((1 + confidence) / 2, (1 - confidence) / 2) if observed < _FAR else ():
        reachable = float(chndtr(observed, stations - 1, 0.0)) > probability
        ends.append(float(chndtrinc(observed, stations - 1, probability)) if reachable else 0.0)
    if observed >= _FAR or not np.isfinite(ends).all():
        # So far out the noncentral chi-square is normal, and its inverse does not come to an end.
        half = 2 * np.sqrt(observed) * float(ndtri((1 + confidence) / 2))
        ends = [max(observed - half, 0.0), observed + half]
    low, high = (end * noise for end in ends)
    return Interval(fixed, min(low, fixed), max(high, fixed), confidence, "noncentral chi-square")


def levels_of(
    table: pd.DataFrame, levels: Sequence[str], line_rate: float | None, parts: float
) -> tuple[list[str], list[Any]]:
    """List usable levels, each as a code of its combination with the levels above."""
    import pandas as pd

    names: list[str] = []
    codes: list[Any] = []
    above = np.zeros(len(table), dtype=np.int64)
    for name in levels:
        if name in table:
            column = pd.factorize(table[name])[0]
        elif name == "quarter hour" and line_rate and "order" in table:
            column = (table["order"].to_numpy(dtype=float) // (15 * line_rate)).astype(np.int64)
        elif name == "quarter hour" and "time" in table and not table["time"].isna().any():
            column = pd.factorize(table["time"].dt.floor("15min"))[0]
        else:
            continue
        # A missing label is a group of its own.
        column = column - column.min()
        joined = np.unique(above * (int(column.max()) + 1) + column, return_inverse=True)[1]
        if joined.max() > above.max() and joined.max() + 1 < parts:
            names.append(name)
            codes.append(joined)
            above = joined
    return names, codes


def _sequential(sums: Sums, codes: list[Any]) -> tuple[Any, Any]:
    """Compute sums of squares and degrees of freedom: between groups of each level in those above; within."""
    before, groups = float(sums.y.sum() ** 2 / sums.parts), 1
    squares, df = [], []
    for code in codes:
        counts = np.bincount(code, sums.n)
        now = float((np.bincount(code, sums.y) ** 2 / counts).sum())
        squares.append(now - before)
        df.append(counts.size - groups)
        before, groups = now, counts.size
    squares.append(float(sums.yy.sum()) - before)
    df.append(int(sums.parts) - groups)
    return np.maximum(np.array(squares), 0.0), np.array(df, dtype=float)


def _expected(codes: list[Any], n: Any) -> Any:
    """Compute coefficients of the components (columns) in the expected sums of squares (rows)."""
    count, parts = len(codes), float(n.sum())
    # inner[i][j]: sum over groups of level i of (sum of n_j^2 of the groups j inside) / n_i.
    matrix = np.zeros((count + 1, count + 1))
    sizes = [np.bincount(code, n) for code in codes]

    def weighted(i: int, j: int) -> float:
        if i >= j:
            return parts
        squared = sizes[j] ** 2
        if i < 0:
            return float(squared.sum() / parts)
        parent = codes[i][np.unique(codes[j], return_index=True)[1]]
        return float((np.bincount(parent, squared) / sizes[i]).sum())

    for i in range(count):
        for j in range(count):
            matrix[i, j] = weighted(i, j) - weighted(i - 1, j)
        matrix[i, count] = sizes[i].size - (sizes[i - 1].size if i else 1)
    matrix[count, count] = parts - sizes[-1].size
    return matrix
