"""Crossed gauge study by analysis of variance: repeatability, reproducibility, parts.

Model: ``reading = mean + part + appraiser + part:appraiser + error``, all effects random,
independent and normal; an automatic gauge has no appraiser terms. The interaction is pooled
into the error where its test gives p above a threshold (AIAG MSA, 4th ed., ch. III: 0.25).

When it misleads: parts that do not span the process make shares of the total spread and ndc
look bad (or good) without saying anything of the gauge; two or three appraisers know almost
nothing of the spread between appraisers, and the interval says so; readings rounded to a
coarse step hide repeatability; drift during the study hides in whichever effect follows it.

Where cells hold unequal numbers of readings the analysis of unweighted cell means is used
(Burdick, Borror & Montgomery, *Design and Analysis of Gauge R&R Studies*, 2005, ch. 7), in
which the number of readings per cell is the harmonic mean; the finding says so.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

from linestudy.core import Absent, Finding, Interval, generator, plain, show
from linestudy.gauges.components import EFFECTS, Component, MeanSquares, components_of
from linestudy.gauges.crossed_design import Layout, lay_out

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure

#: AIAG writes 1.41, not the square root of two, and truncates.
NDC_FACTOR = 1.41


@dataclass(frozen=True)
class CrossedStudy(Finding):
    """Result of a crossed gauge study.

    Attributes
    ----------
    design : dict
        ``parts, appraisers, trials, balanced``; trials is the harmonic mean where unbalanced.
    anova : tuple of dict
        Rows ``source, df, ss, ms, f, p``.
    pooled_interaction : bool
        Whether the interaction went into repeatability.
    components : dict of str to Component
        repeatability, appraiser, interaction, reproducibility, grr, part, total.
    ndc : Interval
        Number of distinct categories, not rounded down.
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
    components: dict[str, Component]
    ndc: Interval
    negative: tuple[str, ...]
    tolerance: float | None
    spread: float
    unit: str
    cautions: tuple[str, ...]
    means: Any = field(repr=False, compare=False)
    title: ClassVar[str] = "Crossed gauge study"

    @property
    def statement(self) -> str:
        grr = self.components["grr"]
        share = grr.share_of_tolerance
        if isinstance(share, Interval):
            of = f"{_percent(share)} of the tolerance"
        else:
            of = f"{_percent(grr.share_of_sd)} of the total spread"
        return (
            f"The gauge's own spread (standard deviation {show(grr.sd)} {self.unit}) takes up {of}; "
            f"it tells {math.floor(self.ndc.estimate)} categories of these parts apart."
        ).replace("  ", " ")

    def table(self) -> pd.DataFrame:
        import pandas as pd

        unit = f" ({self.unit})" if self.unit else ""
        rows = []
        for name, item in self.components.items():
            rows.append(
                {
                    "source": name,
                    f"SD{unit}": show(item.sd),
                    "share of variance": _percent(item.share_of_variance),
                    "share of total spread": _percent(item.share_of_sd),
                    "share of tolerance": _percent(item.share_of_tolerance),
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
        """Keys as in format 1; added: negative, tolerance, spread, statement, cautions."""
        return {
            "design": plain(self.design),
            "anova": plain(self.anova),
            "pooled_interaction": self.pooled_interaction,
            "components": plain(self.components),
            "ndc": self.ndc.record(),
            "negative": list(self.negative),
            "tolerance": self.tolerance,
            "spread": self.spread,
            "statement": self.statement,
            "cautions": list(self.cautions),
        }


def _percent(share: Interval | Absent) -> str:
    if isinstance(share, Absent):
        return "not given"
    return (
        f"{share.estimate:.1%} ({share.low:.1%} to {share.high:.1%})"
        if math.isfinite(share.high)
        else f"{share.estimate:.1%}"
    )


def crossed(
    data: pd.DataFrame,
    value: str = "value",
    part: str = "part",
    appraiser: str | None = "appraiser",
    trial: str | None = "trial",
    tolerance: float | None = None,
    pool_above: float | None = 0.25,
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
        One reading per row.
    value, part, appraiser, trial : str
        Columns; without the appraiser column the gauge is taken as automatic.
    tolerance : float, optional
        Width of the tolerance in the unit of the readings.
    pool_above : float or None
        The interaction is pooled where its p is above this; None never pools.
    spread : float
        Standard deviations that a spread counts (6, or 5.15 as older studies did).
    confidence : float
    method : {"pivotal", "mls"}
        Intervals by generalized pivotal quantities (all quantities) or by modified
        large samples (variances and standard deviations; the others stay pivotal).
    draws : int
        Draws of the pivotal quantities.
    seed : int, optional
    unit : str
        For the statement.

    Returns
    -------
    CrossedStudy

    Raises
    ------
    CannotJudge
        One part, no repeated readings, empty or doubled cells, all readings equal.

    Notes
    -----
    Mean squares and pooling: AIAG MSA, 4th ed. (2010), ch. III. Intervals: Burdick,
    Borror & Montgomery (2005), ch. 3 and appendix B; Graybill & Wang, *JASA* 75 (1980).

    Examples
    --------
    >>> import pandas as pd
    >>> data = pd.DataFrame({
    ...     "part": list("aabbccdd"), "value": [1.0, 1.1, 2.0, 2.1, 3.1, 3.0, 4.0, 4.1]})
    >>> round(crossed(data, appraiser=None).components["repeatability"].sd.estimate, 4)
    0.0707
    """
    layout = lay_out(data, value, part, appraiser, trial)
    squares = _mean_squares(layout)
    anova, pooled, used = _pool(squares, pool_above)
    rng = generator(seed, "crossed intervals")
    found, ndc, negative = components_of(
        used, tolerance, spread, confidence, method, draws, rng, NDC_FACTOR
    )
    design = {
        "parts": len(layout.parts),
        "appraisers": 0 if layout.automatic else len(layout.appraisers),
        "trials": layout.readings_per_cell,
        "balanced": layout.balanced,
    }
    return CrossedStudy(
        design,
        anova,
        pooled,
        found,
        ndc,
        negative,
        tolerance,
        spread,
        unit,
        _cautions(layout, negative, found),
        layout.means,
    )


def _mean_squares(layout: Layout) -> MeanSquares:
    """Sums of squares of the cell means (unweighted), and within cells."""
    parts, appraisers = layout.means.shape
    per_cell = layout.readings_per_cell
    grand = layout.means.mean()
    centred = layout.means - grand
    of_part = centred.mean(axis=1)
    of_appraiser = centred.mean(axis=0)
    rest = centred - of_part[:, None] - of_appraiser[None, :]
    error_df = int(layout.counts.sum()) - parts * appraisers
    return MeanSquares(
        parts=parts,
        appraisers=appraisers,
        trials=per_cell,
        ss={
            "part": per_cell * appraisers * float(of_part @ of_part),
            "appraiser": per_cell * parts * float(of_appraiser @ of_appraiser),
            "part:appraiser": per_cell * float((rest * rest).sum()),
            "repeatability": float(layout.within.sum()),
        },
        df={
            "part": parts - 1,
            "appraiser": appraisers - 1,
            "part:appraiser": (parts - 1) * (appraisers - 1),
            "repeatability": error_df,
        },
    )


def _pool(
    squares: MeanSquares, pool_above: float | None
) -> tuple[tuple[dict[str, Any], ...], bool, MeanSquares]:
    """Test the interaction, pool it where it is not seen, and lay out the table of variance."""
    with_appraisers = squares.appraisers > 1
    pooled = False
    used = squares
    if with_appraisers:
        p = _f_test(squares, "part:appraiser", "repeatability")[1]
        pooled = pool_above is not None and p is not None and p > pool_above
        if pooled:
            used = squares.with_interaction_pooled()
    denominator = "repeatability" if pooled or not with_appraisers else "part:appraiser"
    rows = []
    for source in EFFECTS:
        if source != "part" and source != "repeatability" and not with_appraisers:
            continue
        f, p = None, None
        if source != "repeatability":
            against = "repeatability" if source == "part:appraiser" else denominator
            f, p = _f_test(squares if source == "part:appraiser" else used, source, against)
        rows.append(
            {
                "source": source,
                "df": squares.df[source],
                "ss": squares.ss[source],
                "ms": squares.ss[source] / squares.df[source],
                "f": f,
                "p": p,
            }
        )
    rows.append(
        {
            "source": "total",
            "df": sum(squares.df.values()),
            "ss": sum(squares.ss.values()),
            "ms": None,
            "f": None,
            "p": None,
        }
    )
    return tuple(rows), pooled, used


def _f_test(squares: MeanSquares, source: str, against: str) -> tuple[float | None, float | None]:
    from scipy.special import fdtrc

    below = squares.ss[against] / squares.df[against] if squares.df[against] else 0.0
    if below <= 0:
        return None, None
    f = squares.ss[source] / squares.df[source] / below
    return float(f), float(fdtrc(squares.df[source], squares.df[against], f))


def _cautions(
    layout: Layout, negative: tuple[str, ...], found: dict[str, Component]
) -> tuple[str, ...]:
    notes = []
    if not layout.balanced:
        notes.append(
            "Cells hold unequal numbers of readings; cell means were weighted equally and the "
            f"number per cell taken as {layout.readings_per_cell:.2f}."
        )
    if not layout.automatic and len(layout.appraisers) == 1:
        notes.append(
            "One appraiser measured, so nothing is known of the spread between appraisers."
        )
    elif not layout.automatic and len(layout.appraisers) < 4:
        notes.append(
            f"{len(layout.appraisers)} appraisers say little about the spread between appraisers; "
            "the upper ends of reproducibility and of the gauge's spread show how little."
        )
    if len(layout.parts) < 5:
        notes.append(f"{len(layout.parts)} parts say little about the spread of the parts.")
    for name in negative:
        notes.append(f"The estimate of {name} came out negative and is set to zero.")
    if found["repeatability"].variance.estimate == 0:
        notes.append("Repeated readings never differed; the resolution hides the repeatability.")
    return tuple(notes)
