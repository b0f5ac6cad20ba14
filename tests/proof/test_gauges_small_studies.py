"""Small studies as people bring them: rounded, constant, missing, aliased. No method fails numerically.

No source outside: what is asked is that each of a thousand random studies is judged, or refused with a
reason, and that no number is one that does not exist. LINESTUDY_SMALL_STUDIES sets how many (1,000
here, about half a minute of processor time).
"""

from __future__ import annotations

import json
import math
import os
import warnings
from typing import Any

import numpy as np
import pandas as pd
import pytest

from linestudy.gauges import (
    average_and_range,
    destructive_grr,
    graded_agreement,
    grr_anova,
    influence,
    interlaboratory,
    nested_components,
    rounded_repeatability,
    system_comparison,
)
from linestudy.gauges import resolution_study as resolution_of
from linestudy.results import CannotJudge, Interval

pytestmark = [pytest.mark.proof, pytest.mark.timeout(900)]

STUDIES = int(os.environ.get("LINESTUDY_SMALL_STUDIES", "1000"))

#: One study in five is in a unit that nobody uses.
UNITS = (1, 1, 1, 1, 1, 1, 1e-6, 1e-6, 1e200, 1e-200)


def small_study(number: int) -> pd.DataFrame:
    """A random study; every kind of trouble is in one in three or four of them."""
    g = np.random.default_rng(number)
    factor = g.uniform() < 0.4
    shape = [int(g.integers(1, 7)), int(g.integers(1, 4)), int(g.integers(1, 4))]
    if factor:
        shape.insert(2, int(g.integers(1, 4)))
    at = np.indices(shape).reshape(len(shape), -1)
    value = g.choice([0.0, 10.0, 1e6]) + g.normal(0, g.choice([0, 1, 1]), shape[0])[at[0]]
    value = value + g.normal(0, g.choice([0, 0, 0.3]), shape[1])[at[1]]
    value = value + g.normal(0, g.choice([0, 0, 0.2]), shape[:2])[at[0], at[1]]
    value = value + g.normal(0, g.choice([0, 0.01, 0.3]), at.shape[1])
    if g.uniform() < 0.6:
        value = np.round(value / g.choice([0.01, 0.1, 0.5, 2.0])) * g.choice([0.01, 0.1, 0.5, 2.0])
    data = pd.DataFrame({"part": at[0], "appraiser": at[1], "value": value * g.choice(UNITS)})
    if factor:
        kind = g.integers(4)
        # Crossed, the same as the appraiser, two appraisers a level, or the parts in two groups.
        data["factor"] = (at[2], at[1], at[1] // 2, at[0] % 2)[kind]
    kind = g.uniform()
    if kind < 0.3:
        data = data.drop(index=g.integers(len(data)))
    elif kind < 0.6:
        data = data[g.uniform(size=len(data)) > g.uniform(0, 0.6)]
    elif kind < 0.7:
        data.loc[g.integers(len(data)), "value"] = np.nan
    return data


def in_grades(values: pd.Series) -> pd.Series:
    """Readings as grades 0 to 3 by their place between the smallest and the largest."""
    read = values.dropna()
    width = float(np.ptp(read)) if len(read) else 0.0
    if width == 0 or not np.isfinite(width):
        return values * 0
    return ((values - read.min()) / width * 3).round()


def numbers(found: Any, place: str = "") -> list[str]:
    """Places of numbers that are none, and of intervals that do not hold their estimate."""
    if isinstance(found, Interval):
        ordered = found.low <= found.estimate <= found.high
        return [] if ordered else [f"{place}: {found}"]
    if isinstance(found, float):
        return [place] if math.isnan(found) else []
    if isinstance(found, dict):
        return [p for key, item in found.items() for p in numbers(item, f"{place}.{key}")]
    if isinstance(found, (list, tuple)):
        return [p for i, item in enumerate(found) for p in numbers(item, f"{place}.{i}")]
    fields = getattr(found, "__dataclass_fields__", {})
    wanted = [name for name in fields if name not in ("layout", "readings")]
    return [p for name in wanted for p in numbers(getattr(found, name), f"{place}.{name}")]


def test_no_small_study_fails_numerically() -> None:
    judged = hidden = 0
    reasons: list[str] = []
    for number in range(STUDIES):
        data = small_study(number)
        factor = "factor" if "factor" in data else None
        read = data["value"].dropna().to_numpy()
        width = 3 * float(np.ptp(read)) if read.size and np.ptp(read) > 0 else 1.0
        calls = {
            "crossed": lambda d=data, f=factor, w=width: grr_anova(
                d, factor=f, tolerance=w, draws=500, seed=1
            ),
            "automatic": lambda d=data: grr_anova(d, appraiser=None, draws=0, method="mls"),
            "influence": lambda d=data, f=factor: influence(d, factor=f, seed=1),
            "behind steps": lambda d=data, f=factor: rounded_repeatability(d, factor=f),
            "ranges": lambda d=data, f=factor: average_and_range(d, factor=f, draws=500, seed=1),
            "nested": lambda d=data: nested_components(d, ("part", "appraiser"), draws=500, seed=1),
            "systems": lambda d=data: system_comparison(
                d, system="appraiser", appraiser=None, seed=1
            ),
            "testers": lambda d=data: destructive_grr(d, batch="part", tolerance=1.0),
            "own batches": lambda d=data: destructive_grr(d, batch="part", nested=True),
            "laboratories": lambda d=data: interlaboratory(d, laboratory="appraiser"),
            "grades": lambda d=data: graded_agreement(d.assign(grade=in_grades(d["value"]))),
            "resolution": lambda d=data: resolution_of(d["value"].dropna(), tolerance=2.0),
        }
        for name, call in calls.items():
            with warnings.catch_warnings():
                warnings.simplefilter("error")
                try:
                    found = call()
                except CannotJudge as why:
                    reasons.append(why.reason)
                    continue
            judged += 1
            assert numbers(found) == [], (number, name)
            assert "nan" not in found.statement, (number, name, found.statement)
            json.dumps(found.record(), default=str)
            if name == "crossed" and found.components["repeatability"].sd.estimate == 0:
                hidden += 1
                assert found.components["grr"].sd.high > 0, (number, found.statement)
                assert "(0.0% to 0.0%)" not in found.statement, (number, found.statement)
    assert judged > STUDIES
    assert len(reasons) > STUDIES / 2
    assert [reason for reason in reasons if not reason.endswith((".", "?"))] == []
    assert hidden > STUDIES / 100
