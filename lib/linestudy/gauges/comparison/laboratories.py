"""Several laboratories, machines or gauges on the same parts: repeatability and reproducibility of a method.

Model, for each level (part) by itself: ``reading = mean + laboratory + error``, both random, independent and
normal; the error's variance is the repeatability variance, that of laboratory and error together the
reproducibility variance (ISO 5725-2:2019, 7). Screening: Mandel's h says how far the mean of a laboratory lies
from the others', Mandel's k how its spread compares with theirs; Cochran's test asks whether the largest
variance belongs to the others, Grubbs' whether the farthest mean does. A value beyond the 5 % level is a
straggler, beyond the 1 % level an outlier; neither is left out here, for a reading may only go for a
cause that somebody found.

Levels of tests: see `outlying_laboratories`. All levels together: the smallest p is multiplied by their number. Rounding makes means and
readings agree that are not the same, and heavy tails make variances differ; a laboratory is named only where it stands out with the
variance of rounding added, and Cochran's test with the degrees of freedom that the tails of the readings leave.

When it misleads: three or four laboratories say little about all; parts that change while they travel look
like laboratories; laboratories that share one calibration look better than they are.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from linestudy.gauges.comparison.laboratories_finding import LaboratoryStudy, Straggler
from linestudy.gauges.comparison.levels import (
    Level,
    cautions_over_parts,
    reaching,
    repeatability,
    reproducibility,
    sum_of,
)
from linestudy.gauges.comparison.outlying_laboratories import cochran_p, grubbs_p
from linestudy.gauges.grr.mean_squares import ERROR, MeanSquares
from linestudy.gauges.masters.reading_step import apparent_step
from linestudy.numerics.heavy_tails import variance_df
from linestudy.numerics.reml import rounding_noise
from linestudy.results import CannotJudge, Interval, arguments, counted, data_arguments
from linestudy.results.rounding import as_given

if TYPE_CHECKING:
    import pandas as pd


def interlaboratory(
    data: pd.DataFrame,
    *,
    value: str = "value",
    part: str = "part",
    laboratory: str = "laboratory",
    tolerance: float | None = None,
    confidence: float = 0.95,
    unit: str = "",
) -> LaboratoryStudy:
    r"""Analyse readings of the same parts in several laboratories.

    Parameters
    ----------
    data : pandas.DataFrame
        One reading per row, in `unit`; a row without a reading counts as none.
    value, part : str
        Columns of the readings and of the part (the level).
    laboratory : str
        Column of the laboratory, machine or gauge.
    tolerance : float, optional
        Width of the tolerance, in `unit`.
    confidence : float
        Of the intervals, between 0 and 1.
    unit : str
        Unit of the readings.

    Returns
    -------
    LaboratoryStudy
        Repeatability and reproducibility by level and pooled, and who stands out.

    Raises
    ------
    CannotJudge
        Fewer than three laboratories with a part in common, or none that read a part twice.
    ValueError
        A column that is not there, or an argument outside its range.

    See Also
    --------
    grr_anova : Appraisers with one gauge.
    method_comparison : Two gauges.

    Notes
    -----
    With p laboratories, cell means :math:`\bar y_i`, cell variances :math:`s_i^2` of n readings,

    .. math:: s_r^2 = \frac{\sum (n_i - 1) s_i^2}{\sum (n_i - 1)}, \qquad
        s_R^2 = s_r^2 + \frac{1}{\bar n}\left(\frac{\sum n_i (\bar y_i - \bar{\bar y})^2}{p - 1} - s_r^2\right)

    .. math:: h_i = \frac{\bar y_i - \bar{\bar y}}{\sqrt{\sum (\bar y_i - \bar{\bar y})^2 / (p - 1)}},
        \qquad k_i = \frac{s_i \sqrt p}{\sqrt{\sum s_i^2}}

    Intervals: chi-square for :math:`s_r`, modified large samples for :math:`s_R`; over all parts those of
    laboratories, of laboratories by part and of repeated readings, as a laboratory that is off may be so on
    all parts. Misleads where few laboratories stand for all.

    References
    ----------
    ISO 5725-2:2019, 7. Mandel, *Journal of Quality Technology* 17 (1985), 29-36. Cochran, *Annals of
    Eugenics* 11 (1941), 47-52. Grubbs, *Technometrics* 11 (1969), 1-21.

    Examples
    --------
    >>> import numpy as np, pandas as pd
    >>> rng = np.random.default_rng(1)
    >>> data = pd.DataFrame({"part": np.repeat(["a", "b"], 12), "laboratory": np.tile(list("ABCDEF"), 4)})
    >>> data["value"] = 5 + rng.normal(0, 0.1, 24)
    >>> found = interlaboratory(data, unit="mm")
    >>> found.laboratories
    ('A', 'B', 'C', 'D', 'E', 'F')
    """
    for name, argument in ((value, "value"), (part, "part"), (laboratory, "laboratory")):
        data_arguments.column(data, name, argument)
    data_arguments.width("tolerance", tolerance)
    arguments.share("confidence", confidence)
    cells = _cells(data, value, part, laboratory)
    names = tuple(sorted({name for level in cells.values() for name in level}))
    levels = [Level(name, found) for name, found in sorted(cells.items()) if len(found) >= 3]
    levels = [level for level in levels if level.free > 0]
    if not levels:
        raise CannotJudge(
            f"No part was read by three laboratories, one of them twice at least ({len(names)} laboratories, "
            f"{len(cells)} parts)."
        )
    values = np.concatenate([cell for level in cells.values() for cell in level.values()])
    step = apparent_step(values)
    if sum(level.inner.sum() for level in levels) <= rounding_noise(values):
        raise CannotJudge(
            f"Repeated readings never differed in {counted(sum(level.repeated for level in levels), 'cell')}; the "
            f"resolution{'' if step is None else f' of {as_given(step)}'} hides their spread."
        )
    # What rounding alone may hide.
    hidden = 0.0 if step is None else step / math.sqrt(12)
    shown = tuple(level.result(confidence, hidden) for level in levels)
    # Heavy tails of repeated readings leave fewer degrees of freedom.
    tails = _tails(cells, levels)
    stragglers = _stragglers(levels, hidden**2, tails)
    pooled = _pooled(levels).less_certain(tails)
    return LaboratoryStudy(
        laboratories=names,
        repeatability_sd=reaching(repeatability(pooled, confidence), hidden),
        reproducibility_sd=reaching(_over_parts(levels, pooled, confidence), hidden),
        levels=shown,
        stragglers=stragglers,
        follows_size_p=_follows_size(levels),
        tolerance=tolerance,
        unit=unit,
        cautions=cautions_over_parts(levels, len(names), len(cells), tails),
    )


def _cells(
    data: pd.DataFrame, value: str, part: str, laboratory: str
) -> dict[str, dict[str, NDArray[np.float64]]]:
    """Group readings by part and laboratory, each group sorted so that sums do not depend on the order of rows."""
    used = data[[value, part, laboratory]].dropna()
    cells: dict[str, dict[str, NDArray[np.float64]]] = {}
    for (level, who), readings in used.groupby([part, laboratory], sort=True)[value]:
        values = np.sort(readings.to_numpy(dtype=float))
        data_arguments.computable(values)
        cells.setdefault(str(level), {})[str(who)] = values
    return cells


def _tails(cells: dict[str, dict[str, NDArray[np.float64]]], levels: list[Level]) -> float:
    """Compute the share of the degrees of freedom of repeatability that heavy tails of repeated readings leave.

    Judged with every laboratory's spread made one: that one repeats worse than the others is no tail.
    """
    of_each: dict[str, list[NDArray[np.float64]]] = {}
    for level in levels:
        for name, cell in cells[level.name].items():
            if cell.size > 1:
                of_each.setdefault(name, []).append(cell - cell.mean())
    rest, sizes = [], []
    for own in of_each.values():
        together = np.concatenate(own)
        spread = math.sqrt(float((together**2).sum()) / (together.size - len(own)))
        if spread > 0:
            rest.append(together / spread)
            sizes += [one.size for one in own]
    counts = np.array(sizes)
    groups = np.repeat(np.arange(counts.size), counts)
    return variance_df(np.concatenate(rest), groups, counts) / float((counts - 1).sum())


def _pooled(levels: list[Level]) -> MeanSquares:
    """Pool all levels; a laboratory may differ from part to part."""
    each = [level.squares for level in levels]
    df = np.sum([squares.df for squares in each], axis=0)
    weight = float(sum(level.each * level.squares.df[0] for level in levels) / df[0])
    expected = np.array([[weight, 1.0], [0.0, 1.0]])
    return MeanSquares(
        ("laboratory", ERROR), np.sum([squares.ss for squares in each], axis=0), df, expected
    )


def _over_parts(levels: list[Level], pooled: MeanSquares, confidence: float) -> Interval:
    """Estimate reproducibility over all parts; a laboratory may be off on one part or on all.

    What the laboratories differ by on all parts has the degrees of freedom of laboratories, not those of
    laboratories times parts; the estimate is the same whatever the split.
    """
    off, rest = _off_and_rest(levels)
    if rest[1] < 1:
        return reproducibility(pooled, confidence)
    ss, df = (
        np.array([*both, last[-1]])
        for both, last in zip(zip(off, rest, strict=True), (pooled.ss, pooled.df), strict=True)
    )
    split = MeanSquares(("laboratory", "part:laboratory", ERROR), ss, df, np.eye(3))
    each = float(pooled.expected[0, 0]) * float(pooled.df[0])
    weights = np.array([off[1] / each, rest[1] / each, 1 - float(pooled.df[0]) / each])
    return sum_of(split, weights, pooled, confidence)


def _off_and_rest(levels: list[Level]) -> tuple[tuple[float, float], tuple[float, float]]:
    """Split laboratories' sum of squares and degrees of freedom into what all parts share and the rest."""
    names = sorted({name for level in levels for name in level.laboratories})
    rows = [(k, names.index(name)) for k, level in enumerate(levels) for name in level.laboratories]
    part, who = np.array(rows).T
    root = np.sqrt(np.concatenate([level.counts for level in levels]))
    columns = np.hstack([np.eye(len(levels))[part], np.eye(len(names))[who]])
    means = np.concatenate([level.means - level.mean for level in levels])
    solved, _, rank, _ = np.linalg.lstsq(columns * root[:, None], means * root, rcond=None)
    left = float((((means - columns @ solved) * root) ** 2).sum())
    whole = float(((means * root) ** 2).sum())
    free = float(len(rows) - rank)
    return (whole - left, len(rows) - len(levels) - free), (left, free)


