"""A trend through block means where every coil has a level of its own.

Model: ``block mean = design · coefficients + level of its coil + remainder``, levels normal with variance τ², remainders with
variance σ²/n. Given the ratio λ = τ²/σ² this is generalized least squares, and the coefficients have Student's t. How far
coils differ is known from few of them only: with λ put at one estimate, nought among them, slopes would be held too seldom.
So λ is integrated out of the restricted likelihood, flat in the standard deviation τ (Gelman, *Bayesian Analysis* 1 (2006),
515-534), on an even grid, and one Student's t with the mixture's variance and kurtosis replaces the whole. Misleads where a
coil begins with each life (then its level is the life's, and nothing is said of it) and where the slope runs within coils
otherwise than over them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.numerics.arrays import FloatArray

if TYPE_CHECKING:
    import pandas as pd

#: Points of the grid, and how many times the coils' scatter seen it reaches.
_GRID, _REACH = 120, 5.0
#: Fewest blocks beyond one for each coil: what tells a coil's level from chance.
_WITHIN = 4


@dataclass(frozen=True)
class CoilFit:
    """Coefficients of a trend over coils.

    Attributes
    ----------
    coefficients : numpy.ndarray, shape (p,)
    covariance : numpy.ndarray, shape (p, p)
        Squared scale of the coefficients' Student's t.
    df : float
        Its degrees of freedom.
    between : float
        Variance between coils, in the squared unit of the values; mean over the grid.
    coil_df : int
        Coils less what design and coils explain alike.
    """

    coefficients: FloatArray
    covariance: FloatArray
    df: float
    between: float
    coil_df: int


def coils_of(table: pd.DataFrame) -> Any:
    """Number the coil of each part of a run; None where parts name no coil, or one coil made them all."""
    import pandas as pd

    if "coil" not in table or table["coil"].isna().any():
        return None
    codes, names = pd.factorize(table["coil"])
    return codes if len(names) > 1 and "" not in names else None


def within_coils(stretch: Any, coil: Any) -> Any:
    """Number the parts of each stretch by coil, from 0; the stretches themselves where no coils are named."""
    if coil is None:
        return stretch
    codes = np.unique(coil, return_inverse=True)[1]
    return np.unique(stretch * (codes.max() + 1) + codes, return_inverse=True)[1]


def first_of(label: Any, group: Any) -> Any:
    """Return the label of each group, numbered from 0, which all of its parts share."""
    return np.asarray(label)[np.unique(group, return_index=True)[1]]


def fit_over_coils(mean: FloatArray, n: FloatArray, design: Any, coil: Any) -> CoilFit | None:
    """Fit block means over coils that differ.

    Parameters
    ----------
    mean, n : numpy.ndarray of float, shape (blocks,)
        Mean and number of parts of each block.
    design : numpy.ndarray of float, shape (blocks, p)
        Of full rank; its last column is the slope's.
    coil : numpy.ndarray, shape (blocks,)
        Coil of each block.

    Returns
    -------
    CoilFit or None
        None where design and blocks leave nothing to tell coils by.
    """
    coil = np.unique(coil, return_inverse=True)[1]
    member = np.eye(int(coil.max()) + 1)[coil]
    p = design.shape[1]
    coil_df = int(np.linalg.matrix_rank(np.hstack([design, member]))) - p
    if coil_df < 1 or mean.size < p + coil_df + _WITHIN:
        return None
    centre = float(np.average(mean, weights=n))
    y = mean - centre
    parts, heavy = member.T @ n, n[:, None] * design
    xx, xy, yy = design.T @ heavy, heavy.T @ y, float(n @ y**2)
    by_coil, of_coil = member.T @ heavy, member.T @ (n * y)
    rest = y - design @ np.linalg.solve(xx, xy)
    level = (member.T @ (n * rest)) / parts
    noise = float(n @ (rest - level[coil]) ** 2) / (mean.size - coil_df - p)
    if not noise > 0:
        return None
    df = mean.size - p
    highest = _REACH * np.sqrt(max(float(level.var()), noise / parts.mean()) / noise)
    roots = np.linspace(0, highest, _GRID)
    found = []
    for ratio in roots**2:
        share = ratio / (1 + ratio * parts)
        a = xx - by_coil.T @ (share[:, None] * by_coil)
        b = xy - by_coil.T @ (share * of_coil)
        at = np.linalg.solve(a, b)
        squares = yy - float(share @ of_coil**2) - float(b @ at)
        deviance = float(np.log1p(ratio * parts).sum() + np.linalg.slogdet(a)[1]) + df * np.log(
            squares
        )
        found.append((deviance, at, squares / (df - 2) * np.linalg.inv(a), squares / df * ratio))
    deviance, at, spread, between = (np.array(column) for column in zip(*found, strict=True))
    weight = np.exp((deviance.min() - deviance) / 2)
    weight /= weight.sum()
    middle = weight @ at
    away = at - middle
    covariance = np.tensordot(weight, spread, 1) + away.T @ (weight[:, None] * away)
    t = min(_df(weight, spread[:, -1, -1]), _df(weight, spread[:, 0, 0]), float(df))
    # The design holds a column for each life, so that what was taken off goes back to their levels.
    back = np.linalg.lstsq(design, np.full(mean.size, centre), rcond=None)[0]
    return CoilFit(middle + back, covariance * (t - 2) / t, t, float(weight @ between), coil_df)


def _df(weight: FloatArray, variance: FloatArray) -> float:
    """Return degrees of freedom of the t whose kurtosis a mixture of normals of these variances has."""
    middle = float(weight @ variance)
    return 4 + 2 * middle**2 / max(float(weight @ (variance - middle) ** 2), 1e-12 * middle**2)
