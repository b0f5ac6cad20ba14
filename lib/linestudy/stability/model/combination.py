"""One p-value of several tests that hang together.

Each p-value becomes a standard Cauchy variable, whose weighted mean is one again, nearly so where the tests hang together and p is
small (Liu & Xie, *JASA* 115 (2020), 393-402).
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
        The tail of the standard Cauchy distribution at their weighted mean of tangents.
    """
    from math import atan, pi, tan

    weights = weights or [1.0] * len(p)
    total = sum(
        w / (max(v, 1e-300) * pi) if v < 1e-8 else w * tan((0.5 - min(v, 0.999)) * pi)
        for v, w in zip(p, weights, strict=True)
    ) / sum(weights)
    return 1 / (total * pi) if total > 1e8 else 0.5 - atan(total) / pi
