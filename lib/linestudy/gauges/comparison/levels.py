"""Parts as several laboratories read them, and what a laboratory shows over all parts together.

A laboratory that lies a little off on every part stands out on none; one that has labels exchanged, reads on another scale or repeats
far better than all others is seen over all of them as well. What is found here is reported beside the screening part by
part of `laboratories`, and nothing is left out for it.

When it misleads: with three laboratories, one that is off makes the others look off, too; only the one that lies farthest is named.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from linestudy.gauges.comparison.laboratories_finding import LaboratoryLevel
from linestudy.gauges.grr.exchanged import exchanged_rows
from linestudy.gauges.grr.intervals import mls_intervals
from linestudy.gauges.grr.mean_squares import ERROR, MeanSquares
from linestudy.gauges.grr.own_scales import factor_said
from linestudy.numerics.heavy_tails import HEAVY
from linestudy.numerics.normal_intervals import sd_interval
from linestudy.results import Interval, counted
from linestudy.results.rounding import as_given, p_text
from linestudy.results.tables import natural_order

#: Level at which a laboratory that repeats better than all others is reported, and that of other tests beside the screening.
_CALM, _SELDOM = 0.001, 0.01
#: Parts from which a laboratory is held against the others over all of them.
_PARTS = 3


class Level:
    """One part in all laboratories that read it."""

    def __init__(self, name: str, cells: dict[str, NDArray[np.float64]]) -> None:
        self.name = name
        self.laboratories = tuple(cells)
        self.counts = np.array([cell.size for cell in cells.values()], dtype=float)
        self.means = np.array([cell.mean() for cell in cells.values()])
        inner = [float(((cell - cell.mean()) ** 2).sum()) for cell in cells.values()]
        self.inner = np.array(inner)

    @property
    def free(self) -> float:
        return float((self.counts - 1).sum())

    @property
    def mean(self) -> float:
        return float((self.counts * self.means).sum() / self.counts.sum())

    @property
    def each(self) -> float:
        """Readings a laboratory, as the variance between laboratories counts them (n with a bar)."""
        total = self.counts.sum()
        return float((total - (self.counts**2).sum() / total) / (self.counts.size - 1))

    @property
    def squares(self) -> MeanSquares:
        between = float((self.counts * (self.means - self.mean) ** 2).sum())
        expected = np.array([[self.each, 1.0], [0.0, 1.0]])
        df = np.array([self.counts.size - 1.0, self.free])
        return MeanSquares(
            ("laboratory", ERROR), np.array([between, self.inner.sum()]), df, expected
        )

    @property
    def h(self) -> NDArray[np.float64]:
        spread = float(self.means.std(ddof=1))
        off = self.means - self.means.mean()
        return np.asarray(off / spread if spread > 0 else 0.0 * off)

    @property
    def k(self) -> NDArray[np.float64]:
        """Mandel's k; NaN for a laboratory that read the part once."""
        repeated = self.counts > 1
        variance = np.full(self.counts.size, np.nan)
        variance[repeated] = self.inner[repeated] / (self.counts[repeated] - 1)
        total = float(np.nansum(variance))
        scale = float(repeated.sum()) / total if total > 0 else 0.0
        return np.asarray(np.sqrt(variance * scale))

    @property
    def repeated(self) -> int:
        """Laboratories that read the part more than once."""
        return int((self.counts > 1).sum())

    def result(self, confidence: float, hidden: float) -> LaboratoryLevel:
        squares = self.squares
        return LaboratoryLevel(
            part=self.name,
            mean=self.mean,
            readings=int(self.counts.sum()),
            repeatability_sd=reaching(repeatability(squares, confidence), hidden),
            reproducibility_sd=reaching(reproducibility(squares, confidence), hidden),
            h=dict(zip(self.laboratories, self.h.tolist(), strict=True)),
            k={
                name: k
                for name, k in zip(self.laboratories, self.k.tolist(), strict=True)
                if np.isfinite(k)
            },
        )


def reaching(sd: Interval, hidden: float) -> Interval:
    """Extend an interval to at least what rounding hides."""
    return Interval(sd.estimate, sd.low, max(sd.high, hidden), sd.confidence, sd.method)


def repeatability(squares: MeanSquares, confidence: float) -> Interval:
    return sd_interval(float(np.sqrt(squares.ms[-1])), float(squares.df[-1]), confidence)


def reproducibility(squares: MeanSquares, confidence: float) -> Interval:
    """Take the root of the sum of both variances; a negative one between laboratories counts as none."""
    return sum_of(squares, squares.weights.sum(axis=0), squares, confidence)


def sum_of(
    squares: MeanSquares, weights: NDArray[np.float64], pooled: MeanSquares, confidence: float
) -> Interval:
    """Estimate the standard deviation of laboratory and error together, its ends from these mean squares."""
    low, high = mls_intervals(squares, weights[None, :], confidence)[:, 0].tolist()
    between, inner = pooled.variances.tolist()
    best = max(between, 0.0) + inner
    ends = sorted((max(low, 0.0), max(high, best)))
    return Interval(
        best**0.5, min(ends[0], best) ** 0.5, ends[1] ** 0.5, confidence, "modified large sample"
    )


