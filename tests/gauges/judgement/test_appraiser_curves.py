"""Thresholds of appraisers: each curve is that of a probit regression by statsmodels, and truth is found."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from linestudy.gauges import gauge_performance_curve, own_thresholds
from linestudy.results import CannotJudge, Interval


def judged(seed: int, thresholds: dict[str, float], parts: int = 60) -> pd.DataFrame:
    draw = np.random.default_rng(seed)
    x = np.linspace(-1, 1, parts)
    rows = [
        (part, who, x[part], bool(x[part] + 0.2 * draw.normal() < at))
        for who, at in thresholds.items()
        for part in range(parts)
        for _ in range(2)
    ]
    return pd.DataFrame(rows, columns=["part", "appraiser", "measured", "judgement"])


def test_each_curve_is_a_probit_regression() -> None:
    from statsmodels.api import Probit, add_constant

    data = judged(1, {"A": -0.1, "B": 0.3})
    found = own_thresholds(data, -3.0, 0.1).sides["upper"]
    for who, own in data.groupby("appraiser"):
        level, slope = (
            Probit(
                own["judgement"].astype(float).to_numpy(), add_constant(own["measured"].to_numpy())
            )
            .fit(disp=0)
            .params
        )
        assert found.appraisers[who].threshold.estimate == pytest.approx(-level / slope, rel=1e-6)
        assert found.appraisers[who].judgement_sd.estimate == pytest.approx(-1 / slope, rel=1e-6)
    assert found.p < 0.001
    assert found.spread == pytest.approx(0.4, abs=0.15)
    # The team holds what its members differ by: six of its SD against the tolerance.
    assert isinstance(found.share_of_tolerance, Interval)
    assert found.share_of_tolerance.estimate == pytest.approx(
        6 * found.together.judgement_sd.estimate / 3.1
    )
    assert found.together.judgement_sd.estimate > 0.24


@pytest.mark.proof
def test_thresholds_that_are_one_are_seldom_said_to_differ() -> None:
    said = sum(
        own_thresholds(judged(seed, dict.fromkeys("ABC", 0.0), 40), upper=0.0).sides["upper"].p
        < 0.05
        for seed in range(40)
    )
    assert said <= 5


def test_who_cannot_be_judged_is_named() -> None:
    data = judged(3, {"A": 0.0, "B": 0.1})
    data.loc[data["appraiser"] == "B", "judgement"] = True
    study = own_thresholds(data, upper=0.0)
    assert "B" in study.sides["upper"].unjudged
    assert any("appraiser B" in note for note in study.cautions)
    assert study.sides["upper"].p is None
    study.figure()
    with pytest.raises(CannotJudge, match="One appraiser"):
        own_thresholds(data[data["appraiser"] == "A"], upper=0.0)
    with pytest.raises(ValueError, match="part has shape"):
        gauge_performance_curve([1.0, 2.0], [True, False], part=[1])
