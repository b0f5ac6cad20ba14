"""The line of strength on size: generalized least squares with a batch's variance, and what it assumes.

Formulas and sources stand with `strength`, which asks the questions.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from linestudy.numerics.reml import rounding_noise
from linestudy.results import Absent, CannotJudge, Interval, counted


@dataclass(frozen=True)
class Line:
    """A line with the covariance of its ends and the variance of a single part.

    Attributes
    ----------
    ends : numpy.ndarray of float, shape (2,)
        Intercept and slope.
    covariance : numpy.ndarray of float, shape (2, 2)
        Of the ends, in units of `variance`.
    variance : float
        Of a part of another batch about the line.
    df : float
        Degrees of freedom of `variance`.
    batch_share : float
        Share of `variance` between batches.
    batches, n : int
        Batches (0 where none are named) and parts.
    terms : tuple of numpy.ndarray of float, or None
        What the mean squares of batches and within bring to `variance`, and their degrees of freedom; None without batches.
    """

    ends: NDArray[np.float64]
    covariance: NDArray[np.float64]
    variance: float
    df: float
    batch_share: float
    batches: int
    n: int
    terms: tuple[NDArray[np.float64], NDArray[np.float64]] | None = None

    @property
    def sd(self) -> float:
        """Standard deviation of a part about the line."""
        return math.sqrt(self.variance)

    def at(self, width: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the line at some sizes."""
        return np.asarray(self.ends[0] + self.ends[1] * width)

    def interval(self, which: int, confidence: float) -> Interval:
        """Return the interval of the intercept (0) or the slope (1)."""
        from scipy.special import stdtrit

        error = math.sqrt(self.covariance[which, which] * self.variance)
        half = float(stdtrit(self.df, (1 + confidence) / 2)) * error
        value = float(self.ends[which])
        return Interval(value, value - half, value + half, confidence, "t")

    def bound(
        self, width: ArrayLike, content: float, confidence: float, n: int | None = None
    ) -> NDArray[np.float64]:
        """Return the lower tolerance bound at some sizes; `n`: as of so many parts instead."""
        from scipy.special import ndtri
        from scipy.stats import nct

        sizes = np.atleast_1d(np.asarray(width, dtype=float))
        x = np.column_stack([np.ones(sizes.size), sizes])
        df = self._df_of_bound(confidence) if n is None else float(n - 2)
        h = ((x @ self.covariance) * x).sum(axis=1) * (1.0 if n is None else self.n / n)
        root = np.sqrt(h)
        factor = root * nct.ppf(confidence, df, float(ndtri(content)) / root)
        return np.asarray(x @ self.ends - factor * self.sd)

    def _df_of_bound(self, confidence: float) -> float:
        """Return the degrees of freedom whose chi-square bounds the variance as Graybill and Wang's bound does.

        Satterthwaite's are many where the batches' mean square came out small by chance, which is where the variance is
        too small as well.
        """
        from scipy.optimize import brentq
        from scipy.special import chdtri

        if self.terms is None:
            return self.df
        values, df = self.terms
        over = df / chdtri(df, confidence) - 1
        most = 1 + float(np.sqrt(((over * values) ** 2).sum())) / self.variance

        def apart(free: float) -> float:
            return free / float(chdtri(free, confidence)) - most

        # One mean square alone gives its own degrees of freedom; two lie between the fewest and both together.
        low, high = float(df.min()), float(df.sum())
        if apart(low) <= 0 or apart(high) >= 0:
            return min(self.df, low if apart(low) <= 0 else high)
        return min(self.df, float(brentq(apart, low, high, xtol=1e-12, rtol=1e-14)))


