"""Where the mean and the spread of a process over lots may lie, given how few lots were seen.

Model: lot means are random about the process mean, whatever is below them (specimens, casks) is
random within, readings are random within that, all normal:

    y = mu + a_i + b_ij + e,    var(y) = s_a^2 + s_b^2 + s_e^2.

With m_i the plain mean of lot i, k lots, and h_b, h_e the mean over lots of the sum of squared shares
that groups below have in it (1/n for n readings), the variance of the m_i expects

    theta = s_a^2 + h_b s_b^2 + h_e s_e^2,

and (k - 1) var(m_i) / theta is close to chi-square with k - 1 degrees of freedom (exact for lots of
one size). So theta, and with it the whole variance theta + (1 - h_b) s_b^2 + (1 - h_e) s_e^2, has the
generalized pivot that puts each mean square over a chi-square of its own, and the process mean that
of the plain mean of lot means with variance theta / k (Krishnamoorthy & Mathew, *Technometrics* 46
(2004), 44-52, for two levels; sequential mean squares below the lots). No component is cut at zero
inside the sum. The pivots are laid out evenly (Halton's sequence), not drawn: the same
lots give the same digits everywhere.

Misleads where lots were chosen for being odd or follow each other like one another (neighbouring
coils of one heat are fewer lots than they seem), and where lots' means are far from normal, which few
lots cannot show.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linestudy.gauges.destructive.nested_study import nested_mean_squares
from linestudy.numerics.samples import mean_and_sd
from linestudy.results import CannotJudge, arguments

#: Points at which the pivots are laid out; ends of intervals are then known to about half a percent.
POINTS = 8192


@dataclass(frozen=True)
class LotDraws:
    """Possible processes behind readings of several lots, in standard deviations of the readings.

    Attributes
    ----------
    lots, n : int
        Lots and readings.
    mean, sd : float
        Of all readings, in their unit.
    between, within : float
        Variance between lots (zero where its estimate is negative) and within, over that of the
        readings.
    shift : numpy.ndarray, shape (points,)
        Possible process means, less `mean`, over `sd`.
    stretch : numpy.ndarray, shape (points,)
        Possible standard deviations of the process over `sd`.
    lot_sd, within_sd : numpy.ndarray, shape (points,)
        Possible standard deviations between and within lots over `sd`.
    """

    lots: int
    n: int
    mean: float
    sd: float
    between: float
    within: float
    shift: NDArray[np.float64] = field(repr=False, compare=False)
    stretch: NDArray[np.float64] = field(repr=False, compare=False)
    lot_sd: NDArray[np.float64] = field(repr=False, compare=False)
    within_sd: NDArray[np.float64] = field(repr=False, compare=False)
    _theta: float = field(default=0.0, repr=False, compare=False)
    _inside: tuple[float, ...] = field(default=(), repr=False, compare=False)

    @property
    def lot_share(self) -> float:
        """Share of the variance that lies between lots."""
        total = self.between + self.within
        return self.between / total if total > 0 else 0.0

    @property
    def n_eff(self) -> tuple[float, float]:
        """Effective sample size, for mean and for SD, of values that are alike within lots."""
        return n_eff_of_lots(self.n, self.lots, self.lot_share)

    def indices(self, below: float | None, above: float | None) -> NDArray[np.float64]:
        """Return possible indices of the process.

        Parameters
        ----------
        below, above : float or None
            Index of the readings towards the lower and the upper limit; None where there is none.

        Returns
        -------
        numpy.ndarray, shape (sides, points)
            Towards each limit: of a distribution that is moved and stretched as a whole.
        """
        sides = []
        if above is not None:
            sides.append((3 * above - self.shift) / (3 * self.stretch))
        if below is not None:
            sides.append((3 * below + self.shift) / (3 * self.stretch))
        return np.array(sides)

    def bound(self, below: float | None, above: float | None, confidence: float = 0.95) -> float:
        """Compute the one-sided lower bound of the index of the process.

        Parameters
        ----------
        below, above : float or None
            As for :meth:`indices`.
        confidence : float

        Returns
        -------
        float
        """
        return float(np.quantile(self.indices(below, above).min(axis=0), 1 - confidence))

    def ends(
        self, below: float | None, above: float | None, confidence: float = 0.95
    ) -> tuple[float, float]:
        """Compute the two-sided interval of the index of the process.

        The lesser of two sides is biased down where both are as near, so the high end is the lower of
        the two sides' own, each at half the risk.
        """
        tail = (1 - confidence) / 2
        sides = self.indices(below, above)
        low = float(np.quantile(sides.min(axis=0), tail))
        return low, float(np.quantile(sides, 1 - tail / len(sides), axis=1).min())

    def next_lot(self, below: float | None, above: float | None) -> tuple[Any, Any]:
        """Return possible means of a lot not yet seen, as `shift`, and its own index at each of them."""
        mean = self.shift + self.lot_sd * _normal(1)
        within = np.maximum(self.within_sd, 1e-12)
        sides = [(3 * above - mean) / (3 * within)] if above is not None else []
        sides += [(3 * below + mean) / (3 * within)] if below is not None else []
        return mean, np.minimum.reduce(sides) if sides else None

    def bound_with(self, lots: int, index: float, confidence: float = 0.95) -> float:
        """Compute the lower bound of an index with so many lots as large as these, all else being equal.

        Parameters
        ----------
        lots : int
            At least two.
        index : float
            Index of the process towards its nearer limit.
        confidence : float

        Returns
        -------
        float
        """
        shift, stretch = self._with(lots)
        return float(np.quantile((3 * index - shift) / (3 * stretch), 1 - confidence))

    def lots_for(self, share: float, index: float, confidence: float = 0.95) -> int | None:
        """Find the fewest lots whose lower bound reaches this share of the index; None beyond a thousand."""
        low, high = 2, 1000
        if self.bound_with(high, index, confidence) < share * index:
            return None
        while low < high:
            middle = (low + high) // 2
            if self.bound_with(middle, index, confidence) >= share * index:
                high = middle
            else:
                low = middle + 1
        return low

    def part_of(self, share: float) -> LotDraws:
        """Return the same for readings whose variance these lots explain only in part, the rest being known."""
        return replace(
            self,
            sd=self.sd / share**0.5,
            between=self.between * share,
            within=self.within * share + 1 - share,
            shift=self.shift * share**0.5,
            stretch=np.sqrt(self.stretch**2 * share + 1 - share),
            lot_sd=self.lot_sd * share**0.5,
            within_sd=np.sqrt(self.within_sd**2 * share + 1 - share),
        )

    def _with(self, lots: int) -> tuple[Any, Any]:
        """Draw shift and stretch for another number of lots, about the spread that the components give."""
        total = self._theta + sum(self._inside[::2])
        top = self._theta * (lots - 1) / _chi_square(0, lots - 1)
        variance = top.copy()
        for at, (part, df) in enumerate(
            zip(self._inside[::2], self._inside[1::2], strict=True), start=1
        ):
            more = df * lots / self.lots
            variance = variance + part * more / _chi_square(at, more)
        return _normal() * np.sqrt(top / lots / total), np.sqrt(variance / total)


def n_eff_of_lots(n: int, lots: int, share: float) -> tuple[float, float]:
    """Compute effective sample sizes, for mean and for SD, of values that come in lots.

    Parameters
    ----------
    n, lots : int
        Values, and the lots they come from.
    share : float
        Of the variance, between lots.

    Returns
    -------
    tuple of float

    Notes
    -----
    Design effects of clusters of equal size (Kish, *Survey Sampling* (1965), 5.4), the correlation within a lot being the
    share between lots; for the spread its square.
    """
    more = n / lots - 1
    return max(n / (1 + more * share), 2.0), max(n / (1 + more * share**2), 4.0)


def lot_draws(values: Any, levels: Sequence[Any], known: Any = None) -> LotDraws:
    """Lay out the processes that readings of several lots may come from.

    Parameters
    ----------
    values : array_like of float, shape (n,)
    levels : sequence of array_like, each of shape (n,)
        Lot of each reading, then what is between lot and reading, if anything.
    known : array_like of float, shape (n,), optional
        What named causes add to each reading (wear between named regrinds, levels of stations): it is part
        of the variance and says nothing of lots.

    Returns
    -------
    LotDraws

    Raises
    ------
    CannotJudge
        A reading that names no lot, one lot only, or readings that never differ.

    Examples
    --------
    >>> import numpy as np
    >>> coil = np.repeat(np.arange(3), 20)
    >>> y = np.array([-1.5, 0.5, 1.0])[coil] + np.random.default_rng(1).normal(size=60)
    >>> found = lot_draws(y, [coil])
    >>> bool(found.bound(None, 1.5) < 0.8)
    True
    """
    y = np.asarray(values, dtype=float)
    if known is not None:
        rest = y - (np.asarray(known, dtype=float) - np.mean(known))
        found = lot_draws(rest, levels)
        share = float(rest.var() / y.var())
        return found.part_of(share) if share < 1 else found
    codes = _nested(levels)
    outer = codes[0]
    k = int(outer.max()) + 1
    if k < 2:
        raise CannotJudge("All readings are of one lot, so nothing is known of how lots differ.")
    mean, sd = mean_and_sd(y)
    if not sd > 0:
        raise CannotJudge("All readings are the same, so nothing is known of their spread.")
    z = (y - mean) / sd
    sizes = np.bincount(outer).astype(float)
    means = np.bincount(outer, z) / sizes
    theta = float(means.var(ddof=1))
    top = theta * (k - 1) / _chi_square(0, k - 1)
    variance, lot, inside = top.copy(), top.copy(), []
    between, within = theta, 0.0
    draws_within = np.zeros(POINTS)
    for at, (held, component, drawn, part, df) in enumerate(_below(z, codes), start=1):
        # `held` is the share of the component that a lot's mean still holds.
        variance += (1 - held) * drawn
        lot -= held * drawn
        draws_within += drawn
        between -= held * component
        within += component
        inside += [part, df]
        assert at < _MOST
    return LotDraws(
        lots=k,
        n=int(y.size),
        mean=float(mean),
        sd=float(sd),
        between=max(between, 0.0),
        within=max(within, 0.0),
        shift=float(means.mean()) + _normal() * np.sqrt(top / k),
        stretch=np.sqrt(np.maximum(variance, 1e-12)),
        lot_sd=np.sqrt(np.maximum(lot, 0.0)),
        within_sd=np.sqrt(np.maximum(draws_within, 0.0)),
        _theta=theta,
        _inside=tuple(inside),
    )


def drawn_from(values: Any, lots: Sequence[Any] | LotDraws) -> LotDraws | None:
    """Draw for labels of lots, checked; None where there are no labels."""
    if isinstance(lots, LotDraws):
        return lots
    arguments.same_length(values=values, **{f"lots[{at}]": one for at, one in enumerate(lots)})
    return lot_draws(values, lots) if len(lots) else None


def _nested(levels: Sequence[Any]) -> list[NDArray[np.int64]]:
    """Code each level within those above; levels that divide nothing further are left out."""
    import pandas as pd

    found: list[NDArray[np.int64]] = []
    for level in levels:
        code = np.asarray(pd.factorize(pd.array(level))[0])
        if (code < 0).any():
            if found:
                break
            raise CannotJudge(f"{int((code < 0).sum())} of {code.size} readings name no lot.")
        joined = code if not found else found[-1] * (int(code.max()) + 1) + code
        joined = np.unique(joined, return_inverse=True)[1]
        last = found[-1].max() + 1 if found else 0
        if not found or last < joined.max() + 1 < code.size:
            found.append(joined)
    return found[: _MOST - 1]


def _below(z: Any, codes: list[Any]) -> list[tuple[float, float, Any, float, float]]:
    """List for each component below the lots its share in lot means, itself, its draws, its part of the total."""
    outer = codes[0]
    k = int(outer.max()) + 1
    if codes[-1].max() + 1 >= z.size:
        return []
    names = tuple(str(at) for at in range(len(codes)))
    squares = nested_mean_squares(names, codes, z)
    weights, ms = squares.weights[1:, 1:], squares.ms[1:]
    drawn = np.array(
        [
            one * df / _chi_square(at, df)
            for at, (one, df) in enumerate(zip(ms, squares.df[1:], strict=True), start=1)
        ]
    )
    components, draws = weights @ ms, weights @ drawn
    sizes = np.bincount(outer).astype(float)
    groups = [*codes[1:], np.arange(z.size)]
    held = []
    for code in groups:
        inner = np.bincount(code).astype(float)
        parent = np.zeros(inner.size, dtype=int)
        parent[code] = outer
        held.append(float((np.bincount(parent, inner**2) / sizes**2).sum() / k))
    # What each mean square adds to the whole variance, for another number of lots.
    parts = ((1 - np.array(held)) @ weights) * ms
    return [
        (held[i], float(components[i]), draws[i], float(parts[i]), float(squares.df[i + 1]))
        for i in range(len(groups))
    ]


#: Most sources: lots, two levels below, readings.
_MOST = 4


@lru_cache(maxsize=1)
def _evenly() -> Any:
    from scipy.stats import qmc

    # The first point is the origin, where a chi-square has no number.
    return qmc.Halton(_MOST + 2, scramble=False).random(POINTS + 1)[1:]


#: Columns of the evenly laid points, the first ones being the most even: chi-squares of lots, of what lies
#: below them and of the readings, and two normal numbers.
_SOURCES, _NORMALS = (0, 2, 4, 5), (1, 3)


@lru_cache(maxsize=256)
def _chi_square(source: int, df: float) -> Any:
    from scipy.special import chdtri

    return chdtri(df, _evenly()[:, _SOURCES[source]])


@lru_cache(maxsize=2)
def _normal(which: int = 0) -> Any:
    from scipy.special import ndtri

    return ndtri(_evenly()[:, _NORMALS[which]])
