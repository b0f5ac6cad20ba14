"""Counts of the bins held against the log: are they counts of one production."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.capability.whole_part.bins_study import BinsStudy
from linestudy.results import Findings

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from linestudy.records.read_files import Source
    from linestudy.study.load import Study


def bins_against_log(
    study: Study, findings: Findings, sources: list[Source]
) -> tuple[float | None, tuple[int, ...], bool]:
    """Whether the log's verdicts are counts of the production that the bins hold; without verdicts, its readings by the limits.

    The shares rejected are compared (`same_share_p`). Where the log claims every part (its order
    numbers hardly ever miss one) the numbers of parts must agree as well; they are counts of the same
    parts, so a difference beyond a hundredth has no chance to appeal to and is given p = 0.

    Parameters
    ----------
    study : Study
    findings : Findings
        For the bins.
    sources : list of Source
        Files of the run.

    Returns
    -------
    p : float or None
        None where not both are there.
    counts : tuple of int
        Accepted and rejected in the bins, accepted and rejected in the log.
    by_verdicts : bool
        Whether the log's counts are its verdicts.
    """
    found: Any = findings.get(None, "bins")
    if not isinstance(found, BinsStudy):
        return None, (), True
    logged = found.logged
    if logged is None:
        inside, outside = _by_limits(study, sources)
        bins = (found.accepted, found.rejected, inside, outside)
        p = same_share_p(np.array(bins, dtype=float).reshape(2, 2))
        return (p, bins, False) if inside + outside else (None, (), False)
    bins = (found.accepted, found.rejected, logged.accepted, logged.rejected)
    p = same_share_p(np.array(bins, dtype=float).reshape(2, 2))
    orders = [s.frame["order"].to_numpy(float) for s in sources if "order" in s.frame]
    every = bool(orders) and all((np.diff(one) > 1).mean() < 0.02 for one in orders if one.size > 1)
    total, seen = found.accepted + found.rejected, logged.accepted + logged.rejected
    if every and min(abs(total - seen), abs(total + found.purged - seen)) > 0.01 * total:
        p = 0.0
    return p, bins, True


def _by_limits(study: Study, sources: list[Source]) -> tuple[int, int]:
    """Rows of the log in which every reading lies within its limits, and the others."""
    rows = bad = 0
    for source in sources:
        outside = np.zeros(len(source.frame), dtype=bool)
        for item in study.characteristics:
            if item.id not in source.account.values or item.id not in source.frame:
                continue
            y = source.frame[item.id].to_numpy(dtype=float)
            outside |= y < (-np.inf if item.lower is None else item.lower)
            outside |= y > (np.inf if item.upper is None else item.upper)
        rows += outside.size
        bad += int(outside.sum())
    return rows - bad, bad


def same_share_p(table: NDArray[np.float64]) -> float:
    """Chance of shares as different as these if both counts were of one production.

    Fisher's exact test, whose sums grow with the counts; of a million parts and more Pearson's chi-square, or where few
    are expected in a cell the binomial test of how the rejects fall to the two counts; of a million rejects and more twice its
    smaller tail, for SciPy's search of the other tail does not end where a double no longer counts one by one.
    """
    from scipy.stats import binom, binomtest, chi2_contingency, fisher_exact

    if table.sum() < 1e6:
        return float(fisher_exact(table)[1])
    rows, columns = table.sum(axis=1), table.sum(axis=0)
    if not rows.all() or not columns.all():
        return 1.0
    if float((rows[:, None] * (columns / table.sum())).min()) >= 5:
        return float(chi2_contingency(table)[1])
    rare = int(np.argmin(columns))
    k, n, share = table[0, rare], columns[rare], rows[0] / rows.sum()
    if n < 1e6:
        return float(binomtest(int(k), int(n), share).pvalue)
    return float(min(1.0, 2 * min(binom.cdf(k, n, share), binom.sf(k - 1, n, share))))
