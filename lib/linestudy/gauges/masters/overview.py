"""For which characteristics a bias matters: all masters of all gauges side by side.

Model: each bias is that of `bias`, judged against its own tolerance. A bias that is seen need not matter
and one that matters need not be seen; the worst it may be, within its interval, over the tolerance
says how much a claim could move. Misleads where masters lie far from the size of the parts: see linearity.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from linestudy.gauges.masters.bias_study import BiasStudy
from linestudy.results import CannotJudge, Finding, Interval, show
from linestudy.results.declared import Declaration

if TYPE_CHECKING:
    from collections.abc import Iterable

    import pandas as pd


@dataclass(frozen=True)
class BiasOverview(Finding):
    """Biases of all gauges on all characteristics.

    Attributes
    ----------
    rows : tuple of dict
        ``characteristic, gauge, bias`` (Interval), ``unit, p, seen, worst`` (largest size in the
        interval), ``share`` (worst over tolerance; None without one), ordered by it.
    """

    rows: tuple[dict[str, Any], ...]
    cautions: tuple[str, ...]
    title: ClassVar[str] = "Where a bias matters"

    @property
    def statement(self) -> str:
        seen = [row for row in self.rows if row["seen"]]
        first = self.rows[0]
        if not seen:
            text = f"On none of {len(self.rows)} characteristics is a bias seen beyond chance."
        else:
            named = ", ".join(f"{row['characteristic']} ({row['gauge']})" for row in seen)
            text = (
                f"A bias is seen on {named}; on the other {len(self.rows) - len(seen)} it is not."
            )
        if first["share"] is not None:
            text += (
                f" It could matter most on {first['characteristic']}, where at worst it takes "
                f"{first['share']:.1%} of the tolerance."
            )
        return text

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        return pd.DataFrame(
            {
                "characteristic": [row["characteristic"] for row in self.rows],
                "gauge": [row["gauge"] for row in self.rows],
                "bias": [f"{show(row['bias'])} {row['unit']}".strip() for row in self.rows],
                "seen": ["yes" if row["seen"] else "no" for row in self.rows],
                "at worst, of the tolerance": [
                    "no tolerance" if row["share"] is None else f"{row['share']:.1%}"
                    for row in self.rows
                ],
            }
        )


BIASES = Declaration("biases", BiasOverview, "Where a bias matters", of_study=True)


def bias_overview(studies: Iterable[tuple[str, str, BiasStudy, float | None]]) -> BiasOverview:
    """Put biases side by side.

    Parameters
    ----------
    studies : iterable of (characteristic, gauge, BiasStudy, tolerance width or None)

    Returns
    -------
    BiasOverview

    Raises
    ------
    CannotJudge
        No study.

    Notes
    -----
    Each bias with its t-test as in AIAG MSA, 4th ed. (2010), ch. III, section B; putting them side by side
    is common practice, no source.

    Examples
    --------
    >>> from linestudy.gauges import bias
    >>> found = bias([1.0, 1.1, 1.2], 1.0)
    >>> bias_overview([("Width", "camera", found, 0.5)]).rows[0]["seen"]
    False
    """
    rows: list[dict[str, Any]] = []
    for characteristic, gauge, study, width in studies:
        interval: Interval = study.mean_bias
        worst = max(abs(interval.low), abs(interval.high))
        rows.append(
            {
                "characteristic": characteristic,
                "gauge": gauge,
                "bias": interval,
                "unit": study.unit,
                "p": study.p,
                "seen": 0.0 not in interval,
                "worst": worst,
                "share": worst / width if width else None,
            }
        )
    if not rows:
        raise CannotJudge("No masters were measured.")
    rows.sort(key=lambda row: -(row["share"] or 0.0))
    notes: tuple[str, ...] = ()
    if len(rows) > 4:
        notes = (f"{len(rows)} tests at once: one bias in twenty is seen where there is none.",)
    return BiasOverview(tuple(rows), notes)
