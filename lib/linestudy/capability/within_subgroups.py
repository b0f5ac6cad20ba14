"""Cp and Cpk by each way to the spread within subgroups.

Model and sources: `linestudy.stability.charts.limits` for the spreads, `indices` for what is made of them. The
ways agree on a process that is normal within subgroups; where they do not, single wild values (which the
range feels most) or subgroups of unequal spread are about. Reported beside Cp and Cpk, never instead.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from linestudy.capability.indices import location_index, spread_index
from linestudy.numerics.normal_intervals import sd_interval
from linestudy.numerics.samples import as_sample
from linestudy.results import CannotJudge, Finding, Interval, plain, show
from linestudy.results.declared import Declaration
from linestudy.stability import within_subgroup_sds

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from linestudy.results.picture import Picture

#: Spreads that differ by more than this share are worth a caution (common practice, no source).
APART = 0.10


@dataclass(frozen=True)
class WithinStudy(Finding):
    """Spread within subgroups, and Cp and Cpk from it, by each way.

    Attributes
    ----------
    rows : tuple of dict
        ``method``, ``sd`` (Interval, in the unit of the values), ``df``, ``Cp`` and ``Cpk`` (Interval
        or Absent).
    """

    rows: tuple[dict[str, Any], ...]
    unit: str
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Spread within subgroups, by each way"

    @property
    def statement(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        named = "; ".join(
            f"{row['method']} {show(row['sd'])}{unit} ({row['df']:,.0f} degrees of freedom)"
            for row in self.rows
        )
        cpk = [row["Cpk"].estimate for row in self.rows if isinstance(row["Cpk"], Interval)]
        between = f"; Cpk lies from {min(cpk):.2f} to {max(cpk):.2f}" if len(cpk) > 1 else ""
        return f"Spread within subgroups: {named}{between}."

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        unit = f" ({self.unit})" if self.unit else ""
        return pd.DataFrame(
            {
                "way": [row["method"] for row in self.rows],
                f"SD{unit}": [show(row["sd"]) for row in self.rows],
                "degrees of freedom": [f"{row['df']:,.1f}" for row in self.rows],
                "Cp": [show(row["Cp"]) for row in self.rows],
                "Cpk": [show(row["Cpk"]) for row in self.rows],
            }
        )

    def _draw(self, ax: Axes | None = None, **options: Any) -> Picture:
        from linestudy.figures.style import interval_bars, picture

        figure, axes = picture(
            "Does it matter how the spread within is computed?", height=1.9, ax=ax
        )
        interval_bars(axes, [row["method"] for row in self.rows], [row["sd"] for row in self.rows])
        axes.set_xlabel(
            f"standard deviation within subgroups{f' ({self.unit})' if self.unit else ''}"
        )
        return figure

    def record(self) -> dict[str, Any]:
        """``rows``, statement and cautions."""
        return {
            "rows": plain(self.rows),
            "statement": self.statement,
            "cautions": list(self.cautions),
        }


WITHIN = Declaration("capability.within", WithinStudy, "Spread within subgroups")


def within(
    values: Any,
    subgroup: Any = None,
    lower: float | None = None,
    upper: float | None = None,
    n_mean: float | None = None,
    confidence: float = 0.95,
    unit: str = "",
) -> WithinStudy:
    """Cp and Cpk by each way to the spread within subgroups.

    Parameters
    ----------
    values : array_like of float, shape (n,)
        In production order.
    subgroup : array_like, shape (n,), optional
        Label of each value; without labels every value stands alone.
    lower, upper : float, optional
        Tolerance limits; at least one.
    n_mean : float, optional
        Independent values behind the mean; n when absent.
    confidence : float
    unit : str

    Returns
    -------
    WithinStudy

    Raises
    ------
    CannotJudge
        No limit, or values that never differ within subgroups.

    Notes
    -----
    ISO 22514-2:2017 for the indices, ISO 7870-2:2013 for the spreads.

    Examples
    --------
    >>> import numpy as np
    >>> y = np.random.default_rng(1).normal(0, 1, 500)
    >>> found = within(y, np.repeat(np.arange(100), 5), -4.0, 4.0)
    >>> [row["method"] for row in found.rows]
    ['pooled SD', 'mean SD', 'mean range']
    """
    if lower is None and upper is None:
        raise CannotJudge("There is no limit to hold the values against.")
    y = as_sample(values, least=2)
    mean, n = float(y.mean()), min(n_mean or y.size, y.size)
    rows = tuple(
        {
            "method": name,
            "sd": sd_interval(spread.sd, spread.df, confidence),
            "df": spread.df,
            "Cp": spread_index(spread.sd, spread.df, lower, upper, confidence),
            "Cpk": location_index(mean, spread.sd, n, spread.df, lower, upper, confidence),
        }
        for name, spread in within_subgroup_sds(y, subgroup).items()
    )
    sds = [row["sd"].estimate for row in rows]  # type: ignore[union-attr]
    notes = []
    if max(sds) > (1 + APART) * min(sds):
        notes.append(
            f"The ways differ by {max(sds) / min(sds) - 1:.0%}: single wild values or subgroups of unequal "
            "spread; look at the chart of the spread before using any of them."
        )
    return WithinStudy(rows=rows, unit=unit, cautions=tuple(notes))
