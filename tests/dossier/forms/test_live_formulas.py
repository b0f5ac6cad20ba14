"""Live formulas against the numbers they stand beside, computed by a small reader of formulas.

The workbook as a whole is computed by LibreOffice in `test_workbook`; this needs no other program. A formula becomes
Python word by word, and what each of its functions does is written below (OpenFormula, OASIS 2021, part 4).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
import pytest
from crossed_readings import crossed_readings
from scipy import stats

from linestudy.dossier.forms import live_formulas as live
from linestudy.gauges import (
    bias_study,
    cg_cgk,
    drift_study,
    grr_anova,
    linearity_study,
    method_comparison,
    nested_components,
)
from linestudy.gauges import judgement_agreement as judged_by
from linestudy.results import Absent, Interval

Cells = dict[str, Any]


def _meets(values: Any, criterion: Any) -> Any:
    text = str(criterion)
    bound = float(text.lstrip("<>"))
    values = np.asarray(values, dtype=float)
    if text[0] in "<>":
        return values < bound if text[0] == "<" else values > bound
    return values == bound


def _all(*pairs: Any) -> Any:
    return np.logical_and.reduce([_meets(a, b) for a, b in zip(pairs[::2], pairs[1::2])])  # noqa: B905


def _known(values: Any) -> Any:
    array = np.asarray(values, dtype=float).ravel()
    return array[~np.isnan(array)]


FUNCTIONS: dict[str, Any] = {
    "COUNT": lambda x: _known(x).size,
    "SUM": lambda x: _known(x).sum(),
    "AVERAGE": lambda x: _known(x).mean(),
    "STDEV": lambda x: _known(x).std(ddof=1),
    "DEVSQ": lambda x: ((_known(x) - _known(x).mean()) ** 2).sum(),
    "SUMSQ": lambda x: (_known(x) ** 2).sum(),
    "SUMXMY2": lambda x, y: ((np.asarray(x) - np.asarray(y)) ** 2).sum(),
    "SUMPRODUCT": lambda *x: np.nansum(
        np.prod([np.asarray(one, dtype=float) for one in x], axis=0)
    ),
    "COUNTIF": lambda x, criterion: _meets(x, criterion).sum(),
    "COUNTIFS": lambda *pairs: _all(*pairs).sum(),
    "SUMIFS": lambda x, *pairs: np.asarray(x)[_all(*pairs)].sum(),
    "MIN": lambda *x: np.nanmin(np.hstack(x)),
    "MAX": lambda *x: np.nanmax(np.hstack(x)),
    "SQRT": math.sqrt,
    "ABS": abs,
    "SLOPE": lambda y, x: stats.linregress(x, y).slope,
    "INTERCEPT": lambda y, x: stats.linregress(x, y).intercept,
    "STEYX": lambda y, x: math.sqrt(
        ((y - np.polyval(np.polyfit(x, y, 1), x)) ** 2).sum() / (len(x) - 2)
    ),
    "TDIST": lambda t, df, tails: tails * stats.t.sf(t, df),
    "NORMSINV": stats.norm.ppf,
}


def computed(formula: str, cells: Cells) -> float:
    """The value of a formula over columns of cells, whose data begin in row 2."""
    assert formula.startswith("=")

    def array(match: re.Match[str]) -> str:
        left, top, right, bottom = match.groups()
        assert left == right
        return f"cells[{left!r}][{int(top) - 2}:{int(bottom) - 1}]"

    text = re.sub(r'"([<>])"&(-?[\d.]+(?:e[-+]?\d+)?)', r'"\1\2"', formula[1:])
    text = re.sub(r"\$?([A-Z]+)\$?(\d+):\$?([A-Z]+)\$?(\d+)", array, text)
    text = re.sub(r"(?<![<>\"])=", "==", text).replace("^", "**")
    found = eval(text, {"__builtins__": {}, **FUNCTIONS}, {"cells": cells})
    return float(found)


def agree(lines: Iterable[live.Line], cells: Cells) -> dict[str, float]:
    """Hold every line against what its formula gives; the reported numbers by name."""
    found = {}
    for name, formula, reported in lines:
        assert computed(formula, cells) == pytest.approx(reported, rel=1e-9, abs=1e-12), name
        assert name not in found
        found[name] = reported
    return found


def interval(value: float) -> Interval:
    return Interval(value, value, value, 0.95, "example")


RNG = np.random.default_rng(11)
VALUES = RNG.normal(6.1, 0.03, 60).round(3)


@pytest.mark.parametrize(
    ("lower", "upper"), [(6.05, 6.2), (None, 6.15), (6.05, None), (-0.1, 6.15)]
)
def test_a_run(lower: float | None, upper: float | None) -> None:
    item = SimpleNamespace(lower=lower, upper=upper)
    mean, sd = VALUES.mean(), VALUES.std(ddof=1)
    sides = [(upper - mean) / (3 * sd)] if upper is not None else []
    sides += [(mean - lower) / (3 * sd)] if lower is not None else []
    both = lower is not None and upper is not None
    finding = SimpleNamespace(
        n=60,
        mean=mean,
        sd_overall=sd,
        sd=sd,
        method="normal",
        observed=SimpleNamespace(
            below=0 if lower is None else int((lower > VALUES).sum()),
            above=0 if upper is None else int((upper < VALUES).sum()),
        ),
        Pp=interval((upper - lower) / (6 * sd)) if both else Absent("one limit"),  # type: ignore[operator]
        Ppk=interval(min(sides)),
    )
    finding.Pm, finding.Pmk = finding.Pp, finding.Ppk
    told = agree(live.run(item, finding, "A2:A61"), {"A": VALUES})
    assert ("Pp by mean and SD" in told, "below lower limit" in told) == (both, lower is not None)
    agree(live.machine(item, finding, "A2:A61"), {"A": VALUES})  # type: ignore[arg-type]
    finding.method = "gamma"
    assert "Ppk by mean and SD" not in agree(live.run(item, finding, "A2:A61"), {"A": VALUES})


def test_no_number_stands_within_quotes() -> None:
    """Text is read as the country of whoever opens the file writes numbers: 6.1 may be the sixth of January."""
    item = SimpleNamespace(lower=6.05, upper=6.2)
    counts = SimpleNamespace(below=0, above=0)
    finding = SimpleNamespace(n=60, mean=1.0, sd_overall=1.0, method="gamma", observed=counts)
    formulas = [formula for _, formula, _ in live.run(item, finding, "A2:A61")]
    formulas.append(live.outside_of(5, 3, lower=True, upper=True))
    quoted = [text for formula in formulas for text in re.findall(r'"([^"]*)"', formula)]
    assert quoted == ["<", ">", "<", ">"]


def test_by_quantiles_of_an_uneven_distribution() -> None:
    item = SimpleNamespace(lower=0.0, upper=10.0)
    low, middle, high = 1.0, 3.0, 8.0
    finding = SimpleNamespace(Pp=interval(10 / 7), Ppk=interval(min(7 / 5, 3 / 2)))
    assert len(agree(live.by_quantiles(item, finding, (low, middle, high)), {})) == 2


def test_streams_each_for_itself() -> None:
    number = np.tile([1, 2], 30)
    groups = {name: VALUES[number == k] for k, name in ((1, "L"), (2, "R"))}
    streams = {name: (v.size, v.mean(), v.std(ddof=1)) for name, v in groups.items()}
    item = SimpleNamespace(lower=6.0, upper=6.2)
    lines = live.by_stream(item, streams, "$A$2:$A$61", "$D$2:$D$61")
    told = agree(lines, {"A": VALUES, "D": number})
    left = groups["L"]
    room = min(6.2 - left.mean(), left.mean() - 6.0)
    assert told["Ppk by mean and SD, stream L"] == pytest.approx(room / (3 * left.std(ddof=1)))


def test_within_subgroups_leaves_out_what_is_in_none() -> None:
    group = np.where(np.arange(60) < 50, np.arange(60) // 5 + 1.0, np.nan)
    means = pd.Series(VALUES).groupby(group).transform("mean").to_numpy()
    pooled = math.sqrt(pd.Series(VALUES).groupby(group).var().mean())
    finding = SimpleNamespace(sd_within=pooled, Cp=interval(0.2 / (6 * pooled)), Cpk=Absent("x"))
    item = SimpleNamespace(lower=6.0, upper=6.2)
    empty = {"A": VALUES, "B": group, "C": means}
    assert len(agree(live.within(item, finding, 60), empty)) == 2


@pytest.mark.parametrize("person", [0.0, 2.0])
@pytest.mark.parametrize("interaction", [0.0, 1.0])
def test_a_crossed_study(person: float, interaction: float) -> None:
    data = crossed_readings(3, trials=3, person=person)
    at = data["part"] * 3 + data["appraiser"]
    data["value"] += interaction * np.random.default_rng(4).normal(size=30)[at]
    study = grr_anova(data, tolerance=12.0, draws=100)
    assert study.pooled_interaction == (interaction == 0)
    means = data.groupby(["part", "appraiser"])["value"].mean().unstack()
    cells = {
        "A": data["value"].to_numpy(),
        "B": means.to_numpy().ravel(),
        "C": means.mean(axis=1).to_numpy(),
        "D": means.mean(axis=0).to_numpy(),
    }
    told = agree(live.crossed(study, "A2:A91", "B2:B31", "C2:C11", "D2:D4"), cells)
    assert {"GRR, SD", "%GRR (% tolerance)", "ndc"} <= set(told)
    within = live.within_cells(study, 90, "A", "B")
    whole = data.groupby(["part", "appraiser"])["value"].transform("mean").to_numpy()
    agree(within, {"A": cells["A"], "B": whole})


def test_nested_readings() -> None:
    rng = np.random.default_rng(5)
    data = pd.DataFrame({"lot": np.repeat(np.arange(5), 12), "cask": np.repeat(np.arange(20), 3)})
    data["value"] = rng.normal(size=5)[data["lot"]] + rng.normal(size=60)
    study = nested_components(data, ("lot", "cask"), draws=100)
    cells = {
        "C": data["value"].to_numpy(),
        "D": data.groupby("lot")["value"].transform("mean").to_numpy(),
        "E": data.groupby("cask")["value"].transform("mean").to_numpy(),
    }
    assert len(agree(live.nested(study, 60, "C", ("D", "E")), cells)) >= 7


def test_masters() -> None:
    size = np.repeat([4.0, 5.0, 6.0], 12)
    read = (size + 0.01 * (size - 5) + np.random.default_rng(6).normal(0.004, 0.01, 36)).round(4)
    cells = {"A": size, "B": read, "C": read - size}
    agree(live.bias(bias_study(read, size, tolerance=2.0), 36), cells)
    line = linearity_study(read, size, 4.0, 6.0)
    told = agree(live.linearity(line, 36, {"lower": 4.0, "upper": 6.0}), cells)
    assert "error at the upper limit" in told
    one = cg_cgk(read[size == 5.0], 5.0, 2.0)
    agree(live.repeatability(one, 36, 2.0), cells)


def test_a_master_over_the_run() -> None:
    order = np.arange(0.0, 6000, 100)
    stretch = (order >= 3000).astype(int)
    error = 1e-6 * order + np.random.default_rng(7).normal(0, 0.002, 60)
    study = drift_study(order, 5.0 + error, 5.0, resets=[3000.0])
    mean = [np.bincount(stretch, v)[stretch] / 30 for v in (order, error)]
    cells = {"C": stretch + 1, "D": order - mean[0], "E": error - mean[1]}
    agree(live.drift(study, 60), cells)


def test_two_gauges() -> None:
    rng = np.random.default_rng(8)
    first = rng.normal(5, 0.2, 30)
    second = first + rng.normal(0.01, 0.01, 30)
    study = method_comparison(first, second, with_icc=False)
    agree(live.agreement(study, 30), {"C": first - second})


def test_judgements_of_two_people() -> None:
    rng = np.random.default_rng(9)
    rows = [(p, who, t, p < 12) for p in range(20) for who in (1, 2) for t in (1, 2, 3)]
    data = pd.DataFrame(rows, columns=["part", "appraiser", "trial", "reference"])
    data["judgement"] = data["reference"] ^ (rng.random(len(data)) < 0.08)
    data["appraiser"] = data["appraiser"].map({1: "Ann", 2: "Ben"})
    study = judged_by(data)
    keys = [data["part"], data["appraiser"]]
    right = (data["judgement"] == data["reference"]).astype(float)
    cells = {
        "B": data["appraiser"].map({"Ann": 1, "Ben": 2}).to_numpy(),
        "C": data["judgement"].astype(int).to_numpy(),
        "D": data["reference"].astype(int).to_numpy(),
        "E": right.to_numpy(),
        "F": right.groupby(keys).transform("min").to_numpy(),
        "G": (1 / right.groupby(keys).transform("size")).to_numpy(),
    }
    for number, name in ((1, "Ann"), (2, "Ben")):
        assert len(agree(live.judged(study, 120, name, number, 60), cells)) == 5


def test_counts_of_bins() -> None:
    study = SimpleNamespace(accepted=995, rejected=5, reject_rate=interval(0.005))
    cells = {"A": np.array([500, 495]), "B": np.array([2, 3])}
    agree(live.bins(study, 2), cells)  # type: ignore[arg-type]
