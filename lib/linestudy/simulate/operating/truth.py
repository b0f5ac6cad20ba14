"""Processes whose true index is known, for measuring how reliable a decision is.

The true index of a process is that of the long-run distribution of what the line makes, by the
quantile definition of ISO 22514-2 (0.135, 50 and 99.865 %), of the worst named stream; streams that
nobody named count pooled. Here every process has its quantiles in closed form or by quadrature, so
limits can be set for any true index: ``U = x50 + index (x99.865 - x50)`` and, where there is no
physical bound, the lower limit likewise, which makes both sides as tight.

In control are independent values, named streams, an autoregression of order one up to 0.3, and wear
between named regrinds. A single step and a spread that changes have no long-run index; their limits
are those of what the whole run held.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from linestudy.tails.candidate import QUANTILES
from linestudy.verdict.process.tags import Tags

Draw = Callable[[np.random.Generator, Any], tuple[Any, dict[str, Any]]]


#: Kind of a movement that no rate is asked of: it belongs to the power curve.
SMALL = "moving, of any size"


@dataclass(frozen=True)
class Truth:
    """A process with known quantiles.

    Attributes
    ----------
    name : str
    draw : callable
        ``(rng, strokes) -> (values, tags)`` at the strokes of the study, ascending from 0.
    quantiles : tuple of float
        x0.135, x50, x99.865 of the worst named stream.
    in_control : bool
    bound : float or None
        Physical bound; then only the upper limit is set.
    kind : str
        ``"in control"``, ``"tail that 125 parts cannot show"``, ``"outliers"`` ``"moving"``, or ``"moving, of any size"``.
    """

    name: str
    draw: Draw = field(repr=False, compare=False)
    quantiles: tuple[float, float, float]
    in_control: bool = True
    bound: float | None = None
    kind: str = "in control"

    def limits(self, index: float) -> tuple[float | None, float]:
        """Compute the limits at which the true index is `index`."""
        low, middle, high = self.quantiles
        lower = None if self.bound is not None else middle - index * (middle - low)
        return lower, middle + index * (high - middle)

    def study(self, rng: np.random.Generator, n: int) -> tuple[Any, Tags]:
        """Draw the readings of a study of n parts in subgroups of five.

        A run of five thousand parts and more is taken whole; a smaller one is spread as subgroups
        over five thousand strokes, as an initial study of a line is.
        """
        if n >= 5000:
            strokes = np.arange(n)
        else:
            starts = np.arange(n // 5) * (5000 // max(n // 5, 1))
            strokes = (starts[:, None] + np.arange(5)).ravel()
        values, tags = self.draw(rng, strokes)
        subgroup = np.repeat(np.arange(strokes.size // 5 + 1), 5)[: strokes.size]
        return values, Tags(order=strokes + 1.0, subgroup=subgroup, **tags)


def mixture_quantiles(parts: list[tuple[float, float, float]]) -> tuple[float, float, float]:
    """Compute the quantiles of a mixture of normals: (weight, mean, sd)."""
    from scipy.optimize import brentq
    from scipy.special import ndtr

    w, m, s = (np.array(v) for v in zip(*parts, strict=True))

    def share(x: float, p: float) -> float:
        return float(w @ ndtr((x - m) / s)) - p

    low, high = float((m - 9 * s).min()), float((m + 9 * s).max())
    return tuple(brentq(share, low, high, args=(p,)) for p in QUANTILES)  # type: ignore[return-value]
