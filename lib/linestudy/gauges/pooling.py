"""The table of variance of a crossed study, and which interactions it is content to pool.

An interaction whose test gives p above the threshold is counted as repeatability; the interaction of
most factors goes first, and of several the one seen least. A smaller interaction stays while one that
contains it does: its mean square also expects that one's variance, and pooled it would carry that into
repeatability. Source: AIAG MSA, 4th ed. (2010), ch. III,
for one interaction with 0.25; the order for a third factor is common practice, no source. Misleads
where a small study misses an interaction that is there: the estimate then spreads it over
repeatability. Intervals therefore do not lean on it (see `components`).
"""

from __future__ import annotations

import math
from typing import Any

from linestudy.gauges.mean_squares import ERROR, MeanSquares


def pool(
    squares: MeanSquares, pool_above: float | None
) -> tuple[tuple[dict[str, Any], ...], tuple[str, ...], MeanSquares]:
    """Test the interactions, pool those that are not seen, and lay out the table of variance.

    Parameters
    ----------
    squares : MeanSquares
    pool_above : float or None
        None never pools.

    Returns
    -------
    anova : tuple of dict
        Rows ``source, df, ss, ms, f, p``; the last is the total.
    pooled : tuple of str
    used : MeanSquares
        After pooling.
    """
    used, pooled = squares, []
    tested: dict[str, tuple[float | None, float | None]] = {}
    # The interaction of most factors goes first; a smaller one is tested against what is left.
    for size in (3, 2):
        while True:
            here = [s for s in used.sources if s.count(":") == size - 1]
            tests = {source: used.f_test(source)[:2] for source in here}
            tested |= tests
            loose = [source for source in here if not _contained(source, used.sources)]
            if pool_above is None or not loose:
                break
            worst, p = max(
                ((s, -1.0 if tests[s][1] is None else tests[s][1]) for s in loose),
                key=lambda item: item[1],
            )
            if p <= pool_above:
                break
            used = used.pooled(worst)
            pooled.append(worst)
    rows: list[dict[str, Any]] = []
    freedom, sums = squares.df.tolist(), squares.ss.tolist()
    for source, df, ss in zip(squares.sources, freedom, sums, strict=True):
        f: float | None = None
        p_value: float | None = None
        if source in tested:
            f, p_value = tested[source]
        elif source != ERROR:
            f, p_value, _ = used.f_test(source)
        rows.append(
            {
                "source": source,
                "df": int(df),
                "ss": ss,
                "ms": ss / df,
                "f": f,
                "p": p_value,
            }
        )
    rows.append(
        {
            "source": "total",
            "df": int(sum(freedom)),
            "ss": math.fsum(sums),
            "ms": None,
            "f": None,
            "p": None,
        }
    )
    return tuple(rows), tuple(pooled), used


def _contained(source: str, sources: tuple[str, ...]) -> bool:
    """Whether another of the sources is an interaction of this one with more factors."""
    own = set(source.split(":"))
    return any(own < set(other.split(":")) for other in sources)
