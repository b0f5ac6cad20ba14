"""What a crossed study found: components with intervals, shares, categories, and what to beware of."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, ClassVar

from linestudy.gauges.grr.assumptions import (
    EqualRepeatability,
    SizeEffect,
    TrialEffect,
    shares_of_freedom,
)
from linestudy.gauges.grr.design import Layout
from linestudy.gauges.grr.intervals import Component, Settings, in_percent, percent
from linestudy.gauges.grr.mean_squares import ERROR, AnovaRow, all_effects
from linestudy.numerics.heavy_tails import HEAVY
from linestudy.results import Absent, Finding, Interval, show, show_in
from linestudy.results.declared import Declaration
from linestudy.results.rounding import as_given, p_text, with_unit
from linestudy.results.tables import Rows

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class GrrDesign:
    """Design of a crossed study.

    Attributes
    ----------
    parts : int
        Number of parts.
    appraisers : int
        Number of appraisers; 0 for an automatic gauge.
    trials : float
        Readings in each cell; the harmonic mean where they differ.
    balanced : bool
        Whether every cell holds the same number of readings.
    merged : tuple of str or None
        Factor that was left out because it changed together with the other, and that other.
    factor : tuple of str or None
        Levels of the third factor.
    """

    parts: int
    appraisers: int
    trials: float
    balanced: bool
    merged: tuple[str, str] | None = None
    factor: tuple[str, ...] | None = None


@dataclass(frozen=True)
class CrossedStudy(Finding):
    """Result of a crossed gauge study.

    Attributes
    ----------
    design : GrrDesign
        Who read what how often.
    anova : tuple of AnovaRow
        Table of variance; the last row is the total.
    pooled_interaction : bool
        Whether the interaction of part and appraiser went into repeatability.
    pooled : tuple of str
        Every interaction that did.
    estimator : str
        ``ANOVA``, or ``REML`` where cells hold unequal numbers of readings.
    equal_repeatability : EqualRepeatability or None
        Test that all appraisers repeat equally well; None without two appraisers.
    trial_effect : TrialEffect or None
        Test that no trial reads higher than the others; None where the study names no trials.
    size_effect : SizeEffect or None
        Test that the spread of repeated readings does not follow the size of the parts.
    tail_factor : float
        Share of the degrees of freedom of repeatability that heavy tails leave; 1 for normal readings.
    components : dict of str to Component
        repeatability, appraiser, interaction, reproducibility, grr, part, total; a third factor
        adds ``factor`` and its interactions before reproducibility.
    ndc : Interval or Absent
        Number of distinct categories, not rounded down. Formula: 1.41 · part sd / grr sd.
    negative : tuple of str
        Components whose estimate was negative and is set to zero.
    tolerance : float or None
        [unit of the readings] Width that shares of tolerance refer to.
    sigma_multiplier : float
        How many standard deviations a spread counts, 6 unless stated.
    unit : str
        Unit of the readings.
    layout : Layout
        The readings by cell.
    """

    design: GrrDesign
    anova: tuple[AnovaRow, ...]
    pooled_interaction: bool
    pooled: tuple[str, ...]
    estimator: str
    equal_repeatability: EqualRepeatability | None
    trial_effect: TrialEffect | None
    size_effect: SizeEffect | None
    tail_factor: float
    components: dict[str, Component]
    ndc: Interval | Absent
    negative: tuple[str, ...]
    tolerance: float | None
    sigma_multiplier: float
    unit: str
    cautions: tuple[str, ...]
    layout: Layout = field(repr=False, compare=False)
    title: ClassVar[str] = "Crossed gauge study"
    picture: ClassVar[str] = "gauges:gauge_shares"

    @property
    def named_components(self) -> dict[str, Component]:
        """Return the components by the names of AIAG MSA."""
        return {in_trade_terms(name): item for name, item in self.components.items()}

    @property
    def statement(self) -> str:
        grr = self.components["grr"]
        share = grr.share_of_tolerance
        usual = self.sigma_multiplier == 6.0
        what = "tolerance" if usual else f"tolerance ({self.sigma_multiplier:g} SD)"
        if not isinstance(share, Interval):
            share, what = grr.share_of_sd, "total variation"
        of = f"{percent(share)} of {what}"
        if grr.sd.estimate == 0:
            below = "not given"
            if isinstance(share, Interval):
                below = f"{100 * share.high:.2g} % of {what}"
            return (
                "Repeated readings never differed: GRR is hidden by the resolution and "
                f"may reach a standard deviation of {show_in(grr.sd.high, self.unit)} ({below})."
            )
        return f"%GRR {of} (SD {show_in(grr.sd, self.unit)}); {self._categories}."

    @property
    def _categories(self) -> str:
        if isinstance(self.ndc, Absent):
            return "ndc was not asked for"
        if math.isinf(self.ndc.estimate):
            return "no spread was seen, so ndc is not defined"
        return f"ndc = {math.floor(self.ndc.estimate)}"

    def _rows(self) -> Rows:
        return [
            {
                "source": in_trade_terms(name),
                with_unit("SD", self.unit): item.sd,
                "% contribution": in_percent(item.share_of_variance),
                "% total variation": in_percent(item.share_of_sd),
                "% tolerance": in_percent(item.share_of_tolerance),
            }
            for name, item in self.components.items()
        ]

    def anova_table(self) -> pd.DataFrame:
        """Return the analysis of variance as a table.

        Returns
        -------
        pandas.DataFrame
            Columns source, df, ss, ms, f, p.
        """
        import pandas as pd

        return pd.DataFrame([asdict(row) for row in self.anova])


#: Share of the cells whose trials stand in order of size from which all of them are said to.
_IN_ORDER = 0.9
#: Level of the tests of trials, size and appraisers, which are looked at in every study.
_SELDOM = 0.01

#: What a component is called in the trade.
_TERMS = {
    "repeatability": "EV (repeatability)",
    "appraiser": "of AV: appraisers",
    "interaction": "of AV: part × appraiser",
    "reproducibility": "AV (reproducibility)",
    "grr": "GRR",
    "part": "PV (part)",
    "total": "TV (total)",
}


def in_trade_terms(component: str) -> str:
    """Name a component of variance as AIAG MSA does; a name of the study stays as given.

    Parameters
    ----------
    component : str

    Returns
    -------
    str
    """
    return _TERMS.get(component, component.replace("_", " × "))


STREAM_CROSSED = Declaration(
    "streams.{stream}.crossed.{gauge}", CrossedStudy, "Crossed study of one stream", part="none"
)
CROSSED = Declaration(
    "gauges.{gauge}.crossed",
    CrossedStudy,
    part="characteristic",
    question="measurement",
    order=10,
    picture=54,
    with_table=True,
)


def _interaction_p(
    layout: Layout, equal: EqualRepeatability | None, anova: tuple[AnovaRow, ...]
) -> float | None:
    """Return p of part by appraiser, which allows for appraisers who do not repeat alike."""
    rows = {row.source: row for row in anova}
    own, error = rows.get("part:appraiser"), rows.get(ERROR)
    shares = shares_of_freedom(layout, equal)
    if own is None or own.f is None or error is None or "factor" in layout.factors:
        return None if own is None else own.p
    if shares == (1.0, 1.0):
        return own.p
    from scipy.special import fdtrc

    return float(fdtrc(own.df * shares[0], error.df * shares[1], own.f))


def _of_interaction(
    p: float | None, moved: TrialEffect | None, likeness: tuple[str, ...]
) -> list[str]:
    """Say what part by appraiser shows where nothing more definite was found: too much of it, or too little."""
    steady = moved is None or (
        moved.p >= _SELDOM and (moved.by_appraiser_p is None or moved.by_appraiser_p >= _SELDOM)
    )
    if p is None or likeness:
        return []
    if p < _SELDOM:
        return [
            f"Part × appraiser is significant ({p_text(p)}): appraisers read single parts differently, or repeated readings of a part were "
            "not independent (remembered, or taken without placing the part anew). Then EV alone is too small; GRR holds both."
        ]
    if 1 - p < _SELDOM and steady:
        return [
            f"The means of a part by different appraisers lie closer together than its repeated readings let expect ({p_text(1 - p)}): repeated "
            "readings were balanced against each other, or the part was turned between trials; EV is then too large."
        ]
    return []


def cautions_of(
    layout: Layout,
    negative: tuple[str, ...],
    found: dict[str, Component],
    equal: EqualRepeatability | None,
    moved: TrialEffect | None,
    size: SizeEffect | None,
    likeness: tuple[str, ...],
    anova: tuple[AnovaRow, ...],
    settings: Settings,
    sources: tuple[str, ...],
    unit: str,
) -> tuple[str, ...]:
    """List what a reader of a crossed study must know before leaning on its numbers."""
    notes = []
    if layout.merged:
        one, other = layout.merged
        notes.append(
            f"Each {other} belongs to one {one} only, so the readings cannot separate the two: what they "
            f"bring together is given as {other}."
        )
    live = [name for name in layout.factors if len(layout.levels[name]) > 1]
    lost = [name for name in map(":".join, all_effects(live)) if name not in sources]
    if lost:
        notes.append(
            f"Too few combinations were measured to separate {', '.join(lost)} from the other effects; "
            "what it brings is in theirs."
        )
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
    third = len(layout.levels.get("factor", ()))
    if 1 < third < 4:
        notes.append(
            f"{third} levels of the factor say little about the spread between its levels; intervals of GRR that hold it "
            "were right in 92 of 100 simulated studies rather than 95."
        )
    if len(layout.levels["part"]) < 5:
        notes.append(
            f"{len(layout.levels['part'])} parts say little about the spread of the parts."
        )
    for name in negative:
        notes.append(f"The estimate of {name} came out negative and is set to zero.")
    if found[ERROR].variance.estimate == 0:
        notes.append(
            f"Repeated readings never differed in {int((layout.counts > 1).sum())} cells; the resolution "
            f"hides the repeatability, which may reach the {show(settings.hidden**0.5)} that rounding to "
            f"steps of {as_given(settings.step)} hides, or more."
        )
    elif found[ERROR].variance.method.endswith("step's"):
        notes.append(
            f"Repeated readings seldom differed; upper ends hold what rounding to steps of "
            f"{as_given(settings.step)} hides."
        )
    if moved is not None and moved.p < _SELDOM:
        why = "Something moved during the study, and repeatability holds that movement."
        if moved.in_order > _IN_ORDER:
            why = (
                f"In {moved.in_order:.0%} of the cells they stand in order of size: readings were sorted, or something moved steadily "
                "and repeatability holds that movement."
            )
        notes.append(
            f"The trials differ: their means lie up to {show_in(moved.range, unit)} apart "
            f"({p_text(moved.p)}). {why}"
        )
    elif moved is not None and moved.by_appraiser_p is not None and moved.by_appraiser_p < _SELDOM:
        notes.append(
            f"The trials of single appraisers differ, most of all those of {moved.mover} ({p_text(moved.by_appraiser_p)}): the gauge was "
            "set anew before each round, or something moved during it, and repeatability holds that movement."
        )
    notes += likeness
    notes += _of_interaction(_interaction_p(layout, equal, anova), moved, likeness)
    if size is not None and size.p < _SELDOM:
        more, where = ("more", "large") if size.rank_correlation > 0 else ("less", "small")
        notes.append(
            f"Repeated readings scatter {more} on larger parts (rank correlation "
            f"{size.rank_correlation:.2f}, {p_text(size.p)}); for {where} parts the repeatability is larger "
            "than the one given."
        )
    unequal = equal is not None and equal.p < _SELDOM
    # Readings of several spreads together look heavy-tailed, and are not.
    if layout.tail_factor < HEAVY and not unequal:
        notes.append(
            "Repeated readings have heavier tails than normal ones; the intervals of repeatability and GRR "
            "allow for the tails seen in this study, and hold in 90 to 94 of 100 studies of 10 parts rather than 95."
        )
    if equal is not None and unequal:
        low, high = (
            pick(equal.sd.items(), key=lambda item: item[1].estimate) for pick in (min, max)
        )
        notes.append(
            f"Appraisers do not repeat equally well ({p_text(equal.p)}): {high[0]} repeats with "
            f"standard deviation {show_in(high[1], unit)}, {low[0]} with {show_in(low[1], unit)}; one common "
            "repeatability hides that, and so may a few stray readings."
        )
    return tuple(notes)
