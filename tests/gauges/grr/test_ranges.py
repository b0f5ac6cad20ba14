"""Averages and ranges: AIAG's printed example (from memory), and the analysis of variance beside it."""

from __future__ import annotations

import pandas as pd
import pytest

from linestudy.gauges import average_and_range, grr_anova
from linestudy.numerics.normal_constants import d2
from linestudy.results import CannotJudge


@pytest.fixture(scope="module")
def aiag(request: pytest.FixtureRequest) -> pd.DataFrame:
    folder = request.config.rootpath / "sample_data" / "published"
    return pd.read_csv(folder / "aiag_crossed" / "data" / "crossed.csv")


def test_the_published_example(aiag: pd.DataFrame) -> None:
    # AIAG MSA, 4th ed. (2010), ch. III, the same 10 x 3 x 3 data by averages and ranges; printed
    # values from memory: mean range 0.3417, range of appraiser averages 0.4446, of part averages 3.511,
    # EV 0.20188, AV 0.22963, GRR 0.30575, PV 1.10456, TV 1.14610; 17.62, 20.04, 26.68, 96.38 %.
    study = average_and_range(aiag)
    assert study.mean_range == pytest.approx(0.3417, abs=5e-5)
    # Printed as the difference of averages already rounded to four digits.
    assert study.range_of_appraisers == pytest.approx(0.4446, abs=1e-4)
    assert study.range_of_parts == pytest.approx(3.511, abs=5e-4)
    sd = {name: item.sd.estimate for name, item in study.components.items()}
    # The book divides by d2 where there are more than 15 ranges; d2* of 30 ranges is 0.44 % larger.
    assert sd["repeatability"] == pytest.approx(0.20188, rel=6e-3)
    assert study.mean_range / d2(3) == pytest.approx(0.20188, abs=5e-5)
    assert sd["appraiser"] == pytest.approx(0.22963, rel=1e-3)
    assert sd["grr"] == pytest.approx(0.30575, rel=2e-3)
    assert sd["part"] == pytest.approx(1.10456, rel=5e-4)
    assert sd["total"] == pytest.approx(1.14610, rel=5e-4)
    shares = {name: item.share_of_sd.estimate for name, item in study.components.items()}
    assert shares["grr"] == pytest.approx(0.2668, abs=6e-4)
    assert shares["part"] == pytest.approx(0.9638, abs=3e-4)


def test_printed_divisors(aiag: pd.DataFrame) -> None:
    # The same book prints K2 = 0.5231 and K3 = 0.3146, the reciprocals of d2* for one range of 3 and 10.
    divisors = average_and_range(aiag).divisors
    assert 1 / divisors["appraiser"] == pytest.approx(0.5231, abs=6e-5)
    assert 1 / divisors["part"] == pytest.approx(0.3146, abs=6e-5)


def test_near_the_analysis_of_variance_where_there_is_no_interaction(aiag: pd.DataFrame) -> None:
    ranges, squares = average_and_range(aiag), grr_anova(aiag)
    for name in ("repeatability", "appraiser", "part"):
        assert ranges.components[name].sd.estimate == pytest.approx(
            squares.components[name].sd.estimate, rel=0.08
        )


def test_what_it_cannot_do_is_said(aiag: pd.DataFrame) -> None:
    with pytest.raises(CannotJudge, match="same number"):
        average_and_range(aiag.drop(index=3))
    constant = aiag.assign(value=aiag.groupby("part")["value"].transform("mean"))
    with pytest.raises(CannotJudge, match="never differed"):
        average_and_range(constant)
