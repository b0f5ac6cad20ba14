"""What drives a crossed study: the gauge's spread with each part, appraiser or reading left out.

Model: that of `grr_anova`. Each part and each appraiser is left out in turn and the rest estimated anew; of
the single readings, those farthest from their cell's other readings are. How far is judged by the
externally studentized residual within cells, with Bonferroni's allowance for having looked at all of
them (Cook & Weisberg, *Residuals and Influence in Regression*, 1982, ch. 2). Nothing is removed from the study
by this. Misleads where two odd readings hide each other, and in cells of two readings, where it can be
said that a cell is torn but not which of its readings is to blame.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Literal

import numpy as np
from numpy.typing import NDArray

from linestudy.gauges.grr.analysis import (
    NDC_FACTOR,
    POOL_ABOVE,
    estimate_of,
    grr_anova,
    mean_squares_of,
)
from linestudy.gauges.grr.design import Layout, lay_out
from linestudy.gauges.grr.finding import CrossedStudy
from linestudy.gauges.grr.intervals import sums_of
from linestudy.gauges.grr.mean_squares import pool
from linestudy.results import Absent, CannotJudge, Finding, Interval, arguments, show
from linestudy.results.declared import Declaration
from linestudy.results.rounding import show_in, with_unit
from linestudy.results.tables import Rows
from linestudy.running.threads import one_thread

if TYPE_CHECKING:
    import pandas as pd

#: Readings that are looked at one by one; the others lie nearer to their cells.
READINGS = 3


#: What is left out.
Kind = Literal["part", "appraiser", "factor", "reading"]


@dataclass(frozen=True, slots=True)
class WithoutOne:
    """The gauge's spread with one part, appraiser, level or reading left out.

    Attributes
    ----------
    kind : str
        ``part``, ``appraiser``, ``factor`` or ``reading``.
    name : str
        Which of them.
    grr_sd : float
        [unit of the readings] The gauge's standard deviation without it.
    change : float
        Relative change against the whole study. Formula: grr_sd / whole grr_sd - 1.
    ndc : float or None
        Number of distinct categories without it; None where no spread of the gauge is left.
    """

    kind: Kind
    name: str
    grr_sd: float
    change: float
    ndc: float | None

    def __str__(self) -> str:
        return f"{self.kind} {self.name}"


@dataclass(frozen=True, slots=True)
class Outlier:
    """A reading that lies far from the other readings of its cell.

    Attributes
    ----------
    name : str
        Levels of its cell, and the reading.
    value : float
        [unit of the readings] The reading.
    cell_mean : float
        [unit of the readings] Mean of the other readings of its cell.
    t : float
        Externally studentized residual within cells.
    p : float
        Of it, with Bonferroni's allowance for all readings.
    """

    name: str
    value: float
    cell_mean: float
    t: float
    p: float


@dataclass(frozen=True)
class InfluenceStudy(Finding):
    """The gauge's spread with one part, appraiser or reading left out.

    Attributes
    ----------
    grr_sd : Interval
        [unit of the readings] The gauge's standard deviation in the whole study.
    rows : tuple of WithoutOne
        Parts, appraisers and levels in their order, then single readings.
    outliers : tuple of Outlier
        Readings far from the others of their cell.
    unit : str
        Unit of the readings.
    """

    grr_sd: Interval
    rows: tuple[WithoutOne, ...]
    outliers: tuple[Outlier, ...]
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "What drives the gauge study"
    picture: ClassVar[str] = "gauge_error:influence_by_level"

    @property
    def largest(self) -> WithoutOne:
        """The row whose leaving changes the gauge's spread most."""
        return max(self.rows, key=lambda row: abs(row.change))

    @property
    def ordered(self) -> tuple[WithoutOne, ...]:
        """All rows, the largest change first."""
        return tuple(sorted(self.rows, key=lambda row: -abs(row.change)))

    @property
    def statement(self) -> str:
        row, known = self.largest, self.grr_sd.half_width or None
        inside = row.grr_sd in self.grr_sd
        text = (
            f"Most influential: {row}. Left out, the GRR standard deviation changes from "
            f"{show(self.grr_sd.estimate, known)} to {show_in(row.grr_sd, self.unit, known)} ({row.change:+.0%}), "
            f"{'within' if inside else 'outside'} the interval of the whole study"
        )
        if not self.outliers:
            return f"{text}; no single reading stands out from its cell."
        names = ", ".join(item.name for item in self.outliers)
        return f"{text}; standing out from the rest of their cells: {names}."

    def _rows(self) -> Rows:
        return [
            {
                "left out": str(row),
                with_unit("gauge's SD without it", self.unit): row.grr_sd,
                "change (%)": 100 * row.change,
                "categories without it": Absent("no spread left") if row.ndc is None else row.ndc,
            }
            for row in self.ordered[:12]
        ]

    def shown(self) -> pd.DataFrame:
        """Return the table as text: standard deviations as the whole study's is given, categories with a decimal.

        Returns
        -------
        pandas.DataFrame
        """
        table, known = super().shown(), self.grr_sd.half_width or None
        rows = self.ordered[:12]
        table.iloc[:, 1] = [show(row.grr_sd, known) for row in rows]
        table.iloc[:, 2] = [f"{100 * row.change:+.1f}" for row in rows]
        table.iloc[:, 3] = [
            "no spread left" if row.ndc is None else f"{row.ndc:.1f}" for row in rows
        ]
        return table


