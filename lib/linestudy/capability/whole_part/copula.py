"""Share of parts outside some limit, from the fitted distributions and their correlations."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from linestudy.numerics import generator
from linestudy.results import Interval, arguments, data_arguments

#: Points of the integration, a power of two.
POINTS = 4096


def normal_correlation(rank_correlation: NDArray[np.float64]) -> NDArray[np.float64]:
    """Compute the correlations of normal scores that give the rank correlations.

    Parameters
    ----------
    rank_correlation : numpy.ndarray of float, shape (k, k)
        Spearman's.

    Returns
    -------
    numpy.ndarray of float, shape (k, k)
        Positive definite; where the conversion is not, its negative eigenvalues are raised.

    Notes
    -----
    Pearson (1907), *On further methods of determining correlation*.

    Examples
    --------
    >>> import numpy as np
    >>> round(float(normal_correlation(np.array([[1, 0.5], [0.5, 1]]))[0, 1]), 4)
    0.5176
    """
    matrix = 2 * np.sin(np.pi * np.asarray(rank_correlation, dtype=float) / 6)
    np.fill_diagonal(matrix, 1.0)
    values, vectors = np.linalg.eigh(matrix)
    if values[0] < 1e-8:
        matrix = (vectors * np.maximum(values, 1e-8)) @ vectors.T
        root = np.sqrt(np.diag(matrix))
        matrix = matrix / np.outer(root, root)
    return matrix


def share_failing_any(
    below: Sequence[float],
    above: Sequence[float],
    correlation: NDArray[np.float64],
    *,
    nodes: int = POINTS,
) -> float:
    r"""Compute the share of parts outside some limit, normal scores being jointly normal.

    Parameters
    ----------
    below, above : sequence of float, length k
        Share of each characteristic below its lower and above its upper limit, between 0 and 1.
    correlation : numpy.ndarray of float, shape (k, k)
        Of the normal scores.
    nodes : int
        Points of the integration, a power of two.

    Returns
    -------
    float
        Between 0 and 1.

    Raises
    ------
    ValueError
        Shares and correlations that do not belong together.

    See Also
    --------
    joint_conformity : From the parts themselves.

    Notes
    -----
    Model: each characteristic follows its own distribution; transformed to normal scores they are
    jointly normal (a Gaussian copula), with correlations :math:`2 \sin(\pi r_S / 6)` of Spearman's rank
    correlations. The share outside some limit is the sum, over the characteristics in turn, of the
    share that fails this one and none before it,

    .. math:: P = \sum_i P\{F_i \cap \bar F_1 \cap \dots \cap \bar F_{i-1}\},

    each term integrated from its own tail with scrambled Sobol points, so that shares of a few parts
    per million keep their digits. Misleads in the far tails, where a Gaussian copula has no
    dependence: characteristics that fail together for one cause (a lost weld, a mis-feed) fail
    together more often than it says. Between two bounds it cannot err: the share is at least that of the
    worst characteristic and at most the sum.

    References
    ----------
    Nelsen, *An Introduction to Copulas*, 2nd ed. (2006), ch. 2; Genz, *Journal of Computational and
    Graphical Statistics* 1 (1992), 141-149; Pearson (1907), *On further methods of determining correlation*.

    Examples
    --------
    >>> import numpy as np
    >>> print(f"{share_failing_any([0.1, 0.1], [0.0, 0.0], np.eye(2)):.4f}")
    0.1900
    """
    from scipy.special import ndtr, ndtri
    from scipy.stats import qmc

    low = data_arguments.one_dimensional(below, name="below", what="share")
    high = data_arguments.one_dimensional(above, name="above", what="share")
    correlation = np.asarray(correlation)
    arguments.whole("nodes", nodes, least=1)
    k = low.size
    if correlation.shape != (k, k) or high.size != k:
        raise ValueError(
            f"below has {k} entries, above {high.size}, correlation shape {correlation.shape}; each "
            "characteristic needs two shares and its correlations."
        )
    # The worst first: what fails it needs no look at any other.
    order = np.argsort(-(low + high), kind="stable")
    low, high = low[order], high[order]
    matrix = correlation[np.ix_(order, order)]
    total = float(low[0] + high[0])
    if k == 1:
        return total
    u = qmc.Sobol(k, rng=generator(None, "copula")).random(nodes)
    ends = ndtri(low), -ndtri(high)
    for i in range(1, k):
        p = float(low[i] + high[i])
        if p == 0:
            continue
        # Scores beyond the limits of i, the lower tail first, then those of all before it in turn.
        tail = u[:, 0] * p
        down = tail < low[i]
        score = np.where(
            down, ndtri(np.minimum(tail, low[i])), -ndtri(np.minimum(p - tail, high[i]))
        )
        factor = np.linalg.cholesky(matrix[np.ix_([i, *range(i)], [i, *range(i)])])
        scores = [score]
        weight = np.ones(nodes)
        for row in range(1, i + 1):
            mean = sum(factor[row, c] * scores[c] for c in range(row))
            a = ndtr((ends[0][row - 1] - mean) / factor[row, row])
            b = ndtr((ends[1][row - 1] - mean) / factor[row, row])
            weight *= np.maximum(b - a, 0.0)
            inside = np.clip(a + u[:, row] * (b - a), 1e-300, 1 - 1e-16)
            scores.append(ndtri(inside))
        total += p * float(weight.mean())
    return total


def failing_any(
    rates: Sequence[Mapping[str, Interval]], correlation: NDArray[np.float64]
) -> tuple[Interval, float]:
    """Compute parts per million outside some limit, with an interval, and as if independent.

    Parameters
    ----------
    rates : sequence of dict
        For each characteristic ``below``, ``above`` and ``total`` in parts per million.
    correlation : numpy.ndarray of float, shape (k, k)
        Of the normal scores.

    Returns
    -------
    ppm : Interval
    independent : float
        The same if the characteristics had nothing to do with each other, in ppm.

    Notes
    -----
    The sum of the single shares gets its interval from theirs (MOVER; Zou & Donner, *Statistics in
    Medicine* 27 (2008), 1693-1702), as if estimated independently, and the overlap is held as found.

    Examples
    --------
    >>> import numpy as np
    >>> rate = Interval(1e5, 9e4, 1.1e5, 0.95, "example")
    >>> none = Interval(0.0, 0.0, 0.0, 0.95, "no such limit")
    >>> one = {"below": rate, "above": none, "total": rate}
    >>> found, product = failing_any([one, one], np.eye(2))
    >>> round(found.estimate), round(product)
    (190000, 190000)
    """
    below = [1e-6 * rate["below"].estimate for rate in rates]
    above = [1e-6 * rate["above"].estimate for rate in rates]
    share = share_failing_any(below, above, correlation)
    totals = [rate["total"] for rate in rates]
    most = sum(rate.estimate for rate in totals)
    down = math.sqrt(sum((rate.estimate - rate.low) ** 2 for rate in totals))
    up = math.sqrt(sum((rate.high - rate.estimate) ** 2 for rate in totals))
    # What is counted twice among the single shares stays the part it is.
    kept = 1e6 * share / most if most > 0 else 1.0
    product = 1e6 * -math.expm1(
        sum(math.log1p(-min(b + a, 1 - 1e-12)) for b, a in zip(below, above, strict=True))
    )
    ppm = Interval(
        1e6 * share,
        max(most - down, 0.0) * kept,
        min((most + up) * kept, 1e6),
        totals[0].confidence,
        "Gaussian copula, MOVER",
    )
    return ppm, product
