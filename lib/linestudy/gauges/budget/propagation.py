"""Propagation of distributions by simulation, beside the law that adds variances.

Model: the error of a reading is the sum of contributions, each times its sensitivity; a contribution is drawn from its
own distribution: normal, or Student's t where it rests on degrees of freedom, rectangular, triangular,
U-shaped (JCGM 101:2008, 6.4). Correlated contributions are tied by a normal copula, so that those of
other shapes are correlated slightly less than said. The interval is symmetric in probability; a sum of symmetric
errors is symmetric, so both ends are taken together. It agrees with the law if no end is off by more than half of
the second significant digit of the standard uncertainty (JCGM 101, 8), or by what the draws leave open.

When it misleads: with few degrees of freedom Student's t has more spread than the standard uncertainty says, which is
what JCGM 101 means and the law does not know.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from linestudy.numerics import generator

if TYPE_CHECKING:
    from linestudy.gauges.budget.expanded_finding import Contribution

#: Drawn for each budget; both ends together hold a quantile to about half a per cent of the standard uncertainty.
DRAWS = 100_000
#: What the draws leave open, in standard uncertainties: three times that.
NOISE = 0.015


@dataclass(frozen=True, slots=True)
class Propagation:
    """Interval of the error by simulation.

    Attributes
    ----------
    probability : float
        Of the interval: that of the coverage factor for a normal error.
    half_width : float
        [unit of the readings] Half of the interval.
    factor : float
        Formula: half_width / u_process; what takes the place of the coverage factor.
    draws : int
        Errors drawn.
    agrees : bool
        Whether it and the law that adds variances agree to two significant digits of the uncertainty.
    """

    probability: float
    half_width: float
    factor: float
    draws: int
    agrees: bool


def parts_of_variance(
    lines: Sequence[Contribution], correlations: Mapping[tuple[str, str], float]
) -> NDArray[np.float64]:
    """Divide the variance of a sum (GUM, eq. 16) among its contributions, half of what two share to each of them.

    Parameters
    ----------
    lines : sequence of Contribution
    correlations : mapping of (str, str) to float
        Of two sources, by name.

    Returns
    -------
    numpy.ndarray of float, shape (lines,)
        In the squared unit of the readings; below 0 where a contribution takes more from others than it brings.

    Raises
    ------
    ValueError
        Correlations that contradict each other.
    """
    size = np.array([line.sensitivity * line.standard_uncertainty for line in lines])
    if not correlations:
        return size**2
    parts: NDArray[np.float64] = size * (_matrix(lines, correlations) @ size)
    return parts


def propagated(
    lines: Sequence[Contribution],
    correlations: Mapping[tuple[str, str], float],
    u: float,
    coverage: float,
    seed: int | None = None,
) -> Propagation:
    """Draw the error of a reading and take the interval of the same probability as the coverage factor's.

    Parameters
    ----------
    lines : sequence of Contribution
        Those that count.
    correlations : mapping of (str, str) to float
        Of two sources, by name.
    u : float
        Combined standard uncertainty by the law.
    coverage : float
        Factor of the expanded uncertainty.
    seed : int, optional
        Of the draws; the kit's own when absent.

    Returns
    -------
    Propagation
    """
    from scipy.special import ndtr

    rng = generator(seed, "budget", "propagation")
    tied = np.linalg.matrix_rank(_matrix(lines, correlations) - np.eye(len(lines))) > 0
    error = np.zeros(DRAWS)
    if tied:
        values, vectors = np.linalg.eigh(_matrix(lines, correlations))
        root = vectors * np.sqrt(np.maximum(values, 0.0))
        together = root @ rng.standard_normal((len(lines), DRAWS))
    for number, line in enumerate(lines):
        scale = line.sensitivity * line.standard_uncertainty
        error += scale * (_of_normal(line, together[number]) if tied else _drawn(line, rng))
    probability = 2 * float(ndtr(coverage)) - 1
    half = float(np.quantile(np.abs(error), probability))
    digit = 10.0 ** (math.floor(math.log10(u)) - 1)
    agrees = abs(half - coverage * u) <= max(digit / 2, NOISE * u)
    return Propagation(probability, half, half / u, DRAWS, agrees)


def _matrix(
    lines: Sequence[Contribution], correlations: Mapping[tuple[str, str], float]
) -> NDArray[np.float64]:
    place = {line.source: number for number, line in enumerate(lines)}
    matrix = np.eye(len(lines))
    for (one, other), r in correlations.items():
        if not -1 <= r <= 1:
            raise ValueError(f"correlation of {one} and {other} = {r:g}: it must lie from -1 to 1.")
        if one in place and other in place and one != other:
            matrix[place[one], place[other]] = matrix[place[other], place[one]] = r
    if float(np.linalg.eigvalsh(matrix).min()) < -1e-9:
        raise ValueError("correlations: no contributions can be correlated so; they contradict.")
    return matrix


def _drawn(line: Contribution, rng: np.random.Generator) -> NDArray[np.float64]:
    """Draw errors of standard deviation one (of scale one, for Student's t)."""
    if line.distribution == "rectangular":
        return rng.uniform(-math.sqrt(3), math.sqrt(3), DRAWS)
    if line.distribution == "triangular":
        return rng.triangular(-math.sqrt(6), 0.0, math.sqrt(6), DRAWS)
    if line.distribution == "U":
        return math.sqrt(2) * np.sin(rng.uniform(-math.pi, math.pi, DRAWS))
    if math.isinf(line.degrees_of_freedom):
        return rng.standard_normal(DRAWS)
    return rng.standard_t(_freedom(line), DRAWS)


def _freedom(line: Contribution) -> float:
    """Return degrees of freedom of at least one: JCGM 101, 6.4.9, draws from Student's t for two readings or more."""
    return max(line.degrees_of_freedom, 1.0)


def _of_normal(line: Contribution, z: NDArray[np.float64]) -> NDArray[np.float64]:
    """Draw the same from correlated standard normal numbers."""
    from scipy.special import ndtr, stdtrit

    p = ndtr(z)
    if line.distribution == "rectangular":
        return np.asarray(math.sqrt(3) * (2 * p - 1))
    if line.distribution == "triangular":
        side = 1 - np.sqrt(2 * np.minimum(p, 1 - p))
        return np.asarray(math.sqrt(6) * np.sign(p - 0.5) * side)
    if line.distribution == "U":
        return np.asarray(math.sqrt(2) * np.sin(math.pi * (p - 0.5)))
    if math.isinf(line.degrees_of_freedom):
        return z
    return np.asarray(stdtrit(_freedom(line), p))
