"""What a crossed study found: components with intervals, shares, categories, and what to beware of."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

from linestudy.gauges.grr.design import Layout
from linestudy.gauges.grr.intervals import Component, Settings, percent
from linestudy.gauges.grr.mean_squares import ERROR, all_effects
from linestudy.results import Finding, Interval, plain, show
from linestudy.results.declared import Declaration
from linestudy.results.interval import Absent

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from linestudy.results.picture import Picture


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
        what = "the tolerance"
        if not isinstance(share, Interval):
            share, what = grr.share_of_sd, "the total spread"
        of = f"{percent(share)} of {what}"
        if grr.sd.estimate == 0:
            unit = f" {self.unit}" if self.unit else ""
            below = "not given"
            if isinstance(share, Interval):
                below = f"{100 * share.high:.2g} % of {what}"
            return (
                "Repeated readings never differed; the gauge's own spread is hidden by the resolution and "
                f"may reach a standard deviation of {show(grr.sd.high)}{unit} ({below})."
            )
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

    def shown(self) -> pd.DataFrame:
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

    def _draw(self, ax: Axes | None = None, **options: Any) -> Picture:
        from linestudy.figures.gauges import gauge_shares

        return gauge_shares(self.components, self.tolerance is not None, ax=ax)

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


CROSSED = Declaration(
    "gauges.{gauge}.crossed",
    CrossedStudy,
    "Crossed gauge study",
    part="characteristic",
    question="measurement",
    order=10,
    picture=54,
    with_table=True,
)


def cautions_of(
    layout: Layout,
    negative: tuple[str, ...],
    found: dict[str, Component],
    equal: dict[str, Any] | None,
    settings: Settings,
    sources: tuple[str, ...],
) -> tuple[str, ...]:
    notes = []
    if layout.merged:
        one, other = layout.merged
        notes.append(
            f"Each {other} belongs to one {one} only, so the readings do not tell the two apart: what they "
            f"bring together is given as {other}."
        )
    live = [name for name in layout.factors if len(layout.levels[name]) > 1]
    lost = [name for name in map(":".join, all_effects(live)) if name not in sources]
    if lost:
        notes.append(
            f"Too few combinations were measured to tell {', '.join(lost)} from the other effects; "
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
            f"steps of {settings.step:.6g} hides, or more."
        )
    elif found[ERROR].variance.method.endswith("step's"):
        notes.append(
            f"Repeated readings seldom differed; upper ends hold what rounding to steps of "
            f"{settings.step:.6g} hides."
        )
    if equal is not None and equal["p"] < 1 - settings.confidence:
        low, high = (
            pick(equal["sd"].items(), key=lambda item: item[1].estimate) for pick in (min, max)
        )
        notes.append(
            f"Appraisers do not repeat equally well (p = {equal['p']:.2g}): {high[0]} repeats with "
            f"standard deviation {show(high[1])}, {low[0]} with {show(low[1])}; one common "
            "repeatability hides that, and so may a few stray readings."
        )
    return tuple(notes)
