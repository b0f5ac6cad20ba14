"""Comparison of streams: do the stations, or the coils, of a run have one mean, and which differ by how much."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike

from linestudy.results import (
    Absent,
    CannotJudge,
    Interval,
    arguments,
    data_arguments,
)
from linestudy.running.deprecation import old_keywords, renamed
from linestudy.stability.movement.block_means import correlation_time
from linestudy.stability.movement.streams_finding import Stream, StreamPair, StreamStudy

if TYPE_CHECKING:
    pass

#: Fewest block means of a stream, and most streams, that are compared pair by pair.
_LEAST, _MOST = 3, 20
#: Share of the tolerance within which two streams count as equivalent (common practice, no source).
ALLOWED_SHARE = 0.1


@old_keywords(
    renamed("parts", "size", since="0.3.0", removal="0.4.0"),
)
def compare_streams(
    values: ArrayLike,
    stream: ArrayLike,
    *,
    by: str = "station",
    size: ArrayLike | None = None,
    order: ArrayLike | None = None,
    tolerance: float | None = None,
    allowed_share: float = ALLOWED_SHARE,
    confidence: float = 0.95,
    unit: str = "",
) -> StreamStudy:
    r"""Compare the means of the streams of a run, pair by pair.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In production order: single parts, or means of periods.
    stream : array_like, shape (n,)
        Station, or coil, of each value; values without one are left out.
    by : str
        What the streams are, for sentences.
    size : array_like of float, shape (n,), optional
        Parts behind each value; 1 when absent.
    order : array_like of float, shape (n,), optional
        Stroke of each value, where one stroke makes a part in every stream: parts of one stroke are then
        held against each other.
    tolerance : float, optional
        Width of the tolerance, in the unit of the values, for equivalence.
    allowed_share : float
        Share of the tolerance within which two streams are equivalent.
    confidence : float
        Of the intervals, between 0 and 1; that of the pairs is for all of them together.
    unit : str
        Of the values.

    Returns
    -------
    StreamStudy
        Means, differences with simultaneous intervals, and the test of one mean.

    Raises
    ------
    CannotJudge
        Fewer than two streams with three block means each, more than twenty streams, or values that are
        missing or never differ within a stream.
    ValueError, TypeError
        Lengths that differ, or an argument outside its range.

    See Also
    --------
    variance_sources : Share of the variance that stations and coils explain, wear removed.
    equal_spread : Whether the spread of the streams is one.

    Notes
    -----
    Model: the values of a stream scatter about its own mean with a spread of their own; they are averaged
    over blocks ten correlation times long, so that block means are nearly independent and normal. One mean
    throughout is tested by Welch's analysis of variance; pairs are compared by Games and Howell's intervals,

    .. math:: \bar y_i - \bar y_j \pm \frac{q_{1-\alpha;k,\nu_{ij}}}{\sqrt 2} \sqrt{s_i^2/b_i + s_j^2/b_j},

    with :math:`q` the studentized range, :math:`s^2` the variance of :math:`b` block means and
    :math:`\nu_{ij}` Welch's degrees of freedom; spreads need not be equal. Where
    streams are made side by side (`order`), the differences within a stroke are averaged over blocks instead, and
    Student's t on their means, at a level divided by the number of pairs (Bonferroni), gives the intervals: coils,
    wear and whatever else moves all streams alike drop out. Spreads are compared by the ratio of standard
    deviations on the logarithm, with :math:`\mathrm{Var} \ln s = (\kappa - 1) / 4n` from the streams' own kurtosis
    :math:`\kappa`, and the same simultaneous quantile. Misleads where something else moves
    with the streams: coils follow each other in time, so wear between them counts as a difference of coils;
    what moves all stations alike counts as scatter of each and makes intervals wide (of two alternating stations
    with a lag-one correlation of 0.8 all of 500 simulated intervals held the truth).

    References
    ----------
    Welch, *Biometrika* 38 (1951), 330-336. Games & Howell, *Journal of Educational Statistics* 1 (1976),
    113-125. Computed by pingouin; quantiles by Gleason, *Computational Statistics & Data Analysis* 31 (1999),
    147-158, in statsmodels.

    Examples
    --------
    >>> import numpy as np
    >>> n = np.arange(600)
    >>> y = 2.0 + 0.3 * (n % 2) + 0.1 * np.random.default_rng(1).normal(size=600)
    >>> study = compare_streams(y, np.where(n % 2, "right", "left"), unit="mm")
    >>> pair = study.pairs[0]
    >>> pair.first, pair.second, -0.3 in pair.difference
    ('left', 'right', True)
    """
    import pandas as pd

    arguments.share("confidence", confidence)
    y = data_arguments.one_dimensional(values, least=2)
    arguments.same_length(values=y, stream=stream, size=size, order=order)
    data_arguments.width("tolerance", tolerance)
    arguments.share("allowed_share", allowed_share)
    weight = np.ones(y.size) if size is None else np.asarray(size, dtype=float)
    labels: Any = stream
    codes, names = pd.factorize(pd.array(labels))
    if len(names) > _MOST:
        raise CannotJudge(
            f"There are {len(names)} {by}s; more than {_MOST} are not compared pair by pair."
        )
    blocks = [_block_means(y[codes == k], weight[codes == k]) for k in range(len(names))]
    held = [k for k, means in enumerate(blocks) if means.size >= _LEAST and np.ptp(means) > 0]
    if len(held) < 2:
        raise CannotJudge(
            f"Of {len(names)} {by}s {len(held)} made {_LEAST} independent stretches that differ; two are needed."
        )
    of = {str(names[k]): blocks[k] for k in held}
    table = pd.DataFrame(
        {
            "stream": np.repeat(list(of), [means.size for means in of.values()]),
            "mean": np.concatenate(list(of.values())),
        }
    )
    welch, pairs = _by_pingouin(table)
    reach = [_reach(confidence, len(held), float(df)) for df in pairs["df"]]
    half = pairs["se"] * reach
    beside = (
        {}
        if order is None
        else _within_strokes(y, np.asarray(order), codes, names, held, confidence)
    )
    spread = {str(names[k]): _log_sd(y[codes == k], weight[codes == k]) for k in held}
    allowed = None if tolerance is None else allowed_share * tolerance
    left_out = len(names) - len(held)
    notes = (
        [f"{left_out} of {len(names)} {by}s hold too few independent stretches to be compared."]
        if left_out
        else []
    )
    return StreamStudy(
        by=by,
        streams=tuple(
            Stream(
                str(names[k]),
                int(weight[codes == k].sum()),
                blocks[k].size,
                _mean(blocks[k], confidence),
            )
            for k in held
        ),
        pairs=tuple(
            _pair(
                row, float(wide), beside.get((row.A, row.B)), spread, float(c), confidence, allowed
            )
            for row, wide, c in zip(pairs.itertuples(), half, reach, strict=True)
        ),
        f=float(welch["F"]),
        df1=float(welch["ddof1"]),
        df2=float(welch["ddof2"]),
        p=float(welch["p_unc"] if "p_unc" in welch else welch["p-unc"]),
        paired=bool(beside),
        allowed=allowed,
        unit=unit,
        cautions=(*notes, *_of_time(by)),
        points=table,
    )


def _pair(
    row: Any,
    wide: float,
    beside: tuple[Interval, float] | None,
    spread: dict[str, tuple[float, float] | None],
    reach: float,
    confidence: float,
    allowed: float | None,
) -> StreamPair:
    """Compare two streams, from pingouin's row or from their parts of one stroke."""
    difference = Interval(row.diff, row.diff - wide, row.diff + wide, confidence, "Games-Howell")
    p = float(row.pval)
    if beside is not None:
        difference, p = beside
    inside = None if allowed is None else -allowed < difference.low and difference.high < allowed
    return StreamPair(
        row.A, row.B, difference, p, _ratio(spread[row.A], spread[row.B], reach, confidence), inside
    )


