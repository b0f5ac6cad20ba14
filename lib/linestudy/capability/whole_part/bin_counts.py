"""What fell into the bins, period by period, held against the log."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

from linestudy.numerics.shares import share_interval
from linestudy.results import CannotJudge, Finding, Interval
from linestudy.results.declared import Declaration

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class BinsStudy(Finding):
    """Bin counts per period, and whether they agree with the log.

    Attributes
    ----------
    periods : int
    accepted, rejected, purged : int
    reject_rate : Interval
        Rejected over accepted and rejected.
    logged : dict of str to int or None
        The same counts from the verdicts in the log, where it has them.
    """

    periods: int
    accepted: int
    rejected: int
    purged: int
    reject_rate: Interval
    logged: dict[str, int] | None
    cautions: tuple[str, ...]
    counts: Any = field(repr=False, compare=False)
    title: ClassVar[str] = "Bins"

    @property
    def statement(self) -> str:
        rate = self.reject_rate
        text = (
            f"{self.accepted:,} parts were accepted, {self.rejected:,} rejected and {self.purged:,} purged in "
            f"{self.periods} periods: {1e6 * rate.estimate:,.0f} rejected per million "
            f"({1e6 * rate.low:,.0f} to {1e6 * rate.high:,.0f})."
        )
        if self.logged is not None:
            same = (
                self.logged["accepted"] == self.accepted
                and self.logged["rejected"] == self.rejected
            )
            text += (
                " The log's verdicts give the same counts."
                if same
                else f" The log's verdicts give {self.logged['accepted']:,} accepted and "
                f"{self.logged['rejected']:,} rejected: the difference must be explained."
            )
        return text

    def shown(self) -> pd.DataFrame:
        return self.counts

    def record(self) -> dict[str, Any]:
        """Counts, rate, what the log has, statement and cautions."""
        return {
            "periods": self.periods,
            "accepted": self.accepted,
            "rejected": self.rejected,
            "purged": self.purged,
            "reject_rate": self.reject_rate.record(),
            "logged": self.logged,
            "statement": self.statement,
            "cautions": list(self.cautions),
        }


BINS = Declaration("bins", BinsStudy, "Bins", of_study=True, order=20)


def bins(
    counts: pd.DataFrame, logged: dict[str, int] | None = None, confidence: float = 0.95
) -> BinsStudy:
    """Rates of rejected parts from bin counts, held against the log.

    Parameters
    ----------
    counts : pandas.DataFrame
        ``period``, ``accepted``, ``rejected`` and, if counted, ``purged``.
    logged : dict of str to int, optional
        ``accepted`` and ``rejected`` counted from the log's verdicts.
    confidence : float

    Returns
    -------
    BinsStudy

    Raises
    ------
    CannotJudge
        No part was counted.

    Notes
    -----
    Interval of a rate: Clopper & Pearson (1934), by statsmodels.

    Examples
    --------
    >>> import pandas as pd
    >>> bins(pd.DataFrame({"period": ["a"], "accepted": [99], "rejected": [1]})).reject_rate.estimate
    0.01
    """
    accepted, rejected = int(counts["accepted"].sum()), int(counts["rejected"].sum())
    n = accepted + rejected
    if n == 0:
        raise CannotJudge("The bins hold no part.")
    return BinsStudy(
        periods=len(counts),
        accepted=accepted,
        rejected=rejected,
        purged=int(counts["purged"].sum()) if "purged" in counts else 0,
        reject_rate=share_interval(rejected, n, confidence),
        logged=logged,
        cautions=(),
        counts=counts.reset_index(drop=True),
    )
