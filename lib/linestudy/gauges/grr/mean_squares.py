"""Mean squares of crossed random effects, and what each of them expects.

Model: every effect (part, appraiser, a third factor, and their interactions) is random; the expected
mean square of an effect is the error's variance plus a multiple of its own variance and of every
interaction it takes part in. Balanced readings: the multiples are numbers of readings (AIAG MSA,
4th ed., ch. III; Searle, Casella & McCulloch, *Variance Components*, 1992, ch. 4). Readings missing
or unequal: each effect is adjusted for all effects that do not contain it, and the multiples are
traces (Henderson's method III; the same book, ch. 5.5); the mean squares are then no longer quite
independent chi-squares, so intervals from them hold approximately.

Pooling: an interaction whose test gives p above a threshold is counted as repeatability; the interaction
of most factors goes first, and of several the one seen least. A smaller interaction stays while one that
contains it does: its mean square also expects that one's variance, and pooled it would carry that into
repeatability. Source: AIAG MSA, 4th ed. (2010), ch. III, for one interaction with 0.25; the order for a
third factor is common practice, no source. Misleads where a small study misses an interaction that is
there: the estimate then spreads it over repeatability. Intervals do not lean on it (see `intervals`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from linestudy.numerics.reml import rounding_noise

#: The last source of every table.
ERROR = "repeatability"

Effect = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AnovaRow:
    """One row of a table of variance.

    Attributes
    ----------
    source : str
        Effect, written like ``part:appraiser``; then ``repeatability`` and ``total``.
    df : int
        Degrees of freedom.
    ss : float
        [squared unit of the readings] Sum of squares.
    ms : float or None
        [squared unit of the readings] Mean square; None for the total. Formula: ss / df.
    f : float or None
        Of the test that the source's variance is zero; None where there is no denominator above zero.
    p : float or None
        Of that test.
    """

    source: str
    df: int
    ss: float
    ms: float | None = None
    f: float | None = None
    p: float | None = None


@dataclass(frozen=True)
class MeanSquares:
    """Sums of squares, degrees of freedom and expectations.

    Attributes
    ----------
    sources : tuple of str
        Effects written like ``part:appraiser``, then ``repeatability``.
    ss : numpy.ndarray of float, shape (sources,)
    df : numpy.ndarray of float, shape (sources,)
    expected : numpy.ndarray of float, shape (sources, sources)
        Row: the mean square; column: the multiple of that source's variance it expects.
    """

    sources: tuple[str, ...]
    ss: NDArray[np.float64]
    df: NDArray[np.float64]
    expected: NDArray[np.float64]

    @property
    def ms(self) -> NDArray[np.float64]:
        """Mean squares."""
        return self.ss / self.df

    @property
    def variances(self) -> NDArray[np.float64]:
        """Variance of each source, not cut at zero; a difference that is only rounding is zero."""
        raw = self.weights @ self.ms
        raw[np.abs(raw) <= 1e-12 * (np.abs(self.weights) @ self.ms)] = 0.0
        return raw

    @property
    def weights(self) -> NDArray[np.float64]:
        """Row: a source's variance as a combination of the mean squares."""
        return np.linalg.inv(self.expected).astype(np.float64)

    def pooled(self, source: str) -> MeanSquares:
        """Return the same with one source counted as repeatability."""
        at = self.sources.index(source)
        keep = [i for i in range(len(self.sources)) if i != at]
        ss, df = self.ss[keep], self.df[keep]
        ss[-1] += self.ss[at]
        df[-1] += self.df[at]
        sources = tuple(self.sources[i] for i in keep)
        return MeanSquares(sources, ss, df, self.expected[np.ix_(keep, keep)])

    def less_certain(self, factor: float) -> MeanSquares:
        """Return the same mean squares, the error's with that share of its degrees of freedom.

        Parameters
        ----------
        factor : float
            Above 0, at most 1: what heavy tails of repeated readings leave.

        Returns
        -------
        MeanSquares
        """
        df = self.df.copy()
        df[-1] *= factor
        return MeanSquares(self.sources, self.ms * df, df, self.expected)

    def f_test(self, source: str) -> tuple[float | None, float | None, float]:
        """Test that a source's variance is zero.

        The denominator is the combination of mean squares that expects the same without the
        source; where that is more than one, its degrees of freedom are Satterthwaite's
        (*Biometrics Bulletin* 2 (1946), 110-114).

        Returns
        -------
        f, p : float or None
            None where the denominator is not positive.
        df : float
            Degrees of freedom of the denominator.
        """
        from scipy.special import fdtrc

        at = self.sources.index(source)
        without = self.expected[at].copy()
        without[at] = 0.0
        combination = without @ self.weights
        combination[np.abs(combination) < 1e-12] = 0.0
        parts = combination * self.ms
        below = float(parts.sum())
        if below <= 0:
            return None, None, 0.0
        seen = np.abs(parts) > 1e-12 * below
        df = below**2 / float((parts[seen] ** 2 / self.df[seen]).sum())
        f = float(self.ms[at]) / below
        return f, float(fdtrc(self.df[at], df, f)), df


