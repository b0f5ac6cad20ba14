"""The residual chart against statsmodels' ARIMA and by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.signal import lfilter
from statsmodels.tsa.arima.model import ARIMA

from linestudy.results import CannotJudge
from linestudy.stability import residual_chart


def ar1(rng: np.random.Generator, phi: float, n: int) -> np.ndarray:
    e = rng.normal(size=n)
    e[0] /= math.sqrt(1 - phi**2)
    return lfilter([1.0], [1.0, -phi], e)


def test_residuals_are_those_of_statsmodels() -> None:
    y = ar1(np.random.default_rng(5), 0.7, 300)
    study = residual_chart(y)
    fit = ARIMA(y - y.mean(), order=(study.order_p, 0, 0), trend="n").fit()
    assert study.coefficients == pytest.approx(fit.arparams, abs=0.02)
    assert study.points.value[3:] == pytest.approx(fit.resid[3:], abs=0.08)
    assert abs(study.lag1_after) < 0.15
    assert study.residual_sd == pytest.approx(1, rel=0.15)


def test_residual_chart_finds_a_jolt_and_refuses_little() -> None:
    y = ar1(np.random.default_rng(6), 0.8, 200)
    y[120] += 8
    study = residual_chart(y, unit="mm")
    assert 121 in [s.point for s in study.signals]
    assert study.figure().alt_text == study.alt_text
    assert not study.shown().empty
    with pytest.raises(CannotJudge):
        residual_chart(np.arange(10.0))
    with pytest.raises(CannotJudge):
        residual_chart(np.ones(50))


@pytest.mark.parametrize("phi", [0.0, 0.4, 0.8])
def test_the_order_of_the_autoregression_is_that_of_the_least_aicc(phi: float) -> None:
    # AICc by its definition (Hurvich & Tsai, Biometrika 76 (1989), 297-307), from statsmodels' variances.
    from statsmodels.tsa.stattools import levinson_durbin

    rng = np.random.default_rng(int(10 * phi) + 3)
    # Short series, where the correction for their length decides often.
    for _ in range(60):
        y = lfilter([1.0], [1, -phi], rng.normal(size=48))
        z = (y - y.mean()) / y.std()
        variance = levinson_durbin(z, nlags=3)[3]
        variance[0] = z.var()
        n = z.size
        score = [
            n * np.log(v) + 2 * (p + 1) + 2 * (p + 1) * (p + 2) / (n - p - 2)
            for p, v in enumerate(variance)
        ]
        assert residual_chart(y).order_p == int(np.argmin(score))
