"""Destructive tests with several testers: what the test can be held to, although no specimen is tested twice.

Model, crossed (every tester tests specimens of every batch): ``force = batch + tester + batch x tester + rest``;
nested (every tester has batches of their own): ``force = tester + batch(tester) + rest``; all effects
random. The rest is specimen and test together, and no calculation separates them. So repeatability is known as
a bound alone: it is at most the rest; the testers' spread (reproducibility) is estimated as in a study
where parts can be read again, as long as batches are homogeneous, which is assumed and cannot be tested here. GRR
lies between the testers' spread and the root of testers' and rest's variance; both ends as one-sided confidence
bounds by modified large samples (Graybill & Wang, *JASA* 75 (1980), 869-873). Where the spread of neighbouring specimens is
known from elsewhere (a size that is read without destroying, a material that is cut from one piece) its variance
is taken off, and GRR has an interval.

When it misleads: a tester who got the better end of every batch looks like a tester who reads high; in a nested
design the effect of batches is separated from that of testers only by how batches differ within one tester.

Sources: AIAG MSA, 4th ed. (2010), ch. IV, section C (destructive systems); Gorman & Bower, *Six Sigma
Forum Magazine* 1 (2002), 16-19 (homogeneous batches; from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from linestudy.gauges.destructive.nested_study import nested_mean_squares
from linestudy.gauges.destructive.pile_up import ended_elsewhere
from linestudy.gauges.grr.analysis import mean_squares_of
from linestudy.gauges.grr.design import lay_out
from linestudy.gauges.grr.intervals import mls_intervals
from linestudy.gauges.grr.mean_squares import ERROR, MeanSquares
from linestudy.numerics.heavy_tails import variance_df
from linestudy.numerics.normal_intervals import sd_interval
from linestudy.results import (
    Absent,
    CannotJudge,
    Finding,
    Interval,
    Quantity,
    arguments,
    counted,
    data_arguments,
    show_in,
)
from linestudy.results.declared import Declaration
from linestudy.results.rounding import as_given, p_text
from linestudy.results.tables import Rows

if TYPE_CHECKING:
    import pandas as pd

#: Level at which batches are said to scatter unequally.
_SELDOM = 0.01


@dataclass(frozen=True)
class DestructiveGrr(Finding):
    """What a destructive test with several testers can be held to.

    Attributes
    ----------
    design : str
        ``"crossed"`` (testers share batches) or ``"nested"`` (each has their own).
    testers : int
        Number of testers.
    batches : int
        Number of batches.
    n : int
        Specimens.
    tester_sd : Interval
        [unit of the readings] Spread between testers, with their interaction with batches where it can be seen (AV).
    batch_sd : Interval
        [unit of the readings] Spread between batches.
    within_sd : Interval
        [unit of the readings] Spread of specimens of one batch by one tester: specimen and test together.
    grr_most : float
        [unit of the readings] Upper confidence bound of GRR as a standard deviation. Formula: √(tester² + within²).
    grr_least : float
        [unit of the readings] Lower confidence bound of GRR: what testers alone bring.
    grr_sd : Interval or Absent
        [unit of the readings] GRR, where the specimens' own spread is known.
    share_most : float or Absent
        Formula: 6 grr_most / tolerance.
    share_of_tolerance : Interval or Absent
        Formula: 6 grr_sd / tolerance.
    specimen_sd : float or None
        [unit of the readings] Spread of neighbouring specimens, as declared.
    unit : str
        Unit of the readings.
    """

    design: str
    testers: int
    batches: int
    n: int
    tester_sd: Interval
    batch_sd: Interval
    within_sd: Interval
    grr_most: float
    grr_least: float
    grr_sd: Interval | Absent
    share_most: float | Absent
    share_of_tolerance: Interval | Absent
    specimen_sd: float | None
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Destructive test with several testers"
    picture: ClassVar[str] = "gauge_error:destructive_spreads"

    @property
    def statement(self) -> str:
        confidence = f"{100 * self.tester_sd.confidence:g} %"
        head = f"{counted(self.n, 'specimen')} of {counted(self.batches, 'batch')} by {counted(self.testers, 'tester')}"
        if isinstance(self.grr_sd, Interval):
            share = ""
            if isinstance(self.share_of_tolerance, Interval):
                share = f"%GRR {show_in(self.share_of_tolerance.times(100), '%')} of tolerance, "
            return f"{head}: {share}GRR (SD) {show_in(self.grr_sd, self.unit)}, the specimens' own spread taken off."
        share = ""
        if isinstance(self.share_most, float):
            percent = 100 * self.share_most
            share = f" ({percent:,.{0 if percent >= 10 else 1}f} % of tolerance)"
        low, high = (
            show_in(value, self.unit, self.within_sd.half_width)
            for value in (self.grr_least, self.grr_most)
        )
        return (
            f"{head}: GRR (SD) between {low} and {high}{share}, each a {confidence} bound; the upper one holds the "
            "spread of specimens, which a destructive test cannot separate."
        )

    def _rows(self) -> Rows:
        unit = self.unit
        rows = [
            Quantity("AV (testers), SD", self.tester_sd, unit),
            Quantity("batches, SD", self.batch_sd, unit),
            Quantity("specimen and test together, SD", self.within_sd, unit),
            Quantity("GRR at least, SD", self.grr_least, unit),
            Quantity("GRR at most, SD", self.grr_most, unit),
        ]
        if isinstance(self.grr_sd, Interval):
            rows.append(Quantity("GRR, SD", self.grr_sd, unit))
        return rows


DESTRUCTIVE = Declaration(
    "gauges.{gauge}.destructive",
    DestructiveGrr,
    part="characteristic",
    question="measurement",
    order=21,
    picture=54,
    with_table=True,
)


def destructive_grr(
    data: pd.DataFrame,
    *,
    batch: str = "batch",
    appraiser: str = "appraiser",
    value: str = "value",
    nested: bool | None = None,
    tolerance: float | None = None,
    specimen_sd: float | None = None,
    confidence: float = 0.95,
    unit: str = "",
) -> DestructiveGrr:
    r"""Analyse a destructive test in which several testers test specimens of several batches.

    Parameters
    ----------
    data : pandas.DataFrame
        One destroyed specimen per row, in `unit`; a row without a reading counts as none.
    batch : str
        Column of the batch; within one, specimens are taken as alike.
    appraiser : str
        Column of the tester.
    value : str
        Column of the readings.
    nested : bool, optional
        Whether each tester has batches of their own; seen from the names of the batches when absent.
    tolerance : float, optional
        Width of the tolerance, in `unit`.
    specimen_sd : float, optional
        Standard deviation of neighbouring specimens, in `unit`, as known from elsewhere.
    confidence : float
        Of intervals and one-sided bounds, between 0 and 1.
    unit : str
        Unit of the readings.

    Returns
    -------
    DestructiveGrr
        Spread of testers, batches and the rest, bounds of GRR, and GRR where specimens' spread is known.

    Raises
    ------
    CannotJudge
        One tester or batch, no batch of which a tester tested two specimens, or specimens spread more than
        the rest.
    ValueError
        A column that is not there, or an argument outside its range.

    See Also
    --------
    nested_components : Batches alone, one tester.
    strength_assurance : What a size that is read without destroying says of the strength.

    Notes
    -----
    .. math:: \sigma_T^2 \le \sigma_{GRR}^2 = \sigma_T^2 + \sigma_{EV}^2 \le \sigma_T^2 + \sigma_{rest}^2

    since the rest is specimen and test. Misleads where batches are not homogeneous and testers did not draw
    from them at random.

    References
    ----------
    AIAG MSA, 4th ed. (2010), ch. IV, section C. Graybill & Wang, *JASA* 75 (1980), 869-873.

    Examples
    --------
    >>> import numpy as np, pandas as pd
    >>> rng = np.random.default_rng(1)
    >>> batch, tester = np.repeat(np.arange(6), 12), np.tile(np.repeat(list("ABCD"), 3), 6)
    >>> data = pd.DataFrame({"batch": batch, "appraiser": tester, "value": 80 + batch + rng.normal(0, 2, 72)})
    >>> found = destructive_grr(data, tolerance=60.0, unit="N")
    >>> found.design, round(found.share_most, 2)
    ('crossed', 0.24)
    """
    for name, argument in ((batch, "batch"), (appraiser, "appraiser"), (value, "value")):
        data_arguments.column(data, name, argument)
    data_arguments.width("tolerance", tolerance)
    arguments.share("confidence", confidence)
    if specimen_sd is not None and not 0 <= specimen_sd < math.inf:
        raise ValueError(f"specimen_sd = {specimen_sd:g}: it must be a number from 0 on.")
    read = data[np.isfinite(data[value].to_numpy(dtype=float))]
    table = read[[batch, appraiser]].astype(str)
    table = table.set_axis(["batch", "appraiser"], axis=1).assign(value=read[value].astype(float))
    # Sums, and so all numbers, then do not depend on the order of the rows.
    table = table.sort_values(["appraiser", "batch", "value"], ignore_index=True)
    data_arguments.computable(table["value"].to_numpy())
    if table["appraiser"].nunique() < 2:
        raise CannotJudge("One tester tested, so nothing is known of what testers differ by.")
    if nested is None:
        nested = not (table.groupby("batch")["appraiser"].nunique() > 1).any()
    squares = _nested(table) if nested else _crossed(table)
    return _found(squares, table, nested, tolerance, specimen_sd, confidence, unit)


def _crossed(table: pd.DataFrame) -> MeanSquares:
    layout = lay_out(table, "value", "batch", "appraiser", None, None)
    if table["batch"].nunique() < 2:
        raise CannotJudge("One batch was tested, so nothing is known of what batches differ by.")
    return mean_squares_of(layout)


def _nested(table: pd.DataFrame) -> MeanSquares:
    codes = [
        table.groupby(keys).ngroup().to_numpy() for keys in (["appraiser"], ["appraiser", "batch"])
    ]
    return nested_mean_squares(("appraiser", "batch"), codes, table["value"].to_numpy())


def _found(
    squares: MeanSquares,
    table: pd.DataFrame,
    nested: bool,
    tolerance: float | None,
    specimen_sd: float | None,
    confidence: float,
    unit: str,
) -> DestructiveGrr:
    cell = table.groupby(["appraiser", "batch"])
    groups = cell.ngroup().to_numpy()
    rest = (table["value"] - cell["value"].transform("mean")).to_numpy()
    df = variance_df(rest, groups.astype(int), np.bincount(groups).astype(int))
    squares = squares.less_certain(df / float(squares.df[-1]))
    of = dict(zip(squares.sources, squares.weights, strict=True))
    batches = ("batch",) if nested else ("part",)
    testers = sum(of[name] for name in squares.sources if name not in (*batches, ERROR))
    system = testers + of[ERROR]
    bound = 2 * confidence - 1
    ends = mls_intervals(squares, np.stack([testers, system]), bound)
    within = sd_interval(math.sqrt(float(squares.ms[-1])), float(squares.df[-1]), confidence)
    best = {name: max(float(row @ squares.ms), 0.0) for name, row in of.items()}
    tester = sum(v for name, v in best.items() if name not in (*batches, ERROR))
    grr: Interval | Absent = Absent("the spread of specimens is not known")
    if specimen_sd is not None:
        # Beyond chance: what was declared belongs to other specimens.
        if specimen_sd > sd_interval(within.estimate, float(squares.df[-1]), 0.999).high:
            raise CannotJudge(
                f"Specimens are said to spread by {as_given(specimen_sd)} {unit}".rstrip()
                + f", more than specimen and test together ({show_in(within, unit)})."
            )
        sides = mls_intervals(squares, system[None], confidence)[:, 0] - specimen_sd**2
        middle = max(tester + best[ERROR] - specimen_sd**2, 0.0)
        grr = _sd(middle, sides, confidence)
    most = math.sqrt(max(float(ends[1, 1]), tester + best[ERROR]))
    share = Absent("there is no width of tolerance")
    return DestructiveGrr(
        design="nested" if nested else "crossed",
        testers=table["appraiser"].nunique(),
        batches=len(cell) if nested else table["batch"].nunique(),
        n=len(table),
        tester_sd=_sd(tester, mls_intervals(squares, testers[None], confidence)[:, 0], confidence),
        batch_sd=_sd(
            best[batches[0]],
            mls_intervals(squares, of[batches[0]][None], confidence)[:, 0],
            confidence,
        ),
        within_sd=within,
        grr_most=most,
        grr_least=math.sqrt(max(float(ends[0, 0]), 0.0)),
        grr_sd=grr,
        share_most=share if tolerance is None else 6 * most / tolerance,
        share_of_tolerance=share
        if tolerance is None
        else grr.times(6 / tolerance)
        if isinstance(grr, Interval)
        else grr,
        specimen_sd=specimen_sd,
        unit=unit,
        cautions=(
            *_cautions(nested, table["appraiser"].nunique(), specimen_sd),
            *ended_elsewhere(table["value"].to_numpy()),
            *_uneven(table, groups.astype(int), rest, unit),
        ),
    )


def _uneven(table: pd.DataFrame, groups: np.ndarray, rest: np.ndarray, unit: str) -> list[str]:
    """Say where batches do not scatter alike (Bartlett's test, allowing for the tails that all show)."""
    from scipy.special import chdtrc

    batches, at = np.unique(table["batch"], return_inverse=True)
    squares = np.bincount(at, rest**2)
    cells = table.groupby("batch")["appraiser"].nunique().reindex(batches).to_numpy()
    free = np.bincount(at) - cells
    use = free > 2
    if use.sum() < 2 or squares[use].min() <= 0:
        return []
    variance, free = squares[use] / free[use], free[use].astype(float)
    total, k = float(free.sum()), int(use.sum())
    statistic = total * math.log(float(free @ variance) / total) - float(free @ np.log(variance))
    statistic /= 1 + (float((1 / free).sum()) - 1 / total) / (3 * (k - 1))
    # Tails are judged with every batch's spread made one; else a difference would pass for tails.
    spread = np.full(batches.size, np.inf)
    spread[use] = np.sqrt(variance)
    sizes = np.bincount(groups)
    df = variance_df(rest / spread[at], groups, sizes) / float(np.maximum(sizes - 1, 0).sum())
    p = float(chdtrc(k - 1, max(statistic * df, 0.0)))
    if p >= _SELDOM:
        return []
    low, high = math.sqrt(variance.min()), math.sqrt(variance.max())
    return [
        f"Specimens of some batches scatter more than those of others (SD {show_in(low, unit)} to {show_in(high, unit)}, {p_text(p)}): batches "
        "are not equally homogeneous, and the spread that is taken for the test's is that of the worse ones."
    ]


def _sd(variance: float, ends: np.ndarray, confidence: float) -> Interval:
    """Turn the interval of a variance into that of a standard deviation; an end below nought is nought."""
    low, high = (math.sqrt(max(float(end), 0.0)) for end in ends)
    best = math.sqrt(variance)
    return Interval(best, min(low, best), max(high, best), confidence, "modified large sample")


def _cautions(nested: bool, testers: int, specimen_sd: float | None) -> tuple[str, ...]:
    notes = [
        "Batches are taken as homogeneous: whatever specimens of one batch differ by counts as the test's."
    ]
    if nested:
        notes.append(
            "Each tester had batches of their own, so testers are told from batches only by how batches of one "
            "tester differ; let testers share batches."
        )
    if testers < 4:
        notes.append(f"{testers} testers say little about testers in general.")
    if specimen_sd is not None:
        notes.append(
            "The spread of specimens is declared and taken off without an uncertainty of its own."
        )
    return tuple(notes)