INFLUENCE = Declaration("gauges.{gauge}.influence", InfluenceStudy)


@one_thread()
def influence(
    data: pd.DataFrame,
    *,
    value: str = "value",
    part: str = "part",
    appraiser: str | None = "appraiser",
    trial: str | None = "trial",
    factor: str | None = None,
    whole: CrossedStudy | None = None,
    confidence: float = 0.95,
    seed: int | None = None,
    unit: str = "",
) -> InfluenceStudy:
    r"""Leave out each part, appraiser and odd reading of a crossed study in turn.

    Parameters
    ----------
    data : pandas.DataFrame
        One reading per row, in `unit`.
    value, part : str
        Columns of the readings and of the part.
    appraiser : str or None
        Column of the appraiser; None stands for an automatic gauge.
    trial : str or None
        Column of the trial; a column ``trial`` need not be there.
    factor : str, optional
        Column of a third crossed factor, as for `grr_anova`.
    whole : CrossedStudy, optional
        The study of all readings, if it is already there.
    confidence : float
        Of the whole study's interval; the test of single readings uses its complement.
    seed : int, optional
        Of the draws of the whole study's interval.
    unit : str
        Unit of the readings, for table, statement and picture.

    Returns
    -------
    InfluenceStudy
        The gauge's spread without each, and the readings that stand out.

    Raises
    ------
    CannotJudge
        Fewer than three parts, no spread of the gauge, or whatever stops `grr_anova`.
    ValueError
        A column that is not there, or an argument outside its range.

    See Also
    --------
    grr_anova : The study itself.

    Notes
    -----
    Model: that of `grr_anova`. A reading is judged by its externally studentized residual within cells,

    .. math:: t_i = \frac{e_i}{s_{(i)} \sqrt{1 - 1/n_{c(i)}}}

    with Bonferroni's allowance. Misleads where two odd readings hide each other, and in cells of two
    readings, where either may be the odd one. Nothing is removed from the study by this.

    References
    ----------
    Cook & Weisberg, *Residuals and Influence in Regression* (1982), ch. 2.

    Examples
    --------
    >>> import pandas as pd
    >>> data = pd.DataFrame({
    ...     "part": list("aaabbbccc"), "value": [1.0, 1.1, 1.0, 2.0, 2.1, 2.0, 3.1, 3.0, 9.0]})
    >>> found = influence(data, appraiser=None)
    >>> found.outliers[0].name, str(found.largest)
    ('c, 9.0', 'part c')
    """
    arguments.share("confidence", confidence)
    layout = lay_out(data, value, part, appraiser, trial, factor)
    if len(layout.levels["part"]) < 3:
        raise CannotJudge("With two parts none can be left out.")
    if whole is None:
        whole = grr_anova(
            data,
            value=value,
            part=part,
            appraiser=appraiser,
            trial=trial,
            factor=factor,
            confidence=confidence,
            seed=seed,
            unit=unit,
        )
    sd = whole.components["grr"].sd
    if sd.estimate == 0:
        raise CannotJudge(
            f"Repeated readings never differed ({layout.values.size} readings), and no spread between "
            "appraisers is seen, so nothing drives the gauge's spread."
        )
    order, t, p = _outlying(layout)
    found = _each_left_out(layout, order, sd)
    outliers = tuple(
        Outlier(
            _named(layout, row),
            float(layout.values[row]),
            _others(layout, row),
            float(t[row]),
            float(p[row]),
        )
        for row in _first_of_cell(order, layout)
        if p[row] < 1 - confidence
    )
    if not found:
        raise CannotJudge(
            "With any part, appraiser or reading left out nothing could be estimated."
        )
    return InfluenceStudy(sd, found, outliers, unit, _cautions(found, sd, outliers, layout))


