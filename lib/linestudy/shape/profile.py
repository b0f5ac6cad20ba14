"""How far a likelihood may fall around its maximum, for intervals of numbers that are made of it."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from linestudy.numerics.arrays import FloatArray
from linestudy.numerics.likelihood_interval import Contour
from linestudy.results import data_arguments
from linestudy.shape.families import MIXTURE
from linestudy.shape.fitting import FittedDistribution, smallest_step

#: From this many effective values on the likelihood may be taken as quadratic, if it is (measured in the proof).
MANY = 2000
#: A quadratic likelihood: its contour lies within this share of where the curvature has it.
_ROUND = 0.25


def allowed_fall(n: float, k: int, n_eff: float, confidence: float) -> float:
    r"""Compute how far the log likelihood may fall within a confidence region of one number.

    Parameters
    ----------
    n : float
        Values behind the likelihood.
    k : int
        Parameters.
    n_eff : float
        Effective sample size.
    confidence : float
        Between 0 and 1.

    Returns
    -------
    float
        A pure number, above 0.

    Notes
    -----
    .. math:: \frac{1}{2} F_{1, n_\mathrm{eff} - k}(\gamma)
        \frac{n_\mathrm{eff}}{n_\mathrm{eff} - k} \frac{n}{n_\mathrm{eff}}

    For the few values of a short study the chi-square quantile is widened to Snedecor's F with n - k degrees
    of freedom below, times n / (n - k), as a variance estimated by likelihood would have it (common
    practice, no source); for the mean of thirty normal values that is five percent wider than exact, and
    the proof measures 95 to 98 % there. Values that are serially correlated count as fewer: the fall allowed
    grows by n over their effective number. Misleads where a threshold runs into the smallest value.

    Examples
    --------
    >>> round(allowed_fall(1000, 2, 1000, 0.95), 3)
    1.929
    """
    from scipy.special import fdtri

    df = max(n_eff - k, 1.0)
    return float(fdtri(1, df, confidence)) / 2 * (n_eff / df) * (n / n_eff)


def can_be_followed(item: FittedDistribution, n_eff: float) -> bool:
    """Check whether the effective sample size suffices to follow a family's likelihood.

    With fewer than three for each of a mixture's parameters (common practice, no source) a component may shrink to nothing or
    run away: the contour has arms without end, and where a search ends in them is left to last digits. Its curvature says
    about the same where the contour still closes, and stays finite where it does not.

    Parameters
    ----------
    item : FittedDistribution
    n_eff : float
        Effective sample size.

    Returns
    -------
    bool
    """
    return item.family != MIXTURE or n_eff >= 3 * len(item.parameters)


def contour_of(
    item: FittedDistribution, values: ArrayLike, n_eff: float, confidence: float
) -> Contour:
    """Make the contour of a fitted family's likelihood.

    Parameters
    ----------
    item : FittedDistribution
        With the covariance of its coordinates.
    values : array_like of float, shape (n,)
        Those it was fitted to.
    n_eff : float
        Effective sample size.
    confidence : float
        Of the interval that the contour is for.

    Returns
    -------
    Contour
    """
    # A camera's values lie on a grid, so tens of thousands of them are a few hundred.
    y = data_arguments.one_dimensional(values, least=1)
    x, counts = np.unique(y, return_counts=True)
    return contour_of_counts(item, x, counts.astype(float), n_eff, confidence)


def contour_of_counts(
    item: FittedDistribution, x: FloatArray, w: FloatArray, n_eff: float, confidence: float
) -> Contour:
    """Make the contour from distinct values, ascending, and how often each occurs; see :func:`contour_of`."""
    z = above_bound(item, x)
    kind = item.kind
    best = np.asarray(item.free, dtype=float)
    top = kind.logpdf(z, best)

    def fall(point: FloatArray) -> float:
        with np.errstate(all="ignore"):
            # Differences value by value lose nothing to the size of the whole.
            found = float(w @ (top - kind.logpdf(z, kind.in_range(point))))
        return found if np.isfinite(found) else np.inf

    def slopes(point: FloatArray) -> FloatArray:
        inside = kind.in_range(point)
        with np.errstate(all="ignore"):
            found = np.array([float(w @ s) for s in kind.score(z, inside)])
        # Where only the size of a coordinate counts, the likelihood falls the other way on its other side.
        found = np.where(np.equal(inside, -point), -found, found)
        return np.where(np.isfinite(found), found, 0.0)

    allowed = allowed_fall(float(w.sum()), best.size, n_eff, confidence)
    return Contour(
        best,
        fall,
        slopes,
        standard_errors(item.known_covariance),
        allowed,
        _ends(item, z),
        kind.mirrored,
        item.family != MIXTURE,
    )


def _ends(item: FittedDistribution, z: FloatArray) -> FloatArray:
    """Return least and greatest value of each coordinate: the family's own limits, and for components the values'.

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


def above_bound(item: FittedDistribution, x: FloatArray) -> FloatArray:
    """Return ascending values from where the family begins, readings at its bound a quarter step above it."""
    z = x - item.origin
    return np.maximum(z, smallest_step(z) / 4) if item.from_bound and z[0] <= 0 else z


def standard_errors(covariance: ArrayLike) -> FloatArray:
    """Return moves of one standard error in independent directions; shape (k, m), m at most k."""
    spread, directions = np.linalg.eigh(np.asarray(covariance, dtype=float))
    kept = spread > 1e-14 * max(float(spread.max()), 1e-300)
    return np.asarray(directions[:, kept] * np.sqrt(spread[kept]), dtype=float)


def is_quadratic(contour: Contour) -> bool:
    """Check whether the likelihood falls in all its directions about as its curvature says.

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
