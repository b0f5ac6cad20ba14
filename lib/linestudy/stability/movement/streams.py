"""Comparison of streams: do the stations, or the coils, of a run have one mean, and which differ by how much."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from linestudy.results import CannotJudge, Finding, Interval, arguments, data_arguments, show
from linestudy.results.declared import Declaration
from linestudy.results.tables import Rows
from linestudy.running.deprecation import old_keywords, renamed
from linestudy.stability.movement.block_means import correlation_time

if TYPE_CHECKING:
    import pandas as pd

#: Fewest block means of a stream, and most streams, that are compared pair by pair.
_LEAST, _MOST = 3, 20


@dataclass(frozen=True, slots=True)
class Stream:
    """One stream of a run.

    Attributes
    ----------
    name : str
        Station or coil.
    n : int
        Parts.
    blocks : int
        Block means that are nearly independent.
    mean : Interval
        [unit of the values] Mean, with the interval of this stream alone.
    """

    name: str
    n: int
    blocks: int
    mean: Interval


@dataclass(frozen=True, slots=True)
class StreamPair:
    """Two streams beside each other.

    Attributes
    ----------
    first : str
        One stream.
    second : str
        The other.
    difference : Interval
        [unit of the values] Mean of the first less that of the second. All pairs together hold their true
        differences with the confidence stated.
    p : float
        Of no difference, with all pairs looked at.
    """

    first: str
    second: str
    difference: Interval
    p: float


@dataclass(frozen=True)
class StreamStudy(Finding):
    """Means of the streams of a run, compared pair by pair.

    Attributes
    ----------
    by : str
        What the streams are: ``"station"`` or ``"coil"``.
    streams : tuple of Stream
        In order of production.
    pairs : tuple of StreamPair
        All of them.
    f : float
        Welch's F that all means are equal.
    df1 : float
        Its degrees of freedom, numerator.
    df2 : float
        Its degrees of freedom, denominator.
    p : float
        Of one mean throughout.
    unit : str
        Of the values.
    """

    by: str
    streams: tuple[Stream, ...]
    pairs: tuple[StreamPair, ...]
    f: float
    df1: float
    df2: float
    p: float
    unit: str
    cautions: tuple[str, ...]
    points: pd.DataFrame = field(repr=False, compare=False)
    title: ClassVar[str] = "Comparison of streams"
    picture: ClassVar[str] = "stability:stream_means"

    @property
    def statement(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        widest = max(self.pairs, key=lambda pair: abs(pair.difference.estimate))
        differ = sum(0 not in pair.difference for pair in self.pairs)
        largest = f"{widest.first} less {widest.second}, {show(widest.difference)}{unit}"
        if len(self.pairs) == 1:
            shown = "differ" if differ else "are not shown to differ"
            return f"The means of the two {self.by}s {shown}: {largest}."
        return (
            f"Of {len(self.pairs)} pairs of {self.by}s {differ or 'none'} "
            f"{'is' if differ < 2 else 'are'} shown to differ in the mean; the largest difference is {largest}."
        )

    def _rows(self) -> Rows:
        unit = f" ({self.unit})" if self.unit else ""
        return [
            {
                self.by: f"{pair.first} less {pair.second}",
                f"difference{unit}": pair.difference,
                "p (all pairs)": pair.p,
            }
            for pair in self.pairs
        ]


STATIONS = Declaration("stability.stations", StreamStudy, "Comparison of stations", picture=55)
COILS = Declaration("stability.coils", StreamStudy, "Comparison of coils")


@old_keywords(
    renamed("parts", "size", since="0.3.0", removal="0.4.0"),
)
def compare_streams(
    values: ArrayLike,
    stream: ArrayLike,
    *,
    by: str = "station",
    size: ArrayLike | None = None,
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
    variance_sources : How much of the variance stations and coils explain, freed of wear.
    equal_spread : Whether the spread of the streams is one.

    Notes
    -----
    Model: the values of a stream scatter about its own mean with a spread of their own; they are averaged
    over blocks ten correlation times long, so that block means are nearly independent and normal. One mean
    throughout is tested by Welch's analysis of variance; pairs are compared by Games and Howell's intervals,

    .. math:: \bar y_i - \bar y_j \pm \frac{q_{1-\alpha;k,\nu_{ij}}}{\sqrt 2} \sqrt{s_i^2/b_i + s_j^2/b_j},

    with :math:`q` the studentized range, :math:`s^2` the variance of :math:`b` block means and
    :math:`\nu_{ij}` Welch's degrees of freedom; spreads need not be equal. Misleads where something else moves
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
    arguments.same_length(values=y, stream=stream, size=size)
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
    half = pairs["se"] * [_reach(confidence, len(held), float(df)) for df in pairs["df"]]
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
            StreamPair(
                row.A,
                row.B,
                Interval(row.diff, row.diff - wide, row.diff + wide, confidence, "Games-Howell"),
                float(row.pval),
            )
            for row, wide in zip(pairs.itertuples(), half, strict=True)
        ),
        f=float(welch["F"]),
        df1=float(welch["ddof1"]),
        df2=float(welch["ddof2"]),
        p=float(welch["p_unc"] if "p_unc" in welch else welch["p-unc"]),
        unit=unit,
        cautions=(*notes, *_of_time(by)),
        points=table,
    )


def _reach(confidence: float, streams: int, df: float) -> float:
    """Quantile of the studentized range over root two, in standard errors of a difference."""
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
    """Means of blocks of neighbours, ten correlation times long; a short remainder is left out."""
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
    """Welch's analysis of variance and the pairs of Games and Howell."""
    import warnings

    with warnings.catch_warnings():
        # Its effect sizes divide by spreads; they are not used here.
        warnings.simplefilter("ignore", RuntimeWarning)
        import pingouin

        welch = pingouin.welch_anova(table, dv="mean", between="stream").iloc[0]
        pairs = pingouin.pairwise_gameshowell(table, dv="mean", between="stream")
    return welch, pairs
