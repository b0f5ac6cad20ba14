"""EWMA and CUSUM: their mean run lengths, and their design for a shift.

Mean run length of the EWMA: the integral equation of Crowder, *Technometrics* 29 (1987), 401-407; of the
one-sided CUSUM: that of Page, *Biometrika* 41 (1954), 100-115, both solved on Gauss-Legendre nodes
(Nyström), which converges far faster than the chain of Brook & Evans, *Biometrika* 59 (1972), 539-549, that
the tests compare with.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any

import numpy as np

from linestudy.results import arguments

_NODES = 60


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
    r"""Compute the mean run length of a two-sided EWMA with limits at their steady width.

    Parameters
    ----------
    weight : float
        Lambda, above 0 and at most 1.
    width : float
        L, above 0: limits at ``L * sqrt(lambda / (2 - lambda))`` standard errors.
    shift : float
        Of the points, in their standard errors.

    Returns
    -------
    float
        Points to the first signal, from a start at the centre.

    Raises
    ------
    ValueError, TypeError
        `weight` outside (0, 1], or `width` not above 0.

    See Also
    --------
    design_ewma : Weight and width for a shift.
    cusum_run_length : The same for a CUSUM.

    Notes
    -----
    Model: independent normal points with known centre and standard error. With the limit
    :math:`h = L\sqrt{\lambda/(2-\lambda)}` the run length from a level :math:`u` solves

    .. math:: R(u) = 1 + \frac1\lambda \int_{-h}^{h} R(x)\,\varphi\{(x-(1-\lambda)u)/\lambda-\delta\}\,dx

    Misleads with correlated points, which signal sooner.

    References
    ----------
    Crowder, *Technometrics* 29 (1987), 401-407, eq. 1.

    Examples
    --------
    >>> round(ewma_run_length(0.1, 2.814), 0), round(ewma_run_length(0.1, 2.814, 1.0), 1)
    (500.0, 10.3)
    """
    arguments.number("weight", weight, above=0, most=1)
    arguments.number("width", width, above=0)
    return float(_ewma_solved(weight, width, shift))


def _ewma_solved(weight: complex, width: complex, shift: float) -> Any:
    """Solve the integral equation; every step is analytic, so that an imaginary step gives slopes."""
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


def cusum_run_length(k: float, h: float, shift: float = 0.0, *, two_sided: bool = True) -> float:
    r"""Compute the mean run length of a CUSUM that starts at zero.

    Parameters
    ----------
    k : float
        Reference value (slack), in standard errors, not below 0.
    h : float
        Decision interval, in standard errors, above 0.
    shift : float
        Of the points, in their standard errors.
    two_sided : bool
        Whether it looks for shifts down as well as up.

    Returns
    -------
    float
        Points to the first signal.

    Raises
    ------
    ValueError, TypeError
        `h` not above 0 or `k` negative.

    See Also
    --------
    design_cusum : Reference value and decision interval for a shift.
    ewma_run_length : The same for an EWMA.

    Notes
    -----
    Model: independent normal points with known centre and standard error. One-sided, the run length
    from a sum :math:`u` solves

    .. math:: R(u) = 1 + R(0)\Phi(k-u-\delta) + \int_0^h R(x)\,\varphi(x-u+k-\delta)\,dx

    and two-sided :math:`1/R = 1/R^{+} + 1/R^{-}`. Misleads with correlated points, which signal sooner.

    References
    ----------
    Page, *Biometrika* 41 (1954), 100-115. Lucas & Crosier, *Technometrics* 24 (1982), 199-205 (two sides).

    Examples
    --------
    >>> round(cusum_run_length(0.5, 4.0), 0), round(cusum_run_length(0.5, 4.0, 1.0), 2)
    (168.0, 8.38)
    """
    arguments.number("h", h, above=0)
    arguments.number("k", k, least=0)
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
def design_ewma(in_control_run_length: float = 370.4, shift: float = 1.0) -> tuple[float, float]:
    """Design the EWMA that finds a shift soonest, at a given in-control run length.

    Parameters
    ----------
    in_control_run_length : float
        Mean points to a false signal that is asked for, at least 10.
    shift : float
        The shift that matters, in standard errors of a point, above 0.

    Returns
    -------
    weight, width : float
        Lambda and L.

    Raises
    ------
    ValueError, TypeError
        An in-control run length below 10 or a shift not above 0.

    See Also
    --------
    ewma_run_length : Model and formula.
    ewma_chart : The chart so designed.

    References
    ----------
    Crowder, *Journal of Quality Technology* 21 (1989), 155-162.

    Examples
    --------
    >>> weight, width = design_ewma(500.0, 1.0)
    >>> round(ewma_run_length(weight, width), 1), bool(0.1 < weight < 0.2)
    (500.0, True)
    """
    from scipy.optimize import brentq

    _check_design(in_control_run_length, shift)

    def delay(weight: float) -> float:
        return ewma_run_length(weight, _ewma_width(weight, in_control_run_length), shift)

    # Around the best of a few the slope changes its sign; its root is the same on every machine.
    tried = np.geomspace(0.03, 1.0, 12).tolist()
    best = min(range(12), key=lambda i: delay(tried[i]))
    low, high = tried[max(best - 1, 0)], tried[min(best + 1, 11)]

    def slope(weight: float) -> float:
        return _delay_slope(weight, in_control_run_length, shift)

    if slope(low) >= 0 or slope(high) <= 0:
        weight = tried[best]
    else:
        weight = float(brentq(slope, low, high, xtol=1e-13))
    return weight, _ewma_width(weight, in_control_run_length)


def _delay_slope(weight: float, in_control: float, shift: float) -> float:
    """Compute the slope of the delay over lambda while L keeps the in-control run length.

    Derivatives by a complex step, which loses no digits (Squire & Trapp, *SIAM Review* 40 (1998), 110-112).
    """
    width, step = _ewma_width(weight, in_control), 1e-30

    def slopes(moved: float) -> tuple[float, float]:
        by_weight = _ewma_solved(complex(weight, step), complex(width), moved).imag / step
        by_width = _ewma_solved(complex(weight), complex(width, step), moved).imag / step
        return float(by_weight), float(by_width)

    (rest_weight, rest_width), (weight_slope, width_slope) = slopes(0.0), slopes(shift)
    return weight_slope - width_slope * rest_weight / rest_width


def _ewma_width(weight: float, in_control: float) -> float:
    from scipy.optimize import brentq

    return float(
        brentq(lambda w: math.log(ewma_run_length(weight, w) / in_control), 0.3, 6.0, xtol=1e-13)
    )


@lru_cache(maxsize=64)
def design_cusum(in_control_run_length: float = 370.4, shift: float = 1.0) -> tuple[float, float]:
    """Design the two-sided CUSUM for a shift, at a given in-control run length.

    Parameters
    ----------
    in_control_run_length : float
        Mean points to a false signal that is asked for, at least 10.
    shift : float
        The shift that matters, in standard errors of a point, above 0.

    Returns
    -------
    k, h : float
        ``k = shift / 2`` is the best for that shift.

    Raises
    ------
    ValueError, TypeError
        An in-control run length below 10 or a shift not above 0.

    See Also
    --------
    cusum_run_length : Model and formula.
    cusum_chart : The chart so designed.

    References
    ----------
    Moustakides, *Annals of Statistics* 14 (1986), 1379-1387.

    Examples
    --------
    >>> k, h = design_cusum(465.0, 1.0)
    >>> round(k, 2), round(h, 2)
    (0.5, 5.0)
    """
    from scipy.optimize import brentq

    _check_design(in_control_run_length, shift)
    k = shift / 2

    def excess(h: float) -> float:
        return math.log(cusum_run_length(k, h) / in_control_run_length)

    reach = 1.0
    while excess(reach) < 0:
        reach *= 1.5
    return k, float(brentq(excess, 1e-3, reach, xtol=1e-13))


def _check_design(in_control_run_length: float, shift: float) -> None:
    arguments.number("in_control_run_length", in_control_run_length, least=10)
    arguments.number("shift", shift, above=0)
