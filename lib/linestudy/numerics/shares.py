"""The exact interval of a counted share."""

from __future__ import annotations

from linestudy.results.interval import Interval


def share_interval(count: int, n: int, confidence: float = 0.95) -> Interval:
    """Estimate the share of `count` in `n` with its exact interval.

    Parameters
    ----------
    count, n : int
        ``0 <= count <= n``, ``n >= 1``; counted on independent items.
    confidence : float
        Of the two-sided interval, between 0 and 1.

    Returns
    -------
    Interval
        Clopper & Pearson, *Biometrika* 26 (1934), by statsmodels.

    Examples
    --------
    >>> round(share_interval(0, 59, 0.90).high, 3)
    0.05
    """
    from statsmodels.stats.proportion import proportion_confint

    low, high = proportion_confint(count, n, alpha=1 - confidence, method="beta")
    # At the ends the beta quantile is not defined; the interval reaches the end.
    low = 0.0 if count == 0 else float(low)
    high = 1.0 if count == n else float(high)
    return Interval(count / n, low, high, confidence, "Clopper-Pearson")
