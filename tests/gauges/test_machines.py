"""Gauge numbers on other processors and in another order of rows: nothing changes by 1e-8 of its scale."""

from __future__ import annotations

import json
import math
import random
from pathlib import Path
from typing import Any

import pytest
from kernels import kernels, under_each

#: Of its own size; an end of an interval, of the interval's width.
SAME = 1e-8

SCRIPT = """
import json, random, sys
import numpy as np, pandas as pd
from scipy.stats import norm
from linestudy.results import CannotJudge, Interval
from linestudy.gauges import (
    method_comparison, judgement_agreement, average_and_range, grr_anova, gauge_performance_curve, influence, linearity_study, nested_components, conformity_risk)

seed = int(SEED)
shuffle = np.random.default_rng(seed)

def mixed(frame):
    return frame if seed == 0 else frame.sample(frac=1, random_state=seed).reset_index(drop=True)

def study(number, factor=False, lost=0.0, digits=None, hidden=False):
    g = np.random.default_rng(number)
    shape = (g.integers(4, 11), g.integers(2, 4)) + ((2,) if factor else ()) + (g.integers(2, 4),)
    at = np.indices(shape).reshape(len(shape), -1)
    value = 20 + g.normal(0, 10 ** g.uniform(-1, 2), shape[0])[at[0]]
    value = value + g.normal(0, g.choice([0, 0.5]), shape[1])[at[1]]
    value = value + g.normal(0, g.choice([0, 0.5]), shape[:2])[at[0], at[1]]
    if factor:
        value = value + g.normal(0, 0.5, 2)[at[2]]
    value = value + (0 if hidden else g.normal(0, 0.3, at.shape[1]))
    names = ["part", "appraiser", "factor"][: len(shape) - 1]
    frame = pd.DataFrame({**dict(zip(names, at)), "value": value if digits is None else value.round(digits)})
    return mixed(frame[g.uniform(size=len(frame)) >= lost])

out = {}
def note(name, call):
    try:
        found = call()
    except CannotJudge as why:
        out[name] = why.reason
    else:
        out[name] = found.record() if hasattr(found, "record") else found

for number in range(2):
    for kind, more in {
        "whole": {}, "lost": {"lost": 0.15}, "coarse": {"lost": 0.1, "digits": 0},
        "factor": {"factor": True}, "factor lost": {"factor": True, "lost": 0.15},
        "hidden": {"hidden": True, "lost": 0.1, "digits": 1},
    }.items():
        data = study(number, **more)
        factor = "factor" if "factor" in data else None
        name = f"{kind} {number}"
        note(f"crossed {name}", lambda: grr_anova(data, factor=factor, tolerance=5.0, draws=2000, seed=1))
        note(f"influence {name}", lambda: influence(data, factor=factor, seed=1))
        note(f"nested {name}", lambda: nested_components(data, ("part", "appraiser"), draws=2000, seed=1))
        if factor is None:
            note(f"ranges {name}", lambda: average_and_range(data, draws=2000, seed=1))
g = np.random.default_rng(5)
for number in range(2):
    sizes = np.repeat(np.arange(1.0, 6.0), 8)
    table = mixed(pd.DataFrame({"s": sizes, "v": sizes * 1.01 + g.normal(0, 0.02, 40)}))
    for doubt in (None, 0.01):
        note(f"linearity {number} {doubt}",
             lambda: linearity_study(table["v"], table["s"], 0.0, 7.0, reference_uncertainty=doubt))
    truth = g.normal(10, 0.1, 40)
    pairs = mixed(pd.DataFrame({"a": truth + g.normal(0, 0.02, 40), "b": truth + g.normal(0, 0.01, 40)}).round(3))
    note(f"agreement {number}", lambda: method_comparison(pairs["a"], pairs["b"], error_ratio=4.0, lower=9.5, upper=10.5))
    x = g.uniform(8, 12, 120)
    judged = mixed(pd.DataFrame({"part": np.arange(120) // 3, "measured": x,
                                 "judgement": x + g.normal(0, 0.4, 120) < 10, "reference": x < 10}))
    judged["reference"] = judged.groupby("part")["reference"].transform("min")
    judged["appraiser"] = "A"
    note(f"curve {number}", lambda: gauge_performance_curve(judged["measured"], judged["judgement"], upper=10.0))
    note(f"judgements {number}", lambda: judgement_agreement(judged))
    sd = 0.1 * (1 + number)
    note(f"risk {number}", lambda: conformity_risk(norm(10, 1).pdf, 10, 1, Interval(sd, sd / 2, 2 * sd, 0.95, "x"), 7, 13))
print(json.dumps(out, default=str))
"""


def differences(one: Any, other: Any, place: str = "") -> list[str]:
    """Where two records differ by more than they may."""
    if isinstance(one, dict) and isinstance(other, dict) and one.keys() == other.keys():
        if {"estimate", "low", "high"} <= one.keys() and all(
            isinstance(one[k], float) and isinstance(other[k], float)
            for k in ("estimate", "low", "high")
        ):
            width = max(one["high"] - one["low"], SAME * abs(one["estimate"]))
            return [
                f"{place}.{end}: {one[end]} {other[end]}"
                for end in ("estimate", "low", "high")
                if not _same(one[end], other[end], width if end != "estimate" else 0.0)
            ]
        return [d for key in one for d in differences(one[key], other[key], f"{place}.{key}")]
    if isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        return [
            d
            for i, (a, b) in enumerate(zip(one, other, strict=True))
            for d in differences(a, b, f"{place}.{i}")
        ]
    if isinstance(one, float) and isinstance(other, float):
        # A relative change is a difference of two numbers of size one.
        least = 1.0 if place.endswith(".change") else 0.0
        return [] if _same(one, other, least) else [f"{place}: {one} {other}"]
    return [] if one == other else [f"{place}: {one} {other}"]


def _same(one: float, other: float, scale: float) -> bool:
    if one == other or (math.isnan(one) and math.isnan(other)):
        return True
    return abs(one - other) <= SAME * max(scale, abs(one), abs(other))


@pytest.mark.machines
def test_every_kernel_and_two_threads_give_the_same_numbers() -> None:
    found = under_each(SCRIPT.replace("SEED", "0"))
    first, *others = found.values()
    assert len(first) > 50
    for name, other in zip(list(found)[1:], others, strict=True):
        assert differences(first, other, name) == []


@pytest.mark.machines
def test_another_order_of_rows_under_another_kernel_gives_the_same_numbers() -> None:
    first = under_each(SCRIPT.replace("SEED", "0"))
    mixed = under_each(SCRIPT.replace("SEED", "7"))
    plain, other = first[next(iter(first))], mixed[list(mixed)[-1]]
    assert len(kernels()) > 1, "this processor runs one kernel only"
    assert differences(plain, other) == []


@pytest.mark.machines
def test_twenty_orders_of_rows_give_the_same_numbers(tmp_path: Path) -> None:
    from linestudy.gauges import evaluate
    from linestudy.records import read
    from linestudy.study import open_study, start_study

    folder = start_study(tmp_path / "study")
    files = {
        file: file.read_text().splitlines() for file in sorted((folder / "data").glob("*.csv"))
    }

    def numbers() -> Any:
        study = open_study(folder)
        found = evaluate(study, read(study))
        return json.loads(json.dumps([found.nested(item.id) for item in study.characteristics]))

    before = numbers()
    for seed in range(20):
        for file, (head, *rows) in files.items():
            random.Random(seed).shuffle(rows)
            file.write_text("\n".join([head, *rows]) + "\n")
        assert differences(before, numbers(), f"seed {seed}") == []
