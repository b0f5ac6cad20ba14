"""Sources of variation against statsmodels and runs of known truth."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from linestudy.stability import (
    variance_sources,
)


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


def test_what_cannot_be_separated_is_shared() -> None:
    study = variance_sources(confounded())
    # Half of the variance is that of a difference of two between two halves with a variance of one.
    assert study.shared.estimate == pytest.approx(0.5, abs=0.03)
    total = sum(share.estimate for share in study.shares.values()) + study.shared.estimate
    assert total == pytest.approx(1, rel=1e-12)
    assert study.station_difference is None
    assert "explained by several sources together" in study.statement
    assert any("cannot be separated" in text for text in study.cautions)
    assert len([text for text in study.cautions if "separated" in text]) == 1
    assert any("several sources together" in text for text in study.shown()["quantity"])


def test_sources_that_are_almost_the_same_are_named_and_kept() -> None:
    run = confounded()
    # A tenth of the parts of each coil comes from the other station.
    other = np.arange(len(run)) % 10 == 0
    run.loc[other, "station"] = np.where(run.loc[other, "station"] == "left", "right", "left")
    run["value"] = np.random.default_rng(2).normal(size=len(run)) + 2.0 * (run["station"] == "left")
    study = variance_sources(run, seed=1)
    assert study.station_difference is not None
    assert 2.0 in study.station_difference.mapped(abs)
    assert not any("separated" in text for text in study.cautions)


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
    study = variance_sources(run, resets=resets)
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
    study = variance_sources(run)
    design = np.column_stack([np.ones(n), *(at // 500 == k for k in range(1, 8)), at])
    own = 1 / variance_inflation_factor(design.astype(float), 8)
    assert any(f"only {own:.1%} of how it varies is its own" in text for text in study.cautions)
    assert study.shared.estimate > 0.3


def test_shares_of_sources_stay_in_another_unit() -> None:
    n = np.arange(600)
    rng = np.random.default_rng(7)
    value = 0.5 * (n % 2) + 2e-4 * n + rng.normal(0, 0.2, n.size)
    run = pd.DataFrame({"order": n, "station": np.where(n % 2, "a", "b"), "value": value})
    one = variance_sources(run, seed=1)
    two = variance_sources(run.assign(value=run["value"] * 1e-5), seed=1)
    for name, share in one.shares.items():
        assert two.shares[name].estimate == pytest.approx(share.estimate, rel=1e-7), name
        assert two.shares[name].high == pytest.approx(share.high, rel=1e-6), name
    assert two.wear_per_thousand.estimate == pytest.approx(
        1e-5 * one.wear_per_thousand.estimate, rel=1e-7
    )


def test_sources_that_share_nothing_need_not_be_told_apart() -> None:
    from linestudy.results import Interval
    from linestudy.stability.movement.sources import _entangled_cautions

    def share(of: float) -> Interval:
        return Interval(of, 0.0, 0.5, 0.95, "block bootstrap")

    entangled = {"wear": (16.0, ["coil"])}
    assert not _entangled_cautions(entangled, {"wear": share(0.002), "coil": share(0.02)}, -0.01)
    assert _entangled_cautions(entangled, {"wear": share(0.002), "coil": share(0.06)}, 0.0)
    # What both explain together is neither's own.
    assert _entangled_cautions(entangled, {"wear": share(0.0), "coil": share(0.01)}, 0.3)
