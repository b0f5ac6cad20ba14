"""What drives a crossed study: the gauge's spread with each part, appraiser or reading left out.

Model: that of `crossed`. Each part and each appraiser is left out in turn and the rest estimated anew; of
the single readings, those farthest from their cell's other readings are. How far is judged by the
externally studentized residual within cells, with Bonferroni's allowance for having looked at all of
them (Cook & Weisberg, *Residuals and Influence in Regression*, 1982, ch. 2). Nothing is removed from the study
by this. Misleads where two odd readings hide each other, and in cells of two readings, where it can be
said that a cell is torn but not which of its readings is to blame.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np
from numpy.typing import NDArray

from linestudy.gauges.grr.analysis import (
    NDC_FACTOR,
    POOL_ABOVE,
    crossed,
    estimate_of,
    mean_squares_of,
)
from linestudy.gauges.grr.design import Layout, lay_out
from linestudy.gauges.grr.finding import CrossedStudy
from linestudy.gauges.grr.intervals import sums_of
from linestudy.gauges.grr.mean_squares import pool
from linestudy.results import CannotJudge, Finding, Interval, show
from linestudy.results.declared import Declaration
from linestudy.threads import one_thread

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from linestudy.results.picture import Picture

#: Readings that are looked at one by one; the others lie nearer to their cells.
READINGS = 3


@dataclass(frozen=True)
class LeftOutStudy(Finding):
    """The gauge's spread with one part, appraiser or reading left out.

    Attributes
    ----------
    grr_sd : Interval
        Of the whole study, in the unit of the readings.
    rows : tuple of dict
        ``kind`` (part, appraiser, reading), ``name``, ``grr_sd`` without it, ``change`` (relative),
        ``ndc`` without it (None where it cannot be counted).
    odd : tuple of dict
        Readings that do not belong: ``name, value, cell_mean`` (of the other readings in its cell),
        ``t, p`` (Bonferroni).
    """

    grr_sd: Interval
    rows: tuple[dict[str, Any], ...]
    odd: tuple[dict[str, Any], ...]
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "What drives the gauge study"

    @property
    def largest(self) -> dict[str, Any]:
        """The row whose leaving changes the gauge's spread most."""
        return max(self.rows, key=lambda row: abs(row["change"]))

    @property
    def statement(self) -> str:
        row = self.largest
        inside = row["grr_sd"] in self.grr_sd
        text = (
            f"Leaving out {row['kind']} {row['name']} changes the gauge's standard deviation most, from "
            f"{show(self.grr_sd.estimate)} to {show(row['grr_sd'])} {self.unit} ({row['change']:+.0%}), "
            f"{'inside' if inside else 'outside'} the interval of the whole study"
        ).replace("  ", " ")
        if not self.odd:
            return f"{text}; no single reading stands out from its cell."
        names = ", ".join(item["name"] for item in self.odd)
        return f"{text}; standing out from the rest of their cells: {names}."

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        unit = f" ({self.unit})" if self.unit else ""
        ordered = sorted(self.rows, key=lambda row: -abs(row["change"]))[:12]
        return pd.DataFrame(
            {
                "left out": [f"{row['kind']} {row['name']}" for row in ordered],
                f"gauge's SD without it{unit}": [show(row["grr_sd"]) for row in ordered],
                "change": [f"{row['change']:+.1%}" for row in ordered],
                "categories without it": [
                    "not counted" if row["ndc"] is None else math.floor(row["ndc"])
                    for row in ordered
                ],
            }
        )

    def _draw(self, ax: Axes | None = None, **options: Any) -> Picture:
        from linestudy.figures.gauge_error import left_out

        return left_out(self.rows, self.grr_sd, self.unit, ax=ax)


LEFT_OUT = Declaration("gauges.{gauge}.left_out", LeftOutStudy, "What drives the gauge study")


