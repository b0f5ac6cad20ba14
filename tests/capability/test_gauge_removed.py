"""The gauge taken out: exact for a normal process, covered by simulation, refused where nothing is left."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linestudy.capability import gauge_removed
from linestudy.core import CannotJudge

QUANTILES = (0.00135, 0.5, 0.99865)


def normal_truth(mean: float, sd: float) -> tuple[float, float, float]:
    low, middle, high = (float(q) for q in stats.norm(mean, sd).ppf(QUANTILES))
    return low, middle, high


def test_exact_for_a_normal_process() -> None:
    # Readings with SD 1 and a gauge of 0.6: the parts have 0.8, so the index is 1 / 0.8 of the readings'.
    q = normal_truth(0.2, 1.0)
    found = gauge_removed(q, 1.0, 0.6, -4.0, 4.0, [(q, 1.0, 0.6)] * 200)
    assert found.with_gauge == pytest.approx(3.8 / 3, rel=1e-4)
    assert found.Ppk.estimate == pytest.approx(3.8 / (3 * 0.8), rel=1e-4)
    assert found.share_of_parts.estimate == pytest.approx(0.64)


def test_a_bias_is_taken_off() -> None:
    q = normal_truth(0.2, 1.0)
    found = gauge_removed(q, 1.0, 0.0, -4.0, 4.0, [(q, 1.0, 0.0)] * 100, bias=0.2)
    assert found.Ppk.estimate == pytest.approx(4.0 / 3, rel=1e-4)
    assert "bias" in found.statement


def test_the_interval_covers() -> None:
    # Truth: parts SD 1, gauge SD 0.5 (10 degrees of freedom), 150 readings, limits at plus and minus 4.
    rng = np.random.default_rng(2)
    held = judged = 0
    for _ in range(300):
        x = rng.normal(0, np.hypot(1, 0.5), 150)
        mean, sd = float(x.mean()), float(x.std(ddof=1))
        gauge = 0.5 * float(np.sqrt(rng.chisquare(10) / 10))
        draws = []
        for _ in range(300):
            s = sd * float(np.sqrt(149 / rng.chisquare(149)))
            m = mean + s / np.sqrt(150) * rng.standard_normal()
            draws.append(
                (normal_truth_fast(m, s), s, gauge * float(np.sqrt(10 / rng.chisquare(10))))
            )
        try:
            found = gauge_removed(normal_truth_fast(mean, sd), sd, gauge, -4.0, 4.0, draws)
        except CannotJudge:
            continue
        judged += 1
        held += 4 / 3 in found.Ppk
    assert judged > 250
    assert 0.91 <= held / judged <= 0.985


def normal_truth_fast(mean: float, sd: float) -> tuple[float, float, float]:
    return mean - 3 * sd, mean, mean + 3 * sd


def test_not_admissible_where_all_may_be_gauge() -> None:
    q = normal_truth(0.0, 1.0)
    rng = np.random.default_rng(3)
    draws = [(q, 1.0, 0.9 * float(np.sqrt(6 / rng.chisquare(6)))) for _ in range(400)]
    with pytest.raises(CannotJudge, match="not admissible"):
        gauge_removed(q, 1.0, 0.9, -4.0, 4.0, draws)
    with pytest.raises(CannotJudge, match="Without a limit"):
        gauge_removed(q, 1.0, 0.1, None, None, draws)