def fit_line(
    widths: NDArray[np.float64], forces: NDArray[np.float64], groups: NDArray[np.intp]
) -> Line:
    """Fit by generalized least squares, with the batch's variance from mean squares.

    Parameters
    ----------
    widths, forces : numpy.ndarray of float, shape (n,)
    groups : numpy.ndarray of int, shape (n,)
        Batch of each part, all 0 where none are named.

    Returns
    -------
    Line

    Raises
    ------
    CannotJudge
        Strengths that lie on one line exactly.
    """
    n = widths.size
    design = np.column_stack([np.ones(n), widths - widths.mean()])
    counts = np.bincount(groups)
    batches = int(counts.size) if counts.size > 1 else 0
    rest = _left_over(design, forces)
    sse = float(rest @ rest)
    if sse <= rounding_noise(forces):
        raise CannotJudge(f"The strengths of {n} parts lie on one line exactly.")
    within, between, df, both = sse / (n - 2), 0.0, n - 2.0, None
    if batches and n - batches - 1 >= 1:
        dummies = np.eye(batches)[groups]
        inner = _left_over(np.column_stack([dummies, design[:, 1]]), forces)
        free, extra = n - batches - 1, batches - 1
        own = float(inner @ inner) / free
        of_batches = (sse - float(inner @ inner)) / extra
        # What the batches' mean square expects of their variance: a trace (Henderson's method III).
        left = dummies - design @ np.linalg.solve(design.T @ design, design.T @ dummies)
        weight = float((dummies * left).sum()) / extra
        if of_batches > own and weight > 0:
            within, between = own, (of_batches - own) / weight
            terms = np.array([of_batches / weight, own * (1 - 1 / weight)])
            frees = np.array([extra, free], dtype=float)
            df, both = float((within + between) ** 2 / (terms**2 / frees).sum()), (terms, frees)
    total = within + between
    share = between / total
    covariance = np.eye(n) * (1 - share) + share * (groups[:, None] == groups[None, :])
    inverse = np.linalg.solve(covariance, design)
    spread = np.linalg.inv(design.T @ inverse)
    ends = spread @ (inverse.T @ forces)
    # Back from the middle of the sizes to size zero.
    back = np.array([[1.0, -widths.mean()], [0.0, 1.0]])
    return Line(back @ ends, back @ spread @ back.T, total, df, share, batches, n, both)


def _left_over(design: NDArray[np.float64], values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return what least squares leave of some values."""
    ends, *_ = np.linalg.lstsq(design, values, rcond=None)
    return np.asarray(values - design @ ends)


def assumptions_of(
    widths: NDArray[np.float64],
    forces: NDArray[np.float64],
    groups: NDArray[np.intp],
    line: Line,
) -> tuple[float, float, float]:
    """Test what the line assumes.

    Parameters
    ----------
    widths, forces : numpy.ndarray of float, shape (n,)
    groups : numpy.ndarray of int, shape (n,)
    line : Line

    Returns
    -------
    tuple of float
        p of a straight line, of equal spread, of normal distances.
    """
    from scipy.special import chdtrc, stdtr
    from scipy.stats import shapiro

    x = (widths - widths.mean()) / np.ptp(widths)
    columns = (
        [np.ones(x.size)] if not line.batches else list(np.eye(int(groups.max()) + 1)[groups].T)
    )
    straight = np.column_stack([*columns, x])
    rest = _left_over(straight, forces)
    curved_design = np.column_stack([straight, x**2])
    left = _left_over(curved_design, forces)
    free = x.size - np.linalg.matrix_rank(curved_design)
    if free < 1 or float(left @ left) <= 0:
        curved = 1.0
    else:
        gained = float(rest @ rest - left @ left)
        curved = float(2 * stdtr(free, -math.sqrt(max(gained, 0.0) / (float(left @ left) / free))))
    squares = rest**2
    correlation = float(np.corrcoef(squares, x)[0, 1]) if np.ptp(squares) > 0 else 0.0
    return curved, float(chdtrc(1, x.size * correlation**2)), float(shapiro(rest).pvalue)


def low_quantile_slope(
    widths: NDArray[np.float64], forces: NDArray[np.float64], confidence: float
) -> Interval | Absent:
    """Find the slope of the line below which a tenth of the parts lie, by quantile regression (statsmodels).

    Parameters
    ----------
    widths, forces : numpy.ndarray of float, shape (n,)
    confidence : float

    Returns
    -------
    Interval or Absent
    """
    if widths.size < 60:
        return Absent(
            f"{counted(widths.size, 'part')} are too few for a line below a tenth of them"
        )
    import warnings

    from statsmodels.regression.quantile_regression import QuantReg

    design = np.column_stack([np.ones(widths.size), (widths - widths.mean()) / widths.std()])
    scaled = (forces - forces.mean()) / forces.std()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        fit = QuantReg(scaled, design).fit(q=0.1, p_tol=1e-10, max_iter=5000)
    turned = forces.std() / widths.std()
    low, high = (float(end) * turned for end in fit.conf_int(alpha=1 - confidence)[1])
    value = float(fit.params[1]) * turned
    if not all(map(math.isfinite, (low, value, high))):
        return Absent("the line below a tenth of the parts could not be found")
    return Interval(value, low, high, confidence, "quantile regression")
