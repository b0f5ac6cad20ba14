"""The room on the sample study: every finding there, truth recovered, bad runs named."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from linestudy.records import read
from linestudy.results import Findings, Unjudged
from linestudy.stability import (
    ChangePointStudy,
    ChartStudy,
    TimeModelStudy,
    ToolWearStudy,
    evaluate,
)
from linestudy.study import open_study


@pytest.fixture(scope="module")
def found(sample_study: Path) -> Findings:
    study = open_study(sample_study)
    return evaluate(study, read(study))


def test_every_characteristic_with_a_run(found: Findings) -> None:
    for key in ("blade", "throat", "offset", "shoulder", "seam"):
        assert isinstance(found.get(key, "stability"), ChartStudy)
        nested = found.nested(key)["stability"]
        assert json.dumps(nested, sort_keys=True, allow_nan=False)
        for name in (
            "autocorrelation",
            "variance_sources",
            "variance_components",
            "tool_wear",
            "change_points",
            "time_model",
            "data_quality",
        ):
            assert name in nested
    assert found.get("pull", "stability") is None


def test_truth_of_the_sample(found: Findings) -> None:
    blade: Any = found.get("blade", "stability", "tool_wear")
    assert isinstance(blade, ToolWearStudy)
    assert 0.00042 in blade.slope_per_thousand
    steps: Any = found.get("blade", "stability", "change_points")
    assert isinstance(steps, ChangePointStudy)
    assert [20_000 in step.at for step in steps.change_points] == [True]
    wiped: Any = found.get("seam", "stability", "change_points")
    assert {step.event for step in wiped.change_points} == {"lens wiped"}
    shoulder: Any = found.get("shoulder", "stability", "variance_sources")
    assert 0.035 in shoulder.station_difference
    seam: Any = found.get("seam", "stability", "autocorrelation")
    # Part noise 0.015 with lag-one correlation 0.8, read with repeatability 0.0055.
    assert seam.lag1.estimate == pytest.approx(0.8 * 0.015**2 / (0.015**2 + 0.0055**2), abs=0.03)
    model: Any = found.get("seam", "stability", "time_model")
    assert isinstance(model, TimeModelStudy)
    assert not model.may_report_within
    chart: Any = found.get("seam", "stability")
    assert len(chart.signals) > 10 * chart.expected_false_signals


@pytest.mark.proof
def test_nothing_is_shown_without_words(found: Findings) -> None:
    for _, finding in found.items():
        assert finding.statement.endswith(".")
        assert "nan" not in finding.statement
        assert finding.shown().shape[0] > 0
    # Pictures are drawn in it: one of each kind.
    for finding in {type(finding): finding for _, finding in found.items()}.values():
        assert "<h4>" in finding._repr_html_()


class OneRun:
    """Stands for records that hold one run of one characteristic."""

    def __init__(self, table: pd.DataFrame, key: str) -> None:
        self._table, self._key = table, key

    def timed(self, study: Any) -> Any:
        return study

    def table(self, role: str, characteristic: str | None, gauge: str | None = None) -> Any:
        return self._table if role == "run" and characteristic == self._key else None


def runs() -> dict[str, pd.DataFrame]:
    rng = np.random.default_rng(3)
    n = 600
    order = np.arange(1.0, n + 1)
    whole = pd.DataFrame({"order": order, "value": rng.normal(2.8, 0.005, n)})
    return {
        "one part": whole.iloc[:1],
        "two parts": whole.iloc[:2],
        "constant": whole.assign(value=2.8),
        "no subgroups": whole,
        "subgroups of one": whole.assign(subgroup=np.arange(n)),
        "all outside": whole.assign(subgroup=pd.array([pd.NA] * n, dtype="Int64")),
        "labels come back": whole.assign(subgroup=np.arange(n) // 5 % 7),
        "equal within": whole.assign(
            subgroup=np.arange(n) // 5, value=np.repeat(rng.normal(2.8, 0.1, n // 5), 5)
        ),
        "a walk": whole.assign(value=np.cumsum(rng.normal(size=n)), subgroup=np.arange(n) // 5),
        "order stands still": whole.assign(order=1.0, subgroup=np.arange(n) // 5),
    }


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("name", list(runs()))
def test_bad_runs_end_in_findings(sample_study: Path, name: str) -> None:
    study = open_study(sample_study)
    found = evaluate(study, OneRun(runs()[name], "blade"))  # type: ignore[arg-type]
    assert len(found) > 0
    for _, finding in found.items():
        assert finding.statement
        assert json.dumps(finding.record(), allow_nan=False)
    if name in ("one part", "constant"):
        assert all(
            isinstance(f, Unjudged)
            for p, f in found.items()
            if p.path != ("stability", "data_quality")
        )


def test_set_aside_with_and_without(sample_study: Path) -> None:
    study = open_study(sample_study)
    table = runs()["no subgroups"].assign(subgroup=np.arange(600) // 5)
    aside = (table["order"] > 300) & (table["order"] <= 350)
    table = table.assign(set_aside=aside, value=table["value"] + 0.05 * aside)
    found = evaluate(study, OneRun(table, "blade"))  # type: ignore[arg-type]
    without: Any = found.get("blade", "stability")
    both: Any = found.get("blade", "stability", "with_set_aside")
    assert without.n == 550
    assert both.n == 600
    assert len(both.signals) > len(without.signals) + 5
