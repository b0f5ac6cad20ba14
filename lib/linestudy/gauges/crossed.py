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

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.core import CannotJudge, Finding, Interval, plain, show
from linestudy.core.interval import Absent
from linestudy.core.reml import reml
from linestudy.gauges.components import Component, Settings, called, components_of, percent
from linestudy.gauges.crossed_design import Layout, lay_out
from linestudy.gauges.equal_repeatability import equal_repeatability
from linestudy.gauges.mean_squares import ERROR, MeanSquares, balanced, unbalanced
from linestudy.gauges.pooling import pool
from linestudy.workers import one_thread

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure

#: AIAG writes 1.41, not the square root of two, and truncates.
NDC_FACTOR = 1.41
#: AIAG pools an interaction whose test gives p above this.
POOL_ABOVE = 0.25


@dataclass(frozen=True)
class CrossedStudy(Finding):
    """Result of a crossed gauge study.

    Attributes
    ----------
    design : dict
        ``parts, appraisers, trials, balanced``, and ``factor`` (its levels) where there is one;
        trials is the harmonic mean where unbalanced.
    anova : tuple of dict
        Rows ``source, df, ss, ms, f, p``.
    pooled_interaction : bool
        Whether the interaction of part and appraiser went into repeatability.
    pooled : tuple of str
        Every interaction that did.
    components : dict of str to Component
        repeatability, appraiser, interaction, reproducibility, grr, part, total; a third factor
        adds ``factor`` and its interactions before reproducibility.
    ndc : Interval or Absent
        Number of distinct categories, not rounded down.
    estimator : {"ANOVA", "REML"}
    equal_repeatability : dict or None
        Test that all appraisers repeat equally well: ``statistic, df, p`` and ``sd``, an Interval
        for each appraiser; None without two appraisers.
    negative : tuple of str
        Components whose estimate was negative and is set to zero.
    tolerance : float or None
        Width that shares of tolerance refer to, in the unit of the readings.
    spread : float
        How many standard deviations a spread counts, 6 unless stated.
    """

    design: dict[str, Any]
    anova: tuple[dict[str, Any], ...]
    pooled_interaction: bool
    pooled: tuple[str, ...]
    components: dict[str, Component]
    ndc: Interval | Absent
    estimator: str
    equal_repeatability: dict[str, Any] | None
    negative: tuple[str, ...]
    tolerance: float | None
    spread: float
    unit: str
    cautions: tuple[str, ...]
    layout: Layout = field(repr=False, compare=False)
    title: ClassVar[str] = "Crossed gauge study"

    @property
    def statement(self) -> str:
        grr = self.components["grr"]
        share = grr.share_of_tolerance
        if isinstance(share, Interval):
            of = f"{percent(share)} of the tolerance"
        else:
            of = f"{percent(grr.share_of_sd)} of the total spread"
        first = (
            f"The gauge's own spread (standard deviation {show(grr.sd)} {self.unit}) takes up {of}"
        )
        return f"{first}; {self._categories}.".replace("  ", " ")

    @property
    def _categories(self) -> str:
        if isinstance(self.ndc, Absent):
            return "how many categories of parts it tells apart was not asked for"
        if math.isinf(self.ndc.estimate):
            return "no spread of its own was seen, so categories cannot be counted"
        return f"it tells {math.floor(self.ndc.estimate)} categories of these parts apart"

    def table(self) -> pd.DataFrame:
        import pandas as pd

        unit = f" ({self.unit})" if self.unit else ""
        rows = []
        for name, item in self.components.items():
            rows.append(
                {
                    "source": name,
                    f"SD{unit}": show(item.sd),
                    "share of variance": percent(item.share_of_variance),
                    "share of total spread": percent(item.share_of_sd),
                    "share of tolerance": percent(item.share_of_tolerance),
                }
            )
        return pd.DataFrame(rows)

    def anova_table(self) -> pd.DataFrame:
        """The analysis of variance as a table.

        Returns
        -------
        pandas.DataFrame
            Columns source, df, ss, ms, f, p.
        """
        import pandas as pd

        return pd.DataFrame(list(self.anova))

    def figure(self) -> Figure:
        from linestudy.figures.gauges import gauge_shares

        figure = gauge_shares(self.components, self.tolerance is not None)
        figure.alt_text = self.alt_text
        return figure

    def record(self) -> dict[str, Any]:
        """Keys as in format 1; added: pooled, estimator, equal_repeatability, negative, tolerance,
        spread, statement, cautions."""
        return {
            "design": plain(self.design),
            "anova": plain(self.anova),
            "pooled_interaction": self.pooled_interaction,
            "pooled": list(self.pooled),
            "estimator": self.estimator,
            "equal_repeatability": plain(self.equal_repeatability),
            "components": plain(self.components),
            "ndc": self.ndc.record(),
            "negative": list(self.negative),
            "tolerance": self.tolerance,
            "spread": self.spread,
            "statement": self.statement,
            "cautions": list(self.cautions),
        }