def _ratio(
    first: tuple[float, float] | None,
    second: tuple[float, float] | None,
    reach: float,
    confidence: float,
) -> Interval | Absent:
    if first is None or second is None:
        return Absent("only means of periods are known")
    log, half = first[0] - second[0], reach * math.sqrt(first[1] + second[1])
    return Interval(
        math.exp(log),
        math.exp(log - half),
        math.exp(log + half),
        confidence,
        "ratio of SDs, kurtosis",
    )


def _log_sd(y: Any, weight: Any) -> tuple[float, float] | None:
    """Compute the logarithm of the standard deviation and its variance; None where values are means of many parts."""
    if weight.size < 4 or (weight != 1).any():
        return None
    z = y - y.mean()
    m2 = float((z**2).mean())
    kurtosis = float((z**4).mean()) / m2**2
    # Neighbours that are alike in their distance from the mean tell less of it.
    effective = y.size / max(correlation_time(z**2 - m2), 1.0)
    return 0.5 * math.log(m2 * y.size / (y.size - 1)), max(kurtosis - 1, 0.1) / (4 * effective)


def _within_strokes(
    y: Any, stroke: Any, codes: Any, names: Any, held: list[int], confidence: float
) -> dict[tuple[str, str], tuple[Interval, float]]:
    """Compare streams within a stroke, with intervals for all pairs together; empty where strokes hold one part."""
    import pandas as pd
    from scipy.stats import t as student

    table = pd.DataFrame({"stroke": stroke, "stream": codes, "value": y})
    wide = table[table["stream"].isin(held)].pivot_table(
        index="stroke", columns="stream", values="value", aggfunc="mean"
    )
    count = len(held) * (len(held) - 1) // 2
    found = {}
    for i in held:
        for j in held:
            differences = (wide[i] - wide[j]).dropna().to_numpy() if i != j else np.empty(0)
            means = _block_means(differences, np.ones(differences.size))
            if means.size < _LEAST or np.ptp(means) == 0:
                continue
            centre, error = float(means.mean()), float(means.std(ddof=1)) / math.sqrt(means.size)
            half = float(student.ppf(1 - (1 - confidence) / (2 * count), means.size - 1)) * error
            p = min(count * 2 * float(student.sf(abs(centre) / error, means.size - 1)), 1.0)
            label = "differences within strokes, Student's t, Bonferroni"
            interval = Interval(centre, centre - half, centre + half, confidence, label)
            found[str(names[i]), str(names[j])] = interval, p
    return found


