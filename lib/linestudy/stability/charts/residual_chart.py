"""Residual chart: subgroup means freed of what the earlier ones already told.

Model: the means follow an autoregression, an ARIMA(p, 0, 0) estimated by statsmodels' Burg recursion
(always stationary, and next to the exact likelihood in a thousandth of its time; the tests hold it
against ``ARIMA``), its order by AICc (Hurvich & Tsai 1989); one-step prediction errors are then
independent and a
chart of individuals on them has the false-alarm rate it claims (Alwan & Roberts, *Journal of
Business & Economic Statistics* 6 (1988), 87-95). Misleads where the correlation is itself the
fault to be removed, and is slow to see a lasting shift: the model learns it as the new normal.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from linestudy.numerics.samples import as_sample
from linestudy.results import CannotJudge, Finding, counted, show
from linestudy.results.declared import Declaration

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class ResidualStudy(Finding):
    """Chart of one-step prediction errors.

    Attributes
    ----------
    order_p : int
        Terms of the autoregression.
    coefficients : tuple of float
    residual_sd : float
        Of the prediction errors, in the unit of the values.
    point_sd : float
        Of the points themselves.
    n_points : int
    lag1_before, lag1_after : float
        Correlation of neighbouring points, and of neighbouring errors.
    p_after : float
        Ljung-Box test that no correlation is left.
    signals : tuple of dict
        ``point``, ``order``, ``value`` (error in its standard deviations).
    expected_false_signals : float
    """

    order_p: int
    coefficients: tuple[float, ...]
    residual_sd: float
    point_sd: float
    n_points: int
    lag1_before: float
    lag1_after: float
    p_after: float
    signals: tuple[dict[str, Any], ...]
    expected_false_signals: float
    unit: str
    cautions: tuple[str, ...]
    points: Any = field(repr=False, compare=False)
    title: ClassVar[str] = "Residual chart"
    picture: ClassVar[str] = "stability:residual_chart"

    @property
    def statement(self) -> str:
        return (
            f"Freed of what earlier points tell (autoregression of order {self.order_p}), "
            f"{self.n_points:,} points give {counted(len(self.signals), 'three-sigma signal')} where "
            f"{self.expected_false_signals:.1f} are expected by chance; neighbours correlated with "
            f"{self.lag1_before:.2f} before and {self.lag1_after:.2f} after."
        )

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        unit = f" ({self.unit})" if self.unit else ""
        rows = [
            ("terms of the autoregression", str(self.order_p)),
            ("coefficients", ", ".join(f"{c:.3f}" for c in self.coefficients)),
            (f"SD of the errors{unit}", show(self.residual_sd)),
            (f"SD of the points{unit}", show(self.point_sd)),
            ("correlation of neighbours before", f"{self.lag1_before:.3f}"),
            ("correlation of neighbours after", f"{self.lag1_after:.3f}"),
            ("p of no correlation left", show(self.p_after)),
            ("signals", str(len(self.signals))),
            ("signals expected by chance", f"{self.expected_false_signals:.1f}"),
        ]
        return pd.DataFrame(rows, columns=["quantity", "value"])


RESIDUAL = Declaration("stability.residual", ResidualStudy, "Residual chart")


def residual(
    points: Any, order: Any = None, longest: int = 3, sigmas: float = 3.0, unit: str = ""
) -> ResidualStudy:
    """Chart points freed of their serial correlation.

    Parameters
    ----------
    points : array_like of float, shape (n,)
        Subgroup means or single values, evenly spaced, in production order.
    order : array_like of float, shape (n,), optional
    longest : int
        Most terms of the autoregression.
    sigmas : float
    unit : str

    Returns
    -------
    ResidualStudy

    Raises
    ------
    CannotJudge
        Fewer than 30 points, or points that never differ.

    Examples
    --------
    >>> import numpy as np
    >>> from scipy.signal import lfilter
    >>> y = lfilter([1], [1, -0.7], np.random.default_rng(5).normal(size=400))
    >>> study = residual(y)
    >>> bool(study.lag1_before > 0.6 and abs(study.lag1_after) < 0.15)
    True
    """
    from scipy.special import ndtr
    from statsmodels.stats.diagnostic import acorr_ljungbox
    from statsmodels.tsa.stattools import acf

    y = as_sample(points, least=30, name="point")
    if np.ptp(y) == 0:
        raise CannotJudge("The points never differ, so there is nothing to predict.")
    position = np.arange(1.0, y.size + 1) if order is None else np.asarray(order, dtype=float)
    scale = float(y.std(ddof=1))
    z = (y - y.mean()) / scale
    terms, phi, errors = _fit(z, longest)
    sd = float(np.sqrt(np.mean(errors**2)))
    beyond = np.flatnonzero(np.abs(errors) > sigmas * sd)
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
    return ResidualStudy(
        terms,
        tuple(float(c) for c in phi),
        sd * scale,
        scale,
        int(y.size),
        float(acf(z, nlags=1, fft=False)[1]),
        float(after[1]),
        p_after,
        tuple(
            {"point": int(i) + 1, "order": float(position[i]), "value": float(errors[i] / sd)}
            for i in beyond
        ),
        2 * float(ndtr(-sigmas)) * y.size,
        unit,
        tuple(notes),
        {"order": position, "error": errors * scale, "limit": sigmas * sd * scale},
    )


def _fit(z: Any, longest: int) -> tuple[int, Any, Any]:
    """Order, coefficients and one-step errors of the autoregression that AICc prefers."""
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