@one_thread()
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
        Columns; without the appraiser column the gauge is taken as automatic.
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
        One part, no repeated readings, doubled readings, appraisers without shared parts,
        all readings equal.

    Notes
    -----
    Mean squares and pooling: AIAG MSA, 4th ed. (2010), ch. III. Intervals: Burdick,
    Borror & Montgomery (2005), ch. 3 and appendix B; Graybill & Wang, *JASA* 75 (1980).
    Unequal or empty cells: `linestudy.core.reml` and Henderson's method III.

    Examples
    --------
    >>> import pandas as pd
    >>> data = pd.DataFrame({
    ...     "part": list("aabbccdd"), "value": [1.0, 1.1, 2.0, 2.1, 3.1, 3.0, 4.0, 4.1]})
    >>> round(crossed(data, appraiser=None).components["repeatability"].sd.estimate, 4)
    0.0707
    """
    layout = lay_out(data, value, part, appraiser, trial, factor)
    settings = Settings(tolerance, spread, confidence, method, draws, seed, NDC_FACTOR)
    return _study(layout, mean_squares_of(layout), settings, pool_above, unit)


def mean_squares_of(layout: Layout) -> MeanSquares:
    """Mean squares of a layout, balanced or not.

    Parameters
    ----------
    layout : Layout

    Returns
    -------
    MeanSquares
    """
    if layout.balanced:
        return balanced(layout.readings()[None], layout.factors)[0]
    return unbalanced(layout.values, layout.codes, layout.factors)


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
    raw = dict(zip(used.sources, (used.weights @ used.ms).tolist(), strict=True))
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
    cube = np.asarray(readings, dtype=float)
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
            Settings(width, spread, confidence, method, draws, seed, NDC_FACTOR),
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
        cautions=_cautions(layout, negative, found, equal, settings.confidence),
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


def _cautions(
    layout: Layout,
    negative: tuple[str, ...],
    found: dict[str, Component],
    equal: dict[str, Any] | None,
    confidence: float,
) -> tuple[str, ...]:
    notes = []
    if not layout.balanced:
        empty = int((layout.counts == 0).sum())
        none = f"; {empty} of {layout.counts.size} hold none" if empty else ""
        notes.append(
            f"Cells hold unequal numbers of readings{none}. Every reading was used, by restricted "
            "maximum likelihood; the intervals hold approximately."
        )
    people = len(layout.levels.get("appraiser", ()))
    if people == 1:
        notes.append(
            "One appraiser measured, so nothing is known of the spread between appraisers."
        )
    elif 0 < people < 4:
        notes.append(
            f"{people} appraisers say little about the spread between appraisers; "
            "the upper ends of reproducibility and of the gauge's spread show how little."
        )
    if len(layout.levels["part"]) < 5:
        notes.append(
            f"{len(layout.levels['part'])} parts say little about the spread of the parts."
        )
    for name in negative:
        notes.append(f"The estimate of {name} came out negative and is set to zero.")
    if found[ERROR].variance.estimate == 0:
        notes.append("Repeated readings never differed; the resolution hides the repeatability.")
    if equal is not None and equal["p"] < 1 - confidence:
        low, high = (
            pick(equal["sd"].items(), key=lambda item: item[1].estimate) for pick in (min, max)
        )
        notes.append(
            f"Appraisers do not repeat equally well (p = {equal['p']:.2g}): {high[0]} repeats with "
            f"standard deviation {show(high[1])}, {low[0]} with {show(low[1])}; one common "
            "repeatability hides that, and so may a few stray readings."
        )
    return tuple(notes)