def _reach(confidence: float, streams: int, df: float) -> float:
    """Compute the quantile of the studentized range over root two, in standard errors of a difference."""
    if streams == 2:
        from scipy.special import stdtrit

        return float(stdtrit(df, (1 + confidence) / 2))
    # Gleason's approximation: within 0.1 % of SciPy's integral, in a thousandth of its time.
    from statsmodels.stats.libqsturng import qsturng

    return float(qsturng(confidence, streams, max(df, 2.0))) / math.sqrt(2)


def _of_time(by: str) -> tuple[str, ...]:
    if by != "coil":
        return ()
    return ("Coils follow each other in time: what moved the process meanwhile counts as theirs.",)


def _block_means(y: Any, weight: Any) -> Any:
    """Average blocks of neighbours, ten correlation times long; a short remainder is left out."""
    if y.size < 2:
        return y
    time = correlation_time(y - y.mean())
    length = max(math.ceil(10 * (time - 1)), 1)
    number = y.size // length
    if number == 0:
        return np.empty(0)
    shape = (number, length)
    use = number * length
    return np.average(y[:use].reshape(shape), axis=1, weights=weight[:use].reshape(shape))


def _mean(means: Any, confidence: float) -> Interval:
    from scipy.stats import t as student

    centre, error = float(means.mean()), float(means.std(ddof=1)) / math.sqrt(means.size)
    half = float(student.ppf((1 + confidence) / 2, means.size - 1)) * error
    return Interval(centre, centre - half, centre + half, confidence, "Student's t on block means")


def _by_pingouin(table: Any) -> tuple[Any, Any]:
    """Run Welch's analysis of variance and the pairs of Games and Howell."""
    import warnings

    from scipy.integrate import IntegrationWarning

    with warnings.catch_warnings():
        # Its effect sizes divide by spreads; they are not used here. Far out in the tail of the studentized range
        # its integral warns, where p is nought to all digits shown.
        warnings.simplefilter("ignore", RuntimeWarning)
        warnings.simplefilter("ignore", IntegrationWarning)
        import pingouin

        welch = pingouin.welch_anova(table, dv="mean", between="stream").iloc[0]
        pairs = pingouin.pairwise_gameshowell(table, dv="mean", between="stream")
    return welch, pairs
