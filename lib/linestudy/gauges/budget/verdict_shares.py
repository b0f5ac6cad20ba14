"""Shares of wrong verdicts by integration, for any density of true values.

Model and source: as in `conformity_risk` (JCGM 106:2012, ch. 9). Integration is by Gauss-Legendre panels close to
the limits, where alone an error can change a verdict; the error's normal density is cut where a double
no longer shows it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from linestudy.numerics.quadrature import legendre
from linestudy.results import CannotJudge, arguments, data_arguments

#: A normal error beyond this many standard deviations changes no verdict that a double could show.
REACH = 8.5
_LEAST_PANELS, _NODES = 4, 16

#: Density of values, array in, array out, per unit.
Density = Callable[[NDArray[np.float64]], NDArray[np.float64]]


@dataclass(frozen=True)
class TrueValues:
    """Density of true values, from that of readings with the gauge's variance taken out.

    Attributes
    ----------
    density : callable
        Of the readings; array in, array out, per unit.
    mean, sd : float
        Of the readings.
    gauge_sd, bias : float
        Of the gauge's error.
    """

    density: Density
    mean: float
    sd: float
    gauge_sd: float
    bias: float = 0.0

    @property
    def shrink(self) -> float:
        """Standard deviation of true values over that of readings."""
        rest = 1 - (self.gauge_sd / self.sd) ** 2
        if rest <= 0:
            raise CannotJudge(
                "The gauge's spread is as large as that of the readings; nothing is left that could be the "
                "process, so the risk of a wrong verdict cannot be computed."
            )
        return float(np.sqrt(rest))

    def __call__(self, y: NDArray[np.float64]) -> NDArray[np.float64]:
        shrink = self.shrink
        # A true value y was read, on average, as y + bias.
        return self.density(self.mean + (y + self.bias - self.mean) / shrink) / shrink


def global_risks(
    true_density: Density,
    gauge_sd: float,
    lower: float | None,
    upper: float | None,
    *,
    guard_band: ArrayLike = 0.0,
    bias: float = 0.0,
    scale: float | None = None,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    r"""Integrate the global consumer's and producer's risk: accepted bad and rejected good parts.

    Parameters
    ----------
    true_density : callable
        Density of true values, array in, array out, per unit of the limits.
    gauge_sd : float
        Standard deviation of the gauge's error, above zero, in the unit of the limits.
    lower, upper : float or None
        Tolerance limits.
    guard_band : array_like of float, shape (k,) or scalar
        Taken from each limit, in their unit; negative lets parts beyond the limit pass.
    bias : float
        Reading less true value, on average, in the unit of the limits.
    scale : float, optional
        Standard deviation of the true values, where it is smaller than the gauge's.

    Returns
    -------
    false_accept, false_reject : numpy.ndarray of float, shape (k,)
        Shares of all parts: bad and accepted, good and rejected.

    Raises
    ------
    CannotJudge
        Neither limit is given.
    ValueError
        An argument outside its range, or limits that are swapped.

    See Also
    --------
    conformity_risk : The risks of a gauge on a process that was recorded through it.

    Notes
    -----
    Model: reading = true value + bias + normal error. With the acceptance zone A and tolerance T

    .. math:: R_C = \int_{y \notin T} f(y)\,P(x \in A \mid y)\,dy, \qquad
              R_P = \int_{y \in T} f(y)\,P(x \notin A \mid y)\,dy

    for any density. Misleads where the error is not the same over the range.

    References
    ----------
    JCGM 106:2012, eq. 16 to 22.

    Examples
    --------
    >>> from scipy.stats import norm
    >>> bad, good = global_risks(norm(0, 1).pdf, 0.1, -3.0, 3.0)
    >>> round(1e6 * float(bad[0])), round(1e6 * float(good[0]))
    (296, 431)
    """
    from scipy.special import ndtr

    arguments.number("gauge_sd", gauge_sd, above=0)
    arguments.limits(lower, upper, needed=False)
    arguments.number("bias", bias)
    arguments.positive(scale=scale)
    bands = data_arguments.one_dimensional(
        np.atleast_1d(guard_band), name="guard_band", least=1, what="guard band"
    )
    span = REACH * gauge_sd + abs(bias)
    wide = span + float(np.abs(bands).max())
    edges = [limit for limit in (lower, upper) if limit is not None]
    if not edges:
        raise CannotJudge("Without a limit no verdict can be wrong.")
    # Good parts can be rejected only near a limit or a band; where zones of two limits meet, once.
    inner: list[tuple[float, float]] = []
    outer: list[tuple[float, float]] = []
    if lower is not None:
        outer.append((lower - wide, lower))
        inner.append((lower, lower + wide))
    if upper is not None:
        outer.append((upper, upper + wide))
        inner.append((upper - wide, upper))
    if lower is not None and upper is not None and lower + wide >= upper - wide:
        inner = [(lower, upper)]

    def accepted(y: NDArray[np.float64]) -> NDArray[np.float64]:
        read = y + bias
        share = np.ones((bands.size, y.size))
        if upper is not None:
            share = ndtr((upper - bands[:, None] - read) / gauge_sd)
        if lower is not None:
            below = ndtr((lower + bands[:, None] - read) / gauge_sd)
            share = np.maximum(share - below, 0.0)
        return share

    # One call of the density for all nodes: it costs more than anything else here.
    step = min(gauge_sd, scale or gauge_sd)
    pieces = [_nodes(*zone, step) for zone in (*outer, *inner)]
    y, weight = (np.concatenate(both) for both in zip(*pieces, strict=True))
    share, mass = accepted(y), weight * true_density(y)
    split = sum(piece[0].size for piece in pieces[: len(outer)])
    return share[:, :split] @ mass[:split], (1 - share[:, split:]) @ mass[split:]


def _nodes(
    start: float, stop: float, scale: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Lay out Gauss-Legendre panels, none much wider than two of the standard deviations that matter."""
    panels = max(_LEAST_PANELS, min(200, int(np.ceil((stop - start) / (2 * scale)))))
    return _panels(np.linspace(start, stop, panels + 1))


def _panels(edges: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    nodes, weights = legendre(_NODES)
    half = np.diff(edges) / 2
    y = (edges[:-1] + half)[:, None] + half[:, None] * nodes
    return y.ravel(), (half[:, None] * weights).ravel()


#: Panel edges beyond a limit, in standard deviations of the true values; they widen with distance.
_BEYOND = np.concatenate([np.linspace(0, 4, 17), np.geomspace(5, 40, 10)])


def nonconforming_share(
    true: Density, lower: float | None, upper: float | None, scale: float
) -> float:
    """Integrate the share of parts beyond the limits, out to forty standard deviations.

    Parameters
    ----------
    true : callable
        Density, array in, array out.
    lower, upper : float or None
    scale : float
        Standard deviation of that density.

    Returns
    -------
    float

    Examples
    --------
    >>> from scipy.stats import norm
    >>> round(1e6 * nonconforming_share(norm(0, 1).pdf, -3.0, 3.0, 1.0))
    2700
    """
    edges = [] if lower is None else [lower - scale * _BEYOND[::-1]]
    if upper is not None:
        edges.append(upper + scale * _BEYOND)
    y, weight = (np.concatenate(both) for both in zip(*map(_panels, edges), strict=True))
    # Of a density of finite precision the sum may pass one by a rounding error.
    return min(max(float(weight @ true(y)), 0.0), 1.0)
