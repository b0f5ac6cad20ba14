"""Likelihood of a cut distribution, and the range of a number that it allows.

Model, sources and when it misleads: see `before_sorting`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linestudy.numerics.quadrature import legendre
from linestudy.results import CannotJudge, Interval
from linestudy.shape import Fitted, fit
from linestudy.shape.profile import extremes

Index = Callable[[Fitted], float]


class CutFit:
    """A family fitted to a cut distribution, on its own unconstrained parameters."""

    def __init__(
        self,
        x: NDArray[np.float64],
        counts: NDArray[np.float64],
        family: str,
        bound: float | None,
        lower: float | None,
        upper: float | None,
        softness: float,
    ) -> None:
        self.x, self.counts, self.n = x, counts, float(counts.sum())
        self.lower, self.upper, self.softness = lower, upper, softness
        start = fit(np.repeat(x, counts.astype(int)), family, bound, uncertainty=True)
        if start.free is None or start.covariance is None:
            raise CannotJudge(f"A {family} distribution cannot be fitted to these values.")
        self.start = start
        # Steps of about one standard error in every direction, as the uncut fit sees it.
        self.scale = np.sqrt(np.maximum(np.diag(np.asarray(start.covariance)), 1e-300))
        self.free = self._climb(np.asarray(start.free, dtype=float))
        self.fitted = self.start.with_free(self.free)
        self.best = self.minus_loglik(self.free)
        if not math.isfinite(self.best) or self.accepted(self.fitted) < 0.02:
            raise CannotJudge(
                f"By a {family} distribution hardly a part would have been accepted; what is left says too "
                "little of the process."
            )

    @property
    def aicc(self) -> float:
        k = self.free.size
        return 2 * self.best + 2 * k + 2 * k * (k + 1) / max(self.n - k - 1, 1.0)

    def accepted(self, item: Fitted) -> float:
        """Share of all parts that passes the sorting."""
        if self.softness == 0:
            above = 0.0 if self.upper is None else float(item.sf(self.upper))
            below = 0.0 if self.lower is None else float(item.cdf(self.lower))
            return max(1 - above - below, 0.0)
        from scipy.special import ndtr

        ends = [float(v) for v in item.ppf([1e-9, 1 - 1e-9])]
        nodes, weights = legendre(200)
        half = (ends[1] - ends[0]) / 2
        y = ends[0] + half * (nodes + 1)
        share = np.ones(y.size)
        if self.upper is not None:
            share *= ndtr((self.upper - y) / self.softness)
        if self.lower is not None:
            share *= ndtr((y - self.lower) / self.softness)
        return float(half * weights @ (item.pdf(y) * share))

    def minus_loglik(self, free: Any) -> float:
        with np.errstate(all="ignore"):
            item = self.start.with_free(free)
            share = self.accepted(item)
            if not share > 1e-6:
                return 1e12
            value = self.n * math.log(share) - float(self.counts @ item.logpdf(self.x))
        return value if math.isfinite(value) else 1e12

    def _climb(self, start: NDArray[np.float64]) -> NDArray[np.float64]:
        from scipy.optimize import minimize

        size = start.size
        point = start
        # The cut fit may lie many standard errors away: restart the simplex until it stays.
        reach = 10.0
        for _ in range(6):
            simplex = np.vstack([point, point + reach * np.diag(self.scale)])
            found = minimize(
                self.minus_loglik,
                point,
                method="Nelder-Mead",
                options={
                    "initial_simplex": simplex,
                    "maxiter": 400 * size,
                    "xatol": 1e-9,
                    "fatol": 1e-7,
                },
            )
            moved = np.abs(found.x - point) / self.scale
            point = found.x
            if moved.max() < 0.05:
                break
            reach = max(reach / 2, 1.0)
        return np.asarray(point, dtype=float)


def profile(problem: CutFit, index: Index, worth: float, confidence: float) -> Interval:
    """Range of a number over the parameters whose likelihood is near enough to the best.

    Parameters
    ----------
    problem : CutFit
    index : callable
        From a fitted distribution to the number.
    worth : float
        Effective over actual number of values.
    confidence : float

    Returns
    -------
    Interval
    """
    from scipy.special import chdtri

    rise = float(chdtri(1, 1 - confidence)) / (2 * worth)
    root = _whitening(problem)
    radius = math.sqrt(2 * rise)

    def near(u: Any) -> Any:
        # A search may try points so far off that a spread underflows; nothing there is near enough.
        size = float(np.linalg.norm(u))
        return problem.free + root @ (np.asarray(u) * min(1.0, 6 * radius / size) if size else u)

    def room(u: Any) -> float:
        return 1 - (problem.minus_loglik(near(u)) - problem.best) / rise

    low, high = extremes(
        lambda u: index(problem.start.with_free(near(u))), room, problem.free.size, radius
    )
    return Interval(
        index(problem.fitted), low, high, confidence, "profile likelihood, cut distribution"
    )


def _whitening(problem: CutFit) -> NDArray[np.float64]:
    """Directions in which the likelihood falls alike, from its curvature at the best."""
    from statsmodels.tools.numdiff import approx_hess

    scaled = problem.scale

    def target(u: Any) -> float:
        return problem.minus_loglik(problem.free + scaled * u)

    hessian = np.asarray(
        approx_hess(np.zeros(scaled.size), target, epsilon=np.full(scaled.size, 0.05))
    )
    values, vectors = np.linalg.eigh((hessian + hessian.T) / 2)
    values = np.maximum(values, 1e-6 * max(float(values.max()), 1e-6))
    return scaled[:, None] * (vectors / np.sqrt(values))
