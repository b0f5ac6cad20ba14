"""Charts for small lasting shifts: EWMA and CUSUM, which add up evidence over points."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any, ClassVar, Literal

import numpy as np
from numpy.typing import ArrayLike

from linestudy.numerics.arrays import FloatArray
from linestudy.results import Finding, arguments, data_arguments
from linestudy.results.declared import Declaration
from linestudy.results.rounding import counted_size
from linestudy.results.tables import Quantity, Rows
from linestudy.stability.charts.ewma_cusum import (
    cusum_run_length,
    design_cusum,
    design_ewma,
    ewma_run_length,
)


@dataclass(frozen=True, slots=True)
class SmallShiftSignal:
    """One signal of an EWMA or CUSUM chart; the chart starts anew after it.

    Attributes
    ----------
    point : int
        Number of the point, from 1.
    order : float
        Its order number.
    side : str
        ``"above"`` or ``"below"``.
    """

    point: int
    order: float
    side: str


@dataclass(frozen=True, slots=True, eq=False)
class ShiftPath:
    """Where an EWMA or CUSUM went.

    Attributes
    ----------
    order : numpy.ndarray of float
        Order number of each point.
    upper, lower : numpy.ndarray of float
        [standard errors] The sums for shifts up and down; of an EWMA the same path twice.
    limit : float
        [standard errors] On either side.
    """

    order: FloatArray
    upper: FloatArray
    lower: FloatArray
    limit: float


@dataclass(frozen=True)
class SmallShiftStudy(Finding):
    """An EWMA or CUSUM chart.

    Attributes
    ----------
    chart : str
        ``"EWMA"`` or ``"CUSUM"``.
    weight : float
        EWMA: lambda. CUSUM: reference value k, in standard errors.
    width : float
        EWMA: L. CUSUM: decision interval h, in standard errors.
    in_control_run_length : float
        Mean points to a false signal.
    shifted_run_length : float
        Mean points to the signal after the shift.
    shift : float
        The shift it is designed for, in standard errors of a point.
    n_points : int
        Points on the chart.
    signals : tuple of SmallShiftSignal
        In the order of points.
    expected_false_signals : float
        Formula: ``n_points / in_control_run_length``.
    unit : str
        Of the points.
    """

    chart: str
    weight: float
    width: float
    in_control_run_length: float
    shifted_run_length: float
    shift: float
    n_points: int
    signals: tuple[SmallShiftSignal, ...]
    expected_false_signals: float
    unit: str
    cautions: tuple[str, ...]
    path: ShiftPath = field(repr=False, compare=False)
    title: ClassVar[str] = "Chart for small shifts"
    picture: ClassVar[str] = "stability:small_shift_chart"

    @property
    def statement(self) -> str:
        return (
            f"{self.chart}: {len(self.signals):,} of {self.n_points:,} points out of control "
            f"({self.expected_false_signals:.1f} false alarms expected; ARL {self.in_control_run_length:,.0f} in control, "
            f"{self.shifted_run_length:.1f} at a shift of {counted_size(self.shift, 'standard error')})."
        )

    def _rows(self) -> Rows:
        names = ("lambda", "L") if self.chart == "EWMA" else ("k", "h")
        return [
            Quantity(names[0], self.weight),
            Quantity(names[1], self.width),
            Quantity("mean points to a false signal", self.in_control_run_length, "", 10.0),
            Quantity(
                f"mean points to find {self.shift:.2g} standard errors",
                self.shifted_run_length,
                "",
                1.0,
            ),
            Quantity("points", self.n_points),
            Quantity("signals", len(self.signals)),
            Quantity("signals expected by chance", self.expected_false_signals, "", 1.0),
        ]


SMALL_SHIFTS = Declaration("stability.small_shifts", SmallShiftStudy)


def ewma_chart(
    points: ArrayLike,
    centre: float,
    standard_error: ArrayLike,
    *,
    shift: float = 1.0,
    in_control_run_length: float = 370.4,
    order: ArrayLike | None = None,
    unit: str = "",
) -> SmallShiftStudy:
    r"""Chart points by EWMA, designed for a shift and an in-control run length.

    Parameters
    ----------
    points : array_like of float, shape (n,)
        Subgroup means or single values, in production order.
    centre : float
        Centre, in the unit of the points.
    standard_error : float or array_like, shape (n,)
        Of each point, in their unit, above 0.
    shift : float
        The shift that matters, in standard errors, above 0.
    in_control_run_length : float
        Mean points to a false signal that is asked for, at least 10.
    order : array_like of float, shape (n,), optional
        Order number of each point; 1, 2, … when absent.
    unit : str
        Of the points.

    Returns
    -------
    SmallShiftStudy
        Design, run lengths and signals.

    Raises
    ------
    CannotJudge
        Fewer than two points, or points that are missing.
    ValueError, TypeError
        A standard error that is not above 0, or another argument outside its range.

    See Also
    --------
    cusum_chart : The chart of cumulated sums, for the same question.
    design_ewma : Weight and width alone.

    Notes
    -----
    Model: independent normal points with known centre and standard error; with
    :math:`z_i` the points in standard errors from the centre, the path is

    .. math:: u_i = \lambda z_i + (1-\lambda) u_{i-1}, \qquad |u_i| > L\sqrt{\lambda/(2-\lambda)} \text{ signals}

    and starts anew at the centre after a signal. Misleads with correlated points even more than a
    Shewhart chart does: chart residuals instead.

    References
    ----------
    Roberts, *Technometrics* 1 (1959), 239-250. Crowder, *Technometrics* 29 (1987), 401-407.

    Examples
    --------
    >>> study = ewma_chart([0.1, -0.2, 0.0, 1.4, 1.2, 1.6, 1.5, 1.3, 1.8], 0.0, 1.0)
    >>> study.signals[0].point, study.signals[0].side
    (9, 'above')
    """
    z, position = _standardised(points, centre, standard_error, order)
    weight, width = design_ewma(in_control_run_length, shift)
    path, found, limit = _follow_ewma(z, weight, width)
    lengths = ewma_run_length(weight, width), ewma_run_length(weight, width, shift)
    drawn = ShiftPath(position, path, path, limit)
    return _study("EWMA", (weight, width), lengths, shift, found, drawn, unit)


def cusum_chart(
    points: ArrayLike,
    centre: float,
    standard_error: ArrayLike,
    *,
    shift: float = 1.0,
    in_control_run_length: float = 370.4,
    order: ArrayLike | None = None,
    unit: str = "",
) -> SmallShiftStudy:
    r"""Chart points by a two-sided CUSUM, designed for a shift and an in-control run length.

    Parameters
    ----------
    points : array_like of float, shape (n,)
        Subgroup means or single values, in production order.
    centre : float
        Centre, in the unit of the points.
    standard_error : float or array_like, shape (n,)
        Of each point, in their unit, above 0.
    shift : float
        The shift that matters, in standard errors, above 0.
    in_control_run_length : float
        Mean points to a false signal that is asked for, at least 10.
    order : array_like of float, shape (n,), optional
        Order number of each point; 1, 2, … when absent.
    unit : str
        Of the points.

    Returns
    -------
    SmallShiftStudy
        Design, run lengths and signals.

    Raises
    ------
    CannotJudge
        Fewer than two points, or points that are missing.
    ValueError, TypeError
        A standard error that is not above 0, or another argument outside its range.

    See Also
    --------
    ewma_chart : The chart of weighted means, for the same question.
    design_cusum : Reference value and decision interval alone.

    Notes
    -----
    Model: independent normal points with known centre and standard error; with
    :math:`z_i` the points in standard errors from the centre,

    .. math:: S^{+}_i = \max(0, S^{+}_{i-1} + z_i - k), \quad S^{-}_i = \max(0, S^{-}_{i-1} - z_i - k)

    signal above :math:`h`, and start anew at zero. Misleads with correlated points even more than a
    Shewhart chart does: chart residuals instead.

    References
    ----------
    Page, *Biometrika* 41 (1954), 100-115.

    Examples
    --------
    >>> study = cusum_chart([0.1, -0.2, 0.0, 1.4, 1.2, 1.6, 1.5, 1.3, 1.8], 0.0, 1.0)
    >>> study.signals[0].side
    'above'
    """
    z, position = _standardised(points, centre, standard_error, order)
    k, h = design_cusum(in_control_run_length, shift)
    upper, lower, found = _follow_cusum(z, k, h)
    lengths = cusum_run_length(k, h), cusum_run_length(k, h, shift)
    drawn = ShiftPath(position, upper, lower, h)
    return _study("CUSUM", (k, h), lengths, shift, found, drawn, unit)


def small_shift_chart(
    points: ArrayLike,
    centre: float,
    standard_error: ArrayLike,
    chart: Literal["EWMA", "CUSUM"] = "EWMA",
    shift: float = 1.0,
    in_control_run_length: float = 370.4,
    order: ArrayLike | None = None,
    unit: str = "",
) -> SmallShiftStudy:
    """Chart points as ``sequential`` did: by :func:`ewma_chart`, or by :func:`cusum_chart` where `chart` says so."""
    arguments.one_of("chart", chart, ("EWMA", "CUSUM"))
    draw = ewma_chart if chart == "EWMA" else cusum_chart
    return draw(
        points,
        centre,
        standard_error,
        shift=shift,
        in_control_run_length=in_control_run_length,
        order=order,
        unit=unit,
    )


def _standardised(
    points: ArrayLike, centre: float, standard_error: ArrayLike, order: ArrayLike | None
) -> tuple[Any, Any]:
    """Express points in standard errors from the centre, and return their order numbers."""
    y = data_arguments.one_dimensional(points, name="points", least=2, what="point")
    if np.ndim(standard_error):
        arguments.same_length(points=y, standard_error=standard_error)
    error = np.broadcast_to(np.asarray(standard_error, dtype=float), y.shape)
    if not (error > 0).all():
        raise ValueError(f"standard_error = {error.min():g} cannot be used; it must be above 0.")
    if order is None:
        return (y - centre) / error, np.arange(1.0, y.size + 1)
    position = data_arguments.one_dimensional(order, name="order", what="order number")
    arguments.same_length(points=y, order=position)
    return (y - arguments.number("centre", centre)) / error, position


def _study(
    chart: str,
    design: tuple[float, float],
    lengths: tuple[float, float],
    shift: float,
    found: list[tuple[int, str]],
    path: ShiftPath,
    unit: str,
) -> SmallShiftStudy:
    position = path.order
    return SmallShiftStudy(
        chart=chart,
        weight=design[0],
        width=design[1],
        in_control_run_length=lengths[0],
        shifted_run_length=lengths[1],
        shift=float(shift),
        n_points=int(position.size),
        signals=tuple(SmallShiftSignal(i + 1, float(position[i]), side) for i, side in found),
        expected_false_signals=position.size / lengths[0],
        unit=unit,
        cautions=("Holds for independent points; correlated points signal sooner.",),
        path=path,
    )


def _follow_ewma(
    z: FloatArray, weight: float, width: float
) -> tuple[FloatArray, list[tuple[int, str]], float]:
    """Follow path, signals and limit; after a signal the chart starts anew at the centre."""
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
    return path, found, limit


def _follow_cusum(z: Any, k: float, h: float) -> tuple[Any, Any, list[tuple[int, str]]]:
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
