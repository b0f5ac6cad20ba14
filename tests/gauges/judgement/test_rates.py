"""Kappa as a function of the rates, and agreement of two, against their definitions."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linestudy.gauges.judgement.rates import (
    JudgementRates,
    agreement_of_two,
    kappa_of_rates,
    rates_at_worst,
    rates_by_part,
)
from linestudy.results import Absent, Interval


def table(bad: int, good: int, missed: int, alarms: int) -> pd.DataFrame:
    reference = np.array([False] * bad + [True] * good)
    judgement = reference.copy()
    judgement[:missed] = True
    judgement[bad : bad + alarms] = False
    return pd.DataFrame(
        {"part": np.arange(bad + good), "judgement": judgement, "reference": reference}
    )


@given(bad=st.integers(2, 40), good=st.integers(2, 40), data=st.data())
def test_kappa_follows_from_the_rates_and_falls_in_both(
    bad: int, good: int, data: st.DataObject
) -> None:
    own = table(bad, good, data.draw(st.integers(0, bad)), data.draw(st.integers(0, good)))
    rates = rates_by_part(own, 0.95)
    kappa = kappa_of_rates(rates, own)
    assert isinstance(kappa, Interval)
    seen = (own["judgement"] == own["reference"]).mean()
    yes = own["judgement"].mean() * own["reference"].mean()
    chance = yes + (1 - own["judgement"].mean()) * (1 - own["reference"].mean())
    if chance < 1:
        assert kappa.estimate == pytest.approx((seen - chance) / (1 - chance), abs=1e-9)
    assert kappa.low <= kappa.estimate <= kappa.high
    worse = JudgementRates(rates.effectiveness, rates.miss.times(1.0), rates.false_alarm.times(1.0))
    assert kappa_of_rates(worse, own).estimate == pytest.approx(kappa.estimate)


def test_parts_of_one_kind_give_no_kappa() -> None:
    own = table(0, 10, 0, 2)
    rates = rates_by_part(own, 0.95)
    assert isinstance(rates.miss, Absent)
    assert isinstance(kappa_of_rates(rates, own), Absent)


def test_parts_that_one_did_not_judge_are_left_out() -> None:
    shares = np.array([[1.0, 1.0], [1.0, 0.0], [0.0, 0.0], [0.0, 0.0]])
    gaps = np.vstack([shares, [[1.0, np.nan], [np.nan, 0.0]]])
    assert agreement_of_two([gaps], 0.95) == agreement_of_two([shares], 0.95)
    nobody = np.array([[1.0, np.nan], [np.nan, 0.0]])
    assert isinstance(agreement_of_two([nobody], 0.95), Absent)
    assert isinstance(agreement_of_two([np.ones((5, 2))], 0.95), Absent)


def test_missing_judgements_are_counted_as_wrong() -> None:
    whole = pd.concat([table(10, 10, 1, 0)] * 3).assign(appraiser="A")
    other = whole.assign(appraiser="B")
    assert rates_at_worst(pd.concat([whole, other])) is None
    # B loses two judgements of one bad part that was missed in none, and all three of a good one.
    lost = other[~(other["part"] == 19)]
    lost = lost.drop(index=5).groupby("part").head(3)
    lost = pd.concat([lost, other[other["part"] == 5].head(1)])
    found = rates_at_worst(pd.concat([whole, lost]))
    assert found is not None
    assert found.miss == pytest.approx((3 + 2) / 30)
    assert found.false_alarm == pytest.approx(3 / 30)
    assert found.effectiveness == pytest.approx(17 / 20)
