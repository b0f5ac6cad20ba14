"""For which characteristics a bias matters: all masters of all gauges side by side.

Model: each bias is that of `bias_study`, judged against its own tolerance. A bias that is seen need not matter
and one that matters need not be seen; the worst it may be, within its interval, over the tolerance
says how much a claim could move. Misleads where masters lie far from the size of the parts: see linearity.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from linestudy.gauges.masters.bias import BiasStudy
from linestudy.results import Absent, CannotJudge, Finding, Interval, counted
from linestudy.results.declared import Declaration
from linestudy.results.tables import Rows

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class GaugeBias:
    """Bias of one gauge on one characteristic.

    Attributes
    ----------
    characteristic : str
        Its name.
    gauge : str
        Its name.
    bias : Interval
        [unit] Mean bias over all masters.
    unit : str
        Unit of the characteristic.
    p : float
        Of the test that the bias is zero.
    seen : bool
        Whether zero lies outside the interval.
    worst : float
        [unit] Largest size of a bias in the interval.
    share : float or None
        That over the tolerance; None without one. Formula: worst / tolerance.
    """

    characteristic: str
    gauge: str
    bias: Interval
    unit: str
    p: float
    seen: bool
    worst: float
    share: float | None


@dataclass(frozen=True)
class BiasOverview(Finding):
    """Biases of all gauges on all characteristics.

    Attributes
    ----------
    rows : tuple of GaugeBias
        The largest share of a tolerance first.
    """

    rows: tuple[GaugeBias, ...]
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Where a bias matters"

    @property
    def statement(self) -> str:
        seen = [row for row in self.rows if row.seen]
        first = self.rows[0]
        if not seen:
            text = f"No significant bias on any of {counted(len(self.rows), 'characteristic')}."
        else:
            named = ", ".join(f"{row.characteristic} ({row.gauge})" for row in seen)
            text = f"Significant bias: {named}; not significant on the other {len(self.rows) - len(seen)}."
        if first.share is not None:
            text += f" Largest share of tolerance at the end of its interval: {first.characteristic}, {100 * first.share:.2g} %."
        return text

    def _rows(self) -> Rows:
        units = {row.unit for row in self.rows}
        # One unit is in the head; several are in a column of their own.
        one = next(iter(units)) if len(units) == 1 else ""
        return [
            {
                "characteristic": row.characteristic,
                "gauge": row.gauge,
                f"bias ({one})" if one else "bias": row.bias,
                **({"unit": row.unit} if len(units) > 1 else {}),
                "seen": row.seen,
                "at worst, of the tolerance (%)": Absent("no tolerance")
                if row.share is None
                else 100 * row.share,
            }
            for row in self.rows
        ]

    def shown(self) -> pd.DataFrame:
        """Return the table as text, shares of a tolerance with two digits.

        Returns
        -------
        pandas.DataFrame
        """
        table = super().shown()
        last = table.columns[-1]
        table[last] = [
            str(Absent("no tolerance")) if row.share is None else f"{100 * row.share:.2g}"
            for row in self.rows
        ]
        return table


BIASES = Declaration("biases", BiasOverview, of_study=True)


def bias_overview(studies: Iterable[tuple[str, str, BiasStudy, float | None]]) -> BiasOverview:
    """Put biases side by side.

    Parameters
    ----------
    studies : iterable of (str, str, BiasStudy, float or None)
        Name of the characteristic, name of the gauge, its bias, and the width of the tolerance in the
        unit of that study (None without one).

    Returns
    -------
    BiasOverview
        One row for each, the one that could matter most first.

    Raises
    ------
    CannotJudge
        No study.

    See Also
    --------
    bias_study : The bias of one gauge.

    Notes
    -----
    Each bias with its t-test as in AIAG MSA, 4th ed. (2010), ch. III, section B; putting them side by side
    is common practice, no source. Misleads where many are tested at once: one in twenty is seen by chance.

    Examples
    --------
    >>> from linestudy.gauges import bias_study
    >>> found = bias_study([1.0, 1.1, 1.2], 1.0)
    >>> bias_overview([("Width", "camera", found, 0.5)]).shown()[["gauge", "bias", "seen"]]
        gauge                  bias seen
    0  camera  0.10 (-0.15 to 0.35)   no
    """
    rows = []
    for characteristic, gauge, study, width in studies:
        interval = study.mean_bias
        worst = max(abs(interval.low), abs(interval.high))
        rows.append(
            GaugeBias(
                characteristic,
                gauge,
                interval,
                study.unit,
                study.p,
                0.0 not in interval,
                worst,
                worst / width if width else None,
            )
        )
    if not rows:
        raise CannotJudge("No masters were measured.")
    rows.sort(key=lambda row: -(row.share or 0.0))
    notes: tuple[str, ...] = ()
    if len(rows) > 4:
        notes = (f"{len(rows)} tests at once: one bias in twenty is seen where there is none.",)
    return BiasOverview(tuple(rows), notes)
