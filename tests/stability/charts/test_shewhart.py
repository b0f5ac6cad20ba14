"""Charts: limits by hand, properties, phases, base period, summaries, bad input."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linestudy.results import CannotJudge
from linestudy.results.rounding import p_text
from linestudy.stability import (
    CONTROL_CHARTS,
    control_chart,
    control_chart_of_summaries,
    d2,
    summaries_from_table,
    summarise,
)

#: Montgomery, Introduction to Statistical Quality Control, 6th ed., table 6.1 (flow width of
#: hard-bake photoresist), first 5 of 25 subgroups, from memory; used for arithmetic only.
ROWS = [
    [1.3235, 1.4128, 1.6744, 1.4573, 1.6914],
    [1.4314, 1.3592, 1.6075, 1.4666, 1.6109],
    [1.4284, 1.4871, 1.4932, 1.4324, 1.5674],
    [1.5028, 1.6352, 1.3841, 1.2831, 1.5507],
    [1.5604, 1.2735, 1.5265, 1.4363, 1.6441],
]


def flat() -> tuple[np.ndarray, np.ndarray]:
    return np.array(ROWS).ravel(), np.repeat(np.arange(5), 5)


def test_mean_and_range_by_hand() -> None:
    y, g = flat()
    study = control_chart(y, g, kind="mean and range")
    means = [sum(row) / 5 for row in ROWS]
    ranges = [max(row) - min(row) for row in ROWS]
    # Means 1.51188 … and ranges 0.3679 … as the book prints them.
    assert means[0] == pytest.approx(1.5119, abs=5e-5)
    assert ranges[0] == pytest.approx(0.3679, abs=5e-5)
    sigma = sum(ranges) / 5 / d2(5)
    assert study.sd_within == pytest.approx(sigma, rel=1e-12)
    assert study.centre == pytest.approx(sum(means) / 5, rel=1e-12)
    # A2 = 0.577 of the tables.
    assert study.limits[1] - study.centre == pytest.approx(0.577 * sum(ranges) / 5, rel=1e-3)


def test_pooled_by_pandas() -> None:
    y, g = flat()
    study = control_chart(y, g)
    variances = pd.Series(y).groupby(g).var()
    assert study.sd_within == pytest.approx(math.sqrt(variances.mean()), rel=1e-12)
    assert study.df_within == 20
    assert study.sd_overall == pytest.approx(y.std(ddof=1), rel=1e-12)
    assert study.limits[1] == pytest.approx(study.centre + 3 * study.sd_within / math.sqrt(5))


def test_individuals_by_hand() -> None:
    y = np.array([10.0, 12.0, 11.0, 13.0, 9.0, 10.0])
    study = control_chart(y)
    # E2 = 2.660 of the tables.
    assert study.limits[1] - study.centre == pytest.approx(
        2.660 * np.abs(np.diff(y)).mean(), rel=1e-3
    )
    assert study.chart == "individuals and moving range"


def test_unequal_sizes() -> None:
    rng = np.random.default_rng(2)
    sizes = rng.integers(2, 8, 40)
    g = np.repeat(np.arange(40), sizes)
    y = rng.normal(5, 1, g.size)
    for kind in CONTROL_CHARTS:
        if kind.startswith("individuals"):
            continue
        study = control_chart(y, g, kind=kind)
        half = study.points.high - study.points.low
        if kind == "mean and standard deviation":
            assert half == pytest.approx(6 * study.sd_within / np.sqrt(sizes))
        assert np.isfinite(half).all()


@pytest.mark.proof
@settings(max_examples=20)
@given(
    st.integers(0, 10_000),
    st.floats(0.001, 1000),
    st.floats(-1e4, 1e4),
    st.sampled_from([k for k in CONTROL_CHARTS if not k.startswith("ind")]),
)
def test_units_and_shift(seed: int, scale: float, shift: float, kind: str) -> None:
    rng = np.random.default_rng(seed)
    y = rng.normal(size=90)
    g = np.repeat(np.arange(30), 3)
    y[-3:] += 4
    one = control_chart(y, g, kind=kind)
    other = control_chart(scale * y + shift, [f"s{i}" for i in g], kind=kind)
    assert other.sd_within == pytest.approx(scale * one.sd_within, rel=1e-5)
    assert other.expected_false_signals == pytest.approx(one.expected_false_signals, rel=1e-6)
    assert [s.point for s in other.signals] == [s.point for s in one.signals]


def test_order_within_subgroups_does_not_matter() -> None:
    rng = np.random.default_rng(4)
    y = rng.normal(size=(30, 5))
    g = np.repeat(np.arange(30), 5)
    shuffled = rng.permuted(y, axis=1)
    one, other = control_chart(y.ravel(), g), control_chart(shuffled.ravel(), g)
    assert one.sd_within == pytest.approx(other.sd_within, rel=1e-12)


def test_base_period_sets_limits_for_later() -> None:
    rng = np.random.default_rng(5)
    y = rng.normal(size=300)
    y[200:] += 2
    g = np.repeat(np.arange(60), 5)
    study = control_chart(y, g, base=(1, 196))
    alone = control_chart(y[:200], g[:200])
    assert study.centre == pytest.approx(alone.centre)
    assert study.sd_within == pytest.approx(alone.sd_within)
    late = [s for s in study.signals if s.order > 200 and s.kind == "mean"]
    assert len(late) > 10


def test_phases_have_their_own_centre_and_patterns_do_not_straddle() -> None:
    rng = np.random.default_rng(6)
    y = rng.normal(size=200)
    y[100:] += 3
    g = np.repeat(np.arange(40), 5)
    whole = control_chart(y, g, rules="Western Electric 1956")
    split = control_chart(y, g, rules="Western Electric 1956", phases=[101])
    assert len(split.phases) == 2
    assert split.phases[1].centre - split.phases[0].centre == pytest.approx(3, abs=0.6)
    assert len(split.signals) < len(whole.signals) / 4
    with pytest.raises(ValueError, match="base and phases are both given"):
        control_chart(y, g, phases=[101], base=(1, 50))


def test_between_and_within_lets_usual_movement_pass() -> None:
    rng = np.random.default_rng(7)
    y = (rng.normal(size=(100, 1)) * 2 + rng.normal(size=(100, 5))).ravel()
    g = np.repeat(np.arange(100), 5)
    naive, fair = control_chart(y, g), control_chart(y, g, kind="mean between and within")
    assert sum(s.kind == "mean" for s in naive.signals) > 40
    assert sum(s.kind == "mean" for s in fair.signals) <= 3
    assert any("give false alarms" in text for text in naive.cautions)


def test_mixed_stations_are_named() -> None:
    rng = np.random.default_rng(8)
    y = rng.normal(size=500) + np.where(np.arange(500) % 2, 2.0, -2.0)
    study = control_chart(y, np.repeat(np.arange(100), 5))
    assert any("mixes sources" in text for text in study.cautions)


@pytest.mark.parametrize(("points", "size"), [(60, 1), (25, 5), (100, 5)])
def test_independent_parts_are_seldom_called_mixed(points: int, size: int) -> None:
    # At one in a hundred: of 500 charts eleven would be more than that with three standard errors.
    rng = np.random.default_rng(11)
    named = 0
    for draw in range(500):
        y = rng.normal(size=points * size) if draw % 2 else rng.gamma(2, 1, points * size)
        groups = None if size == 1 else np.repeat(np.arange(points), size)
        study = control_chart_of_summaries(summarise(y, groups))
        named += any("stations" in text for text in study.cautions)
    assert named <= 11


def test_mixture_is_told_by_the_lower_tail_of_the_analysis_of_variance() -> None:
    from statsmodels.stats.oneway import anova_oneway

    rng = np.random.default_rng(5)
    y = rng.normal(size=150) + np.tile([0.0, 0.0, 0.0, 0.0, 2.6], 30)
    g = np.repeat(np.arange(30), 5)
    study = control_chart(y, g)
    p = 1 - float(anova_oneway(y, g, use_var="equal").pvalue)
    assert p < 0.01
    assert any(f"({p_text(p)})" in text for text in study.cautions)


def test_single_values_that_alternate_are_named_as_such() -> None:
    rng = np.random.default_rng(4)
    study = control_chart(rng.normal(size=60) + np.tile([0.0, 2.5], 30))
    assert any("alternate" in text for text in study.cautions)
    assert not any("subgroup mixes" in text for text in study.cautions)


def test_summaries_give_the_same_chart() -> None:
    rng = np.random.default_rng(9)
    frame = pd.DataFrame({"g": np.repeat(np.arange(50), 4), "y": rng.normal(7, 2, 200)})
    rows = frame.groupby("g")["y"].agg(["size", "mean", "std", "min", "max", "median"])
    rows = rows.rename(columns={"size": "n", "std": "sd"}).assign(order=np.arange(1, 200, 4))
    for kind in ("mean and standard deviation", "mean and range", "median and range"):
        one = control_chart(frame["y"], frame["g"], kind=kind)
        other = control_chart_of_summaries(summaries_from_table(rows), kind=kind)
        assert other.sd_within == pytest.approx(one.sd_within, rel=1e-10)
        assert other.limits == pytest.approx(one.limits, rel=1e-10)
        assert other.sd_overall == pytest.approx(one.sd_overall, rel=1e-10)
        assert [s.point for s in other.signals] == [s.point for s in one.signals]
    with pytest.raises(CannotJudge):
        control_chart_of_summaries(
            summaries_from_table(rows.drop(columns="median")), kind="median and range"
        )
    with pytest.raises(ValueError, match="no such column"):
        summaries_from_table(rows.drop(columns="min"))
    with pytest.raises(CannotJudge):
        summaries_from_table(rows.assign(n=0))
    assert summaries_from_table(rows.drop(columns="order")).order[:2].tolist() == [1.0, 2.0]
    single = rows.assign(n=1, sd=float("nan"))
    assert (
        control_chart_of_summaries(summaries_from_table(single)).chart
        == "individuals and moving range"
    )


def test_large_offset_costs_nothing() -> None:
    rng = np.random.default_rng(10)
    y = rng.normal(size=500).round(3)
    g = np.repeat(np.arange(100), 5)
    assert control_chart(y + 1e8, g).sd_within == pytest.approx(
        control_chart(y, g).sd_within, rel=1e-6
    )


def test_record_and_table_and_pictures() -> None:
    y, g = flat()
    study = control_chart(y, g, unit="mm", rules="Nelson 1984")
    record = study.record()
    for key in ("chart", "centre", "limits", "sd_within", "signals"):
        assert key in record
    assert study.in_control_run_length is None
    assert not study.shown().empty
    assert study.figure(events=((6.0, "coil $change$"),)).alt_text == study.alt_text
    assert study.spread_figure().png()[:4] == b"\x89PNG"
    assert len(study.explore().children) == 2


@pytest.mark.parametrize(
    ("values", "groups"),
    [
        ([1.0], None),
        ([1.0, 1.0, 1.0], None),
        ([1.0, 1.0, 2.0, 2.0], [0, 0, 1, 1]),
        ([1.0, 2.0, 3.0], [0, 0, 0]),
        ([1.0, float("nan"), 2.0], None),
        ([1.0, 2.0, 3.0, 4.0, 5.0, 6.0], [0, 0, 1, 1, 0, 0]),
    ],
)
def test_what_cannot_be_charted(values: list[float], groups: list[int] | None) -> None:
    with pytest.raises(CannotJudge) as stop:
        control_chart(values, groups)
    assert stop.value.reason.endswith(".")


def test_wrong_kind() -> None:
    y, g = flat()
    with pytest.raises(ValueError, match="kind = 'no such chart' is not known"):
        control_chart(y, g, kind="no such chart")
    with pytest.raises(CannotJudge, match="single values"):
        control_chart(y, g, kind="individuals and moving range")
    with pytest.raises(CannotJudge):
        control_chart(y, g, base=(1000, 2000))


def test_rows_of_a_table_are_subgroups() -> None:
    # Definition: the layout of a textbook and a column of labels say the same.
    y = np.random.default_rng(3).normal(size=(40, 5))
    labels = np.repeat(np.arange(40), 5)
    assert control_chart(y) == control_chart(y.ravel(), labels)
    assert control_chart(y).n_subgroups == 40
    starts = 10.0 * np.arange(40)
    assert control_chart(y, order=starts).points.order.tolist() == starts.tolist()
    single = control_chart(y[:, :1])
    assert single.chart == "individuals and moving range"
    assert single == control_chart(y[:, 0])


def test_misuse_is_told_by_name() -> None:
    y = np.random.default_rng(3).normal(size=(40, 5))
    with pytest.raises(ValueError, match="subgroup cannot be given too"):
        control_chart(y, np.repeat(np.arange(40), 5))
    with pytest.raises(ValueError, match="values has 40 entries and order 200"):
        control_chart(y, order=np.arange(200.0))
    with pytest.raises(ValueError, match=r"shape \(2, 20, 5\)"):
        control_chart(y.reshape(2, 20, 5))
    with pytest.raises(TypeError, match="columns 'part', 'value'"):
        control_chart(pd.DataFrame({"part": range(10), "value": range(10)}))
    with pytest.raises(TypeError, match="not a number"):
        control_chart(["a", "b"])
    with pytest.raises(ValueError, match="values has 10 entries and subgroup 9"):
        control_chart(y.ravel()[:10], np.arange(9))
    with pytest.raises(ValueError, match="confidence = 95"):
        control_chart(y, confidence=95)
    with pytest.raises(ValueError, match="sigmas = -3"):
        control_chart(y, sigmas=-3)
    with pytest.raises(CannotJudge, match="1 of 200 values is missing"):
        control_chart(np.where(np.arange(200).reshape(40, 5) == 7, np.nan, y))


def test_numbers_of_the_table_are_numbers() -> None:
    study = control_chart(np.random.default_rng(3).normal(size=(40, 5)), unit="mm")
    table = study.table().set_index("quantity")
    assert table.loc["CL", "estimate"] == study.centre
    assert table.loc["within-subgroup SD", "low"] == study.within.low
    assert table.loc["within-subgroup SD", "unit"] == "mm"


def test_subgroups_of_one_and_few() -> None:
    rng = np.random.default_rng(12)
    g = np.concatenate([np.repeat(np.arange(10), 5), [10, 11]])
    study = control_chart(rng.normal(size=52), g)
    assert any("one part only" in text for text in study.cautions)
    assert any("25 are usual" in text for text in study.cautions)
    assert study.df_within == 40
    none = pd.array([pd.NA] * 30, dtype="Int64")
    assert control_chart(rng.normal(size=30), none).chart == "individuals and moving range"


def test_a_run_of_nine_ends_with_its_phase() -> None:
    # Twenty points about the centre, then nine above it; the phase ends there, or one point earlier.
    steady = np.tile([1.0, -1.0], 10)
    values = np.concatenate([steady, np.full(9, 0.6), steady, steady])
    order = np.arange(values.size) + 1.0
    for border, seen in ((29.5, True), (28.5, False)):
        study = control_chart(values, order=order, rules=("beyond", "run of 9"), phases=(border,))
        points = [s.point for s in study.signals if s.rule == "run of 9"]
        assert (29 in points) == seen, border


def test_false_signals_of_rules_add_up() -> None:
    values = np.random.default_rng(6).normal(size=500)
    subgroup = np.repeat(np.arange(100), 5)
    told = [
        control_chart(values, subgroup, rules=rules).expected_false_signals
        for rules in (("beyond", "run of 9"), ("beyond",), ("run of 9",))
    ]
    both, beyond, nine = told
    # Nine on one side, at 92 places where such a run can end: at most 2 / 2^9 each, for a run that goes
    # on signals at every point.
    assert 0 < both - beyond <= 92 * 2 / 2**9 + 1e-9
    # Points beyond three standard errors: 0.27 % of a hundred, and more for limits from the same points.
    assert 0.2 < both - nine < 0.4