def all_effects(factors: Sequence[str]) -> tuple[Effect, ...]:
    """List the main effects and every interaction of them, small ones first."""
    return tuple(
        effect for size in range(1, len(factors) + 1) for effect in combinations(factors, size)
    )


def balanced(readings: NDArray[np.float64], factors: Sequence[str]) -> list[MeanSquares]:
    """Compute mean squares of balanced readings, for many studies of one design at once.

    Parameters
    ----------
    readings : numpy.ndarray of float, shape (studies, *levels, trials)
        One axis per factor, in their order; at least two trials.
    factors : sequence of str

    Returns
    -------
    list of MeanSquares
        One per study; factors of one level are left out.
    """
    shape = readings.shape[1:]
    plan = _plan(shape, tuple(factors))
    studies = len(readings)
    # A large common value would cost digits in the contrasts; any reading will do as zero.
    centred = readings - readings.reshape(studies, -1)[:, :1].reshape((studies, *(1,) * len(shape)))
    cells = np.add.reduce(centred, axis=-1) / shape[-1]
    rest = (centred - cells[..., None]).reshape(studies, -1)
    # Each turn takes the first factor's axis to its contrasts and to the end.
    contrasts = cells.reshape((studies, *(len(basis) for basis in plan.bases)))
    for basis in plan.bases:
        contrasts = contrasts.transpose(plan.turn) @ basis
    # Along each axis the mean comes first and the contrasts after it; sums of squares of either
    # kind on every axis are those of the effects.
    sums = contrasts * contrasts
    for axis in range(1, sums.ndim):
        sums = np.add.reduceat(sums, (0, 1), axis=axis)
    squares = np.empty((studies, len(plan.sources)))
    squares[:, -1] = np.einsum("ij,ij->i", rest, rest)
    squares[:, :-1] = sums.reshape(studies, -1)[:, plan.places] * shape[-1]
    for row, values in zip(squares, readings.reshape(studies, -1), strict=True):
        _drop_residues(row, values)
    return [MeanSquares(plan.sources, row, plan.df, plan.expected) for row in squares]


#: A sum of squares below this share of all of them is what rounding left of readings that simply add up.
_RESIDUE = 1e-24


def _drop_residues(squares: NDArray[np.float64], values: NDArray[np.float64]) -> None:
    """Set sums of squares to zero, in place, that rounding alone leaves.

    Readings may have been rounded before a large common value was taken off, so their own size does not
    bound the residue; that no gauge shows twelve digits of the spread between parts does.
    """
    squares[squares <= max(rounding_noise(values), _RESIDUE * float(squares.sum()))] = 0.0


@dataclass(frozen=True)
class _Plan:
    """What all balanced studies of one shape share.

    ``bases``: for each factor of more than one level an orthonormal basis, the mean's column first;
    ``turn``: the order of axes that takes the first factor to the end; ``places``: for each effect
    where its sum of squares is among those of mean or contrasts on every axis.
    """

    sources: tuple[str, ...]
    bases: tuple[NDArray[np.float64], ...]
    turn: tuple[int, ...]
    places: tuple[int, ...]
    df: NDArray[np.float64]
    expected: NDArray[np.float64]


@lru_cache(maxsize=64)
def _plan(shape: tuple[int, ...], factors: tuple[str, ...]) -> _Plan:
    from scipy.linalg import helmert

    levels = shape[:-1]
    count = {name: size for name, size in zip(factors, levels, strict=True) if size > 1}
    effects = all_effects(list(count))
    size = float(math.prod(shape))
    per_group = [size / math.prod(count[name] for name in effect) for effect in effects]
    df = [float(math.prod(count[name] - 1 for name in effect)) for effect in effects]
    df.append(size - math.prod(levels))
    expected = np.zeros((len(df), len(df)))
    expected[:, -1] = 1.0
    for row, effect in enumerate(effects):
        for column, other in enumerate(effects):
            if set(effect) <= set(other):
                expected[row, column] = per_group[column]
    return _Plan(
        (*(":".join(effect) for effect in effects), ERROR),
        tuple(helmert(number, full=True).T.copy() for number in count.values()),
        (0, *range(2, len(count) + 1), 1),
        tuple(
            sum(1 << at for at, name in enumerate(reversed(count)) if name in effect)
            for effect in effects
        ),
        np.array(df),
        expected,
    )


