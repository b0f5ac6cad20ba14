"""What is left about the trend of a tool that wears: its shape, and the spread and distance of each stream."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from linestudy.capability.wear.trend import Trend
from linestudy.numerics.arrays import FloatArray
from linestudy.results import Absent

_Z = 2.9999769927  # normal quantile of 0.99865
_POINTS, _GRID = 1201, 41
#: Values from which on the outer quantiles of the remainder are taken from the values themselves.
_CARRIED = 4000
#: One per cent point of Anderson and Darling's statistic where mean and SD are estimated (Stephens 1974).
_NORMAL = 1.035


@dataclass(frozen=True)
class Remainder:
    """The remainder about the trend: shape in standard deviations, and spread and distance of each stream."""

    z: FloatArray
    sd: FloatArray
    distance: FloatArray
    normal: bool
    independent: float
    lower: float | None
    upper: float | None

    @classmethod
    def of(
        cls, trend: Trend, y: Any, station: Any, lower: float | None, upper: float | None
    ) -> Remainder:
        labels = np.zeros(y.size, dtype=int) if station is None else np.asarray(station)
        distance, sd, z = [], [], []
        step = math.ceil(trend.time)
        for name in np.unique(labels):
            here = labels == name
            own = trend.residual[here]
            # Streams' means were taken out before the trend was fitted.
            distance.append(float(y[here].mean() - y.mean()))
            sd.append(float(own.std(ddof=1)))
            z.append((own - own.mean()) / sd[-1])
        # Neighbours that are alike are held against a distribution one in a correlation time.
        normal = _is_normal(np.sort(np.concatenate([part[::step] for part in z])))
        together = np.sort(np.concatenate(z))
        independent = together.size / trend.time
        return cls(together, np.array(sd), np.array(distance), normal, independent, lower, upper)

    @property
    def reach(self) -> tuple[float, float, float]:
        """Distances, in standard deviations, from the mean to the outer quantiles and to the median."""
        if self.normal:
            return _Z, _Z, 0.0
        low, middle, high = _outer(self.z)
        return -low, high, middle

    @property
    def reach_error(self) -> float:
        """Relative standard error of the reach; none where the remainder is normal."""
        from scipy.stats import norm

        if self.normal:
            return 0.0
        p = 0.00135 if self.z.size >= _CARRIED else 0.02275
        at = float(norm.isf(p))
        return math.sqrt(p / self.independent) / float(norm.pdf(at)) / at

    def index_at(self, level: float, stretch: float = 1.0) -> float:
        """Compute the lowest index of the streams at a level of the trend."""
        below, above, middle = self.reach
        found = []
        for d, sd in zip(self.distance, self.sd * stretch, strict=True):
            centre = level + d + middle * sd
            if self.upper is not None:
                found.append((self.upper - centre) / ((above - middle) * sd))
            if self.lower is not None:
                found.append((centre - self.lower) / ((below + middle) * sd))
        return float(min(found))

    def table(self) -> tuple[FloatArray, FloatArray]:
        """Tabulate outer quantiles and median of remainder plus uniform wear of 0 to 12 standard deviations."""
        wear = np.linspace(0, 12, 25)
        points = _spread_out(self.z, self.normal)
        grid = (np.arange(_GRID) + 0.5) / _GRID
        found = np.array(
            [
                np.quantile((points[:, None] + w * grid).ravel(), (0.00135, 0.5, 0.99865))
                for w in wear
            ]
        )
        return wear, found

    def whole(
        self, table: tuple[FloatArray, FloatArray], level: float, wear: float, stretch: float = 1.0
    ) -> float:
        """Compute the lowest index of the streams over a life in which the trend moves by `wear`."""
        found = []
        for d, sd in zip(self.distance, self.sd * stretch, strict=True):
            k = abs(wear) / sd
            low, middle, high = (float(np.interp(k, table[0], table[1][:, i])) for i in range(3))
            if k > table[0][-1]:
                low, middle, high = -3.0, k / 2, k + 3.0
            if wear < 0:
                # The same life seen from its end, where the level is lowest.
                low, middle, high = low - k, middle - k, high - k
            base = level + d
            if self.upper is not None:
                found.append((self.upper - base - middle * sd) / ((high - middle) * sd))
            if self.lower is not None:
                found.append((base + middle * sd - self.lower) / ((middle - low) * sd))
        return float(min(found))

    def control_limit(self, up: bool, size: int) -> float | Absent:
        """Compute the subgroup mean beyond which a tool that wears towards a limit is to be ground."""
        from scipy.special import ndtri

        limit = self.upper if up else self.lower
        if limit is None:
            return Absent("the tool wears towards no limit")
        sd = float(self.sd.max())
        reach = self.reach[1] if up else self.reach[0]
        inside = reach * sd - float(ndtri(0.95)) * sd / math.sqrt(size)
        return float(limit - inside) if up else float(limit + inside)


def _outer(z: FloatArray) -> tuple[float, float, float]:
    """Return outer quantiles and median of the remainder: of the values where there are thousands, else of a normal tail."""
    if z.size >= _CARRIED:
        low, middle, high = np.quantile(z, (0.00135, 0.5, 0.99865))
        return float(low), float(middle), float(high)
    # A skewed remainder: quantiles at two standard deviations, drawn out as far as a normal one's would be.
    low, middle, high = np.quantile(z, (0.02275, 0.5, 0.97725))
    return (
        float(middle + (low - middle) * 1.5),
        float(middle),
        float(middle + (high - middle) * 1.5),
    )


def _is_normal(z: FloatArray) -> bool:
    """Test whether a normal distribution is not rejected for the remainder (Anderson-Darling, one in a hundred)."""
    from scipy.special import log_ndtr

    n = z.size
    i = 2 * np.arange(1, n + 1) - 1
    statistic = -n - float((i * (log_ndtr(z) + log_ndtr(-z[::-1]))).sum()) / n
    return statistic * (1 + 0.75 / n + 2.25 / n**2) < _NORMAL


def _spread_out(z: FloatArray, normal: bool) -> FloatArray:
    """Represent the remainder by points: its quantiles at even steps, the outer ones as `_outer` has them."""
    from scipy.special import ndtri

    p = (np.arange(_POINTS) + 0.5) / _POINTS
    if normal:
        return np.asarray(ndtri(p), dtype=float)
    points = np.quantile(z, p)
    low, _, high = _outer(z)
    points[p < 0.00135 * 2] = np.minimum(points[p < 0.00135 * 2], low)
    points[p > 1 - 0.00135 * 2] = np.maximum(points[p > 1 - 0.00135 * 2], high)
    return np.asarray(points, dtype=float)
