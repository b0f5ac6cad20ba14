"""What fell into the bins, period by period, held against the log."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, ClassVar

from linestudy.numerics.shares import share_interval
from linestudy.results import CannotJudge, Finding, Interval, arguments, counted, data_arguments
from linestudy.results.declared import Declaration
from linestudy.results.tables import Rows

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class LoggedCounts:
    """Parts counted from the verdicts in the log.

    Attributes
    ----------
    accepted, rejected : int
        Parts with that verdict.
    """

    accepted: int
    rejected: int


@dataclass(frozen=True)
class BinsStudy(Finding):
    """Bin counts per period, and whether they agree with the log.

    Attributes
    ----------
    periods : int
        Periods counted.
    accepted, rejected, purged : int
        Parts in each bin.
    reject_rate : Interval
        Share rejected. Formula: ``rejected / (accepted + rejected)``.
    logged : LoggedCounts or None
        The same counts from the verdicts in the log, where it has them.
    counts : pandas.DataFrame
        The counts period by period; not recorded.
    """

    periods: int
    accepted: int
    rejected: int
    purged: int
    reject_rate: Interval
    logged: LoggedCounts | None
    cautions: tuple[str, ...]
    counts: pd.DataFrame = field(repr=False, compare=False)
    title: ClassVar[str] = "Bins"

    @property
    def statement(self) -> str:
        rate = self.reject_rate
        text = (
            f"{self.accepted:,} parts were accepted, {self.rejected:,} rejected and {self.purged:,} purged in "
            f"{counted(self.periods, 'period')}: {1e6 * rate.estimate:,.0f} ppm rejected "
            f"({100 * rate.confidence:.4g} % CI {1e6 * rate.low:,.0f} to {1e6 * rate.high:,.0f})."
        )
        if self.logged is not None:
            same = self.logged == LoggedCounts(self.accepted, self.rejected)
            text += (
                " The log's verdicts give the same counts."
                if same
                else f" The log's verdicts give {self.logged.accepted:,} accepted and "
                f"{self.logged.rejected:,} rejected."
            )
        return text

    def _rows(self) -> Rows:
        return [
            {str(name): value for name, value in row.items()}
            for row in self.counts.to_dict(orient="records")
        ]


BINS = Declaration("bins", BinsStudy, of_study=True, order=20)


def bin_counts(
    counts: pd.DataFrame, *, logged: LoggedCounts | None = None, confidence: float = 0.95
) -> BinsStudy:
    """Compute the share of rejected parts from bin counts, held against the log.

    Parameters
    ----------
    counts : pandas.DataFrame
        Columns ``period``, ``accepted``, ``rejected`` and, if counted, ``purged``; one row for each period.
    logged : LoggedCounts, optional
        Accepted and rejected parts counted from the log's verdicts.
    confidence : float
        Of the two-sided interval, between 0 and 1.

    Returns
    -------
    BinsStudy
        Counts of all periods and the share rejected.

    Raises
    ------
    CannotJudge
        No part was counted.
    ValueError, TypeError
        A column is missing, or it is no table.

    See Also
    --------
    reject_balance : Holds them against what the models predict.

    Notes
    -----
    Model: independent parts. Misleads where rejected parts come in clusters: the interval is then too
    narrow.

    References
    ----------
    Clopper & Pearson, *Biometrika* 26 (1934), 404-413 (by statsmodels).

    Examples
    --------
    >>> import pandas as pd
    >>> table = pd.DataFrame({"period": ["a"], "accepted": [99], "rejected": [1]})
    >>> print(bin_counts(table).statement)
    99 parts were accepted, 1 rejected and 0 purged in 1 period: 10,000 ppm rejected (95 % CI 253 to 54,459).
    """
    good = data_arguments.column(counts, "accepted", "counts")
    bad = data_arguments.column(counts, "rejected", "counts")
    arguments.share("confidence", confidence)
    accepted, rejected = int(good.sum()), int(bad.sum())
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