def unbalanced(
    values: NDArray[np.float64], codes: NDArray[np.int_], factors: Sequence[str]
) -> MeanSquares:
    """Compute mean squares of readings with unequal or empty cells.

    Parameters
    ----------
    values : numpy.ndarray of float, shape (n,)
    codes : numpy.ndarray of int, shape (n, factors)
        Level of each factor, numbered from 0.
    factors : sequence of str

    Returns
    -------
    MeanSquares
        Effects that the missing readings leave no degree of freedom are left out.
    """
    live = [i for i in range(len(factors)) if codes[:, i].max() > 0]
    cells, cell = np.unique(codes, axis=0, return_inverse=True)
    cell = np.ravel(cell)
    counts = np.bincount(cell).astype(float)
    root = np.sqrt(counts)
    centred = values - values.mean()
    means = np.bincount(cell, centred) / counts
    within = float(((centred - means[cell]) ** 2).sum())
    y = root * means
    effects = all_effects([factors[i] for i in live])
    column = {name: i for i, name in enumerate(factors)}
    design = {}
    for effect in effects:
        groups = np.unique(
            cells[:, [column[name] for name in effect]], axis=0, return_inverse=True
        )[1]
        design[effect] = np.eye(int(groups.max()) + 1)[np.ravel(groups)] * root[:, None]
    rows = []
    for effect in effects:
        others = [design[o] for o in effects if not set(effect) <= set(o)]
        below = np.hstack([root[:, None], *others])
        basis = _extension(below, design[effect])
        if basis.shape[1] == 0:
            continue
        rows.append((effect, float(((basis.T @ y) ** 2).sum()), basis))
    kept = [effect for effect, _, _ in rows]
    squares = np.array([ss for _, ss, _ in rows] + [within])
    _drop_residues(squares, values)
    expected = np.zeros((len(rows) + 1, len(rows) + 1))
    expected[:, -1] = 1.0
    for i, (_, _, basis) in enumerate(rows):
        for j, other in enumerate(kept):
            share = float(((basis.T @ design[other]) ** 2).sum()) / basis.shape[1]
            expected[i, j] = share if share > 1e-9 else 0.0
    return MeanSquares(
        (*(":".join(effect) for effect in kept), ERROR),
        squares,
        np.array([float(basis.shape[1]) for _, _, basis in rows] + [values.size - counts.size]),
        expected,
    )


def _extension(below: NDArray[np.float64], more: NDArray[np.float64]) -> NDArray[np.float64]:
    """Find an orthonormal basis of what `more` adds to the space of `below`."""

    def basis(matrix: NDArray[np.float64]) -> NDArray[np.float64]:
        left, sizes, _ = np.linalg.svd(matrix, full_matrices=False)
        return left[:, sizes > 1e-9 * sizes[0]] if sizes.size and sizes[0] > 0 else left[:, :0]

    start = basis(below)
    rest = more - start @ (start.T @ more)
    left, sizes, _ = np.linalg.svd(rest, full_matrices=False)
    scale = np.linalg.norm(more, 2)
    return left[:, sizes > 1e-9 * scale]


def pool(
    squares: MeanSquares, pool_above: float | None
) -> tuple[tuple[AnovaRow, ...], tuple[str, ...], MeanSquares]:
    """Test the interactions, pool those that are not seen, and lay out the table of variance.

    Parameters
    ----------
    squares : MeanSquares
        Before pooling.
    pool_above : float or None
        An interaction whose p is above this is pooled; None never pools.

    Returns
    -------
    anova : tuple of AnovaRow
        The last is the total.
    pooled : tuple of str
        Interactions that went into repeatability.
    used : MeanSquares
        After pooling.
    """
    used, pooled = squares, []
    tested: dict[str, tuple[float | None, float | None]] = {}
    # The interaction of most factors goes first; a smaller one is tested against what is left.
    for size in (3, 2):
        while True:
            here = [s for s in used.sources if s.count(":") == size - 1]
            tests = {source: used.f_test(source)[:2] for source in here}
            tested |= tests
            loose = [source for source in here if not _contained(source, used.sources)]
            if pool_above is None or not loose:
                break
            worst = max(loose, key=lambda s: _seen(tests[s][1]))
            if _seen(tests[worst][1]) <= pool_above:
                break
            used = used.pooled(worst)
            pooled.append(worst)
    rows: list[AnovaRow] = []
    freedom, sums = squares.df.tolist(), squares.ss.tolist()
    for source, df, ss in zip(squares.sources, freedom, sums, strict=True):
        f: float | None = None
        p_value: float | None = None
        if source in tested:
            f, p_value = tested[source]
        elif source != ERROR:
            f, p_value, _ = used.f_test(source)
        rows.append(AnovaRow(source, int(df), ss, ss / df, f, p_value))
    rows.append(AnovaRow("total", int(sum(freedom)), math.fsum(sums)))
    return tuple(rows), tuple(pooled), used


def _seen(p: float | None) -> float:
    """Rank a test for pooling; one without a denominator pools nothing."""
    return -1.0 if p is None else p


def _contained(source: str, sources: tuple[str, ...]) -> bool:
    """Check whether another of the sources is an interaction of this one with more factors."""
    own = set(source.split(":"))
    return any(own < set(other.split(":")) for other in sources)
