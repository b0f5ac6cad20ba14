"""Variance components by restricted maximum likelihood, for any crossed or nested random effects.

Model: ``value = mean + sum of random effects + error``, all normal and independent; each effect is
given by the group each value belongs to. REML leaves out the information spent on the mean, and
uses every value, whatever is missing (Patterson & Thompson, *Biometrika* 58 (1971), 545-554;
Searle, Casella & McCulloch, *Variance Components*, 1992, ch. 6). For balanced data with positive
estimates it equals the analysis of variance. Misleads where an effect has few groups (its variance
is then hardly known, and often estimated as zero) and where values are missing because of their size.

Values that share all groups enter as their mean and their sum of squares, which loses nothing. The
likelihood is profiled over the error's variance; what is left, a ratio of variances for each effect,
is brought to the root of its slope by Newton's method with the exact second derivatives, and an effect
whose slope at zero points below zero is zero exactly. Where the effects explain every value without
any error left, the likelihood has no maximum at a positive error: the error's variance is then zero,
and so is that of every effect that is not needed; the others are fitted in the space they span.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from linestudy.numerics.arrays import FloatArray
from linestudy.results.errors import CannotJudge
from linestudy.running.threads import one_thread

Array = FloatArray

#: A slope at zero smaller than this share of what it is a difference of is rounding, and counts as none.
_FLAT = 1e-9


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
        Minus twice the restricted log-likelihood, constants included; minus infinity where no error
        is left.
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
        Readings, in any unit.
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
    return _fit(np.asarray(values, dtype=float), effects, start)


def _fit(values: Array, effects: Mapping[str, Any], start: Mapping[str, float] | None) -> Reml:
    data = _Cells(values, effects)
    if not data.names:
        return data.result(data.likelihood(np.zeros(0)), np.zeros(0))
    if data.exact():
        return data.without_error()
    first = data.first_guess(start)
    likelihood = data.likelihood(first)
    best: tuple[float, Array] | None = None
    # The likelihood may have a second maximum, mostly where an effect is estimated as zero.
    for guess in (first, np.ones(len(data.names))):
        found = _maximum(likelihood, guess)
        if best is None or found[0] < best[0] - 1e-9 * (1 + abs(best[0])):
            best = found
        if (found[1] > 0).all():
            break
    assert best is not None
    return data.result(likelihood, best[1])


def rounding_noise(values: Array) -> float:
    """Bound the sum of squares that rounding of the values may leave where nothing differs.

    Parameters
    ----------
    values : numpy.ndarray of float, shape (n,)
        Readings, in any unit.

    Returns
    -------
    float
        In the squared unit of the values; a sum of squares below it is zero.
    """
    return values.size * (8 * float(np.finfo(float).eps) * float(np.abs(values).max())) ** 2


class _Cells:
    """Values by cell, orthonormal within cells: a mean times the root of the count, and the rest."""

    def __init__(self, values: Array, effects: Mapping[str, Any]) -> None:
        codes = {name: np.unique(group, return_inverse=True)[1] for name, group in effects.items()}
        self.names = [name for name, code in codes.items() if code.max(initial=0) > 0]
        # Sums do not depend on the order of the rows.
        order = np.lexsort((values, *[codes[name] for name in reversed(self.names)]))
        values = values[order]
        self.n = values.size
        if self.names:
            key = np.stack([codes[name][order] for name in self.names])
            cells, cell = np.unique(key, axis=1, return_inverse=True)
            cell = np.ravel(cell)
        else:
            cells, cell = np.zeros((0, 1), dtype=int), np.zeros(self.n, dtype=int)
        counts = np.bincount(cell).astype(float)
        self.offset = float(values.mean())
        centred = values - self.offset
        self.scale = float(np.sqrt((centred**2).mean()))
        noise = rounding_noise(values)
        if self.n * self.scale**2 <= noise:
            raise CannotJudge(
                f"All {self.n} readings are the same; the resolution hides whatever spread there is."
            )
        centred = centred / self.scale
        self.noise = noise / self.scale**2
        means = np.bincount(cell, centred) / counts
        within = float(((centred - means[cell]) ** 2).sum())
        self.within = within if within > self.noise else 0.0
        self.within_df = self.n - counts.size
        for name, row in zip(self.names, cells, strict=True):
            if row.max() + 1 == counts.size and self.within_df == 0:
                raise CannotJudge(
                    f"No reading is repeated within {name}, so its spread cannot be told from the error."
                )
        root = np.sqrt(counts)
        self.y = root * means
        self.x = root
        self.designs = [np.eye(int(row.max()) + 1)[row] * root[:, None] for row in cells]

    def likelihood(self, ratios: Array) -> _Likelihood:
        """Set up the likelihood with an error: the unit matrix plus each effect's share of the covariance.

        Turned so that the mean comes first, then the effect that differs most, and so on: a large
        effect then costs the small ones no digits.
        """
        basis = self.x[:, None] / math.sqrt(self.n)
        for at in np.argsort(-ratios, kind="stable"):
            basis = np.hstack([basis, _beyond(basis, self.designs[at])])
        parts = _squared([basis.T @ z for z in self.designs], basis.shape[1])
        within = self.within + self._missed(basis)
        return _Likelihood(
            np.eye(basis.shape[1]), parts, basis.T @ self.y, basis.T @ self.x, within, self.n
        )

    def first_guess(self, start: Mapping[str, float] | None) -> Array:
        if start and start.get("residual", 0.0) > 0:
            return np.array([max(start.get(n, 0.0), 0.01) / start["residual"] for n in self.names])
        return np.full(len(self.names), 0.25)

    def exact(self) -> bool:
        """Check whether the effects explain every value, though they need not have."""
        basis = _span([self.x[:, None], *self.designs])
        return self.within == 0 and self.n > basis.shape[1] and self._missed(basis) <= self.noise

    def _missed(self, basis: Array) -> float:
        rest = self.y - basis @ (basis.T @ self.y)
        return float(rest @ rest)

    def without_error(self) -> Reml:
        """Fit without an error, in the space of the fewest effects that explain the values."""
        kept = list(range(len(self.names)))
        one = self.x[:, None]
        needed = []
        # Effects with most groups first: what hides an error hides the finest effects with it.
        for at in sorted(kept, key=lambda i: (-self.designs[i].shape[1], i)):
            space = _span([one, *(self.designs[i] for i in kept)])
            others = _span([one, *(self.designs[i] for i in kept if i != at)])
            if others.shape[1] == space.shape[1]:
                continue
            if self._missed(others) <= self.noise:
                kept.remove(at)
            else:
                needed.append(at)
        space = _span([one, *(self.designs[i] for i in kept)])
        base = needed[0] if needed else kept[-1]
        rest = [i for i in kept if i != base]
        seen = {i: space.T @ self.designs[i] for i in kept}
        size = space.shape[1]
        parts = _squared([seen[i] for i in rest], size)
        likelihood = _Likelihood(
            seen[base] @ seen[base].T, parts, space.T @ self.y, space.T @ self.x, 0.0, size
        )
        ratios = _maximum(likelihood, np.ones(len(rest)))[1] if rest else np.zeros(0)
        at_best = likelihood.at(ratios)
        found = dict.fromkeys(self.names, 0.0)
        unit = at_best.variance * self.scale**2
        found[self.names[base]] = unit
        for i, ratio in zip(rest, ratios, strict=True):
            found[self.names[i]] = float(ratio) * unit
        found["residual"] = 0.0
        mean, se = at_best.mean, math.sqrt(at_best.variance / at_best.information)
        return Reml(found, self.offset + self.scale * mean, self.scale * se, -math.inf)

    def result(self, likelihood: _Likelihood, ratios: Array) -> Reml:
        best = likelihood.at(ratios)
        unit = best.variance * self.scale**2
        found = {name: float(r) * unit for name, r in zip(self.names, ratios, strict=True)}
        found["residual"] = unit
        free = self.n - 1
        constant = free * (1 + math.log(2 * math.pi * self.scale**2) - math.log(free))
        return Reml(
            found,
            self.offset + self.scale * best.mean,
            self.scale * math.sqrt(best.variance / best.information),
            best.deviance + constant,
        )


def _squared(designs: list[Array], size: int) -> Array:
    return np.array([z @ z.T for z in designs]).reshape(-1, size, size)


def _beyond(basis: Array, more: Array) -> Array:
    """Find an orthonormal basis of what `more` adds to the space of `basis`."""
    rest = more - basis @ (basis.T @ more)
    rest -= basis @ (basis.T @ rest)
    left, sizes, _ = np.linalg.svd(rest, full_matrices=False)
    return left[:, sizes > 1e-9 * np.linalg.norm(more, 2)]


def _span(matrices: list[Array]) -> Array:
    """Find an orthonormal basis of the columns of several matrices."""
    left, sizes, _ = np.linalg.svd(np.hstack(matrices), full_matrices=False)
    return left[:, sizes > 1e-9 * sizes[0]]


@dataclass(frozen=True)
class _At:
    """The likelihood at one set of ratios; `variance` is that of the base."""

    deviance: float
    variance: float
    information: float
    mean: float
    projected: Array
    pulled: Array
    total: float


class _Likelihood:
    """Restricted deviance, profiled over the variance of `base`, less its constants.

    The covariance is the variance times ``base + sum(ratio * part)``.
    """

    def __init__(
        self, base: Array, parts: Array, y: Array, x: Array, within: float, n: int
    ) -> None:
        self.base, self.parts, self.y, self.x = base, parts, y, x
        self.within, self.free = within, n - 1

    def at(self, ratios: Array) -> _At:
        from scipy.linalg import solve_triangular

        matrix = self.base + np.tensordot(ratios, self.parts, axes=1)
        try:
            lower = np.linalg.cholesky(matrix)
        except np.linalg.LinAlgError:
            nothing = np.zeros((0, 0))
            return _At(math.inf, 0.0, 0.0, 0.0, nothing, nothing, 0.0)
        half = solve_triangular(lower, np.eye(self.y.size), lower=True)
        inverse = half.T @ half
        weight = inverse @ self.x
        information = float(self.x @ weight)
        mean = float(weight @ self.y) / information
        pulled = inverse @ (self.y - mean * self.x)
        total = float((self.y - mean * self.x) @ pulled) + self.within
        deviance = (
            2 * float(np.log(np.diag(lower)).sum())
            + math.log(information)
            + self.free * math.log(max(total, 1e-300))
        )
        projected = inverse - np.outer(weight, weight) / information
        return _At(
            deviance, max(total, 0.0) / self.free, information, mean, projected, pulled, total
        )

    def slopes(self, at: _At) -> tuple[Array, Array, Array, Array]:
        """Compute first derivatives, the two terms they are differences of, and observed and expected second ones."""
        reached = at.projected @ self.parts
        traces = np.einsum("kii->k", reached)
        pulls = self.parts @ at.pulled
        squares = pulls @ at.pulled / at.total
        crossed = np.einsum("kij,lji->kl", reached, reached)
        bent = pulls @ at.projected @ pulls.T / at.total
        slope = traces - self.free * squares
        observed = -crossed + self.free * (2 * bent - np.outer(squares, squares))
        expected = crossed - np.outer(traces, traces) / self.free
        return slope, traces, observed, expected


def _maximum(likelihood: _Likelihood, start: Array) -> tuple[float, Array]:
    """Find deviance and ratios at the root of its slope, by projected Newton steps.

    Far from the root, where the second derivatives may not have the sign of a maximum, steps are
    Fisher's. Near it the deviance no longer shows a gain, and steps are judged by the slope.
    """
    ratios = np.array(start, dtype=float)
    here = likelihood.at(ratios)
    for _ in range(300):
        slope, size, observed, expected = likelihood.slopes(here)
        free = (ratios > 0) | (slope < -_FLAT * size)
        if not free.any():
            break
        step = np.zeros_like(ratios)
        step[free] = _newton(
            slope[free], observed[np.ix_(free, free)], expected[np.ix_(free, free)]
        )
        # An effect may end at zero; rounding must not leave it just above.
        share, moved, gained = 1.0, False, 0.0
        for _ in range(40):
            trial = np.maximum(ratios + share * step, 0.0)
            there = likelihood.at(trial)
            gained = here.deviance - there.deviance
            noise = 1e-13 * (1 + abs(here.deviance))
            if gained > noise or (
                abs(gained) <= noise and _nearer(likelihood, there, trial, slope, size, ratios)
            ):
                moved = True
                break
            share /= 2
        if not moved:
            break
        done = bool((np.abs(trial - ratios) <= 1e-15 * ratios).all())
        ratios, here = trial, there
        if done:
            break
    slope, size, _, _ = likelihood.slopes(here)
    return here.deviance, ratios


def _newton(slope: Array, observed: Array, expected: Array) -> Array:
    for matrix in (observed, expected):
        sizes, turn = np.linalg.eigh(_scaled(matrix, expected))
        if sizes[0] > 1e-10:
            unit = np.sqrt(np.diag(expected))
            step: Array = -(turn @ ((turn.T @ (slope / unit)) / sizes)) / unit
            return step
    return -slope / np.diag(expected)


def _scaled(matrix: Array, expected: Array) -> Array:
    unit = np.sqrt(np.diag(expected))
    scaled: Array = matrix / np.outer(unit, unit)
    return scaled


def _nearer(
    likelihood: _Likelihood, there: _At, trial: Array, slope: Array, size: Array, ratios: Array
) -> bool:
    """Check whether the slopes of effects above zero fell, each relative to the terms it is a difference of."""

    def left(s: Array, z: Array, r: Array) -> float:
        return float(np.abs(np.where((r > 0) | (s < 0), s / z, 0.0)).max())

    new_slope, new_size, _, _ = likelihood.slopes(there)
    return left(new_slope, new_size, trial) < left(slope, size, ratios)
