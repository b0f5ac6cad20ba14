"""One curve of acceptance: the widening by part is the cluster-robust variance of statsmodels."""

from __future__ import annotations

import numpy as np

from linestudy.gauges import gauge_performance_curve
from linestudy.gauges.judgement.probit_curve import allowance, probit


def test_the_widening_is_the_cluster_robust_variance_of_statsmodels() -> None:
    from scipy.special import stdtrit
    from statsmodels.api import Probit, add_constant

    draw = np.random.default_rng(4)
    part = np.repeat(np.arange(40), 4)
    x = np.linspace(-1, 1, 40)[part]
    y = x + 0.3 * draw.normal(size=40)[part] + 0.1 * draw.normal(size=160) > 0
    slope, level = probit(x, y)
    threshold, log_spread = -level / slope, -np.log(slope)
    rise, _ = allowance(x, part, y, threshold, log_spread, 0.95)
    model = Probit(y.astype(float), add_constant(x))
    plain = model.fit(disp=0).cov_params()
    robust = model.fit(disp=0, cov_type="cluster", cov_kwds={"groups": part}).cov_params()
    # Threshold -level / slope by the delta method; statsmodels takes k / (k - 1) (n - 1) / (n - 2) for few clusters.
    by = np.array([-1 / slope, level / slope**2])
    wider = float(by @ robust @ by) / float(by @ plain @ by) * 158 / 159
    assert wider > 1.5
    least, most = wider * stdtrit(39, 0.975) ** 2, wider * stdtrit(5, 0.975) ** 2
    assert least * 0.999 < rise < most


def test_parts_named_make_the_interval_wider() -> None:
    draw = np.random.default_rng(2)
    part = np.repeat(np.arange(40), 6)
    x = np.linspace(-1, 1, 40)[part]
    y = x + 0.3 * draw.normal(size=40)[part] + 0.1 * draw.normal(size=240) < 0
    alone = gauge_performance_curve(x, y, upper=0.0).sides["upper"].threshold
    by_part = gauge_performance_curve(x, y, upper=0.0, part=part).sides["upper"].threshold
    assert alone.estimate == by_part.estimate
    assert by_part.high - by_part.low > 1.3 * (alone.high - alone.low)