@dataclass(frozen=True)
class _Test:
    kind: str
    laboratory: str
    p: float


def _tests(level: Level, rounding: float, tails: float) -> list[_Test]:
    found = []
    if level.counts.size >= 3 and np.ptp(level.means) > 0:
        h, spread = level.h, float(level.means.var(ddof=1))
        rounded = h * math.sqrt(spread / (spread + rounding * float((1 / level.counts).mean())))
        who = level.laboratories[int(np.abs(h).argmax())]
        found.append(_Test("mean", who, max(grubbs_p(h), grubbs_p(rounded))))
    repeated = level.counts > 1
    if repeated.sum() >= 3 and level.inner.sum() > 0:
        variances = level.inner[repeated] / (level.counts[repeated] - 1)
        # Unequal numbers of readings: by their harmonic mean.
        df = 1 / float((1 / (level.counts[repeated] - 1)).mean())
        who = np.array(level.laboratories)[repeated][int(variances.argmax())]
        p = max(cochran_p(variances, df), cochran_p(variances + rounding, tails * df))
        found.append(_Test("spread", str(who), p))
    return found


def _stragglers(levels: list[Level], rounding: float, tails: float) -> tuple[Straggler, ...]:
    """Name laboratories that stand out on a part, `rounding` being the variance that the step of the readings brings."""
    found = []
    for level in levels:
        for test in _tests(level, rounding, tails):
            p = min(1.0, test.p * len(levels))
            if p < 0.05:
                found.append(Straggler(level.name, test.laboratory, test.kind, p))
    return tuple(sorted(found, key=lambda one: (one.p, one.part, one.laboratory)))


def _follows_size(levels: list[Level]) -> float | None:
    """Compute p of the rank correlation of repeatability with the level's mean."""
    if len(levels) < 5:
        return None
    from scipy.stats import spearmanr

    means = [round(level.mean, 12) for level in levels]
    spreads = np.array([float(level.squares.ms[-1]) for level in levels])
    if np.ptp(means) == 0 or np.ptp(spreads) <= 1e-9 * spreads.max():
        return None
    return float(spearmanr(means, np.round(spreads / spreads.max(), 9)).pvalue)
