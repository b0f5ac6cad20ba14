"""Crossed gauge study by averages and ranges, for comparison with the analysis of variance.

Model: as for `grr_anova` without interaction. Repeatability is the mean range of the cells over d2*,
appraisers the range of their averages over d2*, parts the range of theirs. Ranges use less of the data
than squares do, and an interaction goes unseen into whichever range it meets, so this is for
comparing with older studies. Source: AIAG MSA, 4th ed. (2010), ch. III; d2* is computed, not tabulated
(Patnaik, *Biometrika* 37 (1950)). Intervals: each squared range over d2* is taken as a chi-square
with Patnaik's degrees of freedom, then generalized pivots as in `components`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from linestudy.gauges.grr.analysis import NDC_FACTOR
from linestudy.gauges.grr.design import lay_out
from linestudy.gauges.grr.finding import in_trade_terms
from linestudy.gauges.grr.intervals import Component, Settings, components_of, in_percent, percent
from linestudy.gauges.grr.mean_squares import ERROR, MeanSquares
from linestudy.gauges.masters.reading_step import apparent_step
from linestudy.numerics.normal_constants import d2_star, range_df
from linestudy.results import (
    Absent,
    CannotJudge,
    Finding,
    Interval,
    arguments,
    data_arguments,
    show_in,
)
from linestudy.results.declared import Declaration
from linestudy.results.rounding import with_unit
from linestudy.results.tables import Rows
from linestudy.running.deprecation import old_keywords, renamed

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class AverageRangeStudy(Finding):
    """Crossed study by averages and ranges.

    Attributes
    ----------
    mean_range : float
        [unit of the readings] Mean range of the cells.
    range_of_appraisers : float
        [unit of the readings] Range of the appraisers' averages; 0 for an automatic gauge.
    range_of_parts : float
        [unit of the readings] Range of the parts' averages.
    divisors : dict of str to float
        d2* of each of the three.
    components : dict of str to Component
        repeatability, appraiser, reproducibility, grr, part, total.
    ndc : Interval or Absent
        Number of distinct categories, not rounded down. Formula: 1.41 · part sd / grr sd.
    unit : str
        Unit of the readings.
    """

    mean_range: float
    range_of_appraisers: float
    range_of_parts: float
    divisors: dict[str, float]
    components: dict[str, Component]
    ndc: Interval | Absent
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Crossed study by averages and ranges"

    @property
    def statement(self) -> str:
        grr = self.components["grr"]
        return f"Average and range method: GRR {percent(grr.share_of_sd)} of total variation (SD {show_in(grr.sd, self.unit)})."

    def _rows(self) -> Rows:
        return [
            {
                "source": in_trade_terms(name),
                with_unit("SD", self.unit): item.sd,
                "% total variation": in_percent(item.share_of_sd),
                "% tolerance": in_percent(item.share_of_tolerance),
            }
            for name, item in self.components.items()
        ]


AVERAGE_AND_RANGE = Declaration(
    "gauges.{gauge}.average_and_range", AverageRangeStudy, "Averages and ranges"
)


@old_keywords(renamed("spread", "sigma_multiplier", since="0.2.0", removal="0.3.0"))
def average_and_range(
    data: pd.DataFrame,
    *,
    value: str = "value",
    part: str = "part",
    appraiser: str | None = "appraiser",
    trial: str | None = "trial",
    factor: str | None = None,
    tolerance: float | None = None,
    sigma_multiplier: float = 6.0,
    confidence: float = 0.95,
    draws: int = 20_000,
    seed: int | None = None,
    unit: str = "",
) -> AverageRangeStudy:
    r"""Analyse a crossed study by averages and ranges.

    Parameters
    ----------
    data : pandas.DataFrame
        One reading per row, in `unit`; every cell with the same number of readings.
    value, part : str
        Columns of the readings and of the part.
    appraiser : str or None
        Column of the appraiser; None stands for an automatic gauge.
    trial : str or None
        Column of the trial; a column ``trial`` need not be there.
    factor : str, optional
        Column of a third factor, which this method knows nothing of: it is refused.
    tolerance : float, optional
        Width of the tolerance, in `unit`.
    sigma_multiplier : float
        Standard deviations that a spread counts.
    confidence : float
        Of the intervals, between 0 and 1.
    draws : int
        Draws of the pivotal quantities.
    seed : int, optional
        Of the draws; the kit's own when absent.
    unit : str
        Unit of the readings, for table and statement.

    Returns
    -------
    AverageRangeStudy
        Components with intervals, and the ranges and divisors behind them.

    Raises
    ------
    CannotJudge
        A third factor, unequal or empty cells, no spread within cells, or whatever stops `grr_anova`.
    ValueError
        A column that is not there, or an argument outside its range.

    See Also
    --------
    grr_anova : The same study by analysis of variance, which sees an interaction.

    Notes
    -----
    Model: as for `grr_anova` without interaction, with p parts and r trials,

    .. math::

        EV = \bar R / d_2^*, \qquad
        AV = \sqrt{(R_A / d_2^*)^2 - EV^2 / (p r)}, \qquad
        PV = R_P / d_2^*

    Misleads where part and appraiser interact: the interaction enters the ranges unseen.

    References
    ----------
    AIAG MSA, 4th ed. (2010), ch. III. Patnaik, *Biometrika* 37 (1950), 78-87.

    Examples
    --------
    >>> import pandas as pd
    >>> data = pd.DataFrame({"part": list("aabbcc"), "value": [1.0, 1.1, 2.0, 2.1, 3.1, 3.0]})
    >>> print(average_and_range(data, appraiser=None, unit="mm").statement)
    Average and range method: GRR 7.7% (1.2% to 31.9%) of total variation (SD 0.08 (0.05 to 0.32) mm).
    """
    data_arguments.width("tolerance", tolerance)
    arguments.number("sigma_multiplier", sigma_multiplier, above=0)
    arguments.share("confidence", confidence)
    arguments.whole("draws", draws, least=1)
    layout = lay_out(data, value, part, appraiser, trial, factor)
    if factor is not None and (layout.merged or len(layout.levels["factor"]) > 1):
        raise CannotJudge(
            "Averages and ranges know no third factor, whose spread would count as repeatability; the "
            "analysis of variance holds it."
        )
    if not layout.balanced:
        raise CannotJudge(
            "Averages and ranges need the same number of readings in every cell; the analysis by "
            "restricted maximum likelihood does not."
        )
    cube = layout.readings()
    # An automatic gauge is one appraiser; a factor of one level is none.
    cube = cube.reshape(len(cube), -1, cube.shape[-1])
    parts, people, trials = cube.shape
    mean_range = float(np.ptp(cube, axis=2).mean())
    if mean_range == 0:
        raise CannotJudge(
            f"Repeated readings never differed in {parts * people} cells; the resolution hides their spread."
        )
    of_parts = float(np.ptp(cube.mean(axis=(1, 2))))
    of_people = float(np.ptp(cube.mean(axis=(0, 2)))) if people > 1 else 0.0
    divisors = {ERROR: d2_star(trials, parts * people), "part": d2_star(parts)}
    squares = [(of_parts / divisors["part"]) ** 2 * people * trials]
    df, sources = [range_df(parts)], ["part"]
    if people > 1:
        divisors["appraiser"] = d2_star(people)
        squares.append((of_people / divisors["appraiser"]) ** 2 * parts * trials)
        df.append(range_df(people))
        sources.append("appraiser")
    squares.append((mean_range / divisors[ERROR]) ** 2)
    df.append(range_df(trials, parts * people))
    sources.append(ERROR)
    expected = np.diag([float(people * trials), float(parts * trials), 1.0][-len(sources) :])
    expected[0, 0] = people * trials
    expected[:, -1] = 1.0
    free = np.array(df)
    full = MeanSquares(tuple(sources), np.array(squares) * free, free, expected)
    raw = dict(zip(sources, full.variances.tolist(), strict=True))
    # The published method does not take the gauge's share out of the range of the parts.
    raw["part"] = (of_parts / divisors["part"]) ** 2
    step = apparent_step(layout.values)
    settings = Settings(
        tolerance, sigma_multiplier, confidence, "pivotal", draws, seed, NDC_FACTOR, step
    )
    found, ndc = components_of(
        full.less_certain(layout.tail_factor), {k: max(v, 0.0) for k, v in raw.items()}, settings
    )
    found.pop("interaction")
    notes = ["An interaction of part and appraiser cannot be seen by averages and ranges."]
    if raw.get("appraiser", 0.0) < 0:
        notes.append("The estimate of appraiser came out negative and is set to zero.")
    return AverageRangeStudy(
        mean_range,
        of_people,
        of_parts,
        divisors,
        found,
        ndc,
        unit,
        tuple(notes) if people > 1 else (),
    )
