"""One family that the values may follow, with everything its parameters might also be.

Model: a family is followed along its shape parameter. At each of a grid of shapes the other two
parameters (location and scale) are fitted by maximum likelihood, and what they do to the three
quantiles of ISO 22514-2 (0.135, 50 and 99.865 %) is known from their curvature. So one fit serves
every limit: the index on one side is ``(U - x50) / (x99.865 - x50)``, its estimate the mean of its
logarithm over the shapes, weighed by their likelihood (few values know a shape badly, and the best one
alone swings between both ends of the grid), its lower bound the smallest value within reach of the likelihood,

    min over shapes g of  log index(g) - sqrt((c^2 - D(g)) V(g)),    D(g) <= c^2,

where D is the deviance of shape g against the best, V the variance of the logarithm of the index
at that shape and c the one-sided normal quantile. Where the family is regular this is the profile
likelihood bound with the inner maximisation replaced by its parabola (Venzon & Moolgavkar,
*Applied Statistics* 37 (1988), 87-94); unlike a bound from the curvature of all three parameters it
follows the shape as far as the data let it go. It misleads where the family is wrong beyond the
values: no interval of any family knows of a tail that has not been seen.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from linestudy.numerics.arrays import FloatArray

#: The quantiles that indices are made of (ISO 22514-2).
QUANTILES = (0.00135, 0.5, 0.99865)


@dataclass(frozen=True)
class Candidate:
    """A family along its shape, as far as the likelihood reaches.

    Attributes
    ----------
    name : str
    n : int
        Values fitted.
    loglik : float
        At the best shape, per unit of the values.
    parameters : int
        Free parameters.
    quantiles : numpy.ndarray, shape (shapes, 3)
        x0.135, x50 and x99.865 in the unit of the values, at each shape.
    covariance : numpy.ndarray, shape (shapes, 3, 3)
        Of those quantiles at a fixed shape, for `n` independent values.
    deviance : numpy.ndarray, shape (shapes,)
        Twice the loss of log-likelihood against the best shape.
    best : int
        Where the deviance is smallest.
    cdf, sf : callable
        Distribution function and its complement at the best shape.
    ad : float
        Anderson-Darling statistic of the best shape.
    sides : str
        ``"both"``, or ``"upper"`` or ``"lower"`` for a family that describes one tail.
    prior : numpy.ndarray, shape (shapes,), optional
        Weight of each shape in the mean that is the estimate; the best shape alone when absent.
    """

    name: str
    n: int
    loglik: float
    parameters: int
    quantiles: FloatArray = field(repr=False, compare=False)
    covariance: FloatArray = field(repr=False, compare=False)
    deviance: FloatArray = field(repr=False, compare=False)
    best: int
    cdf: Callable[[Any], FloatArray] = field(repr=False, compare=False)
    sf: Callable[[Any], FloatArray] = field(repr=False, compare=False)
    ad: float = 0.0
    sides: str = "both"
    prior: FloatArray | None = field(default=None, repr=False, compare=False)

    @property
    def aic(self) -> float:
        """Akaike's criterion."""
        return 2 * self.parameters - 2 * self.loglik

    def mirrored(self) -> Candidate:
        """Return the candidate of the values with their sign changed back."""
        flip = -self.quantiles[:, ::-1]
        turned = self.covariance[:, ::-1, ::-1]
        cdf, sf = self.cdf, self.sf
        sides = {"upper": "lower", "lower": "upper"}.get(self.sides, "both")
        return Candidate(
            self.name,
            self.n,
            self.loglik,
            self.parameters,
            flip,
            turned,
            self.deviance,
            self.best,
            lambda x: sf(-np.asarray(x, dtype=float)),
            lambda x: cdf(-np.asarray(x, dtype=float)),
            self.ad,
            sides,
            self.prior,
        )

    def carried(self, mean: float, sd: float) -> Candidate:
        """Return the candidate of values less `mean` over `sd`, in the unit of the values."""
        loglik = self.loglik - self.n * float(np.log(sd))
        return replace(self._at(mean, sd), loglik=loglik, covariance=sd * sd * self.covariance)

    def _at(self, shift: float, scale: float) -> Candidate:
        """Return the distribution of ``shift + scale * x``; covariance, n and likelihood are those of x."""
        cdf, sf = self.cdf, self.sf
        return replace(
            self,
            quantiles=shift + scale * self.quantiles,
            cdf=lambda x: cdf((np.asarray(x, dtype=float) - shift) / scale),
            sf=lambda x: sf((np.asarray(x, dtype=float) - shift) / scale),
        )

    def moved(self, mean: float, sd: float, n: int) -> Candidate:
        """Return a candidate of values standardised by stream, for one stream of `n` values.

        The stream's own mean and spread are known from its values alone: their scatter (with the
        kurtosis that the quantiles imply left at the normal's three, a heavier tail costs more) is
        added to that of the shape, which all streams together know.
        """
        at = self.quantiles
        own = sd * sd * (1 / n + at[:, :, None] * at[:, None, :] / (2 * max(n - 1, 1)))
        return self._of_stream(mean, sd, own, n)

    def stretched(self, bound: float, scale: float, variation: float, n: int) -> Candidate:
        """Return a candidate of distances from a bound over their mean by stream, for one stream of `n` values.

        The stream's own mean distance is known from its values alone, with a relative error of its coefficient of
        variation over the root of `n`, which is added to the scatter of the shape.
        """
        at = self.quantiles
        own = scale * scale * at[:, :, None] * at[:, None, :] * variation**2 / n
        return self._of_stream(bound, scale, own, n)

    def _of_stream(self, shift: float, scale: float, own: FloatArray, n: int) -> Candidate:
        """Return a stream of `n` values: `own` is the scatter that its own level and spread add to that of the shape."""
        covariance = scale * scale * np.nan_to_num(self.covariance) + np.nan_to_num(own)
        return replace(self._at(shift, scale), n=n, covariance=covariance)

    def side(
        self, limit: float, upper: bool, c: float, n_eff_mean: float, n_eff_sd: float, sd: float
    ) -> tuple[float, float]:
        """Compute the index towards one limit: its estimate and its lower bound.

        Parameters
        ----------
        limit : float
            In the unit of the values.
        upper : bool
            Whether it is the upper one.
        c : float
            Standard errors to the bound.
        n_eff_mean, n_eff_sd : float
            Effective sample size for mean and for SD.
        sd : float
            Of the values; slow movements move all quantiles together.

        Returns
        -------
        estimate, bound : float
            An index that is not positive is its own bound.
        """
        sign, outer = (1.0, 2) if upper else (-1.0, 0)
        q, middle = self.quantiles[:, outer], self.quantiles[:, 1]
        margin = sign * (limit - middle)
        reach = sign * (q - middle)
        if not reach[self.best] > 0:
            # Outer quantile and median are equal: this family says nothing of that side.
            return np.inf, np.inf
        estimate = float(margin[self.best] / reach[self.best])
        if estimate <= 0:
            return estimate, estimate
        effective = n_eff_sd / self.n
        estimate = self._mean_index(margin, reach, effective, estimate)
        inside = (self.deviance * effective <= c * c) & (margin > 0) & (reach > 0)
        if not inside.any():
            return estimate, estimate
        margin, reach = margin[inside], reach[inside]
        spend = c * c - self.deviance[inside] * effective
        by_middle = 1 / reach - 1 / margin
        by_outer = -1 / reach
        cov = self.covariance[inside]
        variance = (
            by_middle**2 * cov[:, 1, 1]
            + by_outer**2 * cov[:, outer, outer]
            + 2 * by_middle * by_outer * cov[:, 1, outer]
        ) / effective
        low = float((np.log(margin / reach) - np.sqrt(spend * np.maximum(variance, 0))).min())
        middle_best = float(self.quantiles[self.best, 1])
        slow = max(1 / n_eff_mean - 1 / n_eff_sd, 0.0) * (sd / (limit - middle_best)) ** 2
        drop = np.log(estimate) - low
        bound = float(estimate * np.exp(-np.sqrt(drop * drop + c * c * slow)))
        return estimate, min(bound, estimate)

    def _mean_index(self, margin: Any, reach: Any, effective: float, best: float) -> float:
        """Average the logarithm of the index over the shapes, weighted by likelihood."""
        if self.prior is None:
            return best
        weight = self.prior * np.exp(-np.minimum(self.deviance * effective, 1400.0) / 2)
        weight = np.where((margin > 0) & (reach > 0) & np.isfinite(weight), weight, 0.0)
        with np.errstate(invalid="ignore", divide="ignore"):
            logs = np.where(weight > 0, np.log(np.abs(margin / reach)), 0.0)
        return float(np.exp(weight @ logs / weight.sum()))


