"""EWMA and CUSUM: their run lengths, their design from a wished one, and the charts themselves.

Model: independent normal points with known centre and standard error; both charts add up evidence
and so find small lasting shifts sooner than single points do. Mean run length of the EWMA: the
integral equation of Crowder, *Technometrics* 29 (1987), 401-407; of the one-sided CUSUM: that of
Page, *Biometrika* 41 (1954), 100-115, both solved on Gauss-Legendre nodes (Nyström), which
converges far faster than the chain of Brook & Evans, *Biometrika* 59 (1972), 539-549, that the tests
compare with. A two-sided CUSUM: 1/L = 1/L(up) + 1/L(down) (Lucas & Crosier 1982). Misleads with
correlated points even more than a Shewhart chart: chart residuals instead.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.numerics.samples import as_sample
from linestudy.results import CannotJudge, Finding, show
from linestudy.results.declared import Declaration

if TYPE_CHECKING:
    import pandas as pd

_NODES = 60


@dataclass(frozen=True)
class SequentialStudy(Finding):
    """An EWMA or CUSUM chart.

    Attributes
    ----------
    chart : str
        ``"EWMA"`` or ``"CUSUM"``.
    weight, width : float
        EWMA: lambda and L. CUSUM: k and h. In standard errors.
    run_length_at_rest, run_length_shifted : float
        Mean points to a signal.
    shift : float
        The shift it is made for, in standard errors of a point.
    n_points : int
    signals : tuple of dict
        ``point`` (from 1), ``order``, ``side``; the chart starts anew after each.
    expected_false_signals : float
    """

    chart: str
    weight: float
    width: float
    run_length_at_rest: float
    run_length_shifted: float
    shift: float
    n_points: int
    signals: tuple[dict[str, Any], ...]
    expected_false_signals: float
    unit: str
    cautions: tuple[str, ...]
    path: Any = field(repr=False, compare=False)
    title: ClassVar[str] = "Chart for small shifts"
    picture: ClassVar[str] = "stability:sequential_chart"

    @property
    def statement(self) -> str:
        return (
            f"The {self.chart} finds a shift of {self.shift:.2g} standard errors after "
            f"{self.run_length_shifted:.1f} points on average and gives a false signal every "
            f"{self.run_length_at_rest:,.0f}. On these {self.n_points} points it signals "
            f"{len(self.signals)} times where {self.expected_false_signals:.1f} are expected by chance."
        )

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        names = ("lambda", "L") if self.chart == "EWMA" else ("k", "h")
        rows = [
            (names[0], show(self.weight)),
            (names[1], show(self.width)),
            ("mean points to a false signal", f"{self.run_length_at_rest:,.0f}"),
            (
                f"mean points to find {self.shift:.2g} standard errors",
                f"{self.run_length_shifted:.1f}",
            ),
            ("points", f"{self.n_points:,}"),
            ("signals", str(len(self.signals))),
            ("signals expected by chance", f"{self.expected_false_signals:.1f}"),
        ]
        return pd.DataFrame(rows, columns=["quantity", "value"])


SMALL_SHIFTS = Declaration("stability.small_shifts", SequentialStudy, "Chart for small shifts")


@lru_cache(maxsize=1)
def _unit_nodes() -> tuple[Any, Any]:
    from scipy.special import roots_legendre

    x, w = roots_legendre(_NODES)
    return x, w


def _nodes(low: float, high: float) -> tuple[Any, Any]:
    x, w = _unit_nodes()
    half = (high - low) / 2
    return low + half * (x + 1), half * w


def ewma_run_length(weight: float, width: float, shift: float = 0.0) -> float:
    """Mean run length of a two-sided EWMA with limits at their steady width.

    Parameters
    ----------
    weight : float
        Lambda, above 0 and at most 1.
    width : float
        L: limits at ``L * sqrt(lambda / (2 - lambda))`` standard errors.
    shift : float
        Of the points, in their standard errors.

    Returns
    -------
    float

    Raises
    ------
    CannotJudge
        `weight` outside (0, 1], or `width` not above 0.

    Examples
    --------
    >>> round(ewma_run_length(0.1, 2.814), 0), round(ewma_run_length(0.1, 2.814, 1.0), 1)
    (500.0, 10.3)
    """
    if not 0 < weight <= 1 or width <= 0:
        raise CannotJudge("An EWMA needs lambda above 0 and at most 1, and L above 0.")
    return float(_ewma_solved(weight, width, shift))


def _ewma_solved(weight: complex, width: complex, shift: float) -> Any:
    """The integral equation solved; every step is analytic, so that an imaginary step gives slopes."""
    limit = width * np.sqrt(weight / (2 - weight))
    # Narrow kernels want more nodes than the default: panels no wider than the kernel.
    panels = max(1, math.ceil(2 * limit.real / (12 * weight.real)))
    unit, unit_weights = _unit_nodes()
    half = limit / panels
    middles = half * (2 * np.arange(panels) + 1 - panels)
    x = (middles[:, None] + half * unit).ravel()
    w = np.tile(half * unit_weights, panels)

    def kernel(start: Any) -> Any:
        z = (x[None, :] - (1 - weight) * start[:, None]) / weight - shift
        return w * np.exp(-0.5 * z**2) / (weight * math.sqrt(2 * math.pi))

    inside = np.linalg.solve(np.eye(x.size) - kernel(x), np.ones(x.size))
    return 1 + (kernel(np.zeros(1)) @ inside)[0]


def cusum_run_length(k: float, h: float, shift: float = 0.0, two_sided: bool = True) -> float:
    """Mean run length of a CUSUM that starts at zero.

    Parameters
    ----------
    k : float
        Reference value (slack), in standard errors.
    h : float
        Decision interval, in standard errors.
    shift : float
        Of the points, in their standard errors.
    two_sided : bool

    Returns
    -------
    float

    Raises
    ------
    CannotJudge
        `h` not above 0 or `k` negative.

    Examples
    --------
    >>> round(cusum_run_length(0.5, 4.0), 0), round(cusum_run_length(0.5, 4.0, 1.0), 2)
    (168.0, 8.38)
    """
    if h <= 0 or k < 0:
        raise CannotJudge("A CUSUM needs h above 0 and k not below 0.")
    up = _one_sided(k, h, shift)
    if not two_sided:
        return up
    return 1 / (1 / up + 1 / _one_sided(k, h, -shift))


def _one_sided(k: float, h: float, shift: float) -> float:
    from scipy.special import ndtr

    x, w = _nodes(0.0, h)
    at = np.concatenate([[0.0], x])
    # Column 0 is the atom at zero, the rest the density on (0, h).
    z = x[None, :] - at[:, None] + k - shift
    moves = np.empty((at.size, at.size))
    moves[:, 0] = ndtr(-at + k - shift)
    moves[:, 1:] = w * np.exp(-0.5 * z**2) / math.sqrt(2 * math.pi)
    return float(np.linalg.solve(np.eye(at.size) - moves, np.ones(at.size))[0])


@lru_cache(maxsize=64)
def design_ewma(run_length_at_rest: float = 370.4, shift: float = 1.0) -> tuple[float, float]:
    """Lambda and L that find a shift soonest at a wished run length at rest.

    Parameters
    ----------
    run_length_at_rest : float
        Wished mean points to a false signal, at least 10.
    shift : float
        The shift that matters, in standard errors of a point.

    Returns
    -------
    weight, width : float

    Raises
    ------
    CannotJudge
        A wished run length below 10 or a shift not above 0.

    Examples
    --------
    >>> weight, width = design_ewma(500.0, 1.0)
    >>> round(ewma_run_length(weight, width), 1), bool(0.1 < weight < 0.2)
    (500.0, True)
    """
    from scipy.optimize import brentq

    _check_wish(run_length_at_rest, shift)

    def delay(weight: float) -> float:
        return ewma_run_length(weight, _ewma_width(weight, run_length_at_rest), shift)

    # Around the best of a few the slope changes its sign; its root is the same on every machine.
    tried = np.geomspace(0.03, 1.0, 12).tolist()
    best = min(range(12), key=lambda i: delay(tried[i]))
    low, high = tried[max(best - 1, 0)], tried[min(best + 1, 11)]

    def slope(weight: float) -> float:
        return _delay_slope(weight, run_length_at_rest, shift)

    if slope(low) >= 0 or slope(high) <= 0:
        weight = tried[best]
    else:
        weight = float(brentq(slope, low, high, xtol=1e-13))
    return weight, _ewma_width(weight, run_length_at_rest)


def _delay_slope(weight: float, wished: float, shift: float) -> float:
    """Slope of the delay over lambda while L keeps the wished run length at rest.

    Derivatives by a complex step, which loses no digits (Squire & Trapp, *SIAM Review* 40 (1998), 110-112).
    """
    width, step = _ewma_width(weight, wished), 1e-30

    def slopes(moved: float) -> tuple[float, float]:
        by_weight = _ewma_solved(complex(weight, step), complex(width), moved).imag / step
        by_width = _ewma_solved(complex(weight), complex(width, step), moved).imag / step
        return float(by_weight), float(by_width)

    (rest_weight, rest_width), (weight_slope, width_slope) = slopes(0.0), slopes(shift)
    return weight_slope - width_slope * rest_weight / rest_width


def _ewma_width(weight: float, wished: float) -> float:
    from scipy.optimize import brentq

    return float(
        brentq(lambda w: math.log(ewma_run_length(weight, w) / wished), 0.3, 6.0, xtol=1e-13)
    )


@lru_cache(maxsize=64)
def design_cusum(run_length_at_rest: float = 370.4, shift: float = 1.0) -> tuple[float, float]:
    """K and h of a two-sided CUSUM for a shift, at a wished run length at rest.

    Parameters
    ----------
    run_length_at_rest : float
        Wished mean points to a false signal, at least 10.
    shift : float
        The shift that matters, in standard errors of a point.

    Returns
    -------
    k, h : float
        ``k = shift / 2`` is the best for that shift (Moustakides, *Annals of Statistics* 14
        (1986), 1379-1387).

    Raises
    ------
    CannotJudge
        A wished run length below 10 or a shift not above 0.

    Examples
    --------
    >>> k, h = design_cusum(465.0, 1.0)
    >>> round(k, 2), round(h, 2)
    (0.5, 5.0)
    """
    from scipy.optimize import brentq

    _check_wish(run_length_at_rest, shift)
    k = shift / 2

    def excess(h: float) -> float:
        return math.log(cusum_run_length(k, h) / run_length_at_rest)

    reach = 1.0
    while excess(reach) < 0:
        reach *= 1.5
    return k, float(brentq(excess, 1e-3, reach, xtol=1e-13))


def _check_wish(run_length_at_rest: float, shift: float) -> None:
    if run_length_at_rest < 10 or shift <= 0:
        raise CannotJudge("A design needs a run length at rest of at least 10 and a shift above 0.")


def sequential(
    points: Any,
    centre: float,
    standard_error: Any,
    chart: str = "EWMA",
    shift: float = 1.0,
    run_length_at_rest: float = 370.4,
    order: Any = None,
    unit: str = "",
) -> SequentialStudy:
    """Chart points by EWMA or CUSUM, designed for a shift and a wished run length.

    Parameters
    ----------
    points : array_like of float, shape (n,)
        Subgroup means or single values, in production order.
    centre : float
        Centre in their unit.
    standard_error : float or array_like, shape (n,)
        Of each point.
    chart : str
        ``"EWMA"`` or ``"CUSUM"``.
    shift : float
        The shift that matters, in standard errors.
    run_length_at_rest : float
    order : array_like of float, shape (n,), optional
    unit : str

    Returns
    -------
    SequentialStudy

    Raises
    ------
    CannotJudge
        Another chart's name, fewer than two points, or a standard error that is not above 0.

    Examples
    --------
    >>> study = sequential([0.1, -0.2, 0.0, 1.4, 1.2, 1.6, 1.5, 1.3, 1.8], 0.0, 1.0, "CUSUM")
    >>> study.signals[0]["side"]
    'above'
    """
    y = as_sample(points, least=2, name="point")
    error = np.broadcast_to(np.asarray(standard_error, dtype=float), y.shape)
    if not (error > 0).all():
        raise CannotJudge("The standard error of a point must be above zero.")
    z = (y - centre) / error
    position = np.arange(1.0, y.size + 1) if order is None else np.asarray(order, dtype=float)
    if chart == "EWMA":
        weight, width = design_ewma(run_length_at_rest, shift)
        upper, lower, found, limits = _follow_ewma(z, weight, width)
        later = ewma_run_length(weight, width, shift)
        at_rest = ewma_run_length(weight, width)
    elif chart == "CUSUM":
        weight, width = design_cusum(run_length_at_rest, shift)
        upper, lower, found = _follow_cusum(z, weight, width)
        limits = np.full(y.size, width)
        later = cusum_run_length(weight, width, shift)
        at_rest = cusum_run_length(weight, width)
    else:
        raise CannotJudge(f"There is no chart {chart!r} here; EWMA and CUSUM are.")
    signals = tuple(
        {"point": i + 1, "order": float(position[i]), "side": side} for i, side in found
    )
    return SequentialStudy(
        chart,
        weight,
        width,
        at_rest,
        later,
        float(shift),
        int(y.size),
        signals,
        y.size / at_rest,
        unit,
        ("Holds for independent points; correlated points signal sooner.",),
        {"order": position, "upper": upper, "lower": lower, "limit": limits},
    )


def _follow_ewma(z: Any, weight: float, width: float) -> tuple[Any, Any, list[Any], Any]:
    """Path, signals and limits; after a signal the chart starts anew at the centre."""
    limit = width * math.sqrt(weight / (2 - weight))
    path = np.empty(z.size)
    found = []
    level = 0.0
    for i, point in enumerate(z.tolist()):
        level = weight * point + (1 - weight) * level
        path[i] = level
        if abs(level) > limit:
            found.append((i, "above" if level > 0 else "below"))
            level = 0.0
    return path, path, found, np.full(z.size, limit)


def _follow_cusum(z: Any, k: float, h: float) -> tuple[Any, Any, list[Any]]:
    up_path, down_path = np.empty(z.size), np.empty(z.size)
    found = []
    up = down = 0.0
    for i, point in enumerate(z.tolist()):
        up = max(0.0, up + point - k)
        down = max(0.0, down - point - k)
        up_path[i], down_path[i] = up, -down
        if up > h or down > h:
            found.append((i, "above" if up > h else "below"))
            up = down = 0.0
    return up_path, down_path, found