def _each_left_out(layout: Layout, order: NDArray[np.int_], sd: Interval) -> tuple[WithoutOne, ...]:
    """Leave out each part, appraiser and level, and the readings farthest from their cells."""
    rows = []
    kinds: dict[str, Kind] = {"part": "part", "appraiser": "appraiser", "factor": "factor"}
    for at, factor in enumerate(layout.factors):
        least = 3 if factor == "part" else 2
        if len(layout.levels[factor]) < least:
            continue
        for code, name in enumerate(layout.levels[factor]):
            rows.append(_without(layout, layout.codes[:, at] != code, kinds[factor], name, sd))
    for row in order[:READINGS]:
        keep = np.arange(layout.values.size) != row
        rows.append(_without(layout, keep, "reading", _named(layout, row), sd))
    return tuple(row for row in rows if row is not None)


def _without(
    layout: Layout, keep: NDArray[np.bool_], kind: Kind, name: str, whole: Interval
) -> WithoutOne | None:
    """Estimate the rest; None where nothing is repeated in it."""
    rest = layout.kept(keep)
    if rest.counts.max() < 2 or (rest.values == rest.values[0]).all():
        return None
    try:
        used = pool(mean_squares_of(rest), POOL_ABOVE)[2]
        if "part" not in used.sources:
            return None
        sums = sums_of(estimate_of(rest, used)[0])
    except CannotJudge:
        # The effects can no longer be separated by what is left.
        return None
    sd = math.sqrt(sums["grr"])
    ndc = NDC_FACTOR * math.sqrt(sums["part"]) / sd if sd > 0 else None
    return WithoutOne(kind, name, sd, sd / whole.estimate - 1, ndc)


def _outlying(
    layout: Layout,
) -> tuple[NDArray[np.int_], NDArray[np.float64], NDArray[np.float64]]:
    """Order readings by how far they lie from their cell: order, studentized residual, Bonferroni p."""
    from scipy.special import stdtr

    counts = layout.counts.ravel()
    cell = layout.cells
    n = layout.values.size
    rest = layout.rest()
    df = n - int((counts > 0).sum())
    free = 1 - 1 / counts[cell]
    ss = float((rest**2).sum())
    gain = np.divide(rest**2, free, out=np.zeros(n), where=free > 0)
    # Without a reading the others' sum of squares falls by its own share.
    others = np.maximum(ss - gain, 0.0) / max(df - 1, 1)
    t = np.zeros(n)
    usable = (free > 0) & (others > 1e-12 * ss)
    t[usable] = rest[usable] / np.sqrt(others[usable] * free[usable])
    lone = (free > 0) & ~usable & (gain > 0)
    t[lone] = np.sign(rest[lone]) * np.inf
    looked = int((free > 0).sum())
    p = np.ones(n)
    if df > 1:
        p = np.minimum(1.0, 2 * looked * stdtr(df - 1, -np.abs(t)))
    # The two readings of a cell lie equally far from its mean; rounding must not rank them.
    rank = np.array([-float(f"{abs(distance):.9g}") for distance in t])
    return np.argsort(rank, kind="stable"), t, p


def _first_of_cell(order: NDArray[np.int_], layout: Layout) -> list[int]:
    """Keep the farthest reading of each cell: it makes its neighbours look odd too."""
    _, first = np.unique(layout.cells[order], return_index=True)
    return [int(order[at]) for at in np.sort(first)]


def _others(layout: Layout, row: int) -> float:
    same = layout.cells == layout.cells[row]
    same[row] = False
    return float(layout.values[same].mean())


def _named(layout: Layout, row: int) -> str:
    words = [layout.levels[name][layout.codes[row, at]] for at, name in enumerate(layout.factors)]
    return ", ".join([*words, str(layout.values[row])])


def _cautions(
    rows: tuple[WithoutOne, ...],
    whole: Interval,
    outliers: tuple[Outlier, ...],
    layout: Layout,
) -> tuple[str, ...]:
    notes = [
        f"Without {row} the gauge's spread would lie outside the interval of the whole study: the result "
        "rests on it."
        for row in rows
        if row.grr_sd not in whole
    ]
    if outliers:
        pair = layout.trials <= 2
        notes.append(
            "A reading that stands out is a reason to look at how it was taken, not a licence to drop it"
            + ("; with two readings in a cell either may be the odd one." if pair else ".")
        )
    return tuple(notes)
