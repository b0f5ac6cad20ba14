"""The spread within subgroups, way by way: constants of ASTM, simulation of the degrees of freedom."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.capability import within_subgroup_sd

RNG = np.random.default_rng(11)


def test_single_values_have_moving_ranges() -> None:
    y = RNG.normal(0, 2, 400)
    found = within_subgroup_sd(y, None, lower=-9, upper=9)
    assert [one.method for one in found.estimates] == ["moving range"]
    assert found.estimates[0].sd.estimate == pytest.approx(
        np.abs(np.diff(y)).mean() / 1.128, rel=1e-3
    )


def test_ways_that_disagree_are_named() -> None:
    y = RNG.normal(0, 1, (40, 5))
    y[7, 2] = 30.0
    labels = np.repeat(np.arange(40), 5)
    wild = within_subgroup_sd(y.ravel(), labels, lower=-5, upper=5)
    assert any("wild values" in note for note in wild.cautions)
    calm = within_subgroup_sd(RNG.normal(0, 1, 200), labels, lower=-5, upper=5)
    assert not calm.cautions
    assert calm.figure().alt_text
    with pytest.raises(ValueError, match="at least one limit"):
        within_subgroup_sd(y.ravel(), labels)


def test_unit_and_shift_do_not_matter() -> None:
    y, labels = RNG.normal(0, 1, 100), np.repeat(np.arange(20), 5)
    first = within_subgroup_sd(y, labels, lower=-4, upper=5).estimates
    again = within_subgroup_sd(
        25.4 * y + 1000, labels, lower=-4 * 25.4 + 1000, upper=5 * 25.4 + 1000
    ).estimates
    for one, two in zip(first, again, strict=True):
        assert two.Cpk.estimate == pytest.approx(one.Cpk.estimate)
        assert two.sd.estimate == pytest.approx(25.4 * one.sd.estimate)


def test_a_spread_within_is_given_only_where_the_model_allows_it() -> None:
    from types import SimpleNamespace

    from linestudy.capability.evaluation import _within

    chart = SimpleNamespace(sd_within=0.02)
    assert _within(chart, SimpleNamespace(may_report_within=True, model="A1")) == 0.02
    told = _within(chart, SimpleNamespace(may_report_within=False, model="C3"))
    assert "model C3" in told.reason
    assert "not known" in _within(chart, None).reason
    assert "no chart" in _within(None, None).reason
