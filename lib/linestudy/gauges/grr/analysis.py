"""Crossed gauge study by analysis of variance: repeatability, reproducibility, parts.

Model: ``reading = mean + part + appraiser + part:appraiser + error``, all effects random,
independent and normal; an automatic gauge has no appraiser terms, and a third crossed factor
(fixture, station, day) brings its own terms. An interaction is pooled into the error where its test
gives p above a threshold (AIAG MSA, 4th ed., ch. III: 0.25).

When it misleads: parts that do not span the process make shares of the total spread and ndc
look bad (or good) without saying anything of the gauge; two or three appraisers know almost
nothing of the spread between appraisers, and the interval says so; readings rounded to a
coarse step hide repeatability; drift during the study hides in whichever effect follows it.

Where cells hold unequal numbers of readings, or none, every reading is kept: components are
estimated by restricted maximum likelihood and the finding says what is missing.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.gauges.arguments import check_between, check_choice
from linestudy.gauges.grr.design import Layout, equal_repeatability, lay_out
from linestudy.gauges.grr.finding import CrossedStudy, cautions_of
from linestudy.gauges.grr.intervals import Settings, called, components_of
from linestudy.gauges.grr.mean_squares import (
    ERROR,
    MeanSquares,
    balanced,
    pool,
    unbalanced,
)
from linestudy.gauges.masters.reading_step import apparent_step
from linestudy.numerics.reml import reml
from linestudy.results import CannotJudge

if TYPE_CHECKING:
    import pandas as pd

#: AIAG writes 1.41, not the square root of two, and truncates.
NDC_FACTOR = 1.41
#: AIAG pools an interaction whose test gives p above this.
POOL_ABOVE = 0.25


def crossed(
    data: pd.DataFrame,
    value: str = "value",
    part: str = "part",
    appraiser: str | None = "appraiser",
    trial: str | None = "trial",
    factor: str | None = None,
    tolerance: float | None = None,
    pool_above: float | None = POOL_ABOVE,
    spread: float = 6.0,
    confidence: float = 0.95,
    method: str = "pivotal",
    draws: int = 40_000,
    seed: int | None = None,
    unit: str = "",
) -> CrossedStudy:
    """Analyse a crossed gauge study.

    Parameters
    ----------
    data : pandas.DataFrame
        One reading per row; rows without a reading are left out of no other's cell.
    value, part, appraiser, trial : str
        Columns. None as appraiser stands for an automatic gauge; a column ``trial`` need not be there.
    factor : str, optional
        Column of a third crossed factor, such as fixture, station or day.
    tolerance : float, optional
        Width of the tolerance in the unit of the readings.
    pool_above : float or None
        An interaction is pooled where its p is above this; None never pools.
    spread : float
        Standard deviations that a spread counts (6, or 5.15 as older studies did).
    confidence : float
    method : {"pivotal", "mls"}
        Intervals by generalized pivotal quantities (all quantities) or by modified
        large samples (variances and standard deviations; the others stay pivotal).
    draws : int
        Draws of the pivotal quantities; 0 for modified large samples alone, without
        intervals of shares.
    seed : int, optional
    unit : str
        For the statement.

    Returns
    -------
    CrossedStudy

    Raises
    ------
    CannotJudge
        One part, no repeated readings, doubled readings, appraisers without shared parts, effects
        that the readings do not tell apart, all readings equal, or repeated readings that never differ
        where no step is seen either.
    ValueError
        A column that is not there, an unknown method, a tolerance that is not above zero.

    Notes
    -----
    Mean squares and pooling: AIAG MSA, 4th ed. (2010), ch. III. Intervals: Burdick,
    Borror & Montgomery (2005), ch. 3 and appendix B; Graybill & Wang, *JASA* 75 (1980).
    Unequal or empty cells: `linestudy.numerics.reml` and Henderson's method III.

    Examples
    --------
    >>> import pandas as pd
    >>> data = pd.DataFrame({
    ...     "part": list("aabbccdd"), "value": [1.0, 1.1, 2.0, 2.1, 3.1, 3.0, 4.0, 4.1]})
    >>> round(crossed(data, appraiser=None).components["repeatability"].sd.estimate, 4)
    0.0707
    """
    check_choice(method, ("pivotal", "mls"), "method")
    check_between(tolerance, "tolerance")
    check_between(spread, "spread")
    check_between(confidence, "confidence", 0.0, 1.0)
    check_between(draws, "draws", -1.0)
    layout = lay_out(data, value, part, appraiser, trial, factor)
    step = apparent_step(layout.values)
    settings = Settings(tolerance, spread, confidence, method, draws, seed, NDC_FACTOR, step)
    return _study(layout, mean_squares_of(layout), settings, pool_above, unit)


def mean_squares_of(layout: Layout) -> MeanSquares:
    """Mean squares of a layout, balanced or not.

    Parameters
    ----------
    layout : Layout

    Returns
    -------
    MeanSquares

    Raises
    ------
    CannotJudge
        A factor that the missing readings leave no degree of freedom.
    """
    if layout.balanced:
        return balanced(layout.readings()[None], layout.factors)[0]
    found = unbalanced(layout.values, layout.codes, layout.factors)
    for name in layout.factors:
        if len(layout.levels[name]) > 1 and name not in found.sources:
            others = [other for other in layout.factors if other != name]
            raise CannotJudge(
                f"Too few combinations of {', '.join(layout.factors)} were measured to tell the spread of "
                f"{name} from that of {' and '.join(others)} together."
            )
    return found


def estimate_of(layout: Layout, used: MeanSquares) -> tuple[dict[str, float], tuple[str, ...]]:
    """Variances of a crossed study, without intervals.

    Parameters
    ----------
    layout : Layout
    used : MeanSquares
        After pooling.

    Returns
    -------
    estimate : dict of str to float
        By source, negative ones as zero.
    negative : tuple of str
        Sources whose estimate from mean squares was negative.
    """
    raw = dict(zip(used.sources, used.variances.tolist(), strict=True))
    negative = tuple(called(name) for name, value in raw.items() if value < 0)
    if not layout.balanced:
        raw = _by_reml(layout, used.sources, raw)
    return {name: max(value, 0.0) for name, value in raw.items()}, negative


def crossed_stack(
    readings: Any,
    tolerances: Sequence[float | None],
    pool_above: float | None = POOL_ABOVE,
    spread: float = 6.0,
    confidence: float = 0.95,
    method: str = "pivotal",
    draws: int = 40_000,
    seed: int | None = None,
    unit: str = "",
) -> list[CrossedStudy]:
    """Analyse many balanced studies of one design in one pass.

    Parameters
    ----------
    readings : array_like of float, shape (studies, parts, appraisers, trials)
        One appraiser for an automatic gauge.
    tolerances : sequence of float or None, length studies
    pool_above, spread, confidence, method, draws, seed, unit
        As for `crossed`, the same for all.

    Returns
    -------
    list of CrossedStudy
        Each equal to what `crossed` gives for that study alone.

    Raises
    ------
    CannotJudge
        Fewer than two parts or trials, a reading that is missing, or a study whose readings are all
        the same.

    Examples
    --------
    >>> import numpy as np
    >>> readings = np.random.default_rng(1).normal(size=(12, 10, 3, 3))
    >>> len(crossed_stack(readings, [None] * 12, draws=1000))
    12
    """
    # In a cell the order of the readings says nothing; sums do not hang on it.
    cube = np.sort(np.asarray(readings, dtype=float), axis=-1)
    if cube.ndim != 4 or cube.shape[1] < 2 or cube.shape[3] < 2:
        raise CannotJudge("A stack of studies needs at least two parts and two trials in each.")
    if not np.isfinite(cube).all():
        raise CannotJudge(
            "A stack of studies needs every reading; give studies with gaps one by one."
        )
    flat = cube.reshape(len(cube), -1)
    if (flat == flat[:, :1]).all(axis=1).any():
        raise CannotJudge("All readings of a study are the same; the resolution hides its spread.")
    factors = ("part", "appraiser") if cube.shape[2] > 1 else ("part",)
    shape = cube.shape[1:3] if len(factors) == 2 else cube.shape[1:2]
    levels = {
        name: tuple(str(i + 1) for i in range(size))
        for name, size in zip(factors, shape, strict=True)
    }
    codes = np.indices((*shape, cube.shape[3])).reshape(len(shape) + 1, -1)[:-1].T
    counts = np.full(shape, cube.shape[3])
    stacked = cube.reshape((len(cube), *shape, cube.shape[3]))
    return [
        _study(
            Layout(factors, levels, codes, row, counts),
            squares,
            Settings(
                width, spread, confidence, method, draws, seed, NDC_FACTOR, apparent_step(row)
            ),
            pool_above,
            unit,
        )
        for row, squares, width in zip(flat, balanced(stacked, factors), tolerances, strict=True)
    ]


def _study(
    layout: Layout,
    full: MeanSquares,
    settings: Settings,
    pool_above: float | None,
    unit: str,
) -> CrossedStudy:
    if full.ss[-1] == 0 and settings.step == 0:
        repeated = int((layout.counts > 1).sum())
        raise CannotJudge(
            f"Repeated readings never differed in {repeated} cells, and the readings show no step that "
            "would say how large a spread is hidden."
        )
    anova, pooled, used = pool(full, pool_above)
    estimate, negative = estimate_of(layout, used)
    found, ndc = components_of(full, estimate, settings)
    equal = equal_repeatability(layout, settings.confidence)
    people = layout.levels.get("appraiser", ())
    design: dict[str, Any] = {
        "parts": len(layout.levels["part"]),
        "appraisers": len(people),
        "trials": layout.trials,
        "balanced": layout.balanced,
    }
    if layout.merged:
        design["merged"] = list(layout.merged)
    if "factor" in layout.levels:
        design["factor"] = list(layout.levels["factor"])
    return CrossedStudy(
        design=design,
        anova=anova,
        pooled_interaction="part:appraiser" in pooled,
        pooled=pooled,
        components=found,
        ndc=ndc,
        estimator="ANOVA" if layout.balanced else "REML",
        equal_repeatability=equal,
        negative=negative,
        tolerance=settings.tolerance,
        spread=settings.spread,
        unit=unit,
        cautions=cautions_of(layout, negative, found, equal, settings, full.sources),
        layout=layout,
    )


def _by_reml(layout: Layout, sources: tuple[str, ...], start: dict[str, float]) -> dict[str, float]:
    at = {name: i for i, name in enumerate(layout.factors)}
    effects = {}
    for source in sources[:-1]:
        columns = tuple(at[name] for name in source.split(":"))
        shape = tuple(layout.counts.shape[i] for i in columns)
        effects[source] = np.ravel_multi_index(tuple(layout.codes[:, columns].T), shape)
    guess = {name: start[name] for name in effects} | {"residual": start[ERROR]}
    fit = reml(layout.values, effects, guess)
    found = {name: fit.variance.get(name, 0.0) for name in effects}
    return found | {ERROR: fit.variance["residual"]}
