"""Variance components by restricted maximum likelihood, for any crossed or nested random effects.

Model: ``value = mean + sum of random effects + error``, all normal and independent; each effect is
given by the group each value belongs to. REML leaves out the information spent on the mean, and
uses every value, whatever is missing (Patterson & Thompson, *Biometrika* 58 (1971), 545-554;
Searle, Casella & McCulloch, *Variance Components*, 1992, ch. 6). For balanced data with positive
estimates it equals the analysis of variance. Misleads where an effect has few groups (its variance
is then hardly known, and often estimated as zero) and where values are missing because of their size.

Values that share all groups enter as their mean and their sum of squares, which loses nothing; the
likelihood is profiled over the error's variance and searched over the ratios of standard deviations.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from linestudy.core.errors import CannotJudge
from linestudy.workers import one_thread


@dataclass(frozen=True)
class Reml:
    """A fit by restricted maximum likelihood.

    Attributes
    ----------
    variance : dict of str to float
        By effect, in the squared unit of the values; ``residual`` is the last.
    mean, mean_se : float
        Generalized least-squares mean and its standard error.
    deviance : float
        Minus twice the restricted log-likelihood, constants included.
    """

    variance: dict[str, float]
    mean: float
    mean_se: float
    deviance: float


@one_thread()
def reml(values: Any, effects: Mapping[str, Any], start: Mapping[str, float] | None = None) -> Reml:
    """Fit random effects by restricted maximum likelihood.

    Parameters
    ----------
    values : array_like of float, shape (n,)
    effects : mapping of str to array_like of int, shape (n,)
        For each random effect the group of every value, numbered from 0.
    start : mapping of str to float, optional
        Variances to start from, ``residual`` among them.

    Returns
    -------
    Reml

    Raises
    ------
    CannotJudge
        No two values share all their groups and an effect has a group for every value,
        or values never differ.

    Notes
    -----
    The deviance is that of Bates et al., *Journal of Statistical Software* 67 (2015), eq. 39-42,
    without weights.

    Examples
    --------
    >>> fit = reml([1.0, 1.2, 2.0, 2.2, 3.1, 2.9], {"batch": [0, 0, 1, 1, 2, 2]})
    >>> round(fit.variance["batch"], 3), round(fit.variance["residual"], 3)
    (0.893, 0.02)
    """
    problem = _Problem(np.asarray(values, dtype=float), effects)
    first = problem.first_guess(start)
    if not problem.names:
        return problem.result(first)
    from scipy.optimize import minimize

    best: Any = None
    # An effect that is estimated as zero may sit there for want of a better start: try a second.
    for guess in (np.maximum(first, 0.1), np.ones(len(problem.names))):
        found = minimize(
            problem.deviance_and_slope,
            guess,
            jac=True,
            method="L-BFGS-B",
            bounds=[(0.0, None)] * len(problem.names),
            options={"ftol": 1e-15, "gtol": 1e-8, "maxiter": 1000, "maxcor": 20},
        )
        if best is None or found.fun < best.fun:
            best = found
        if (found.x > 1e-4).all():
            break
    return problem.result(best.x)


class _Problem:
    """The likelihood of ratios of standard deviations, on means of the cells."""

    def __init__(self, values: np.ndarray, effects: Mapping[str, Any]) -> None:
        self.n = values.size
        codes = {name: np.unique(group, return_inverse=True)[1] for name, group in effects.items()}
        self.names = [name for name, code in codes.items() if code.max(initial=0) > 0]
        if self.names:
            key = np.stack([codes[name] for name in self.names])
            cells, cell = np.unique(key, axis=1, return_inverse=True)
            cell = np.ravel(cell)
        else:
            cells, cell = np.zeros((0, 1), dtype=int), np.zeros(self.n, dtype=int)
        counts = np.bincount(cell).astype(float)
        self.offset = float(values.mean())
        centred = values - self.offset
        self.scale = float(np.sqrt((centred**2).mean()))
        if self.scale == 0:
            raise CannotJudge(
                "All readings are the same; the resolution hides whatever spread there is."
            )
        centred = centred / self.scale
        means = np.bincount(cell, centred) / counts
        self.within = float(((centred - means[cell]) ** 2).sum())
        self.within_df = self.n - counts.size
        for name, row in zip(self.names, cells, strict=True):
            if row.max() + 1 == counts.size and self.within_df == 0:
                raise CannotJudge(
                    f"No reading is repeated within {name}, so its spread cannot be told from the error."
                )
        root = np.sqrt(counts)
        self.y = root * means
        self.x = root
        # Orthonormal within cells: the covariance is the unit matrix plus these, each times its ratio.
        self.parts = (
            np.stack(
                [np.where(row[:, None] == row[None, :], np.outer(root, root), 0.0) for row in cells]
            )
            if self.names
            else np.zeros((0, 1, 1))
        )

    def first_guess(self, start: Mapping[str, float] | None) -> np.ndarray:
        if start and start.get("residual", 0.0) > 0:
            return np.sqrt([max(start.get(n, 0.0), 0.0) / start["residual"] for n in self.names])
        return np.full(len(self.names), 0.5)

    def _solve(self, ratios: np.ndarray) -> tuple[np.ndarray, float, float, float, float]:
        """Inverse and log determinant of the covariance over the error's variance; the mean."""
        size = self.y.size
        matrix = np.eye(size)
        if self.names:
            matrix += np.tensordot(np.asarray(ratios) ** 2, self.parts, axes=1)
        logdet = float(np.linalg.slogdet(matrix)[1])
        inverse = np.linalg.inv(matrix)
        weight = inverse @ self.x
        information = float(self.x @ weight)
        mean = float(weight @ self.y) / information
        rest = self.y - mean * self.x
        total = float(rest @ inverse @ rest) + self.within
        return inverse, logdet, information, mean, max(total / (self.n - 1), 1e-300)

    def deviance_and_slope(self, ratios: np.ndarray) -> tuple[float, np.ndarray]:
        """Profiled restricted deviance and its derivative by the ratios of standard deviations."""
        inverse, logdet, information, mean, variance = self._solve(ratios)
        weight = inverse @ self.x
        pulled = inverse @ (self.y - mean * self.x)
        projected = inverse - np.outer(weight, weight) / information
        traces = np.einsum("ij,kij->k", projected, self.parts)
        squares = np.einsum("i,kij,j->k", pulled, self.parts, pulled)
        slope = 2 * ratios * (traces - squares / variance)
        return self._deviance(logdet, information, variance), slope

    def _deviance(self, logdet: float, information: float, variance: float) -> float:
        free = self.n - 1
        return logdet + math.log(information) + free * (1 + math.log(2 * math.pi * variance))

    def result(self, ratios: np.ndarray) -> Reml:
        _, logdet, information, mean, variance = self._solve(ratios)
        squared = self.scale**2
        found = {
            name: float(ratio**2 * variance * squared)
            for name, ratio in zip(self.names, ratios, strict=True)
        }
        found["residual"] = variance * squared
        free = self.n - 1
        return Reml(
            found,
            self.offset + self.scale * mean,
            self.scale * math.sqrt(variance / information),
            self._deviance(logdet, information, variance) + free * math.log(squared),
        )
