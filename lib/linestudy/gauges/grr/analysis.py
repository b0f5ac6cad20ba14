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
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import ArrayLike

from linestudy.gauges.grr.assumptions import (
    ALIKE,
    EqualRepeatability,
    equal_repeatability,
    size_effect,
    trial_effect,
)
from linestudy.gauges.grr.design import Layout, lay_out
from linestudy.gauges.grr.exchanged import exchanged_parts
from linestudy.gauges.grr.finding import CrossedStudy, GrrDesign, cautions_of
from linestudy.gauges.grr.intervals import Settings, called, components_of
from linestudy.gauges.grr.mean_squares import (
    ERROR,
    MeanSquares,
    balanced,
    pool,
    unbalanced,
)
from linestudy.gauges.grr.own_scales import own_scales
from linestudy.gauges.masters.reading_step import apparent_step
from linestudy.numerics.reml import reml
from linestudy.results import CannotJudge, arguments, data_arguments
from linestudy.running.deprecation import old_keywords, renamed

if TYPE_CHECKING:
    import pandas as pd

#: AIAG writes 1.41, not the square root of two, and truncates.
NDC_FACTOR = 1.41
#: AIAG pools an interaction whose test gives p above this.
POOL_ABOVE = 0.25


#: How intervals are formed.
IntervalMethod = Literal["pivotal", "mls"]

_OLD_SPREAD = renamed("spread", "sigma_multiplier", since="0.2.0", removal="0.3.0")


@old_keywords(_OLD_SPREAD)
def grr_anova(
    data: pd.DataFrame,
    *,
    value: str = "value",
    part: str = "part",
    appraiser: str | None = "appraiser",
    trial: str | None = "trial",
    factor: str | None = None,
    tolerance: float | None = None,
    pool_above: float | None = POOL_ABOVE,
    sigma_multiplier: float = 6.0,
    confidence: float = 0.95,
    method: IntervalMethod = "pivotal",
    draws: int = 40_000,
    seed: int | None = None,
    unit: str = "",
) -> CrossedStudy:
    r"""Analyse a crossed gauge study (gauge R&R) by analysis of variance.

    Parameters
    ----------
    data : pandas.DataFrame
        One reading per row, in `unit`; a row without a reading counts as none.
    value, part : str
        Columns of the readings and of the part.
    appraiser : str or None
        Column of the appraiser; None stands for an automatic gauge.
    trial : str or None
        Column of the trial, by which readings entered twice are found; a column ``trial`` need not be
        there.
    factor : str, optional
        Column of a third crossed factor, such as fixture, station or day.
    tolerance : float, optional
        Width of the tolerance, in `unit`.
    pool_above : float or None
        An interaction is pooled where its p is above this; None never pools.
    sigma_multiplier : float
        Standard deviations that a spread counts (6, or 5.15 as older studies did).
    confidence : float
        Of the intervals, between 0 and 1.
    method : {"pivotal", "mls"}
        Intervals by generalized pivotal quantities (all quantities) or by modified
        large samples (variances and standard deviations; the others stay pivotal).
    draws : int
        Draws of the pivotal quantities; 0 for modified large samples alone, without
        intervals of shares.
    seed : int, optional
        Of the draws; the kit's own when absent, so that a second call gives the same numbers.
    unit : str
        Unit of the readings, for table, statement and picture.

    Returns
    -------
    CrossedStudy
        Variance components with intervals, shares, ndc and the table of variance.

    Raises
    ------
    CannotJudge
        One part, no repeated readings, doubled readings, appraisers without shared parts, effects
        that the readings cannot separate, all readings equal, or repeated readings that never differ
        where no step is seen either.
    ValueError
        A column that is not there, an unknown method, a tolerance that is not above zero.

    See Also
    --------
    grr_anova_stack : Many balanced studies of one design in one pass.
    average_and_range : The same study by averages and ranges.
    influence : Which part, appraiser or reading drives the result.

    Notes
    -----
    Model: all effects random, independent and normal,

    .. math:: y_{ijk} = \mu + P_i + A_j + (PA)_{ij} + \varepsilon_{ijk}

    Mean squares and pooling: AIAG. Intervals start from the mean squares before anything was pooled.
    Unequal or empty cells: restricted maximum likelihood, and Henderson's method III for the
    intervals. Misleads where parts do not span the process, where two or three appraisers stand for
    all, and where readings are rounded to a coarse step.

    References
    ----------
    AIAG MSA, 4th ed. (2010), ch. III. Burdick, Borror & Montgomery (2005), *Design and Analysis of
    Gauge R&R Studies*, ch. 3 and appendix B. Graybill & Wang, *JASA* 75 (1980), 869-873.

    Examples
    --------
    >>> import pandas as pd
    >>> data = pd.DataFrame({
    ...     "part": list("aabbccdd"), "value": [1.0, 1.1, 2.0, 2.1, 3.1, 3.0, 4.0, 4.1]})
    >>> found = grr_anova(data, appraiser=None, unit="mm")
    >>> found.shown()[["source", "SD (mm)"]].head(1)
                   source                 SD (mm)
    0  EV (repeatability)  0.071 (0.042 to 0.203)
    """
    arguments.one_of("method", method, ("pivotal", "mls"))
    data_arguments.width("tolerance", tolerance)
    _check(pool_above, sigma_multiplier, confidence, draws)
    layout = lay_out(data, value, part, appraiser, trial, factor)
    step = apparent_step(layout.values)
    settings = Settings(
        tolerance, sigma_multiplier, confidence, method, draws, seed, NDC_FACTOR, step
    )
    return _study(layout, mean_squares_of(layout), settings, pool_above, unit)