def cautions_over_parts(
    levels: list[Level], laboratories: int, parts: int, tails: float
) -> tuple[str, ...]:
    notes = []
    if laboratories < 8:
        notes.append(
            f"{laboratories} laboratories say little about laboratories in general; the interval of "
            "reproducibility shows how little."
        )
    notes += _off_everywhere(levels)
    cells: dict[str, dict[str, float]] = {}
    for level in levels:
        for name, mean in zip(level.laboratories, level.means, strict=True):
            cells.setdefault(name, {})[level.name] = float(mean)
    notes += of_their_own(cells)
    notes += _too_calm(levels)
    if tails < HEAVY:
        notes.append(
            "Repeated readings have heavier tails than normal ones; the intervals over all parts allow for the tails seen, those of "
            "single parts do not."
        )
    missing = sum(laboratories - level.counts.size for level in levels)
    if missing:
        notes.append(f"{counted(missing, 'combination')} of part and laboratory without a reading.")
    unread = parts - len(levels)
    if unread:
        notes.append(
            f"{counted(unread, 'part')} left out: not read by three laboratories, one of them twice at least."
        )
    return tuple(notes)


def _off_everywhere(levels: list[Level]) -> list[str]:
    """Report a laboratory that lies off the others on all parts together, though on no single part by itself.

    Its distances from the mean of the others, part by part, are held against how they differ from part to part
    (Student's t, by Bonferroni): a laboratory that differs by chance differs now this way and now that.
    """
    from scipy.special import stdtr

    names = sorted({name for level in levels for name in level.laboratories})
    found = []
    for name in names:
        off = []
        for level in levels:
            if name in level.laboratories:
                at = level.laboratories.index(name)
                off.append(float(level.means[at] - np.delete(level.means, at).mean()))
        n = len(off)
        if n < _PARTS:
            continue
        mean, sd = float(np.mean(off)), float(np.std(off, ddof=1))
        if sd <= 1e-12 * abs(mean):
            continue
        found.append((2 * float(stdtr(n - 1, -abs(mean) / (sd / n**0.5))) * len(names), name, mean))
    seen = sorted(one for one in found if one[0] < _SELDOM)
    if not seen:
        return []
    # Where one is off, the others lie off it: only the one who lies farthest is named.
    p, name, mean = max(seen, key=lambda one: abs(one[2]))
    return [
        f"{name} reads {as_given(abs(mean), digits=2)} {'above' if mean > 0 else 'below'} the others over all parts ({p_text(p)}): a bias of its own, "
        "which no single part need show."
    ]


def of_their_own(cells: dict[str, dict[str, float]]) -> list[str]:
    """Report who has parts in another order than the others, or reads on a scale of their own.

    Parameters
    ----------
    cells : dict of str to dict of str to float
        Means by part, for each laboratory or system.

    Returns
    -------
    list of str
        A sentence each.
    """
    names = tuple(cells)
    parts = sorted({part for own in cells.values() for part in own}, key=natural_order)
    means = np.array([[own.get(part, np.nan) for own in cells.values()] for part in parts])
    exchanged = exchanged_rows(np.array(parts), means, names, alike=False)
    scale = factor_said(names, means, alike=False)
    return [
        *(
            [f"The readings of {exchanged}: look whether labels were exchanged."]
            if exchanged
            else []
        ),
        *([f"{scale}."] if scale else []),
    ]


def _too_calm(levels: list[Level]) -> list[str]:
    """Report a laboratory that repeats far better than the next best, all parts together (F, by Bonferroni).

    The next best, and not all others together: one gauge that repeats worse makes each of the others look calm.
    """
    from scipy.special import fdtr

    squares: dict[str, float] = {}
    freedom: dict[str, float] = {}
    for level in levels:
        for name, inner, count in zip(level.laboratories, level.inner, level.counts, strict=True):
            squares[name] = squares.get(name, 0.0) + float(inner)
            freedom[name] = freedom.get(name, 0.0) + float(count) - 1
    known = sorted((squares[name] / df, name) for name, df in freedom.items() if df >= 1)
    if len(known) < 2 or known[1][0] <= 0:
        return []
    (best, name), (usual, other) = known[:2]
    # Any of them might have been the best, and any other the next.
    pairs = len(known) * (len(known) - 1)
    p = pairs * float(fdtr(freedom[name], freedom[other], best / usual))
    if p >= _CALM:
        return []
    return [
        f"{name} repeats with a standard deviation of {as_given(best**0.5, digits=2)}, the next best with {as_given(usual**0.5, digits=2)} ({p_text(p)}): averages, "
        "copies or coarser rounding would show so; unless its gauge is that much better, ask how its readings came about."
    ]