@one_thread()
def left_out(
    data: pd.DataFrame,
    value: str = "value",
    part: str = "part",
    appraiser: str | None = "appraiser",
    trial: str | None = "trial",
    whole: CrossedStudy | None = None,
    confidence: float = 0.95,
    seed: int | None = None,
    unit: str = "",
    *,
    factor: str | None = None,
) -> LeftOutStudy:
    """See which part, appraiser or reading drives a crossed study.

    Parameters
    ----------
    data : pandas.DataFrame
        One reading per row.
    value, part, appraiser, trial : str
        Columns, as for `crossed`.
    whole : CrossedStudy, optional
        The study of all readings, if it is already there.
    confidence : float
        Of the whole study's interval; the test of single readings uses its complement.
    seed : int, optional
    unit : str
    factor : str, optional
        Column of a third crossed factor, as for `crossed`.

    Returns
    -------
    LeftOutStudy

    Raises
    ------
    CannotJudge
        Fewer than three parts, no spread of the gauge, or whatever stops `crossed`.

    Examples
    --------
    >>> import pandas as pd
    >>> data = pd.DataFrame({
    ...     "part": list("aaabbbccc"), "value": [1.0, 1.1, 1.0, 2.0, 2.1, 2.0, 3.1, 3.0, 9.0]})
    >>> left_out(data, appraiser=None).odd[0]["name"]
    'c, 9.0'
    """
    layout = lay_out(data, value, part, appraiser, trial, factor)
    if len(layout.levels["part"]) < 3:
        raise CannotJudge("With two parts none can be left out.")
    if whole is None:
        whole = crossed(
            data,
            value,
            part,
            appraiser,
            trial,
            factor,
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
    rows = _rows(layout, order, sd)
    found = tuple(row for row in rows if row)
    odd = tuple(
        {
            "name": _named(layout, row),
            "value": float(layout.values[row]),
            "cell_mean": _others(layout, row),
            "t": float(t[row]),
            "p": float(p[row]),
        }
        for row in _first_of_cell(order, layout)
        if p[row] < 1 - confidence
    )
    if not found:
        raise CannotJudge(
            "With any part, appraiser or reading left out nothing could be estimated."
        )
    return LeftOutStudy(sd, found, odd, unit, _cautions(found, sd, odd, layout))


def _rows(layout: Layout, order: Any, sd: Interval) -> list[dict[str, Any]]:
    """Each part, appraiser and level left out, and the readings farthest from their cells."""
    rows = []
    for at, kind in enumerate(layout.factors):
        least = 3 if kind == "part" else 2
        if len(layout.levels[kind]) < least:
            continue
        for code, name in enumerate(layout.levels[kind]):
            rows.append(_without(layout, layout.codes[:, at] != code, kind, name, sd))
    for row in order[:READINGS]:
        keep = np.arange(layout.values.size) != row
        rows.append(_without(layout, keep, "reading", _named(layout, row), sd))
    return rows


def _without(
    layout: Layout, keep: NDArray[np.bool_], kind: str, name: str, whole: Interval
) -> dict[str, Any]:
    """Point estimates of the rest; empty where nothing is repeated in it."""
    rest = layout.kept(keep)
    if rest.counts.max() < 2 or (rest.values == rest.values[0]).all():
        return {}
    try:
        used = pool(mean_squares_of(rest), POOL_ABOVE)[2]
        sums = sums_of(estimate_of(rest, used)[0])
    except CannotJudge:
        # What is left no longer tells the effects apart.
        return {}
    sd = math.sqrt(sums["grr"])
    return {
        "kind": kind,
        "name": name,
        "grr_sd": sd,
        "change": sd / whole.estimate - 1,
        "ndc": NDC_FACTOR * math.sqrt(sums["part"]) / sd if sd > 0 else None,
    }


def _outlying(layout: Layout) -> tuple[Any, Any, Any]:
    """Readings by how far they lie from their cell: order, studentized residual, Bonferroni p."""
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


def _first_of_cell(order: Any, layout: Layout) -> list[int]:
    """The farthest reading of each cell: it makes its neighbours look odd too."""
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
    rows: tuple[dict[str, Any], ...],
    whole: Interval,
    odd: tuple[dict[str, Any], ...],
    layout: Layout,
) -> tuple[str, ...]:
    notes = []
    beyond = [row for row in rows if row["grr_sd"] not in whole]
    for row in beyond:
        notes.append(
            f"Without {row['kind']} {row['name']} the gauge's spread would lie outside the interval "
            "of the whole study: the result rests on it."
        )
    if odd:
        pair = layout.trials <= 2
        notes.append(
            "A reading that stands out is a reason to look at how it was taken, not a licence to drop it"
            + ("; with two readings in a cell either may be the odd one." if pair else ".")
        )
    return tuple(notes)
