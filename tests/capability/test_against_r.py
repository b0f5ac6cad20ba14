"""Indices, their intervals, counts and components against R: base and nlme.

``reference/make.R`` makes ``reference/r.json``; versions stand in the latter (R 4.2.2, nlme 3.1-162).
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from linestudy.capability import (
    cp,
    cpk,
    cpm,
    lot_capability,
    normal_nonconforming,
    observed_nonconforming,
    position_capability,
    quantile_intervals,
    share_failing_any,
    tolerance_interval_sample_size,
    tool_life,
    truncated_capability,
    within_subgroup_sd,
    zero_failure_bound,
)
from linestudy.shape import fit

R: dict[str, Any] = json.loads(
    (Path(__file__).parent / "reference" / "r.json").read_text(encoding="utf-8")
)
WOBBLED = np.array(R["wobbled"])
MEAN, SD, N = float(WOBBLED.mean()), float(WOBBLED.std(ddof=1)), WOBBLED.size


def ends(interval: Any) -> list[float]:
    return [interval.low, interval.high]


@pytest.mark.checks("interval of Cp", source="R: qchisq, stored with its script")
def test_cp() -> None:
    found: Any = cp(SD, df=N - 1, lower=8.0, upper=12.0)
    assert found.estimate == pytest.approx(R["cp"]["estimate"], rel=1e-12)
    assert ends(found) == pytest.approx(R["cp"]["ends"], rel=1e-9)


@pytest.mark.checks(
    "interval of a one-sided index", source="R: pt with ncp, uniroot, stored with its script"
)
def test_one_limit() -> None:
    found: Any = cpk(MEAN, SD, n=N, df=N - 1, lower=8.0, upper=None)
    assert found.estimate == pytest.approx(R["one_limit"]["estimate"], rel=1e-12)
    assert ends(found) == pytest.approx(R["one_limit"]["ends"], rel=1e-6)


@pytest.mark.checks("Cpm about a target", source="R: arithmetic, stored with its script")
def test_cpm() -> None:
    found: Any = cpm(MEAN, SD, df=N - 1, lower=8.0, upper=12.0, target=10.1)
    assert found.estimate == pytest.approx(R["cpm"], rel=1e-12)


@pytest.mark.checks("parts per million of a normal", source="R: pnorm, stored with its script")
def test_parts_per_million() -> None:
    found = normal_nonconforming(MEAN, SD, n=N, df=N - 1, lower=8.0, upper=12.0)
    for side in ("below", "above"):
        assert found[side].estimate == pytest.approx(R["ppm"][side], rel=1e-9)


@pytest.mark.checks("interval of an observed share", source="R: binom.test, stored with its script")
def test_observed_share() -> None:
    found = observed_nonconforming(WOBBLED, 9.2, 11.5)
    assert found.below + found.above == R["observed"]["count"]
    assert ends(found.ppm) == pytest.approx(R["observed"]["ends"], rel=1e-9)


@pytest.mark.checks("bound where none was seen", source="R: arithmetic, stored with its script")
def test_none_seen() -> None:
    assert zero_failure_bound(N) == pytest.approx(1e6 * R["none_seen"], rel=1e-12)


@pytest.mark.checks(
    "sample sizes of distribution-free tolerance intervals",
    source="R: pbinom, stored with its script",
)
@pytest.mark.parametrize(("sides", "key"), [(1, "one"), (2, "two")])
def test_sample_sizes(sides: Any, key: str) -> None:
    found = [tolerance_interval_sample_size(each, sides=sides) for each in (0.9, 0.95, 0.99)]
    assert found == R["sizes"][key]


@pytest.mark.checks(
    "standard deviation within subgroups", source="R: var, ptukey for d2, stored with its script"
)
def test_within_subgroups() -> None:
    study = within_subgroup_sd(
        R["within"]["values"], np.repeat(np.arange(12), 5), lower=8.0, upper=12.0
    )
    found = study.table().set_index("estimator")["SD"]
    assert found["pooled SD"] == pytest.approx(R["within"]["pooled"], rel=1e-12)
    assert found["mean range"] == pytest.approx(R["within"]["mean_range"], rel=1e-8)


@pytest.mark.checks(
    "profile likelihood interval of Ppk by quantiles",
    source="R: optim, optimize, uniroot, stored with its script",
)
@pytest.mark.parametrize("family", ["gamma", "Weibull", "lognormal"])
def test_quantile_index(family: str) -> None:
    values = np.array(R["positive"])
    fitted = fit(values, family, 0.0, with_covariance=True)
    found: Any = quantile_intervals(fitted, None, 0.25, n_eff_mean=N, n_eff_sd=N, values=values)[
        "Ppk"
    ]
    # R's search for the maximum stops at 1e-7 of its coordinates; the ends are roots on both sides.
    assert found.estimate == pytest.approx(R["quantile"][family]["estimate"], rel=1e-6)
    assert ends(found) == pytest.approx(R["quantile"][family]["ends"], rel=1e-6)


@pytest.mark.checks(
    "maximum likelihood of a truncated normal with counted rejects",
    source="R: optim, stored with its script",
)
def test_before_sorting() -> None:
    own = R["sorted"]
    study = truncated_capability(
        own["kept"], 9.1, 10.9, rejected_count=int(own["gone"]), families=("normal",)
    )
    # Ours takes readings as counts in cells of their step.
    assert study.parameters["mean"] == pytest.approx(own["mean"], abs=0.01 * own["sd"])
    assert study.parameters["sd"] == pytest.approx(own["sd"], rel=0.01)


@pytest.mark.checks("components of variance of lots", source="R: nlme, stored with its script")
def test_lots() -> None:
    own = R["lots"]
    labels = [str(int(each)) for each in own["lot"]]
    study: Any = lot_capability(own["values"], [labels], 4.7, 5.3)
    total = own["between"] ** 2 + own["within"] ** 2
    assert study.mean.estimate == pytest.approx(own["mean"], rel=1e-12)
    assert study.sd.estimate == pytest.approx(total**0.5, rel=2e-6)
    assert study.lot_share.estimate == pytest.approx(own["between"] ** 2 / total, rel=1e-6)


@pytest.mark.checks("slope of a sawtooth", source="R: lm with a level for each life")
def test_wear() -> None:
    own = R["wear"]
    study: Any = tool_life(own["values"], own["stroke"], 2.9, 3.1, resets=[1005.0, 2115.0])
    # Ours is the line through means of blocks, so that neighbours may be alike.
    assert study.slope_per_thousand.estimate == pytest.approx(1000 * own["slope"], rel=0.01)
    assert study.residual_sd == pytest.approx(own["residual"], rel=0.01)


@pytest.mark.checks("share outside a round zone", source="R: integrate, stored with its script")
def test_round_zone() -> None:
    own = R["round"]
    table = position_capability(own["x"], own["y"], 0.1).table().set_index("quantity")
    assert table.loc["expected outside", "estimate"] == pytest.approx(own["ppm"], rel=1e-6)


@pytest.mark.checks("share failing any limit", source="R: pnorm, integrate over a bivariate normal")
def test_any_limit() -> None:
    own = R["any"]
    correlation = np.array([[1.0, own["rho"]], [own["rho"], 1.0]])
    found = share_failing_any(own["below"], own["above"], correlation)
    # Ours is a sum over 4,096 points of a lattice.
    assert found == pytest.approx(own["share"], rel=1e-4)