def anderson_darling(below: Any, share: Any) -> float:
    """Compute Anderson and Darling's statistic for readings in steps.

    Parameters
    ----------
    below : numpy.ndarray, shape (k,)
        Counts at each different value, ascending.
    share : numpy.ndarray, shape (k,)
        The fitted distribution function half a step above each value.

    Returns
    -------
    float

    Notes
    -----
    Choulakian, Lockhart & Stephens, *Canadian Journal of Statistics* 22 (1994), 125-137: the
    statistic for grouped data, ``sum (F_n - F)^2 p / (F (1 - F))`` times n; with every value
    different it is close to the usual one.
    """
    counts = np.asarray(below, dtype=float)
    n = counts.sum()
    f = np.clip(np.asarray(share, dtype=float)[:-1], 1e-12, 1 - 1e-12)
    empirical = (np.cumsum(counts) / n)[:-1]
    edges = np.concatenate([[0.0], f, [1.0]])
    weight = (edges[2:] - edges[:-2]) / 2
    return float(n * ((empirical - f) ** 2 / (f * (1 - f)) * weight).sum())


def step_edges(x: Any) -> Any:
    """Return half a step above each of ascending different values."""
    x = np.asarray(x, dtype=float)
    return np.append((x[1:] + x[:-1]) / 2, x[-1] + (x[-1] - x[-2]) / 2)
