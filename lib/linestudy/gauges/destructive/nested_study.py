"""Nested readings: variance components of batches, specimens and the levels between them.

Model: each level is random within the one above, the last is the reading itself. For a
destructive test the last component holds both the gauge and the difference of neighbouring
specimens, and no calculation separates them; the finding says so. Designs of any depth are
analysed by sequential mean squares (Henderson's method I for nested data; Searle, Casella &
McCulloch, *Variance Components*, 1992, ch. 3, 4 and 5.3) and by restricted maximum likelihood
beside them; where groups are of unequal size the estimates are those of the likelihood. Intervals:
generalized pivots, each mean square over its own chi-square; exact for the innermost spread,
approximate elsewhere and more so the more unequal the groups. Misleads where batches are few or were
chosen for being odd, and where specimens of one batch were tested in one sitting: what the tester
did that day then looks like the batch.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np
from numpy.typing import NDArray

from linestudy.gauges.grr.intervals import in_percent
from linestudy.gauges.grr.mean_squares import ERROR, AnovaRow, MeanSquares
from linestudy.numerics import generator
from linestudy.numerics.reml import reml, rounding_noise
from linestudy.results import CannotJudge, Finding, Interval, arguments, data_arguments
from linestudy.results.declared import Declaration
from linestudy.results.rounding import with_unit
from linestudy.results.tables import Rows
from linestudy.running.threads import one_thread

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class NestedComponent:
    """Variance component of one level.

    Attributes
    ----------
    variance : Interval
        [squared unit of the readings] Variance of the level, negative estimates as zero.
    sd : Interval
        [unit of the readings] Standard deviation. Formula: √variance.
    share_of_variance : Interval
        Share of the total variance. Formula: variance / sum of variances.
    """

    variance: Interval
    sd: Interval
    share_of_variance: Interval


@dataclass(frozen=True)
class NestedStudy(Finding):
    """Variance components of a nested study.

    Attributes
    ----------
    levels : tuple of str
        Outermost first, without the readings.
    components : dict of str to NestedComponent
        By level, and ``repeatability``.
    anova : tuple of AnovaRow
        Table of variance, outermost first.
    negative : tuple of str
        Levels whose estimate was negative and is set to zero.
    n : int
        Readings.
    estimator : str
        What the components are estimated by: ``ANOVA`` (mean squares) where groups are equal, else ``REML``.
    other : dict of str to float
        [squared unit of the readings] Variances by the other of the two, for comparison.
    unit : str
        Unit of the readings.
    """

    levels: tuple[str, ...]
    components: dict[str, NestedComponent]
    anova: tuple[AnovaRow, ...]
    negative: tuple[str, ...]
    n: int
    estimator: str
    other: dict[str, float]
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Nested study"
    picture: ClassVar[str] = "gauges:nested_shares"

    @property
    def statement(self) -> str:
        parts = [
            f"{'within' if name == 'repeatability' else name} {item.share_of_variance.estimate:.0%}"
            for name, item in self.components.items()
        ]
        return (
            f"Variance components of {self.n} readings: {', '.join(parts)}. The last holds tester and specimens "
            "together: a destructive test cannot separate them."
        )

    def _rows(self) -> Rows:
        return [
            {
                "source": "within (tester and specimens)" if name == "repeatability" else name,
                with_unit("SD", self.unit): item.sd,
                "% contribution": in_percent(item.share_of_variance),
            }
            for name, item in self.components.items()
        ]


NESTED = Declaration(
    "gauges.{gauge}.nested",
    NestedStudy,
    part="characteristic",
    question="measurement",
    order=20,
    picture=54,
    with_table=True,
)


@one_thread()
def nested_components(
    data: pd.DataFrame,
    levels: tuple[str, ...],
    *,
    value: str = "value",
    confidence: float = 0.95,
    draws: int = 40_000,
    seed: int | None = None,
    unit: str = "",
) -> NestedStudy:
    r"""Estimate the variance components of nested readings.

    Parameters
    ----------
    data : pandas.DataFrame
        One reading per row, in `unit`.
    levels : tuple of str
        Columns, outermost first.
    value : str
        Column of the readings.
    confidence : float
        Of the intervals, between 0 and 1.
    draws : int
        Draws of the pivotal quantities.
    seed : int, optional
        Of the draws; the kit's own when absent.
    unit : str
        Unit of the readings, for table and picture.

    Returns
    -------
    NestedStudy
        Component of each level with intervals, and the table of variance.

    Raises
    ------
    CannotJudge
        One group of a level, no group with two readings, readings that are all the same or never
        differ within a group.
    ValueError
        A column that is not there, or an argument outside its range.

    See Also
    --------
    grr_anova : Where a specimen can be read more than once.

    Notes
    -----
    Model: each level random within the one above, for two levels

    .. math:: y_{ijk} = \mu + a_i + b_{ij} + \varepsilon_{ijk}

    Sequential mean squares where groups are equal, restricted maximum likelihood elsewhere; intervals
    by generalized pivots. Misleads where batches are few or chosen for being odd, and where specimens
    of one batch were tested in one sitting.

    References
    ----------
    Searle, Casella & McCulloch, *Variance Components* (1992), ch. 3, 4 and 5.3.

    Examples
    --------
    >>> import pandas as pd
    >>> data = pd.DataFrame({"batch": list("aabb"), "value": [1.0, 1.2, 2.0, 2.2]})
    >>> study = nested_components(data, ("batch",))
    >>> round(study.components["batch"].variance.estimate, 3)
    0.49
    """
    if isinstance(levels, str):
        raise TypeError(f"levels = {levels!r} is one word; give a tuple of columns: ({levels!r},).")
    names = tuple(levels)
    if not names:
        raise ValueError(
            "levels = () cannot be used; name at least one column, the outermost first."
        )
    for name in (value, *names):
        data_arguments.column(data, name, "value" if name is value else "levels")
    arguments.share("confidence", confidence)
    arguments.whole("draws", draws, least=1)
    # A row without a reading is no reading.
    data = data[np.isfinite(data[value].to_numpy(dtype=float))]
    if data.empty:
        raise CannotJudge("There is no reading in the study.")
    for name in names:
        if data[name].isna().any():
            raise CannotJudge(
                f"{int(data[name].isna().sum())} of {len(data)} readings name no {name}."
            )
    # Sums, and so all numbers, then do not depend on the order of the rows.
    words = data[list(names)].astype(str).assign(value=data[value].astype(float))
    words = words.sort_values([*names, "value"], ignore_index=True)
    values = words["value"].to_numpy()
    data_arguments.computable(values)
    if np.unique(values).size == 1:
        raise CannotJudge(
            f"All {values.size} readings are the same; the resolution hides whatever spread there is."
        )
    codes = [
        words.groupby(list(names[: depth + 1]), observed=True).ngroup().to_numpy()
        for depth in range(len(names))
    ]
    squares = nested_mean_squares(names, codes, values)
    sizes = [np.bincount(code) for code in codes]
    balanced = all((size == size[0]).all() for size in sizes)
    raw = dict(zip(squares.sources, squares.variances.tolist(), strict=True))
    negative = tuple(name for name, number in raw.items() if number < 0)
    by_squares = {name: max(number, 0.0) for name, number in raw.items()}
    fit = reml(values, dict(zip(names, codes, strict=True)), by_squares | {"residual": raw[ERROR]})
    by_likelihood = {name: fit.variance[name] for name in names}
    by_likelihood[ERROR] = fit.variance["residual"]
    estimate, other = (by_squares, by_likelihood) if balanced else (by_likelihood, by_squares)
    rng = generator(seed, "nested intervals")
    chi = np.stack([rng.chisquare(df, draws) for df in squares.df])
    drawn = squares.weights @ (squares.ss[:, None] / chi)
    sample = np.maximum(drawn, 0)
    # A sum of mean squares is a pivot; a sum of components each cut at zero is not.
    total_drawn = np.maximum(drawn.sum(axis=0), np.finfo(float).tiny)
    tails = ((1 - confidence) / 2, (1 + confidence) / 2)
    total = sum(estimate.values())
    components = {}
    for index, name in enumerate(squares.sources):
        variance = _interval(estimate[name], sample[index], tails, confidence)
        share = np.minimum(sample[index] / total_drawn, 1.0)
        components[name] = NestedComponent(
            variance=variance,
            sd=variance.mapped(math.sqrt),
            share_of_variance=_interval(estimate[name] / total, share, tails, confidence),
        )
    return NestedStudy(
        levels=names,
        components=components,
        anova=tuple(
            _row(squares, name, df, ss)
            for name, df, ss in zip(squares.sources, squares.df, squares.ss, strict=True)
        ),
        negative=negative,
        n=int(values.size),
        estimator="ANOVA" if balanced else "REML",
        other=other,
        unit=unit,
        cautions=_cautions(names[0], squares, negative, balanced),
    )


def _row(squares: MeanSquares, name: str, df: float, ss: float) -> AnovaRow:
    """Make one row of the table of variance; a level is tested against the one below it."""
    f, p = squares.f_test(name)[:2] if name != ERROR else (None, None)
    return AnovaRow(name, int(df), float(ss), float(ss / df), f, p)


def _interval(
    value: float, sample: NDArray[np.float64], tails: tuple[float, float], confidence: float
) -> Interval:
    low, high = np.quantile(sample, tails)
    value = float(value)
    return Interval(
        value, min(float(low), value), max(float(high), value), confidence, "generalized pivot"
    )


def nested_mean_squares(
    names: tuple[str, ...], codes: Sequence[NDArray[Any]], values: NDArray[np.float64]
) -> MeanSquares:
    """Compute sequential mean squares of nested readings, and what each of them expects.

    Parameters
    ----------
    names : tuple of str
        Levels, outermost first.
    codes : sequence of numpy.ndarray of int, each of shape (n,)
        Group of each reading at each level, numbered from 0.
    values : numpy.ndarray of float, shape (n,)

    Returns
    -------
    MeanSquares
        The last source is ``repeatability``.

    Raises
    ------
    CannotJudge
        A level with one group within each group above, no repeated reading, or no
        spread within groups.
    """
    centred = values - values.mean()
    above, groups_above = np.zeros_like(values), 1
    outer = [np.zeros(values.size, dtype=int), *codes]
    ss, df = [], []
    for name, code in zip(names, codes, strict=True):
        counts = np.bincount(code)
        means = (np.bincount(code, centred) / counts)[code]
        free = counts.size - groups_above
        if free < 1:
            raise CannotJudge(
                f"There is only one {name} within each group, so its spread is unknown."
            )
        ss.append(float(((means - above) ** 2).sum()))
        df.append(float(free))
        above, groups_above = means, counts.size
    free = values.size - groups_above
    if free < 1:
        raise CannotJudge(f"Each {names[-1]} was read once, so the spread within is unknown.")
    within = float(((centred - above) ** 2).sum())
    if within <= rounding_noise(values):
        raise CannotJudge(
            f"Readings within a group never differ in {groups_above} groups; the resolution hides their "
            "spread."
        )
    expected = np.eye(len(names) + 1)
    expected[:, -1] = 1.0
    for row in range(len(names)):
        for column in range(row, len(names)):
            inner = np.bincount(codes[column]).astype(float)
            # Sum over groups of the squared sizes of the groups within them, over their own size.
            first = np.zeros(inner.size, dtype=int)
            spread = []
            for level in (outer[row + 1], outer[row]):
                first[codes[column]] = level
                spread.append(float((inner**2 / np.bincount(level)[first]).sum()))
            expected[row, column] = (spread[0] - spread[1]) / df[row]
    return MeanSquares(
        (*names, ERROR), np.array([*ss, within]), np.array([*df, float(free)]), expected
    )


def _cautions(
    outermost: str, squares: MeanSquares, negative: tuple[str, ...], balanced: bool
) -> tuple[str, ...]:
    notes = [f"The estimate of {name} came out negative and is set to zero." for name in negative]
    if squares.df[0] < 9:
        notes.append(
            f"{int(squares.df[0]) + 1} groups of {outermost} say little about their spread."
        )
    if not balanced:
        notes.append(
            "Groups are of unequal size; components are estimated by restricted maximum likelihood "
            "and the intervals hold approximately."
        )
    return tuple(notes)