def mean_squares_of(layout: Layout) -> MeanSquares:
    """Compute mean squares of a layout, balanced or not.

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
                f"Too few combinations of {', '.join(layout.factors)} were measured to separate the spread "
                f"of {name} from that of {' and '.join(others)} together."
            )
    return found


def estimate_of(layout: Layout, used: MeanSquares) -> tuple[dict[str, float], tuple[str, ...]]:
    """Estimate the variances of a crossed study, without intervals.

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


@old_keywords(_OLD_SPREAD)
def grr_anova_stack(
    readings: ArrayLike,
    tolerances: Sequence[float | None],
    *,
    pool_above: float | None = POOL_ABOVE,
    sigma_multiplier: float = 6.0,
    confidence: float = 0.95,
    method: IntervalMethod = "pivotal",
    draws: int = 40_000,
    seed: int | None = None,
    unit: str = "",
) -> list[CrossedStudy]:
    """Analyse many balanced crossed studies of one design in one pass.

    Parameters
    ----------
    readings : array_like of float, shape (studies, parts, appraisers, trials)
        In `unit`; one appraiser for an automatic gauge.
    tolerances : sequence of float or None, length studies
        Width of each study's tolerance, in `unit`.
    pool_above : float or None
        An interaction is pooled where its p is above this; None never pools.
    sigma_multiplier : float
        Standard deviations that a spread counts.
    confidence : float
        Of the intervals, between 0 and 1.
    method : {"pivotal", "mls"}
        As for :func:`grr_anova`.
    draws : int
        Draws of the pivotal quantities.
    seed : int, optional
        Of the draws.
    unit : str
        Unit of the readings.

    Returns
    -------
    list of CrossedStudy
        Each equal to what `grr_anova` gives for that study alone.

    Raises
    ------
    CannotJudge
        Fewer than two parts or trials, a reading that is missing, or a study whose readings are all
        the same.
    ValueError
        An array of another shape, or an argument outside its range.

    See Also
    --------
    grr_anova : One study, with model and formulas.

    Notes
    -----
    The model is that of :func:`grr_anova`; the mean squares of all studies are formed by one transform.

    References
    ----------
    AIAG MSA, 4th ed. (2010), ch. III.

    Examples
    --------
    >>> import numpy as np
    >>> readings = np.random.default_rng(1).normal(size=(12, 10, 3, 3))
    >>> len(grr_anova_stack(readings, [None] * 12, draws=1000))
    12
    """
    arguments.one_of("method", method, ("pivotal", "mls"))
    _check(pool_above, sigma_multiplier, confidence, draws)
    # In a cell the order of the readings says nothing; sums do not depend on it.
    cube = np.sort(data_arguments.numbers(readings, 4, name="readings"), axis=-1)
    arguments.same_length(readings=cube, tolerances=tolerances)
    for width in tolerances:
        data_arguments.width("tolerances", width)
    if cube.shape[1] < 2 or cube.shape[3] < 2:
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
                width,
                sigma_multiplier,
                confidence,
                method,
                draws,
                seed,
                NDC_FACTOR,
                apparent_step(row),
            ),
            pool_above,
            unit,
        )
        for row, squares, width in zip(flat, balanced(stacked, factors), tolerances, strict=True)
    ]


def _check(
    pool_above: float | None, sigma_multiplier: float, confidence: float, draws: int
) -> None:
    if pool_above is not None:
        arguments.number("pool_above", pool_above, least=0, most=1)
    arguments.number("sigma_multiplier", sigma_multiplier, above=0)
    arguments.share("confidence", confidence)
    arguments.whole("draws", draws, least=0)


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
    found, ndc = components_of(full.less_certain(layout.tail_factor), estimate, settings)
    equal = equal_repeatability(layout, settings.confidence)
    moved, size = trial_effect(layout, equal), size_effect(layout)
    people = layout.levels.get("appraiser", ())
    design = GrrDesign(
        parts=len(layout.levels["part"]),
        appraisers=len(people),
        trials=layout.trials,
        balanced=layout.balanced,
        merged=layout.merged,
        factor=layout.levels.get("factor"),
    )
    return CrossedStudy(
        design=design,
        anova=anova,
        pooled_interaction="part:appraiser" in pooled,
        pooled=pooled,
        components=found,
        ndc=ndc,
        estimator="ANOVA" if layout.balanced else "REML",
        equal_repeatability=equal,
        trial_effect=moved,
        size_effect=size,
        tail_factor=layout.tail_factor,
        negative=negative,
        tolerance=settings.tolerance,
        sigma_multiplier=settings.sigma_multiplier,
        unit=unit,
        cautions=cautions_of(
            layout,
            negative,
            found,
            equal,
            moved,
            size,
            _likeness(layout, equal),
            anova,
            settings,
            full.sources,
            unit,
        ),
        layout=layout,
    )


def _likeness(layout: Layout, equal: EqualRepeatability | None) -> tuple[str, ...]:
    """Say whose parts stand in another order, and who reads on a scale of their own."""
    alike = equal is None or equal.p >= ALIKE
    exchanged = exchanged_parts(layout, alike=alike)
    return (*((exchanged,) if exchanged else ()), *own_scales(layout, alike=alike))


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
