"""Likelihood of a fitted family about its top, for intervals of numbers that are made of it.

Model: see :mod:`linestudy.numerics.likelihood_interval`. For the few values of a short study the chi-square
quantile is widened to Snedecor's F with n - k degrees of freedom
below, times n / (n - k), as a variance estimated by likelihood would have it (common practice, no source);
for the mean of thirty normal values that is five percent wider than exact, and the proof measures 95 to
98 % there.
Values that are serially correlated count as fewer: the fall allowed grows by n over their number.
Misleads where a threshold runs into the smallest value.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from linestudy.numerics.likelihood_interval import Contour, FloatArray
from linestudy.shape.families import MIXTURE
from linestudy.shape.fitting import Fitted, smallest_step

#: From this many effective values on the likelihood may be taken as quadratic, if it is (measured in the proof).
MANY = 2000
#: A quadratic likelihood: its contour lies within this share of where the curvature has it.
_ROUND = 0.25


def allowed_fall(n: float, k: int, worth: float, confidence: float) -> float:
    """How far the log likelihood may fall.

    Parameters
    ----------
    n : float
        Values behind the likelihood.
    k : int
        Parameters.
    worth : float
        Effective number of values.
    confidence : float

    Returns
    -------
    float
    """
    from scipy.special import fdtri

    df = max(worth - k, 1.0)
    return float(fdtri(1, df, confidence)) / 2 * (worth / df) * (n / worth)


def contour_of(item: Fitted, values: ArrayLike, worth: float, confidence: float) -> Contour:
    """Contour of a fitted family's likelihood.

    Parameters
    ----------
    item : Fitted
        With the covariance of its coordinates.
    values : array_like of float, shape (n,)
        Those it was fitted to.
    worth : float
        Effective number of values.
    confidence : float

    Returns
    -------
    Contour
    """
    # A camera's values stand on a grid, so tens of thousands of them are a few hundred.
    x, counts = np.unique(np.asarray(values, dtype=float), return_counts=True)
    z = x - item.origin
    if item.from_bound and z[0] <= 0:
        z = np.maximum(z, smallest_step(z) / 4)
    kind, w = item.kind, counts.astype(float)
    best = np.asarray(item.free, dtype=float)
    top = kind.logpdf(z, best)

    def fall(point: FloatArray) -> float:
        with np.errstate(all="ignore"):
            # Differences value by value lose nothing to the size of the whole.
            found = float(w @ (top - kind.logpdf(z, kind.in_range(point))))
        return found if np.isfinite(found) else np.inf

    def slopes(point: FloatArray) -> FloatArray:
        with np.errstate(all="ignore"):
            found = np.array([float(w @ s) for s in kind.score(z, kind.in_range(point))])
        return np.where(np.isfinite(found), found, 0.0)

    allowed = allowed_fall(float(w.sum()), best.size, worth, confidence)
    return Contour(best, fall, slopes, standard_errors(item.covariance), allowed, _ends(item, z))


def _ends(item: Fitted, z: FloatArray) -> FloatArray:
    """Least and greatest value of each coordinate: the family's own limits, and for components the values'.

    No component is taken to lie where no value is: its mean is within their range and its SD at most
    half of that, the largest that anything within a range can have (Popoviciu 1935).
    """
    kind, reach = item.kind, float(z[-1] - z[0])
    ends = np.array([[-np.inf, np.inf]] * len(kind.limits))
    for i, coordinate in enumerate(kind.coordinate_kinds):
        if coordinate == "n":
            ends[i] = kind.limits[i]
        elif item.family == MIXTURE and reach > 0:
            ends[i] = (z[0], z[-1]) if coordinate == "p" else (-np.inf, np.log(reach / 2))
    return ends.T


def standard_errors(covariance: ArrayLike) -> FloatArray:
    """Moves of one standard error in independent directions; shape (k, m), m at most k."""
    spread, directions = np.linalg.eigh(np.asarray(covariance, dtype=float))
    kept = spread > 1e-14 * max(float(spread.max()), 1e-300)
    return np.asarray(directions[:, kept] * np.sqrt(spread[kept]), dtype=float)


def is_quadratic(contour: Contour) -> bool:
    """Whether the likelihood falls in all its directions about as its curvature says.

    Parameters
    ----------
    contour : Contour

    Returns
    -------
    bool
    """
    for direction in np.eye(contour.root.shape[1]):
        for sign in (-1.0, 1.0):
            fall = contour.fall(contour.at(sign * contour.radius * direction))
            if not (1 - _ROUND) ** 2 < fall / contour.allowed < (1 + _ROUND) ** 2:
                return False
    return True
