"""Residual chart: what each point adds to what the points before it foretell."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from linestudy.results import CannotJudge, Finding, arguments, data_arguments
from linestudy.results.declared import Declaration
from linestudy.results.tables import Quantity, Rows
from linestudy.stability.charts.chart_study import Course


@dataclass(frozen=True, slots=True)
class ResidualSignal:
    """One prediction error beyond its limits.

    Attributes
    ----------
    point : int
        Number of the point, from 1.
    order : float
        Its order number.
    value : float
        The error, in standard deviations of errors.
    """

    point: int
    order: float
    value: float


@dataclass(frozen=True)
class ResidualChartStudy(Finding):
    """Chart of one-step prediction errors.

    Attributes
    ----------
    order_p : int
        Terms of the autoregression.
    coefficients : tuple of float
        Of the points before, the latest first.
    residual_sd : float
        [unit of the points] Standard deviation of the prediction errors.
    point_sd : float
        [unit of the points] Standard deviation of the points themselves.
    n_points : int
        Points on the chart.
    lag1_before : float
        Correlation of neighbouring points.
    lag1_after : float
        Correlation of neighbouring errors.
    p_after : float
        Of the Ljung-Box test that no correlation is left.
    signals : tuple of ResidualSignal
        In the order of points.
    expected_false_signals : float
        How many independent normal errors would give.
    unit : str
        Of the points.
    """

    order_p: int
    coefficients: tuple[float, ...]
    residual_sd: float
    point_sd: float
    n_points: int
    lag1_before: float
    lag1_after: float
    p_after: float
    signals: tuple[ResidualSignal, ...]
    expected_false_signals: float
    unit: str
    cautions: tuple[str, ...]
    points: Course = field(repr=False, compare=False)
    title: ClassVar[str] = "Residual chart"
    picture: ClassVar[str] = "stability:residual_chart"

    @property
    def statement(self) -> str:
        return (
            f"Residuals of the AR({self.order_p}) model: {len(self.signals):,} of {self.n_points:,} points out of "
            f"control ({self.expected_false_signals:.1f} false alarms expected); lag-1 correlation "
            f"{self.lag1_before:.2f} before and {self.lag1_after:.2f} after."
        )

    def _rows(self) -> Rows:
        return [
            Quantity("terms of the autoregression", self.order_p),
            *(
                Quantity(f"coefficient {lag}", value, "", 0.1)
                for lag, value in enumerate(self.coefficients, start=1)
            ),
            Quantity("SD of the errors", self.residual_sd, self.unit),
            Quantity("SD of the points", self.point_sd, self.unit),
            Quantity("correlation of neighbours before", self.lag1_before, "", 0.01),
            Quantity("correlation of neighbours after", self.lag1_after, "", 0.01),
            Quantity("p of no correlation left", self.p_after, "p"),
            Quantity("signals", len(self.signals)),
            Quantity("signals expected by chance", self.expected_false_signals, "", 1.0),
        ]


RESIDUAL_CHART = Declaration("stability.residual_chart", ResidualChartStudy)


def residual_chart(
    points: ArrayLike,
    order: ArrayLike | None = None,
    *,
    longest: int = 3,
    sigmas: float = 3.0,
    unit: str = "",
) -> ResidualChartStudy:
    r"""Chart the errors with which each point is predicted from those before it.

    Parameters
    ----------
    points : array_like of float, shape (n,)
        Subgroup means or single values, evenly spaced, in production order.
    order : array_like of float, shape (n,), optional
        Order number of each point; 1, 2, … when absent.
    longest : int
        Most terms of the autoregression, at least 1.
    sigmas : float
        Distance of the limits in standard deviations of errors, above 0.
    unit : str
        Of the points.

    Returns
    -------
    ResidualChartStudy
        Model, errors and signals.

    Raises
    ------
    CannotJudge
        Fewer than 30 points, points that are missing, or points that never differ.
    ValueError, TypeError
        An argument outside its range, or values of more than one dimension.

    See Also
    --------
    control_chart : For independent points.
    autocorrelation : How long parts correlate.

    Notes
    -----
    Model: the means follow an autoregression of order p,

    .. math:: x_t - \mu = \sum_{i=1}^{p} \phi_i (x_{t-i} - \mu) + \varepsilon_t,

    estimated by Burg's recursion (always stationary, and next to the exact likelihood in a thousandth of
    its time), its order by AICc; one-step prediction errors are then independent and a chart of individuals
    on them has the false-alarm rate it claims. Misleads where the correlation is itself the fault to be
    removed, and is slow to see a lasting shift: the model learns it as the new normal.

    References
    ----------
    Alwan & Roberts, *Journal of Business & Economic Statistics* 6 (1988), 87-95. Hurvich & Tsai,
    *Biometrika* 76 (1989), 297-307 (AICc).

    Examples
    --------
    >>> import numpy as np
    >>> from scipy.signal import lfilter
    >>> y = lfilter([1], [1, -0.7], np.random.default_rng(5).normal(size=400))
    >>> study = residual_chart(y)
    >>> bool(study.lag1_before > 0.6 and abs(study.lag1_after) < 0.15)
    True
    """
    from scipy.special import ndtr
    from statsmodels.stats.diagnostic import acorr_ljungbox
    from statsmodels.tsa.stattools import acf

    arguments.whole("longest", longest, least=1)
    arguments.number("sigmas", sigmas, above=0)
    y = data_arguments.one_dimensional(points, name="points", least=30, what="point")
    if np.ptp(y) == 0:
        raise CannotJudge("The points never differ, so there is nothing to predict.")
    position = np.arange(1.0, y.size + 1)
    if order is not None:
        position = data_arguments.one_dimensional(order, name="order", what="order number")
        arguments.same_length(points=y, order=position)
    scale = float(y.std(ddof=1))
    z = (y - y.mean()) / scale
    terms, phi, errors = _fit(z, longest)
    sd = float(np.sqrt(np.mean(errors**2)))
    beyond = np.flatnonzero(np.abs(errors) > sigmas * sd)
    limits = np.full(y.size, sigmas * sd * scale)
    after = acf(errors, nlags=1, fft=False)
    lags = min(10, y.size // 5)
    left = acorr_ljungbox(errors, lags=[lags], model_df=min(terms, lags - 1))
    p_after = float(left["lb_pvalue"].iloc[0])
    notes = []
    if p_after < 0.01:
        notes.append(
            "Correlation is left in the errors; the autoregression does not describe the run."
        )
    if phi.size and float(np.abs(np.roots(np.concatenate([[1.0], -phi]))).max()) > 0.97:
        notes.append(
            "The points all but wander; a chart of their errors cannot see where they drift."
        )
    return ResidualChartStudy(
        order_p=terms,
        coefficients=tuple(float(c) for c in phi),
        residual_sd=sd * scale,
        point_sd=scale,
        n_points=int(y.size),
        lag1_before=float(acf(z, nlags=1, fft=False)[1]),
        lag1_after=float(after[1]),
        p_after=p_after,
        signals=tuple(
            ResidualSignal(int(i) + 1, float(position[i]), float(errors[i] / sd)) for i in beyond
        ),
        expected_false_signals=2 * float(ndtr(-sigmas)) * y.size,
        unit=unit,
        cautions=tuple(notes),
        points=Course("prediction error", position, errors * scale, -limits, limits),
    )


def _fit(z: Any, longest: int) -> tuple[int, Any, Any]:
    """Fit the autoregression that AICc prefers: order, coefficients and one-step errors."""
    from statsmodels.regression.linear_model import burg
    from statsmodels.tsa.innovations.arma_innovations import arma_innovations
    from statsmodels.tsa.stattools import levinson_durbin

    n = z.size
    most = max(min(longest, n // 15), 1)
    # One pass of the Levinson-Durbin recursion gives the error variance of every order.
    variances = np.asarray(levinson_durbin(z, nlags=most)[3], dtype=float)
    variances[0] = float(z.var())
    scores = [
        n * math.log(max(float(variance), 1e-300)) + 2 * (p + 1) * n / (n - p - 2)
        for p, variance in enumerate(variances)
    ]
    terms = int(np.argmin(scores))
    if terms == 0:
        return 0, np.zeros(0), z.copy()
    phi = np.asarray(burg(z, order=terms, demean=False)[0], dtype=float)
    if float(np.abs(np.roots(np.concatenate([[1.0], -phi]))).max()) > 1 - 1e-9:
        raise CannotJudge(
            "Each point follows exactly from those before, so nothing is left to chart."
        )
    # The first errors are wider than later ones, before all terms are known; scaled alike.
    errors, mse = arma_innovations(z, ar_params=phi, ma_params=None, sigma2=1.0)
    return terms, phi, np.asarray(errors) / np.sqrt(np.asarray(mse))
