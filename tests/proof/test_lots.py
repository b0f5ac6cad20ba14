"""Intervals from few lots: mean, spread, index, its bound in the decision, and the next lot, on known truth."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from scipy import stats

from linestudy.capability import lot_capability, process_capability
from linestudy.results import Interval
from linestudy.shape import fit
from linestudy.verdict import Tags, describe

pytestmark = pytest.mark.proof

Measure = Callable[..., dict]

#: Distribution of all parts together, and the family it is fitted by.
WHOLE: dict[str, Any] = {
    "normal": stats.norm,
    "lognormal": stats.lognorm(0.25),
    "gamma": stats.gamma(9),
    "Weibull": stats.weibull_min(3.0),
}
INDEX = 1.5


def sizes_of(lots: int, equal: bool) -> Any:
    """Twenty readings of each lot, or from four to sixty."""
    return np.full(lots, 20) if equal else np.round(np.geomspace(4, 60, lots)).astype(int)


def lot_trial(
    rng: np.random.Generator,
    ratio: float,
    lots: int,
    equal: bool,
    sides: str,
    family: str = "normal",
) -> dict[str, bool]:
    sizes = sizes_of(lots, equal)
    lot = np.repeat(np.arange(lots), sizes)
    scale = math.sqrt(1 + ratio**2)
    z = (ratio * rng.standard_normal(lots)[lot] + rng.standard_normal(lot.size)) / scale
    whole = WHOLE[family]
    y = z if family == "normal" else whole.ppf(stats.norm.cdf(z))
    low, middle, high = whole.ppf([0.00135, 0.5, 0.99865])
    upper = float(middle + INDEX * (high - middle))
    lower = float(middle - INDEX * (middle - low)) if sides == "two limits" else None
    fitted = None if family == "normal" else fit(y, family, with_covariance=True)
    study = process_capability(y, lower, upper, fitted=fitted, lots=[lot])
    assert isinstance(study.Ppk, Interval)
    # In no order: neighbours in a destructive test's file mean nothing.
    mixed = rng.permutation(y.size)
    told = describe(y[mixed], Tags(subgroup=lot[mixed], lots=(lot[mixed],)))
    from linestudy.verdict.decisions import facts_of
    from linestudy.verdict.facts import Circumstances

    index: Any = facts_of(told, lower, upper, Circumstances(in_time=False)).index
    found = {
        "Ppk": INDEX in study.Ppk,
        "lower bound": float(study.lower_bounds["Ppk"]) <= INDEX,
        "lower bound of the decision": index.bound <= INDEX,
    }
    if family == "normal":
        seen = lot_capability(y, [lot], lower, upper)
        found |= {
            "mean": 0.0 in seen.mean,
            "standard deviation": 1.0 in seen.sd,
            "mean of the next lot": ratio / scale * rng.standard_normal() in seen.next_lot_mean,
        }
    return found


GRID = [
    (ratio, lots, equal)
    for lots in (3, 5, 10)
    for equal in (True, False)
    for ratio in (0.0, 0.5, 1.0, 2.0)
]


@pytest.mark.parametrize("sides", ["one limit", "two limits"])
@pytest.mark.parametrize(("ratio", "lots", "equal"), GRID)
def test_few_lots(measure: Measure, ratio: float, lots: int, equal: bool, sides: str) -> None:
    name = f"{lots} lots of {'20' if equal else '4 to 60'}, SD between {ratio:g} of that within, {sides}"
    settings: Any = {"ratio": ratio, "lots": lots, "equal": equal, "sides": sides}
    found = measure("capability", "lots", name, lot_trial, 1000, **settings)
    assert found["Ppk"].within(0.935, 1.0)
    assert found["mean"].within(0.935, 0.985)
    assert found["standard deviation"].within(0.935, 0.985)
    assert found["mean of the next lot"].within(0.935, 1.0)
    for bound in ("lower bound", "lower bound of the decision"):
        assert found[bound].within(0.935, 1.0)


@pytest.mark.parametrize("family", ["lognormal", "gamma", "Weibull"])
@pytest.mark.parametrize("lots", [3, 5, 10])
@pytest.mark.parametrize("ratio", [0.0, 1.0, 2.0])
def test_few_lots_of_parts_that_are_not_normal(
    measure: Measure, family: str, lots: int, ratio: float
) -> None:
    name = f"{lots} lots of 20, SD between {ratio:g} of that within, {family}, one limit"
    settings: Any = {
        "ratio": ratio,
        "lots": lots,
        "equal": True,
        "sides": "one limit",
        "family": family,
    }
    found = measure("capability", "lots", name, lot_trial, 300, **settings)
    for claim, row in found.items():
        assert row.within(0.935, 1.0), (claim, row)
