"""Counts of the bins held against the log, and its verdicts against its readings: are they of one production, and by one set of limits."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.capability.whole_part.bins_study import BinsStudy
from linestudy.capability.yields.sorter_limits import sorter_limits
from linestudy.capability.yields.study import YIELD, YieldStudy
from linestudy.results import Findings, counted
from linestudy.results.rounding import as_given

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from linestudy.records.read_files import Source
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic

#: Chance of a limit of the sorter, or of so many accepted outside the limits, by accident.
_BY_CHANCE = 0.001
#: How verdicts are called of parts that were worked on, or read, again (eleven languages).
_AGAIN = re.compile(
    r"re-?work|repair|re-?test|re-?measur|re-?check|nacharbeit|nachmess|repari|retouch|retrabal|retrabaj|rilavor|ripara|przer[oó]b|poprawk|"
    r"oprav|yeniden|перераб|доработ|返工|返修|手直し|再測定|再検|재작업|재측정"
)
#: Share of the tolerance by which a sorter may keep inside the limits for its error, and from which on that is reported (common practice).
_GUARD, _REPORTED = 0.1, 0.02


def bins_against_log(
    study: Study, findings: Findings, sources: list[Source]
) -> tuple[float | None, tuple[int, ...], bool]:
    """Test whether the log's verdicts are counts of the production that the bins hold; without verdicts, its readings.

    The shares rejected are compared (`same_share_p`). Where the log claims every part (its order
    numbers hardly ever miss one) the numbers of parts must agree as well; they are counts of the same
    parts, so a difference beyond a hundredth has no chance to appeal to and is given p = 0.

    Parameters
    ----------
    study : Study
    findings : Findings
        For the bins.
    sources : list of Source
        Files of the run, or of the short run, which has no verdicts.

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
    logged = None if any(s.data.role == "machine" for s in sources) else found.logged
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
    """Count rows of the log in which every reading lies within its limits, and the others."""
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


def verdicts_against_readings(
    study: Study, findings: Findings, sources: list[Source], item: Characteristic
) -> tuple[tuple[str, ...], list[str]]:
    """Hold the log's verdicts against its readings and the limits of study.toml.

    Parameters
    ----------
    study : Study
    findings : Findings
        For the yield, which knows what measurement error explains.
    sources : list of Source
        Files of the run.
    item : Characteristic

    Returns
    -------
    contradictions : tuple of str
        Sentences: other limits in the sorter, accepted parts outside the limits.
    conditions : list of str
        What a reader should know: a sorter that keeps inside the limits for its error, rejected parts that no reading explains.
    """
    said: list[str] = []
    conditions: list[str] = []
    unexplained = rejected = 0
    for source in sources:
        frame = source.frame
        if "accepted" not in frame or item.id not in frame or item.position is not None:
            continue
        bad = ~frame["accepted"].to_numpy(dtype=bool)
        words: dict[str, int] = {}
        if "verdict" in frame:
            counts = frame["verdict"][~bad].astype(str).value_counts()
            words = {str(word): int(n) for word, n in counts.items()}
        if len(words) > 1:
            listed = ", ".join(f"{word} {n:,}" for word, n in words.items())
            conditions.append(f"the log accepts parts under {len(words)} words: {listed}")
        again = sum(n for word, n in words.items() if _AGAIN.search(word.casefold()))
        if again:
            said.append(
                f"{counted(again, 'accepted part')} bear a verdict of rework or of a second reading, and what was read then is not what the process "
                "made"
            )
        outside, others = _outside(study, source, item)
        open_bad = bad & ~others & ~outside
        whole = np.isfinite(frame[item.id].to_numpy(dtype=float))
        rejected += int(bad.sum())
        free = open_bad & whole
        if "reason" in frame:
            free &= (frame["reason"].fillna("").astype(str).str.strip() == "").to_numpy()
        unexplained += int(free.sum())
        y = frame[item.id].to_numpy(dtype=float)[~others]
        for one in sorter_limits(y, bad[~others], item.lower, item.upper):
            if one.p >= _BY_CHANCE or one.share < _REPORTED:
                continue
            beyond = "above" if one.side == "upper" else "below"
            text = (
                f"the log rejects {one.rejected:,} of {counted(one.parts, 'part')} that read {as_given(one.at)} and {beyond}, within the {one.side} limit "
                f"by up to {one.share:.0%} of tolerance"
            )
            if one.share > _GUARD:
                said.append(f"{text}: the sorter keeps to other limits than the study")
            else:
                conditions.append(text)
    if unexplained and not said:
        conditions.append(
            f"{unexplained:,} of {counted(rejected, 'rejected part')} in the log have every reading within its limits and no reason is named: "
            "hold against the sorter's record what they were rejected for"
        )
    return (*said, *_accepted_outside(findings, sources, item)), conditions


def _outside(study: Study, source: Source, item: Characteristic) -> tuple[Any, Any]:
    """Find rows in which this characteristic lies outside its limits, and those in which another does."""
    own = others = np.zeros(len(source.frame), dtype=bool)
    for one in study.characteristics:
        if one.id not in source.account.values or one.id not in source.frame:
            continue
        y = source.frame[one.id].to_numpy(dtype=float)
        beyond = y < (-np.inf if one.lower is None else one.lower)
        beyond |= y > (np.inf if one.upper is None else one.upper)
        if one.id == item.id:
            own = beyond
        else:
            others = others | beyond
    return own, others


def _accepted_outside(findings: Findings, sources: list[Source], item: Characteristic) -> list[str]:
    """Report accepted parts outside the limits, more than measurement error makes."""
    found: Any = findings.get(None, *YIELD.at())
    if (
        not isinstance(found, YieldStudy)
        or found.escapes is None
        or found.escapes.explained is not False
    ):
        return []
    low = -np.inf if item.lower is None else item.lower
    high = np.inf if item.upper is None else item.upper
    count = 0
    for source in sources:
        if "accepted" in source.frame and item.id in source.frame:
            y = source.frame[item.id].to_numpy(dtype=float)
            good = source.frame["accepted"].to_numpy(dtype=bool)
            count += int((good & ((y < low) | (y > high))).sum())
    # One or two may be those that measurement error explains.
    if count <= (found.escapes.expected or 0.0):
        return []
    return [
        f"the log accepts {counted(count, 'part')} that read outside the limits, more than measurement error explains"
    ]


def same_share_p(table: NDArray[np.float64]) -> float:
    """Compute the chance of shares as different as these if both counts were of one production.

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
