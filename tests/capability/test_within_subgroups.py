"""The spread within subgroups, way by way: constants of ASTM, simulation of the degrees of freedom."""

from __future__ import annotations

import numpy as np
import pytest

from linestudy.capability import within_subgroup_sd
from linestudy.stability import within_subgroup_sds

RNG = np.random.default_rng(11)


def test_by_hand_with_the_constants_of_astm() -> None:
    # ASTM MNL 7 / ISO 7870-2, n = 5: c4 = 0.9400, d2 = 2.326 (values from memory, four digits).
    y = RNG.normal(10, 0.3, (25, 5))
    found = within_subgroup_sds(y.ravel(), np.repeat(np.arange(25), 5))
    assert found["pooled SD"].sd == pytest.approx(np.sqrt(y.var(axis=1, ddof=1).mean()))
    assert found["pooled SD"].df == 100
    assert found["mean SD"].sd == pytest.approx(y.std(axis=1, ddof=1).mean() / 0.9400, rel=1e-4)
    assert found["mean range"].sd == pytest.approx(np.ptp(y, axis=1).mean() / 2.326, rel=1e-4)
    # Duncan, Quality Control and Industrial Statistics, table D3 (as in AIAG MSA): 25 ranges of 5 are
    # known to 91 degrees of freedom or so (value from memory).
    assert found["mean range"].df == pytest.approx(91, abs=1.5)


@pytest.mark.parametrize("sizes", [(5,) * 25, (2, 3, 5, 8) * 6])
def test_degrees_of_freedom_are_those_of_the_scatter(sizes: tuple[int, ...]) -> None:
    labels = np.repeat(np.arange(len(sizes)), sizes)
    drawn = {name: [] for name in ("pooled SD", "mean SD", "mean range")}
    for _ in range(1500):
        for name, spread in within_subgroup_sds(RNG.normal(size=labels.size), labels).items():
            drawn[name].append(spread.sd)
    for name, values in drawn.items():
        df = within_subgroup_sds(RNG.normal(size=labels.size), labels)[name].df
        # Variance of a chi over its root df: 1 / (2 df) to first order.
        assert np.var(values) == pytest.approx(1 / (2 * df), rel=0.13), name
        if name != "pooled SD":
            assert np.mean(values) == pytest.approx(1.0, abs=0.01), name


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
